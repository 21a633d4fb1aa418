"""Evidence that does not go together, named with what to do about it."""

from __future__ import annotations

from math import log10

from tracer.findings.gathered import Gathered
from tracer.findings.told import against
from tracer.findings.weigh import Combined
from tracer.inference.evidence import Weighed
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.observed import Heard, Observation
from tracer.report.document import Conflict, SourceLine
from tracer.report.lines import fact_in_words
from tracer.wording.sentence import joined, say

CONTRARY = 0.6
"""log10 from which a finding counts as plainly for or against (a factor of four)."""


def conflicts(
    base: KnowledgeBase,
    heard: Heard,
    ratios: dict[str, Combined],
    sources: tuple[SourceLine, ...],
    fits: bool,
    weighed: Weighed,
) -> tuple[Conflict, ...]:
    """Tasters who quarrel, findings that pull one source both ways, cups against papers, and a bad fit."""
    found = list(_quarrels(base, heard))
    for source in sources[:3]:
        spoken = list(ratios[source.fault].speaking) if source.fault in ratios else []
        towards = [item for item in spoken if log10(item.ratio[1]) >= CONTRARY]
        away = [item for item in spoken if log10(item.ratio[1]) <= -CONTRARY]
        if towards and away:
            text = say(
                'For "{label}", "{label_2}" speaks for and "{label_3}" against.',
                label=source.label,
                label_2=towards[0].finding.label,
                label_3=away[0].finding.label,
            )
            found.append(
                Conflict(text, say("Check both records: one may be of another lot, or filled in afterwards."))
            )
        elif away and source.probability >= base.settings.verdicts.several:
            text = say(
                'The cups point to "{label}" although "{label_2}" speaks against it.',
                label=source.label,
                label_2=away[0].finding.label,
            )
            found.append(Conflict(text, say("Ask for the record itself, and cup another sample.")))
    told: set[frozenset[str]] = set()
    for one in ratios.values():
        for pair in one.contradicted:
            rules = frozenset(finding.rule for finding in pair)
            if rules not in told:
                told.add(rules)
                text = say(
                    '"{label}" and "{label_2}" say the opposite with the same weight; neither counts.',
                    label=pair[0].label,
                    label_2=pair[1].label,
                )
                found.append(Conflict(text, say("Find out which of the two holds, and take the other out.")))
    if not fits:
        found.append(
            Conflict(
                say("The findings hardly fit the knowledge base."),
                say("Check the sheet; there may be a fault it does not know."),
            )
        )
    if weighed.present_left_out:
        names = joined(base.descriptors[name].label for name in weighed.present_left_out)
        found.append(
            Conflict(
                say("Too many notes at once; the faintest were not weighed: {names}.", names=names),
                say("Keep to the loudest notes."),
            )
        )
    if weighed.words_left_out:
        names = joined(f"'{word}'" for word in weighed.words_left_out)
        found.append(
            Conflict(
                say(
                    "Too many words of several meanings at once; these were not weighed: {names}.",
                    names=names,
                ),
                say("Settle them with the tasters first."),
            )
        )
    return tuple(found)


def rows_against_answers(base: KnowledgeBase, gathered: Gathered) -> tuple[Conflict, ...]:
    """Answers that a row of the sheet, or what is measured or computed, contradicts."""
    found = []
    for question, answer in gathered.lot.answers:
        enquiry = base.enquiries[question]
        facts = against(enquiry, answer, gathered.facts)
        if facts:
            text = say(
                'The sheet says "{rows}", the answer to "{question}" is "{answer}"; the sheet counts.',
                rows=joined(fact_in_words(base, fact) for fact in facts),
                question=enquiry.text,
                answer=enquiry.answers[answer],
            )
            found.append(Conflict(text, say("Find out which of the two holds, and take the other out.")))
    return tuple(found)


def _quarrels(base: KnowledgeBase, heard: Heard) -> list[Conflict]:
    found = []
    by_note: dict[tuple[str, int], list[Observation]] = {}
    for observation in heard.observations:
        by_note.setdefault((observation.descriptor, observation.cupping), []).append(observation)
    for (name, _), rows in by_note.items():
        loud = [o for o in rows if o.found is not None and o.found > o.cups / 2]
        silent = [o for o in rows if o.found == 0]
        if loud and silent:
            label = base.descriptors[name].label
            text = say(
                "{taster} finds {label} in {found} of {cups} cups; {taster_2} looked and finds none.",
                taster=loud[0].taster,
                label=label,
                found=loud[0].found,
                cups=loud[0].cups,
                taster_2=silent[0].taster,
            )
            remedy = say(
                "Repeat blind with a control and a hidden twin before it counts; one of the two may be blind to this note."
            )
            found.append(Conflict(text, remedy))
    return found
