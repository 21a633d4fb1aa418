"""The papers of a session: key, blank answer sheet, printable sheets; and what comes back from the tasters."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from pathlib import Path

from tracer.issues import Issue, Place
from tracer.knowledge.yamlfile import read_yaml
from tracer.names import did_you_mean, fold, printable
from tracer.numbers import finite
from tracer.panel.blind import BlindSet, Cup, Sample
from tracer.spreadsheets.rows import table_file
from tracer.spreadsheets.write import csv_line, plain_cell
from tracer.wording.sentence import joined, say, to_type

KEY = ("taster", "place", "code", "sample", "notes", "times_threshold", "repeat")
ANSWERS = ("taster", "code", "notes", "intensity", "remark")
NOTHING = ("-", "none", "clean", "nothing", "blank", "limpia", "limpo", "propre", "nada", "rien")


def key_text(made: BlindSet) -> str:
    """The key as CSV. Keep it from the tasters."""
    rows = [
        (
            c.taster,
            c.place,
            c.code,
            c.sample.name,
            joined(c.sample.notes, "; "),
            c.sample.multiple or "",
            "yes" if c.repeat else "",
        )
        for c in made.cups
    ]
    return _csv(KEY, rows)


def answer_text(made: BlindSet) -> str:
    """The answer sheet as CSV: a row a cup, in order of serving, nothing given away."""
    return _csv(ANSWERS, [(c.taster, c.code, "", "", "") for c in made.cups])


def _csv(headings: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    return "".join(csv_line(row) + "\n" for row in (headings, *rows))


_TASTE = say("Taste from top to bottom. Rinse and wait between cups.")
_SMELL = say(
    "SMELL ONLY, from top to bottom: nothing of this set goes into the mouth. Breathe plain air between cups."
)


def printed(made: BlindSet, title: str, cautions: Iterable[str], smell_only: bool = False) -> str:
    """Answer sheets to print, one page a taster; the key is not in it."""
    pages = []
    for taster in made.tasters():
        rows = "".join(
            f"<tr><td>{cup.place}</td><td class='code'>{cup.code}</td><td></td><td></td></tr>"
            for cup in made.of(taster)
        )
        pages.append(
            f"<section><h1>{escape(printable(title))}</h1><p>Taster: <strong>{escape(printable(taster))}</strong> &nbsp; Date: ________</p>"
            f"<p>{_SMELL if smell_only else _TASTE} Write any off-note in your own words, or &ldquo;clean&rdquo;. Do not talk "
            "before all are done.</p><table><thead><tr><th>Order</th><th>Code</th><th>Off-notes, in your own words</th>"
            f"<th>Slight, moderate, strong</th></tr></thead><tbody>{rows}</tbody></table>"
            f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in cautions)}</ul></section>"
        )
    style = "body{font-family:sans-serif;margin:2rem;color:#111}section{page-break-after:always}table{border-collapse:collapse;width:100%}td,th{border:1px solid #444;padding:.6rem;text-align:left}.code{font-size:1.4rem;font-weight:bold}td:nth-child(3){width:50%}li{font-size:.8rem}"
    return (
        f"<!doctype html><html lang='en'><head><meta charset='utf-8'><title>{escape(printable(title))}</title><style>{style}</style></head>"
        f"<body>{''.join(pages)}</body></html>\n"
    )


@dataclass(frozen=True, slots=True)
class Answer:
    """What a taster wrote for one code."""

    taster: str
    code: str
    notes: str
    intensity: str | None
    place: Place


def read_key(path: Path) -> tuple[BlindSet | None, list[Issue]]:
    """A key as it was written, with every problem."""
    issues: list[Issue] = []
    cups = []
    names: dict[str, str] = {}  # one taster, however the name is written
    for place, row in _rows(path, KEY, ("taster", "code", "sample"), issues):
        notes = tuple(part.strip() for part in re.split(r"[;,]", row.get("notes", "")) if part.strip())
        try:
            multiple = finite(row["times_threshold"]) if row.get("times_threshold") else None
        except ValueError:
            issues.append(
                Issue(
                    place,
                    say("'{row}' is no number", row=printable(row["times_threshold"])),
                    say("Write how many times threshold, such as 3."),
                )
            )
            continue
        sample = Sample(row["sample"], notes, multiple)
        taster = names.setdefault(fold(row["taster"]), row["taster"])
        number = row.get("place", "")
        cups.append(
            Cup(
                taster,
                int(number) if number.isdecimal() and len(number) < 6 else 0,
                row["code"],
                sample,
                fold(row.get("repeat", "")) in ("yes", "true", "1", "x"),
            )
        )
    seen: dict[tuple[str, str], Cup] = {}
    for cup in cups:
        if (fold(cup.taster), cup.code) in seen:
            issues.append(
                Issue(
                    Place(str(path)),
                    say(
                        "the code {code} of {taster} stands twice in the key",
                        code=cup.code,
                        taster=cup.taster,
                    ),
                    say("Codes of one taster differ."),
                )
            )
        seen[fold(cup.taster), cup.code] = cup
    if not cups and not issues:
        issues.append(
            Issue(Place(str(path)), say("the key is empty"), say("Make a set with: tracer panel set"))
        )
    return (None if issues else BlindSet(path.stem, 0, tuple(cups))), issues


def read_answers(path: Path) -> tuple[list[Answer], list[Issue]]:
    """Answers as CSV, XLSX or YAML; several rows of one code add up."""
    issues: list[Issue] = []
    found = [
        Answer(
            row["taster"], row["code"], row.get("notes", ""), fold(row.get("intensity", "")) or None, place
        )
        for place, row in _rows(path, ANSWERS, ("taster", "code"), issues)
    ]
    for answer in found:
        if answer.intensity not in (None, "slight", "moderate", "strong"):
            issues.append(
                Issue(
                    answer.place,
                    say("'{printable}' is no intensity", printable=printable(answer.intensity or "")),
                    say("Write slight, moderate or strong."),
                )
            )
    if not found and not issues:
        issues.append(
            Issue(
                Place(str(path)),
                say("there are no answers"),
                say("Fill in the answer sheet of: tracer panel set"),
            )
        )
    return found, issues


def _rows(
    path: Path, columns: tuple[str, ...], needed: tuple[str, ...], issues: list[Issue]
) -> Iterator[tuple[Place, dict[str, str]]]:
    """Rows of a table as texts by column; problems go to `issues`."""
    if path.suffix.lower() in (".yaml", ".yml"):
        yield from _from_yaml(path, columns, needed, issues)
        return
    table, problems = table_file(path)
    issues += problems
    if not table:
        return
    names = [fold(cell).replace(" ", "_") for cell in table[0][1]]
    missing = [name for name in needed if name not in names]
    for name in missing:
        issues.append(
            Issue(
                Place(str(path)),
                say("there is no column '{name}'", name=name),
                did_you_mean(name, names, say("Columns: {columns}.", columns=to_type(columns))),
            )
        )
    if missing:
        return
    for number, cells in table[1:]:
        row = {name: plain_cell(cell) for name, cell in zip(names, cells, strict=False) if name in columns}
        yield from _checked(Place(str(path), number), row, needed, issues)


def _checked(
    place: Place, row: dict[str, str], needed: tuple[str, ...], issues: list[Issue]
) -> Iterator[tuple[Place, dict[str, str]]]:
    if not any(row.values()):
        return
    empty = [name for name in needed if not row.get(name)]
    if empty:
        issues.append(
            Issue(
                place,
                say("the row has no {empty}", empty=joined(empty, " and no ")),
                say("Fill it in, or take the row out."),
            )
        )
        return
    if any(ord(c) < 32 for cell in row.values() for c in cell):
        issues.append(Issue(place, say("the row holds control characters"), say("Take them out.")))
        return
    yield place, row


def _from_yaml(
    path: Path, columns: tuple[str, ...], needed: tuple[str, ...], issues: list[Issue]
) -> Iterator[tuple[Place, dict[str, str]]]:
    document = read_yaml(path)
    issues += document.issues
    if not isinstance(document.data, list):
        if not document.issues:
            issues.append(
                Issue(
                    document.place(()),
                    say("answers are a list of rows"),
                    say("Start each with '- taster: ...'."),
                )
            )
        return
    for index, item in enumerate(document.data):
        place = document.place((index,))
        if not isinstance(item, dict):
            issues.append(
                Issue(
                    place,
                    say("a row is a map of fields"),
                    say("Fields: {columns}.", columns=to_type(columns)),
                )
            )
            continue
        unknown = [str(name) for name in item if name not in columns]
        if unknown:
            issues.append(
                Issue(
                    place,
                    say("a row has no field '{unknown}'", unknown=printable(unknown[0])),
                    did_you_mean(unknown[0], columns, say("Fields: {columns}.", columns=to_type(columns))),
                )
            )
            continue
        row = {
            k: joined(map(str, v), "; ") if isinstance(v, list) else "" if v is None else str(v)
            for k, v in item.items()
        }
        yield from _checked(place, row, needed, issues)
