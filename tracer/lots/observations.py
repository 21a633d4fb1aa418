"""What the cups say: each taster's notes as counts per descriptor, and what must be asked back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from tracer.issues import Place
from tracer.lots.lot import ALL_CUPS, Cupping, Lot, Note, Tasting
from tracer.lots.vocabulary import Vocabulary
from tracer.lots.words import Reading, read_words

SAMPLE_ORDER = ("type", "offer", "pre_shipment", "shipment", "arrival", "warehouse", "production", "unknown")


@dataclass(frozen=True, slots=True)
class Observation:
    """One taster on one off-note: named in `found` of `cups` cups.

    `found` is 0 where the taster looked and found none, and None where the note was named without a
    count (in at least one cup). Not assessed has no observation at all.
    """

    descriptor: str
    taster: str
    found: int | None
    cups: int
    intensity: str
    doubtful: bool
    words: str
    cupping: int
    place: Place


@dataclass(frozen=True, slots=True)
class Asked:
    """A word that needs an answer from the taster before it counts."""

    words: str
    outcome: str
    question: str
    candidates: tuple[str, ...]
    suggestions: tuple[str, ...]
    taster: str
    place: Place


@dataclass(frozen=True, slots=True)
class Heard:
    """All observations of the sample traced, and all words still open."""

    observations: tuple[Observation, ...]
    asked: tuple[Asked, ...]
    clean: bool
    """Somebody said the cup is clean."""
    checked_all: tuple[tuple[str, int, int], ...]
    """(taster, cups, cupping) of those who worked down the whole list."""

    def reported(self) -> tuple[str, ...]:
        """Descriptors somebody reported present, in the order first named."""
        present = [o.descriptor for o in self.observations if o.found != 0 and not o.doubtful]
        return tuple(dict.fromkeys(present))


def traced_sample(lot: Lot) -> str | None:
    """Kind of the latest sample in the life of the lot that was cupped."""
    kinds = {cupping.sample for cupping in lot.cuppings}
    known = [kind for kind in SAMPLE_ORDER[:-1] if kind in kinds]
    if known:
        return known[-1]
    return "unknown" if kinds else None


def hear(lot: Lot, vocabulary: Vocabulary, usual_cups: int, sample: str | None = None) -> Heard:
    """Read every taster's notes of one kind of sample (default: the one traced)."""
    sample = sample or traced_sample(lot)
    observations: list[Observation] = []
    asked: list[Asked] = []
    checked: list[tuple[str, int, int]] = []
    clean = False
    for index, cupping in enumerate(lot.cuppings):
        if cupping.sample not in (sample, "unknown"):
            continue
        for tasting in cupping.tastings:
            cups = tasting.cups or cupping.cups or usual_cups
            clean |= _hear_tasting(tasting, cups, index, vocabulary, observations, asked)
            if tasting.checked_all:
                checked.append((tasting.taster, cups, index))
    return Heard(tuple(_merged(observations)), tuple(asked), clean, tuple(checked))


def hear_control(cupping: Cupping, vocabulary: Vocabulary, usual_cups: int) -> set[str]:
    """Descriptors found in the control cups beside the sample."""
    observations: list[Observation] = []
    if cupping.control is not None:
        for note in cupping.control.notes:
            for reading in _settled(read_words(note.text, vocabulary), note):
                _observe(reading, note, "control", usual_cups, 0, observations, [])
    return {o.descriptor for o in observations if o.found != 0}


def _hear_tasting(
    tasting: Tasting,
    cups: int,
    index: int,
    vocabulary: Vocabulary,
    observations: list[Observation],
    asked: list[Asked],
) -> bool:
    clean = False
    languages = (tasting.language,) if tasting.language else None
    for note in tasting.notes:
        for reading in _settled(read_words(note.text, vocabulary, languages), note):
            clean |= reading.outcome == "clean"
            _observe(reading, note, tasting.taster, cups, index, observations, asked)
    for note in tasting.not_found:
        for reading in _settled(read_words(note.text, vocabulary, languages), note):
            absent = _absent(reading)
            for descriptor in absent:
                observations.append(
                    Observation(
                        descriptor,
                        tasting.taster,
                        0,
                        cups,
                        "unstated",
                        False,
                        reading.text,
                        index,
                        note.place,
                    )
                )
            if not absent and reading.outcome in ("unknown", "ambiguous"):
                asked.append(_ask(reading, tasting.taster, note.place))
    return clean


def _settled(readings: tuple[Reading, ...], note: Note) -> tuple[Reading, ...]:
    """Readings with what the taster, asked back, says the words mean: it goes to the first open word, or the only one."""
    if note.means is None:
        return readings
    named = [one for one in readings if one.outcome in ("ambiguous", "unknown")] or list(readings[:1])
    if not named:
        return (Reading(note.text, note.means, "present", "unstated", "matched"),)
    settled = replace(named[0], descriptor=note.means, outcome="matched", candidates=(), suggestions=())
    return tuple(settled if one is named[0] else one for one in readings)


def _absent(reading: Reading) -> tuple[str, ...]:
    # "No mofo" denies every note the shared word may stand for.
    if reading.descriptor:
        return (reading.descriptor,)
    return tuple(reading.candidates) if reading.outcome == "ambiguous" else ()


def _observe(
    reading: Reading,
    note: Note,
    taster: str,
    cups: int,
    index: int,
    observations: list[Observation],
    asked: list[Asked],
) -> None:
    if reading.state == "absent":
        for descriptor in _absent(reading):
            observations.append(
                Observation(descriptor, taster, 0, cups, "unstated", False, reading.text, index, note.place)
            )
        return
    if reading.descriptor is None:
        if reading.outcome in ("unknown", "ambiguous"):
            asked.append(_ask(reading, taster, note.place))
        return
    found = note.cups if note.cups is not None else reading.cups
    looked = note.of or reading.of or cups
    if found == ALL_CUPS:
        found = looked
    if found is not None:
        looked = max(looked, found)
    intensity = note.intensity or reading.intensity
    doubtful = reading.state == "doubtful"
    observations.append(
        Observation(
            reading.descriptor, taster, found, looked, intensity, doubtful, reading.text, index, note.place
        )
    )


def _ask(reading: Reading, taster: str, place: Place) -> Asked:
    question = (
        reading.ask
        or "No word of the vocabulary is near; say it in other words, or add it to the house words."
    )
    return Asked(
        reading.text,
        reading.outcome,
        question,
        tuple(reading.candidates),
        tuple(reading.suggestions),
        taster,
        place,
    )


def _merged(observations: Iterable[Observation]) -> list[Observation]:
    """One observation a taster, note and cupping: a note named twice keeps its larger count."""
    best: dict[tuple[str, str, int], Observation] = {}
    for observation in observations:
        key = (observation.descriptor, observation.taster, observation.cupping)
        kept = best.get(key)
        if kept is None or _weight(observation) > _weight(kept):
            best[key] = observation
    return list(best.values())


def _weight(observation: Observation) -> tuple[bool, float]:
    found = 0.5 if observation.found is None else float(observation.found)
    return (not observation.doubtful, found)
