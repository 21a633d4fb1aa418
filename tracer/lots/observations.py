"""What the cups say: each taster's notes as counts per descriptor, and what must be asked back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from tracer.issues import Place
from tracer.knowledge.entries import INNOCENT
from tracer.lots.form_cupping import SAMPLES
from tracer.lots.lot import ALL_CUPS, Cupping, Lot, Note, Tasting
from tracer.lots.observed import Asked, Heard, Observation, Understood
from tracer.wording.sentence import say
from tracer.words.heard import Reading
from tracer.words.reading import read_words
from tracer.words.vocabulary import Vocabulary
from tracer.words.which_language import best, scores

SAMPLE_ORDER = SAMPLES
CONTROL = "control"
"""Who is heard of the control cups."""


def traced_sample(lot: Lot) -> str | None:
    """Kind of the latest sample in the life of the lot that was cupped.

    A sample that nobody says the point of is later than those of origin, and stands with one of arrival or after.
    """
    kinds = {cupping.sample for cupping in lot.cuppings}
    known = [kind for kind in SAMPLE_ORDER[:-1] if kind in kinds]
    if "unknown" in kinds and not set(known) & set(SAMPLE_ORDER[SAMPLE_ORDER.index("arrival") :]):
        return "unknown"
    return known[-1] if known else None


def hear(lot: Lot, vocabulary: Vocabulary, usual_cups: int) -> Heard:
    """Read every taster's notes, each line once: those of the sample traced, and apart those of all others."""
    sample = traced_sample(lot)
    here, others, beside = (_Ear(vocabulary, usual_cups) for _ in range(3))
    checked: list[tuple[str, int, int]] = []
    for index, cupping in enumerate(lot.cuppings):
        traced = cupping.sample in (sample, "unknown")
        for tasting in cupping.tastings:
            cups = tasting.cups or cupping.cups
            (here if traced else others).tasting(tasting, cups, index, cupping.sample)
            if tasting.checked_all:
                checked.append((tasting.taster, cups or usual_cups, index))
        for name, others_notes, own, language in _neighbours(cupping):
            languages = (language,) if language is not None and language in vocabulary.languages else None
            for note in others_notes:
                for reading in beside.settled(note, languages, name):
                    beside.observe(reading, note, name, own, index, cupping.sample)
    return Heard(
        tuple(_merged(here.observations)),
        tuple(here.asked),
        here.clean,
        tuple(checked),
        tuple(_merged(others.observations)),
        tuple(others.asked),
        (*here.understood, *others.understood),
        tuple(beside.observations),
        tuple(beside.asked),
    )


def _neighbours(cupping: Cupping) -> Iterable[tuple[str, tuple[Note, ...], int | None, str | None]]:
    if cupping.control is not None:
        yield CONTROL, cupping.control.notes, cupping.control.cups, cupping.control.language
    for other in cupping.beside:
        yield other.name, other.notes, other.cups, other.language


