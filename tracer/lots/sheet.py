"""The blank lot sheet, every field explained; it reads as an empty sheet, so it can be filled in bit by bit."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping

from tracer.knowledge.entries import Record, Stage

_HEAD = """\
# Lot sheet. Fill in what is known; leave out or write unknown for the rest. What is not known is no evidence.
# Words go in as the taster says them, in any language. Dates are year-month-day.
lot: NEW-LOT              # the mark or number you know it by
# species: arabica        # arabica, robusta
# process: washed         # washed, natural, pulped_natural, wet_hulled, other
# declared: [anaerobic]   # styles it was sold as, if any
# origin: country         # country, and region if you like
# crop: 2025/26
# exporter: name          # for your casebook; the shipped knowledge does not weigh it
# contract: number, form and edition
# clocks:                 # time limits of your own contract; the earliest is warned of
#   - {what: quality claim, clause: form and article, days: 21, from: 2026-03-06}
# custody:                # places it went through, by stage, so that lots with a shared place can be found
#   harvest: Upper farm
#   processing: [Station 3, tank 2]
#   transport: container ABCU 123456-7
# made_of: [LOT-11, LOT-12]   # lots it was split from or blended of

# One entry a table of cups. Another sample of the lot (pre-shipment, arrival) is another entry.
cuppings:
#  - on: 2026-03-09
#    sample: arrival      # type, offer, pre_shipment, shipment, arrival, warehouse, production, unknown
#    drawn_by: warehouse
#    cups: 5              # cups for each taster
#    tasters:
#      - taster: first
#        language: en     # en es pt fr de it id vi ja am; leave out to try them all
#        notes:
#          - {note: musty, cups: 2, intensity: slight}     # cups: a number, all, or left out
#          - {note: mofo, means: mouldy}                     # a word of several meanings, as the taster settled it
#          - no ferment, slight earthy in 1 of 5 cups      # or a line as it was said
#        not_found: [phenolic, smoky]     # looked for and not there
#        checked_all: no  # yes if the whole list of off-notes was looked for
#    control: {cups: 5, notes: []}        # a known clean coffee on the same table
#    table: cups.csv      # or the notes as CSV or XLSX beside this file: taster, note, cups, of, intensity, state
"""
LOGGED = ("processing", "drying", "origin_storage", "transport", "destination_storage")
"""Stages that loggers run in."""
_LOGS = """\
    # Logs, readings and days of any stage; what they show is worked out, and counts before the lines below.
    # timezone: Africa/Kigali     # zone of the place, only where the logger's clock ran in another
    # logs:                       # see first what a file holds: tracer history --look FILE
    #   - {file: patio.csv, where: air, columns: {time: Date, temperature: T, humidity: RH}, degrees: C, dates: day_first, decimal: point}
    # where: air, coffee, surface (wall or roof), sealed (inside a liner), tank, outside
    # columns: time (one, or [date, time]), temperature, humidity, surface, aw, ph. degrees: C, F
    # dates: year_first, day_first, month_first. decimal: point, comma. A log's own timezone: UTC, +03:00 or a name
    # readings:                   # method: iso6673, iso1446, meter; at: start or end of the stage
    #   - {on: 2026-01-12 08:00, moisture: 20.7 %, method: meter, at: end, aw: 0.62, temperature: 24 C}
"""
_BEDS = """\
    # beds:                       # the log of the drying bed, day by day
    #   - {on: 2026-01-13, turns: 4, layer: 4 cm, rain: no, covered: yes}
"""
_GRADING = """\
  # grading:                      # a grading sheet, brought to 300 g; or table: grading.csv with defect, count
  #   weight: 350 g
  #   counts: {black bean: 2, sour bean: 1, insect damage: 5}
"""
_TAIL = """
# Laboratory values, with matrix and unit; they count once you say raised or not_raised against a sound reference.
laboratory:
#  - {compound: tca, value: 4, unit: ng/g, matrix: green, method: GC-MS, result: raised}

# What somebody wrote or said, in plain sentences. `tracer history LOT` proposes what they mean; they count once confirmed.
said:
#  - {by: the exporter, on: 2026-03-25, language: en, text: It rained on the parchment twice., confirmed: [said_rain_on_coffee]}

# Answers received to questions of `tracer ask`: id of the question, then id of the answer.
answers:
"""


def blank_sheet(
    stages: Mapping[str, Stage], records: Mapping[str, Record], only: tuple[str, ...] | None = None
) -> str:
    """The sheet as text; `only` keeps the history of these stages alone."""
    parts = [_HEAD, "# History by stage: what the papers say.", "history:"]
    for stage in stages.values():
        if only is None or stage.id in only:
            rows = [
                r
                for r in records.values()
                if r.section == "history" and r.stage == stage.id and asked_for(r)
            ]
            if rows:
                parts += [f"  {stage.id}:    # {stage.label}; asks of: {stage.ask_of}"]
                if stage.id in LOGGED:
                    parts.append(
                        _LOGS.rstrip() if _LOGS.rstrip() not in parts else "    # logs, readings: as above"
                    )
                parts += [*([_BEDS.rstrip()] if stage.id == "drying" else []), *_lines(rows, "    ")]
    parts += [
        "",
        "# The green: counts by name per 300 g, and what eye and nose say.",
        "green:",
        _GRADING.rstrip(),
    ]
    parts += _lines((r for r in records.values() if r.section == "green"), "  ")
    parts += ["", "# Our own bench: roast, grinder, water, cups, repeats.", "bench:"]
    parts += _lines((r for r in records.values() if r.section == "bench" and asked_for(r)), "  ")
    return "\n".join(parts) + "\n" + _TAIL


def asked_for(record: Record) -> bool:
    """False for a record that is worked out from others or from logs."""
    return record.between is None and record.difference is None and not record.logged


def _lines(records: Iterable[Record], indent: str) -> list[str]:
    lines: list[str] = []
    for record in records:
        explained = textwrap.wrap(record.explained, 100)
        lines += [f"{indent}# {line}" for line in explained]
        lines.append(f"{indent}# {record.id}: {_example(record)}")
    return lines


def _example(record: Record) -> str:
    if record.kind == "yes_no":
        return "yes or no"
    if record.kind == "choice":
        return " or ".join(record.choices)
    if record.kind == "date":
        return "2026-03-09"
    if record.kind == "text":
        return "words"
    return f"number {record.unit}" if record.unit != "1" else "number"
