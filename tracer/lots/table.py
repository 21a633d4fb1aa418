"""The cupping table as CSV or XLSX: one row a taster and note."""

from __future__ import annotations

import re
from pathlib import Path

from tracer.issues import Issue, Place
from tracer.lots.fields import MOST_CUPS
from tracer.lots.form_cupping import INTENSITIES, of_cups
from tracer.lots.lot import ALL_CUPS, Note, Tasting
from tracer.lots.spot import Spot
from tracer.names import did_you_mean, fold, printable
from tracer.spreadsheets.limits import TABLE
from tracer.spreadsheets.rows import table_rows
from tracer.wording.sentence import say, to_type

HEADINGS = {
    "taster": ("taster", "assessor", "catador", "provador", "degustateur", "verkoster", "assaggiatore"),
    "note": ("note", "off-note", "nota", "defeito", "defecto", "mot", "wort"),
    "cups": ("cups", "tazas", "xicaras", "tasses", "tassen", "tazze"),
    "of": ("of", "de", "sur", "von", "su"),
    "intensity": ("intensity", "intensidad", "intensidade", "intensite", "intensitat", "intensita"),
    "state": ("state", "found", "estado", "etat", "stato"),
    "language": ("language", "idioma", "lingua", "langue", "sprache"),
    "when": ("when", "cuando", "quando", "quand", "wann"),
    "means": ("means", "significa", "signifie", "bedeutet"),
}
"""Column -> headings it may have, folded."""
_WHOLE = re.compile(r"[0-9]{1,4}([.,]0*)?")
"""A count, also as a spreadsheet writes it: 5 or 5.0."""
STATES = {
    True: ("found", "present", "yes", "1", "x", "encontrado", "presente", "si", "sim", "oui", "present", "gefunden", "ja", "trovato"),
    False: (
        "not found", "absent", "no", "0", "none", "clean", "no encontrado", "nao encontrado", "ausente", "nao", "non", "absente",
        "pas trouve", "nein", "nicht gefunden", "non trovato", "assente",
    ),
}  # fmt: skip
"""Found or not -> words of the column `state`, folded; underscores and dashes count as spaces."""


def read_table(name: str, node: Spot, folder: Path | None) -> list[Tasting]:
    """Tasters' sheets from the table named under `table:`, beside the lot sheet."""
    if folder is None or Path(name).is_absolute() or ".." in Path(name).parts:
        node.problem(
            say("a table is a file beside the sheet"),
            say("Put it in the folder of the sheet and give its name alone."),
        )
        return []
    path = folder / name
    try:
        if path.stat().st_size > TABLE.bytes:
            node.problem(
                say("the table is larger than {most:,} bytes", most=TABLE.bytes),
                say("Check that it is the right file."),
            )
            return []
        raw = path.read_bytes()
    except OSError as error:
        node.problem(
            say("the table '{name}' cannot be read: {strerror}", name=name, strerror=error.strerror),
            say("Check the name and the folder."),
        )
        return []
    tastings, issues = parse_table(raw, str(path))
    node.issues.extend(issues)
    return tastings


def parse_table(raw: bytes, file: str) -> tuple[list[Tasting], list[Issue]]:
    """Tasters' sheets from the bytes of a CSV file or a workbook."""
    rows, issues = table_rows(raw, file)
    if issues:
        return [], issues
    if not rows:
        remedy = say("Its first row names the columns: taster, note, cups, of.")
        return [], [Issue(Place(file), say("the table is empty"), remedy)]
    columns = _columns(rows[0][1], file, issues)
    if issues:
        return [], issues
    sheets: dict[str, list[tuple[bool, Note]]] = {}
    languages: dict[str, str] = {}
    for number, row in rows[1:]:
        _row(dict(zip(columns, row, strict=False)), Place(file, number), sheets, languages, issues)
    tastings = [
        Tasting(
            taster=name,
            language=languages.get(name),
            cups=max((note.of or 0 for _, note in notes), default=0) or None,
            notes=tuple(note for found, note in notes if found),
            not_found=tuple(note for found, note in notes if not found),
            checked_all=False,
            place=notes[0][1].place,
        )
        for name, notes in sheets.items()
    ]
    return tastings, issues


