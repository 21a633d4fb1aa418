"""Many lots in one table: its columns, a template of it, and a row as a lot sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tracer.knowledge.entries import Record
from tracer.spreadsheets.write import csv_line
from tracer.wording.language import tell
from tracer.wording.sentence import say

COLUMNS = {
    "lot": (say("Name or number of the lot; the one column that must be there."), "NRW-07"),
    "species": (say("arabica, robusta, ..."), "arabica"),
    "process": (say("washed, natural, ..."), "washed"),
    "origin": (say("Country, or country and region."), "Rwanda"),
    "exporter": (say("Who shipped it."), "Northern Ridge Exports"),
    "crop": (say("Year or years of the crop."), "2025/26"),
    "sample": (say("What was cupped: arrival, pre_shipment, ..."), "arrival"),
    "on": (say("Day of the cupping, year-month-day."), "2026-03-09"),
    "cups": (say("Cups of the lot on the table."), "5"),
    "taster": (say("Who tasted; left empty it is the panel as one."), ""),
    "language": (say("Language of the notes: en, es, pt, fr, ..."), "en"),
    "notes": (say("What was found, as it was said, parted by semicolons."), "musty in 3 of 5 cups; earthy"),
    "not_found": (say("What was looked for and not found, parted by semicolons."), "smoky; ferment"),
}
"""Column -> what it holds, and an example. Beside them any record of the sheet may be a column, by its id."""
_SECOND = {"lot": "NRW-08", "process": "natural", "sample": "arrival", "cups": "5", "notes": "clean"}


def template(records: Iterable[Record] = ()) -> str:
    """A table with its heading and two lots to write over, as CSV; records are more columns."""
    names = [*COLUMNS, *(record.id for record in records)]
    first = {name: example for name, (_, example) in COLUMNS.items()}
    rows = [names, *([row.get(name, "") for name in names] for row in (first, _SECOND))]
    return "".join(csv_line(row) + "\n" for row in rows)


def explained() -> list[str]:
    """The columns as lines of the reference page."""
    return [
        f"## {tell('many lots in one table')}",
        "",
        tell(
            "CSV, XLSX or Parquet with a row for each lot, which is one cupping by one taster or the panel; `tracer sheet --table` prints a template. Beside the columns below, any record of the sheet is a column by its id (`moisture_on_arrival`). JSON Lines (.jsonl) hold a whole sheet on each line, with the fields of this page; so does the column `sheet` of a Parquet file."
        ),
        "",
        tell("| column | meaning | example |"),
        "|---|---|---|",
        *(f"| `{name}` | {tell(meaning)} | `{example}` |" for name, (meaning, example) in COLUMNS.items()),
        "",
    ]


def as_sheet(row: Mapping[str, str], records: Mapping[str, Record]) -> dict[str, object]:
    """A row as a lot sheet: one cupping by one taster; `notes` as they were said, parted by semicolons."""
    given = {name: value for name, value in row.items() if value}
    sheet: dict[str, object] = {
        name: given[name]
        for name in ("lot", "species", "process", "origin", "exporter", "crop")
        if name in given
    }
    taster: dict[str, object] = {"taster": given.get("taster", "panel")}
    if "language" in given:
        taster["language"] = given["language"]
    for name in ("notes", "not_found"):
        taster[name] = [part.strip() for part in given.get(name, "").split(";") if part.strip()]
    cupping: dict[str, object] = {"tasters": [taster]}
    cupping.update({name: given[name] for name in ("sample", "on", "cups") if name in given})
    sheet["cuppings"] = [cupping]
    sections: dict[str, dict[str, object]] = {"history": {}, "green": {}, "bench": {}}
    for name, value in given.items():
        record = records.get(name)
        if record is None or record.section not in sections:
            continue
        if record.section == "history":
            stage = sections["history"].setdefault(record.stage or "", {})
            assert isinstance(stage, dict)
            stage[name] = value
        else:
            sections[record.section][name] = value
    sheet.update({name: values for name, values in sections.items() if values})
    return sheet
