"""Answers against the key: what each taster found, missed and made up, note by note."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tracer.issues import Issue, Place
from tracer.knowledge.base import KnowledgeBase
from tracer.names import did_you_mean, fold, printable
from tracer.panel.agreement import interval, krippendorff
from tracer.panel.blind import BlindSet, Cup
from tracer.panel.files import NOTHING, Answer
from tracer.panel.recognition import Counts
from tracer.wording.sentence import joined, say, to_type
from tracer.words.reading import read_words
from tracer.words.vocabulary import Vocabulary

NONE = "(nothing)"


@dataclass(frozen=True, slots=True)
class Served:
    """One cup with what was in it and what the taster named; both are off-note ids."""

    taster: str
    code: str
    sample: str
    given: tuple[str, ...]
    named: tuple[str, ...]
    multiple: float | None
    repeat: bool


def match(
    made: BlindSet, answers: Iterable[Answer], base: KnowledgeBase, vocabulary: Vocabulary
) -> tuple[list[Served], list[Issue]]:
    """Each cup of the key with its answer; words are read in any language, and every problem is told."""
    issues: list[Issue] = []
    given = {cup: _given(cup, base, vocabulary, issues) for cup in made.cups}
    by_code: dict[tuple[str, str], Cup] = {(fold(cup.taster), cup.code): cup for cup in made.cups}
    named: dict[Cup, list[str]] = {}
    for answer in answers:
        cup = by_code.get((fold(answer.taster), answer.code))
        if cup is None:
            theirs = [code for taster, code in by_code if taster == fold(answer.taster)]
            remedy = did_you_mean(
                answer.code, theirs, say("Tasters of the key: {names}.", names=to_type(made.tasters()))
            )
            issues.append(
                Issue(
                    answer.place,
                    say(
                        "{taster} has no cup {code} in the key",
                        taster=printable(answer.taster),
                        code=printable(answer.code),
                    ),
                    remedy,
                )
            )
            continue
        if not answer.notes.strip():
            continue  # not tasted, or not yet written: no answer is no miss
        found = _named(answer, vocabulary, issues)
        if found is not None:
            named.setdefault(cup, []).extend(found)
    served = [
        Served(
            cup.taster,
            cup.code,
            cup.sample.name,
            given[cup],
            tuple(dict.fromkeys(named[cup])),
            cup.sample.multiple,
            cup.repeat,
        )
        for cup in made.cups
        if cup in named
    ]
    silent = [cup for cup in made.cups if cup not in named]
    if silent:
        told = joined(f"{cup.taster} {cup.code}" for cup in silent[:6]) + (" ..." if len(silent) > 6 else "")
        issues.append(
            Issue(
                Place(made.name),
                say(
                    "{count} cups of the key have no answer and are not counted: {told}",
                    count=len(silent),
                    told=told,
                ),
                say("Write 'clean' where nothing was found."),
                "warning",
            )
        )
    return served, issues


def _given(cup: Cup, base: KnowledgeBase, vocabulary: Vocabulary, issues: list[Issue]) -> tuple[str, ...]:
    found = []
    for note in cup.sample.notes:
        if note in base.descriptors:
            found.append(note)
            continue
        readings = [r.descriptor for r in read_words(note, vocabulary) if r.descriptor]
        if len(readings) == 1 and readings[0]:
            found.append(readings[0])
        else:
            remedy = did_you_mean(
                note, base.descriptors, say("Use the id of an off-note; see: tracer show NOTE")
            )
            issues.append(
                Issue(
                    Place("key"),
                    say("'{note}' of cup {code} is no off-note", note=printable(note), code=cup.code),
                    remedy,
                )
            )
    return tuple(found)


def _named(answer: Answer, vocabulary: Vocabulary, issues: list[Issue]) -> list[str] | None:
    if fold(answer.notes) in NOTHING:
        return []
    return understood(answer.notes, vocabulary, answer.place, issues)


def understood(
    text: str,
    vocabulary: Vocabulary,
    place: Place,
    issues: list[Issue],
    languages: tuple[str, ...] | None = None,
) -> list[str] | None:
    """What a taster named; words that are not understood are set aside, and a cup of nothing else has no answer: None."""
    found, aside = [], False
    for reading in read_words(text, vocabulary, languages):
        if reading.descriptor and reading.state != "absent":
            found.append(reading.descriptor)
        elif reading.outcome in ("unknown", "ambiguous"):
            what = (
                say("means several things")
                if reading.outcome == "ambiguous"
                else say("is no word of the vocabulary")
            )
            options = to_type(reading.candidates or reading.suggestions)
            aside = True
            issues.append(
                Issue(
                    place,
                    say("'{text}' {what}; it is set aside", text=printable(reading.text), what=what),
                    say("Ask the taster and write: {value}.", value=options or say("another word")),
                    "warning",
                )
            )
    return None if aside and not found else found


def counts(served: Sequence[Served], taster: str, note: str) -> Counts:
    """The four counts of one taster on one note; all other cups are cups without it."""
    rows = [one for one in served if fold(one.taster) == fold(taster)]
    hits = sum(note in one.given and note in one.named for one in rows)
    with_note = sum(note in one.given for one in rows)
    false_alarms = sum(note not in one.given and note in one.named for one in rows)
    return Counts(hits, with_note - hits, false_alarms, len(rows) - with_note - false_alarms)


def notes_of(served: Sequence[Served]) -> tuple[str, ...]:
    """Notes given or named, in order."""
    return tuple(dict.fromkeys(note for one in served for note in (*one.given, *one.named)))


def confusions(served: Sequence[Served], taster: str | None = None) -> dict[str, dict[str, int]]:
    """Given note -> named note -> cups, with (nothing) for blanks and for silence. A cup counts once for each pair."""
    table: dict[str, dict[str, int]] = {}
    for one in served:
        if taster is not None and fold(one.taster) != fold(taster):
            continue
        for given in one.given or (NONE,):
            named = (
                (given,)
                if given in one.named
                else tuple(n for n in one.named if n not in one.given) or (NONE,)
            )
            for name in named:
                row = table.setdefault(given, {})
                row[name] = row.get(name, 0) + 1
    return table


def mixed_up(served: Sequence[Served], taster: str) -> list[tuple[str, str, int, int]]:
    """What was given, what was named in its place, cups, of cups; the commonest first. Blanks and silence are no mix-up."""
    found = [
        (given, named, cups, sum(row.values()))
        for given, row in confusions(served, taster).items()
        for named, cups in row.items()
        if given != named and NONE not in (given, named)
    ]
    return sorted(found, key=lambda one: -one[2])


def repeated(served: Sequence[Served], taster: str) -> tuple[int, int]:
    """Of a taster's repeated samples: how many were answered alike, and how many there were."""
    rows = [one for one in served if fold(one.taster) == fold(taster)]
    pairs = [
        (one, other)
        for one in rows
        if one.repeat
        for other in rows
        if other.sample == one.sample and not other.repeat
    ]
    return sum(set(one.named) == set(other.named) for one, other in pairs), len(pairs)


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far a panel agrees on one note, whatever was given: alpha and its interval."""

    note: str
    alpha: float | None
    low: float | None
    high: float | None


def agreement(served: Sequence[Served], note: str, seed: int = 1) -> Agreement:
    """Krippendorff's alpha over samples, named or not, of those served to several tasters."""
    firsts = [one for one in served if not one.repeat]
    samples = list(dict.fromkeys(one.sample for one in firsts))
    tasters = list(dict.fromkeys(one.taster for one in firsts))
    answer = {(one.taster, one.sample): note in one.named for one in firsts}
    table = [[answer.get((taster, sample)) for sample in samples] for taster in tasters]
    alpha = krippendorff(table)
    ends = interval(table, times=400, seed=seed) if alpha is not None and len(samples) > 2 else None
    return Agreement(note, alpha, *(ends or (None, None)))


@dataclass(frozen=True, slots=True)
class TasterScore:
    """How one taster did in a session."""

    taster: str
    notes: tuple[tuple[str, Counts], ...]
    """Weakest first."""
    mixed: tuple[tuple[str, str, int, int], ...]
    """What was given, what was named in its place, cups, of cups."""
    alike: tuple[int, int]
    """Repeats answered alike, and repeats."""


def taster_scores(served: Sequence[Served]) -> tuple[TasterScore, ...]:
    """Found, made up, mixed up and repeated, taster by taster."""
    notes, found = notes_of(served), []
    for taster in dict.fromkeys(one.taster for one in served):
        rows = [(note, counts(served, taster, note)) for note in notes]
        rows.sort(key=lambda row: row[1].hits / max(1, row[1].with_note))
        found.append(
            TasterScore(taster, tuple(rows), tuple(mixed_up(served, taster)), repeated(served, taster))
        )
    return tuple(found)
