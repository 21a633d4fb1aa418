"""What was said at a table, to be shown: notes by tasters, words that stand open, late words, and what must stop everybody."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tracer.casebook import tables
from tracer.casebook.table_rows import Told
from tracer.casebook.tasting import Tasted, TastedNote
from tracer.page.messages import message
from tracer.page.render import note_name
from tracer.page.site import Site
from tracer.wording.sentence import joined
from tracer.words.reading import read_words


@dataclass(frozen=True, slots=True)
class Row:
    """One note of the table, and what each taster said of it."""

    label: str
    stop: bool
    open: bool
    cells: tuple[tuple[str, ...], ...]
    """By taster: cups, intensity and own words, or nothing."""


def grid(site: Site, language: str, told: tuple[Told, ...], one_cup: bool = False) -> tuple[Row, ...]:
    """Notes by tasters; a word that nobody settled stands for itself. Where each had one cup, no cup is told."""
    rows: dict[str, list[list[str]]] = {}
    known: dict[str, str | None] = {}
    alarms: set[str] = set()
    for place, one in enumerate(told):
        for note in one.counts.notes:
            meant = note.means if note.means in site.base.descriptors else None
            meant = meant or only_reading(site, note.words, one.counts.language)
            name = meant or note.words
            known[name] = meant
            if meant is None and note.found and alarming(site, note.words, one.counts.language):
                alarms.add(name)
            rows.setdefault(name, [[] for _ in told])[place].append(cell(note, language, one_cup))
    return tuple(
        Row(
            note_name(site, language, meant) if (meant := known[name]) else name,
            site.base.descriptors[str(known[name])].stop_tasting if known[name] else name in alarms,
            known[name] is None,
            tuple(tuple(cell) for cell in cells),
        )
        for name, cells in rows.items()
    )


def cell(note: TastedNote, language: str, one_cup: bool = False) -> str:
    """One note of one taster: cups by number, or how many, or a share; intensity; own words in brackets."""
    if not note.found:
        return f"- ({note.words})"
    many = None
    if note.how_many:
        many = message(
            "one_cup" if note.how_many == 1 else "cups_count",
            language,
            **({} if note.how_many == 1 else {"number": note.how_many}),
        )
    share = message(f"share_{note.share}", language) if note.share else None
    cups = joined(map(str, sorted(note.cups))) or many or share or "?"
    strength = message(note.intensity, language) if note.intensity else ""
    return joined([one for one in ("" if one_cup else cups, strength, f"({note.words})") if one], " ")


@dataclass(frozen=True, slots=True)
class OpenWord:
    """Words of a taster that say no one note, with what they may mean and the question to ask."""

    taster: str
    words: str
    ask: str | None
    means: tuple[str, ...]


def open_words(site: Site, told: Iterable[Told]) -> tuple[OpenWord, ...]:
    """Words that the taster is to be asked about; nothing is answered beforehand."""
    found = []
    for one in told:
        for note in one.counts.notes:
            if note.means or only_reading(site, note.words, one.counts.language):
                continue
            readings = read_words(note.words, site.ready.vocabulary, languages(one.counts))
            if any(reading.outcome == "clean" for reading in readings):
                continue
            means = [name for reading in readings for name in (*reading.candidates, *reading.suggestions)]
            ask = next((reading.ask for reading in readings if reading.ask), None)
            found.append(OpenWord(one.taster, note.words, ask, tuple(dict.fromkeys(means))))
    return tuple(found)


def languages(tasted: Tasted) -> tuple[str, ...] | None:
    """The language a taster's words are read in; None for any."""
    return (tasted.language,) if tasted.language else None


def late_words(told: Iterable[Told], language: str) -> dict[str, tuple[str, ...]]:
    """What tasters changed after the reveal, to be read before it is taken: taster -> notes as they stand now."""
    return {
        one.taster: tuple(f"{note.words}: {cell(note, language)}" for note in one.late.notes)
        for one in told
        if one.late is not None and one.late != one.counts
    }


def only_reading(site: Site, words: str, language: str) -> str | None:
    """The one note that words say by themselves; None where they say none, several, or are open."""
    readings = read_words(words, site.ready.vocabulary, (language,) if language else None)
    found = {one.descriptor for one in readings}
    return found.pop() if len(found) == 1 and len(readings) == 1 else None


def alarming(site: Site, words: str, language: str) -> bool:
    """True where words name, or may well mean, what nobody should go on tasting."""
    stops = {name for name, one in site.base.descriptors.items() if one.stop_tasting}
    least = site.base.settings.cautions.perhaps
    readings = read_words(words, site.ready.vocabulary, (language,) if language else None)
    return any(one.state != "absent" and one.share_of(stops) >= least for one in readings)


def stops_everybody(site: Site, code: str) -> bool:
    """True where somebody at a table noted, or may well have noted, what stops tasting. It breaks the blindness of no note."""
    return any(
        site.base.descriptors[note.means].stop_tasting
        if note.means in site.base.descriptors
        else alarming(site, note.words, tasted.language)
        for tasted in tables.for_safety(site.book, code)
        for note in tasted.notes
        if note.found
    )
