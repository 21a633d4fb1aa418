"""The cuppings of a sheet: tables, tasters, notes, controls and the other coffees of the table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from tracer.issues import Issue
from tracer.knowledge.entries import INNOCENT, Descriptor
from tracer.knowledge.language import Language
from tracer.knowledge.renamed import now_called
from tracer.lots.fields import MOST_CUPS, is_unknown, number, whole
from tracer.lots.form_cupping import (
    BesideForm,
    ControlForm,
    CuppingForm,
    NoteForm,
    TasterForm,
    cups_said,
    of_cups,
)
from tracer.lots.lot import ALL_CUPS, Beside, Control, Cupping, Note, Tasting
from tracer.lots.spot import Spot
from tracer.lots.table import read_table
from tracer.names import did_you_mean, fold, printable
from tracer.wording.sentence import Own, joined, say
from tracer.words.clauses import Count, counts_in


def read_cuppings(
    forms: Iterable[CuppingForm], data: Any, spot: Spot, folder: Path | None
) -> tuple[Cupping, ...]:
    """Every cupping of a sheet; a `table:` is a CSV file or a workbook beside it."""
    items = data if isinstance(data, list) else [data]
    return tuple(
        _cupping(form, items[index], spot.item(data, index), folder) for index, form in enumerate(forms)
    )


def _get(data: Any, name: str) -> Any:
    return data.get(name) if isinstance(data, dict) else None


def _cupping(form: CuppingForm, data: Any, spot: Spot, folder: Path | None) -> Cupping:
    written = _get(data, "tasters")
    items = written if isinstance(written, list) else [written]
    tastings = [
        _tasting(one, items[index], (spot / "tasters").item(written, index), form.cups)
        for index, one in enumerate(form.tasters)
    ]
    if form.table is not None:
        tastings += read_table(form.table, spot / "table", folder)
    names = [fold(tasting.taster) for tasting in tastings]
    for position, tasting in enumerate(tastings):
        if names.index(fold(tasting.taster)) != position:
            spot.problem(
                say("the taster '{taster}' stands twice in one cupping", taster=tasting.taster),
                say("Put all notes of a taster together."),
            )
    beside = _get(data, "beside")
    return Cupping(
        on=form.on,
        sample=form.sample or "unknown",
        drawn_by=form.drawn_by,
        blind={"yes": True, "no": False}.get(form.blind or ""),
        cups=form.cups,
        tastings=tuple(tastings),
        control=_control(form.control, _get(data, "control"), spot / "control") if form.control else None,
        place=spot.place,
        beside=tuple(
            _beside(
                one,
                (beside if isinstance(beside, list) else [beside])[index],
                (spot / "beside").item(beside, index),
            )
            for index, one in enumerate(form.beside)
        ),
        bench=form.bench,
        score=_score(form.score, spot / "score"),
    )


def _score(value: Any, spot: Spot) -> float | None:
    if is_unknown(value):
        return None
    try:
        return number(value)
    except PydanticCustomError as error:
        _told(error, spot)
        return None


def _told(error: PydanticCustomError, spot: Spot) -> None:
    context = error.context or {}
    spot.problem(context.get("message", str(error)), context.get("remedy", ""))


def _control(form: ControlForm, data: Any, spot: Spot) -> Control:
    found = _notes(form.notes, _get(data, "notes"), spot / "notes", form.cups)
    absent = _notes(form.not_found, _get(data, "not_found"), spot / "not_found", form.cups)
    return Control(found, absent, form.cups, form.language)


def _beside(form: BesideForm, data: Any, spot: Spot) -> Beside:
    return Beside(
        form.name or say("another coffee"),
        form.kin,
        _notes(form.notes, _get(data, "notes"), spot / "notes", form.cups),
        _notes(form.not_found, _get(data, "not_found"), spot / "not_found", form.cups),
        form.cups,
        form.language,
        spot.place,
    )


def _tasting(form: TasterForm, data: Any, spot: Spot, cups: int | None) -> Tasting:
    own = form.cups or cups
    notes = _notes(form.notes, _get(data, "notes"), spot / "notes", own)
    absent = _notes(form.not_found, _get(data, "not_found"), spot / "not_found", own)
    denied = {fold(note.text): note for note in absent}
    for index, note in enumerate(notes):
        twin = denied.get(fold(note.text))
        if twin is not None and note.cups != 0:
            (spot / "notes").item(_get(data, "notes"), index).problem(
                say(
                    "'{text}' is noted as found at {place} and as not found at {place_2}",
                    text=note.text,
                    place=note.place,
                    place_2=twin.place,
                ),
                say("Keep one of the two."),
            )
    return Tasting(
        taster=str(form.taster),
        language=form.language,
        cups=own,
        notes=notes,
        not_found=absent,
        checked_all=form.checked_all == "yes",
        place=spot.place,
        score=_score(form.score, spot / "score"),
    )


def _notes(forms: Iterable[NoteForm], data: Any, spot: Spot, cups: int | None) -> tuple[Note, ...]:
    return tuple(read_note(form, spot.item(data, index), cups) for index, form in enumerate(forms))


def read_note(form: NoteForm, spot: Spot, cups: int | None) -> Note:
    """A note, with its count checked against the cups of its taster."""
    of = form.of or cups
    found: int | None = None
    which: tuple[int, ...] = ()
    share: str | None = None
    try:
        said, written = of_cups(form.cups)
        of_them = whole(1, MOST_CUPS)(written) if written else None
        if of_them is not None and form.of not in (None, of_them):
            (spot / "of").problem(
                say("{cups} and of: {of} cannot both be", cups=Own(form.cups), of=form.of),
                say("Keep one of the two."),
            )
        of = of_them or of
        found, which, share = cups_said(said)
    except PydanticCustomError as error:
        _told(error, spot / "cups")
    if found is not None and found != ALL_CUPS and of is not None and found > of:
        (spot / "cups").problem(
            say("{found} cups of {of} cannot be", found=found, of=of), say("Check the counts.")
        )
    if which and of is not None and max(which) > of:
        (spot / "cups").problem(
            say("there is no cup {which} among {of}", which=max(which), of=of),
            say("Check the numbers of the cups."),
        )
    return Note(str(form.note), found, of, form.intensity, form.when, spot.place, form.means, which, share)


def check_words(cuppings: Iterable[Cupping], languages: Mapping[str, Language], issues: list[Issue]) -> None:
    """Warns of counts in somebody's words that cannot be, and of a language that is not known: the words count all the same."""
    for cupping in cuppings:
        for tasting in cupping.tastings:
            if tasting.language is not None and tasting.language not in languages:
                message = say("'{language}' is no language known here", language=tasting.language)
                remedy = did_you_mean(
                    tasting.language,
                    languages,
                    say(
                        "Write one of {known}; the words of all are tried until then.",
                        known=joined(languages),
                    ),
                )
                issues.append(Issue(tasting.place, message, remedy, "warning"))
            for note in (*tasting.notes, *tasting.not_found):
                for count in counts_in(note.text, languages) if any(map(str.isdigit, note.text)) else ():
                    wrong = _cannot_be(count, note.of)
                    if wrong is not None:
                        issues.append(Issue(note.place, wrong, say("Check the counts."), "warning"))


def _cannot_be(count: Count, of: int | None) -> str | None:
    whole = count.of or of
    if count.which and of is not None and max(count.which) > of:
        return say("there is no cup {which} among {of}", which=max(count.which), of=of)
    if whole is not None and count.cups > whole:
        return say("{found} cups of {of} cannot be", found=count.cups, of=whole)
    return None


def check_meanings(cuppings: Iterable[Cupping], known: Mapping[str, Descriptor], issues: list[Issue]) -> None:
    """What a note is said to mean must be an off-note of the knowledge, or innocent."""
    for cupping in cuppings:
        tables: list[Tasting | Control | Beside] = [*cupping.tastings, *cupping.beside]
        tables += [cupping.control] if cupping.control else []
        for note in (note for one in tables for note in (*one.notes, *one.not_found)):
            if note.means is not None and note.means not in known and note.means != INNOCENT:
                remedy = now_called(
                    note.means,
                    known,
                    (*known, INNOCENT),
                    say("Give its id (tracer show NOTE), or innocent for no off-note."),
                )
                issues.append(
                    Issue(note.place, say("'{means}' is no off-note", means=printable(note.means)), remedy)
                )