class _Ear:
    """Collects what is heard, of as many cups as is usual where nobody says how many there were."""

    def __init__(self, vocabulary: Vocabulary, usual_cups: int) -> None:
        self.vocabulary = vocabulary
        self.usual_cups = usual_cups
        self.observations: list[Observation] = []
        self.asked: list[Asked] = []
        self.understood: list[Understood] = []
        self.clean = False

    def tasting(self, tasting: Tasting, cups: int | None, index: int, sample: str) -> None:
        languages = languages_of_taster(tasting, self.vocabulary)
        for note in tasting.notes:
            for reading in self.settled(note, languages, tasting.taster):
                self.clean |= reading.outcome == "clean"
                self.observe(reading, note, tasting.taster, cups, index, sample)
        for note in tasting.not_found:
            for reading in self.settled(note, languages, tasting.taster):
                absent = _absent(reading)
                self.missed(absent, reading, note, tasting.taster, cups, index)
                if not absent and reading.outcome in ("unknown", "ambiguous"):
                    self.asked.append(_ask(reading, tasting.taster, note.place, sample, denied=True))

    def settled(self, note: Note, languages: tuple[str, ...] | None, taster: str) -> tuple[Reading, ...]:
        """Readings with what the taster, asked back, says the words mean: it goes to the first open word, or the only one."""
        readings = read_words(note.text, self.vocabulary, languages)
        self.understood += [
            Understood(one.text, "corrected", one.corrected or "", one.descriptor, taster, note.place)
            for one in readings
            if one.outcome == "misspelt" and one.descriptor is not None
        ]
        if note.means is None:
            self.understood += [
                Understood(one.text, "usual", "", one.descriptor, taster, note.place, one.candidates)
                for one in readings
                if one.usual
            ]
            return readings
        named = (
            [one for one in readings if one.outcome in ("ambiguous", "unknown")]
            or [one for one in readings if one.usual]
            or list(readings[:1])
        )
        if note.means == INNOCENT:
            return tuple(one for one in readings if one is not (named[0] if named else None))
        if not named:
            return (Reading(note.text, note.means, "present", "unstated", "matched"),)
        settled = replace(
            named[0], descriptor=note.means, outcome="matched", candidates=(), suggestions=(), weights=()
        )
        return tuple(settled if one is named[0] else one for one in readings)

    def missed(
        self, absent: Iterable[str], reading: Reading, note: Note, taster: str, cups: int | None, index: int
    ) -> None:
        """Off-notes looked for and not found."""
        looked, assumed = cups or self.usual_cups, cups is None
        self.observations += [
            Observation(
                name, taster, 0, looked, "unstated", False, reading.text, index, note.place, assumed=assumed
            )
            for name in absent
        ]

    def observe(
        self, reading: Reading, note: Note, taster: str, cups: int | None, index: int, sample: str
    ) -> None:
        if reading.state == "absent":
            self.missed(_absent(reading), reading, note, taster, cups, index)
            return
        if reading.descriptor is None:
            if reading.outcome in ("unknown", "ambiguous"):
                found, looked, _ = _counted(reading, note, cups or self.usual_cups)
                self.asked.append(
                    replace(
                        _ask(reading, taster, note.place, sample),
                        found=found,
                        cups=looked,
                        cupping=index,
                        intensity=note.intensity or reading.intensity,
                        doubtful=reading.state == "doubtful",
                    )
                )
            return
        found, looked, which = _counted(reading, note, cups or self.usual_cups)
        self.observations.append(
            Observation(
                reading.descriptor,
                taster,
                found,
                looked,
                note.intensity or reading.intensity,
                reading.state == "doubtful",
                reading.text,
                index,
                note.place,
                which,
                assumed=cups is None and not (note.of or reading.of),
                every=(note.cups if note.cups is not None else reading.cups) == ALL_CUPS,
            )
        )


def languages_of_taster(tasting: Tasting, vocabulary: Vocabulary) -> tuple[str, ...] | None:
    """The language of a taster: as stated, or the one that knows most words of all the taster's lines."""
    if tasting.language:
        return (tasting.language,) if tasting.language in vocabulary.languages else None
    lines = [note.text for note in (*tasting.notes, *tasting.not_found)]
    if len(lines) < 2:
        return None
    total: dict[str, float] = {}
    for line in lines:
        for language, score in scores(line, vocabulary).items():
            total[language] = total.get(language, 0.0) + score
    found = best(total)
    return found if len(found) == 1 else None


def _counted(reading: Reading, note: Note, cups: int) -> tuple[int | None, int, tuple[int, ...]]:
    """In how many cups, of how many looked at, and which by number."""
    found = note.cups if note.cups is not None else reading.cups
    looked = note.of or reading.of or cups
    if found == ALL_CUPS:
        found = looked
    which = note.which or reading.which
    return found, max([looked, found or 0, *which]), which


def _absent(reading: Reading) -> tuple[str, ...]:
    # "No mofo" denies every note the shared word may stand for.
    if reading.descriptor:
        return (reading.descriptor,)
    return tuple(reading.candidates) if reading.outcome == "ambiguous" else ()


def _ask(reading: Reading, taster: str, place: Place, sample: str, denied: bool = False) -> Asked:
    question = reading.ask or say(
        "No word of the vocabulary is near; say it in other words, or add it to the house words."
    )
    return Asked(
        reading.text,
        reading.outcome,
        question,
        tuple(reading.candidates),
        tuple(reading.suggestions),
        taster,
        place,
        reading.weights,
        sample,
        denied,
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