def _columns(header: list[str], file: str, issues: list[Issue]) -> list[str]:
    names = {heading: column for column, headings in HEADINGS.items() for heading in headings}
    columns = []
    for position, cell in enumerate(header, 1):
        column = names.get(fold(cell))
        if column is None:
            remedy = did_you_mean(fold(cell), names, say("Columns: {HEADINGS}.", HEADINGS=to_type(HEADINGS)))
            issues.append(
                Issue(
                    Place(file, 1, position),
                    say("the column '{cell}' is not known", cell=printable(cell)),
                    remedy,
                )
            )
        columns.append(column or "")
    for needed in ("taster", "note"):
        if needed not in columns and not issues:
            issues.append(
                Issue(
                    Place(file),
                    say("the table has no column '{needed}'", needed=needed),
                    say("Its first row names the columns."),
                )
            )
    return columns


def _row(
    row: dict[str, str],
    place: Place,
    sheets: dict[str, list[tuple[bool, Note]]],
    languages: dict[str, str],
    issues: list[Issue],
) -> None:
    taster, words = row.get("taster", "").strip(), row.get("note", "").strip()
    if not taster or not words:
        issues.append(
            Issue(place, say("a row needs a taster and a note"), say("Fill them in, or take the row out."))
        )
        return
    if any(ord(c) < 32 for c in taster + words):
        issues.append(Issue(place, say("the row holds control characters"), say("Take them out.")))
        return
    said, of_them = of_cups(row.get("cups", ""))
    row = {**row, "cups": str(said), **({"of": of_them} if of_them else {})}
    cups, of = _count(row, "cups", place, issues), _count(row, "of", place, issues)
    if cups is not None and of is not None and cups > of:
        issues.append(
            Issue(place, say("{cups} cups of {of} cannot be", cups=cups, of=of), say("Check the counts."))
        )
        return
    state = _state(row.get("state", ""), place, issues)
    found = state is not False and cups != 0
    if state is False and cups:
        issues.append(
            Issue(
                place,
                say("the row says both not found and {get} cups", get=row.get("cups", "")),
                say("Keep one of the two."),
            )
        )
    intensity = fold(row.get("intensity", "")) or None
    if intensity not in (None, *INTENSITIES):
        issues.append(
            Issue(
                place,
                say("'{printable}' is no intensity", printable=printable(intensity or "")),
                say("Choose: slight, moderate, strong."),
            )
        )
        intensity = None
    if row.get("language", "").strip():
        languages[taster] = row["language"].strip()
    sheets.setdefault(taster, []).append(
        (
            found,
            Note(
                words,
                cups,
                of,
                intensity,
                row.get("when", "").strip() or None,
                place,
                row.get("means", "").strip() or None,
            ),
        )
    )


def _state(text: str, place: Place, issues: list[Issue]) -> bool | None:
    """Found, not found, or not said; anything else is an error, never found."""
    folded = fold(text).replace("_", " ").replace("-", " ")
    if not folded:
        return None
    for found, words in STATES.items():
        if folded in words:
            return found
    known = [word for words in STATES.values() for word in words]
    remedy = did_you_mean(folded, known, say("Write found or not_found, or leave the cell empty."))
    issues.append(Issue(place, say("'{text}' is no state", text=printable(text)), remedy))
    return None


def _count(row: dict[str, str], column: str, place: Place, issues: list[Issue]) -> int | None:
    text = row.get(column, "").strip()
    if not text:
        return None
    if column == "cups" and fold(text) in ("all", "todas", "toutes", "alle", "tutte"):
        return ALL_CUPS
    if not _WHOLE.fullmatch(text) or int(text.partition(".")[0].partition(",")[0]) > MOST_CUPS:
        issues.append(
            Issue(
                place, say("'{text}' is no count of cups", text=printable(text)), say("Write a whole number.")
            )
        )
        return None
    return int(text.partition(".")[0].partition(",")[0])
