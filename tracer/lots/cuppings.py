"""The cuppings of a sheet: tables, tasters, notes, controls."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path

from tracer.issues import Issue
from tracer.lots.lot import ALL_CUPS, MOST_CUPS, Control, Cupping, Note, Tasting
from tracer.lots.node import Node
from tracer.lots.table import read_table
from tracer.names import did_you_mean, fold, printable

SAMPLES = ("type", "offer", "pre_shipment", "shipment", "arrival", "warehouse", "production", "unknown")
INTENSITIES = ("slight", "moderate", "strong")
_NOTE_FIELDS = ("note", "cups", "of", "intensity", "when", "means")
_TASTER_FIELDS = ("taster", "language", "cups", "notes", "not_found", "checked_all")
_CUPPING_FIELDS = ("on", "sample", "drawn_by", "cups", "tasters", "control", "table")


def read_cuppings(node: Node, folder: Path | None) -> tuple[Cupping, ...]:
    """Every cupping of a sheet; a `table:` is a CSV file or a workbook beside it."""
    return tuple(cupping for item in node.items() if (cupping := _cupping(item, folder)) is not None)


def _cupping(node: Node, folder: Path | None) -> Cupping | None:
    if not node.is_map("a cupping"):
        return None
    node.only(_CUPPING_FIELDS, "a cupping")
    cups = node.child("cups").whole(1, MOST_CUPS)
    tastings = [
        tasting for item in node.child("tasters").items() if (tasting := _tasting(item, cups)) is not None
    ]
    tastings += read_table(node.child("table"), folder)
    names = [fold(tasting.taster) for tasting in tastings]
    for position, tasting in enumerate(tastings):
        if names.index(fold(tasting.taster)) != position:
            node.problem(
                f"the taster '{tasting.taster}' stands twice in one cupping",
                "Put all notes of a taster together.",
            )
    control = node.child("control")
    return Cupping(
        on=node.child("on").date(),
        sample=node.child("sample").choice(SAMPLES) or "unknown",
        drawn_by=node.child("drawn_by").text(),
        cups=cups,
        tastings=tuple(tastings),
        control=_control(control) if control.data is not None else None,
        place=node.place,
    )


def _control(node: Node) -> Control | None:
    if not node.is_map("a control"):
        return None
    node.only(("cups", "notes", "not_found"), "a control")
    cups = node.child("cups").whole(1, MOST_CUPS)
    return Control(
        tuple(note for item in node.child("notes").items() if (note := read_note(item, cups)) is not None)
    )


def _tasting(node: Node, cups: int | None) -> Tasting | None:
    if not node.is_map("a taster's sheet"):
        return None
    node.only(_TASTER_FIELDS, "a taster's sheet")
    name = node.child("taster").text()
    if name is None:
        node.problem("a taster's sheet needs a name", "Write taster: and a name, initials or a number.")
        return None
    own = node.child("cups").whole(1, MOST_CUPS) or cups
    notes = tuple(note for item in node.child("notes").items() if (note := read_note(item, own)) is not None)
    absent = tuple(
        note for item in node.child("not_found").items() if (note := read_note(item, own)) is not None
    )
    denied = {fold(note.text): note for note in absent}
    for note in notes:
        twin = denied.get(fold(note.text))
        if twin is not None and note.cups != 0:
            node.problem(
                f"'{note.text}' is noted as found at {note.place} and as not found at {twin.place}",
                "Keep one of the two.",
            )
    return Tasting(
        taster=name,
        language=node.child("language").text(),
        cups=own,
        notes=notes,
        not_found=absent,
        checked_all=node.child("checked_all").yes_no() == "yes",
        place=node.place,
    )


def read_note(node: Node, cups: int | None) -> Note | None:
    """A note: a line of text, or its words with cups and intensity."""
    if not isinstance(node.data, dict):
        text = node.text()
        return None if text is None else Note(text, None, None, None, None, node.place)
    node.only(_NOTE_FIELDS, "a note")
    text = node.child("note").text()
    if text is None:
        node.problem("a note needs its words", "Write note: and the taster's own words.")
        return None
    of = node.child("of").whole(1, MOST_CUPS) or cups
    found = _count(node.child("cups"))
    if found is not None and found != ALL_CUPS and of is not None and found > of:
        node.child("cups").problem(f"{found} cups of {of} cannot be", "Check the counts.")
    intensity = node.child("intensity").choice(INTENSITIES)
    return Note(
        text, found, of, intensity, node.child("when").text(), node.place, node.child("means").text()
    )


def check_meanings(cuppings: Iterable[Cupping], known: Collection[str], issues: list[Issue]) -> None:
    """What a note is said to mean must be an off-note of the knowledge."""
    for cupping in cuppings:
        control = cupping.control.notes if cupping.control else ()
        tasted = (note for one in cupping.tastings for note in (*one.notes, *one.not_found))
        for note in (*tasted, *control):
            if note.means is not None and note.means not in known:
                remedy = did_you_mean(note.means, known, "Give its id: tracer show NOTE")
                issues.append(Issue(note.place, f"'{printable(note.means)}' is no off-note", remedy))


def _count(node: Node) -> int | None:
    if isinstance(node.data, str) and fold(node.data) in ("all", "every", "all cups"):
        return ALL_CUPS
    if isinstance(node.data, str) and fold(node.data) in ("some", "some cups", "unknown"):
        return None
    return node.whole(0, MOST_CUPS)
