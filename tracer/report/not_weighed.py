"""What stands on the sheet and moved nothing, with the reason: nothing is dropped in silence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tracer.causes.contacts import fault_stem
from tracer.findings.fact import Fact
from tracer.findings.gathered import Gathered
from tracer.findings.told import settling
from tracer.inference.chain import repeated
from tracer.inference.numbered import is_numbered
from tracer.inference.odour_activity import activity
from tracer.inference.smells import smells
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.compared import comparisons_of, rows_compared
from tracer.lots.observed import Observation
from tracer.names import printable
from tracer.report.document import NotWeighed
from tracer.report.lines import fact_in_words
from tracer.wording.sentence import Own, joined, say

NO_RULE = say("no rule reads it yet")
SILENT = say("no rule speaks at this value")
KEPT = say("kept; the reasoner does not weigh it yet")
USUAL = say("nearly every lot meets it: that it was there says nothing by itself")
NOT_OLD = say("a crop year counts where it shows that the lot is old")
TAKEN_FOR = say("a lot counts as suspected anyhow, unless it was cupped as routine")
UNKNOWN = say("not known here; add smell: and what it smells of")


def not_weighed(base: KnowledgeBase, gathered: Gathered) -> tuple[NotWeighed, ...]:
    """Every line of the sheet that moves no figure."""
    return tuple(
        one
        for step in (_records, _answers, _laboratory, _circumstances, _cups, _said, _remarks)
        for one in step(base, gathered)
    )


def _used(gathered: Gathered) -> set[str]:
    return {fact.name for finding in gathered.findings for fact in finding.facts}


def _records(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    used = _used(gathered)
    read = _read_by_rules(base)
    measured = {one.record for one in gathered.history.measured}
    splits = {one.record for one in gathered.split}
    suspicion = base.settings.suspicion.record if base.settings.suspicion else None
    compared = rows_compared(gathered.lot, base)
    smelled = {smell.record for smell in smells(base, gathered.lot)}
    smelled |= {one.id for one in base.records.values() if one.smells_of_nothing}
    for row in gathered.lot.records:
        label, place = base.records[row.record].label, str(row.place)
        if row.value is None and row.amount is None:
            told = len({one.written for one in row.witnesses}) > 1
            if told:
                yield NotWeighed(
                    say("{label}: {written}", label=label, written=row.written),
                    say("those who say it contradict each other"),
                    place,
                    "record",
                )
            continue
        from_this = {row.record, *_made_from(base, row.record)}
        if from_this & used or row.record in smelled or (row.record, row.value) in compared:
            continue
        because: str
        if row.record in measured:
            because = say("a log or reading says it, and counts instead")
        elif row.record in splits:
            because = say("the range reaches over the limit of a rule")
        elif row.record == suspicion:
            because = TAKEN_FOR
        else:
            because = SILENT if from_this & read else NO_RULE
        yield NotWeighed(
            say("{label}: {written}", label=label, written=row.written) if not row.said else label,
            because,
            place,
            "record",
        )


def _made_from(base: KnowledgeBase, record: str) -> set[str]:
    return {
        one.id for one in base.records.values() if record in (*(one.between or ()), *(one.difference or ()))
    }


def _read_by_rules(base: KnowledgeBase) -> set[str]:
    return {
        condition.record
        for rule in base.rules.values()
        for condition in (*(rule.when.all or ()), *(rule.when.any or ()))
        if condition.record
    }


def _answers(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    weighed = {finding.rule for finding in gathered.findings if finding.verb == "answer"}
    counting = gathered.counting
    for question, answer in gathered.lot.answers:
        tested = any(given.compound for given in base.enquiries[question].given)
        counts = (question, answer) in counting.answers
        if question not in weighed and not (tested and counts):
            yield NotWeighed(
                say("{question}: {answer}", question=question, answer=answer),
                _instead(base, settling(base.enquiries[question], gathered.facts)),
                gathered.lot.file,
                "answer",
            )


def _instead(base: KnowledgeBase, rows: Sequence[Fact]) -> str:
    """The rows that were read in place of an answer, so that one sees where the two quarrel."""
    if not rows:
        return say("a row of the sheet answers it already")
    told = joined(fact_in_words(base, row) for row in rows)
    return say("the sheet answers it already: {rows}. Where the two differ, ask which is right", rows=told)


def _laboratory(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    for result in gathered.lot.laboratory:
        label = base.compounds[result.compound].label if result.known else result.compound
        if not result.known:
            yield NotWeighed(label, say("no compound of the knowledge base"), str(result.place), "laboratory")
        elif activity(base, result) is not None:
            continue
        elif result.result is None:
            because = say("it does not say whether it is raised against a sound reference")
            yield NotWeighed(label, because, str(result.place), "laboratory")
        elif result.value is not None or result.amount is not None:
            yield NotWeighed(
                say("the figure for {label}", label=label),
                say(
                    "no threshold in water or brew fits its unit and matrix; only raised or not raised is weighed"
                ),
                str(result.place),
                "laboratory",
            )


def _circumstances(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    used = _used(gathered)
    lot, stands = gathered.lot, base.settings.stands_for
    if lot.crop and "months_since_harvest" not in used:
        yield NotWeighed(say("crop {crop}", crop=Own(lot.crop)), NOT_OLD, lot.file, "crop")
    compared = {record for record, _ in rows_compared(lot, base)}
    parts = {(fact.name, fact.value) for one in gathered.findings for fact in one.facts}
    for pattern in lot.pattern:
        rows = {
            s.record
            for s in stands
            if s.pattern and (s.pattern.level, s.pattern.share) == (pattern.level, pattern.share)
        }
        if not rows & (used | compared) and (pattern.level, pattern.share) not in parts:
            yield NotWeighed(
                say("{level}: {share}", level=pattern.level.replace("_", " "), share=pattern.share),
                KEPT,
                str(pattern.place),
                "pattern",
            )
    weighed = {(one.with_, one.shows, one.of) for one in comparisons_of(lot, base)}
    for one in lot.comparisons:
        if (one.with_, one.shows, one.of) not in weighed:
            told = f"{one.with_.replace('_', ' ')} {one.shows.replace('_', ' ')}"
            clash = any(o.with_ == one.with_ and o.shows != one.shows for o in lot.comparisons)
            because = say("another line says the opposite of the same coffee") if clash else KEPT
            yield NotWeighed(told, because, str(one.place), "comparison")
    for number, contact in enumerate(lot.contact):
        if not any(name.startswith(f"{fault_stem(number, contact)}_") for name in base.faults):
            because = USUAL if contact.material else UNKNOWN
            yield NotWeighed(
                say("contact with {words}", words=contact.words), because, str(contact.place), "contact"
            )
    for normal in lot.normal:
        label = base.stages[normal.stage].label if normal.stage in base.stages else say("every stage")
        yield NotWeighed(
            say("nothing unusual: {label}", label=label.lower()), KEPT, str(normal.place), "normal"
        )


def _cups(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    found = set(gathered.heard.everywhere())
    for observation in gathered.heard.beside:
        if observation.found != 0 and observation.descriptor not in found:
            label = base.descriptors[observation.descriptor].label
            because = say("it was not found in the lot itself")
            yield NotWeighed(
                say("{label} of {taster}", label=label, taster=observation.taster),
                because,
                str(observation.place),
                "note",
            )
    yield from _numbers(base, gathered)
    for place in sorted(repeated(gathered.lot)):
        cupping = gathered.lot.cuppings[place]
        because = say("it says word for word what an earlier one says, and counts once")
        yield NotWeighed(
            say("a cupping of the {sample} sample", sample=cupping.sample.replace("_", " ")),
            because,
            str(cupping.place),
            "note",
        )
    for cupping in gathered.lot.cuppings:
        for score in (cupping.score, *(tasting.score for tasting in cupping.tastings)):
            if score is not None:
                yield NotWeighed(
                    say("score {score:g}", score=score),
                    say("points are kept and compared, not weighed"),
                    str(cupping.place),
                    "score",
                )
        for tasting in cupping.tastings:
            for note in (*tasting.notes, *tasting.not_found):
                if note.share is not None:
                    because = say("it counts as at least one cup; give the number of cups")
                    yield NotWeighed(
                        say("'{text}' with cups: {share}", text=note.text, share=note.share),
                        because,
                        str(note.place),
                        "note",
                    )


def _numbers(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    """Cups named by number that count as so many cups."""
    heard = gathered.heard
    for part in (heard.observations, heard.elsewhere, heard.beside):
        tables: dict[tuple[str, int], list[Observation]] = {}
        for one in part:
            tables.setdefault((one.descriptor, one.cupping), []).append(one)
        for (note, _), table in tables.items():
            first = next((one for one in table if one.which), None)
            if first is not None and not is_numbered(table):
                yield NotWeighed(
                    say("which cups had {label}", label=base.descriptors[note].label),
                    say(
                        "they count by how many: numbers tell more only where every taster of the table names the cups, of as many cups"
                    ),
                    str(first.place),
                    "note",
                )


def _said(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    del base
    open_ones: dict[str, str] = {}
    confirmed = {one.read.text for one in gathered.said if one.state == "confirmed"}
    for one in gathered.said:
        if one.state == "open" and one.rank == 1 and one.read.text not in confirmed:
            open_ones.setdefault(one.read.text, str(one.said.place))
    for sentence, place in open_ones.items():
        yield NotWeighed(f"'{_short(sentence)}'", say("not confirmed: see tracer history"), place, "said")
    for said, read in gathered.text_only:
        yield NotWeighed(f"'{_short(read.text)}'", say("read only as text"), str(said.place), "said")


def _short(sentence: str) -> str:
    return sentence if len(sentence) <= 60 else sentence[:57].rstrip() + "..."


def _remarks(base: KnowledgeBase, gathered: Gathered) -> Iterator[NotWeighed]:
    del base
    for remark in gathered.lot.remarks:
        yield NotWeighed(
            say("remark '{remark}'", remark=_short(printable(remark))),
            say("remarks are kept, not weighed"),
            gathered.lot.file,
            "remark",
        )
