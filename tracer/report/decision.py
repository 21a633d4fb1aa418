"""What to do next with a lot, in order: what is safe first, then what the answer asks for, then what is still worth asking.

Where the answer is clear, the lot comes before the question; where it is not, the question that tells most for its cost comes
first. A question is worth asking from a limit in bits about the source stages, and in bits for its cost (settings); none is named that would make somebody
smell or taste what a stop forbids.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from tracer.enquiry.plan import AskLine
from tracer.history.sampling import cups_needed
from tracer.knowledge.settings import Settings
from tracer.report.cautions import HOLD, STOP
from tracer.report.document import Caution, Deadline, Step
from tracer.report.verdict import BENCH_SUSPECTED, SEVERAL_SOURCES, SOURCE_SUPPORTED
from tracer.wording.sentence import say

CLEAR = (SOURCE_SUPPORTED, SEVERAL_SOURCES, BENCH_SUSPECTED)
"""Verdicts after which there is something to do with the lot."""


class Remedied(Protocol):
    """A ranked source, as far as the decision reads it."""

    @property
    def fault(self) -> str: ...  # noqa: D102
    @property
    def remedy(self) -> tuple[str, ...]: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Known:
    """What the decision rests on."""

    verdict: str
    sources: Sequence[Remedied]
    cautions: Sequence[Caution]
    asks: Sequence[AskLine]
    deadlines: Sequence[Deadline]
    open_words: bool
    notes: bool
    cups: int
    """Cups of the lot's samples, over all tasters."""
    found: int
    """Most cups in which a note was found."""


def decide(known: Known, settings: Settings) -> tuple[Step, ...]:
    """The next steps, the first to be done first; empty where there is nothing to do."""
    levels = {caution.level for caution in known.cautions}
    clear = known.verdict in CLEAR
    steps: list[Step] = []
    if STOP in levels:
        steps.append(Step("stop", say("nobody tastes or smells it further; keep it apart, labelled")))
    if HOLD in levels:
        steps.append(Step("hold", say("hold the lot until the laboratory has answered")))
    if known.open_words and not known.notes:
        steps.append(Step("words", say("settle the open words below, then trace again")))
    if clear and known.sources:
        first = known.sources[0]
        bench = known.verdict == BENCH_SUSPECTED
        allowed = say("once the laboratory allows tasting: ") if bench and STOP in levels else ""
        steps += [
            Step("bench" if bench else "act", allowed + text, source=first.fault) for text in first.remedy
        ]
        steps += _claim(known)
    least = settings.verdicts
    worth = [
        one
        for one in known.asks
        if one.gain_bits >= least.worth_asking and one.gain_per_cost >= least.worth_its_cost
    ]
    if worth:
        steps.append(Step("ask", worth[0].text, ask=worth[0].id))
    if not clear and known.sources:
        steps += _cup_more(known, settings, STOP in levels)
        steps += _claim(known)
    return tuple(steps)


def _claim(known: Known) -> list[Step]:
    return [
        Step("claim", say("write before {last_day}: {what}", last_day=one.last_day, what=one.what))
        for one in known.deadlines[:1]
    ]


def _cup_more(known: Known, settings: Settings, stopped: bool) -> list[Step]:
    """A note in one cup may be one bean: more cups tell, where tasting goes on."""
    limits = settings.physics.sampling
    needed = cups_needed(limits.telling_share, limits.confidence)
    if stopped or known.found > 1 or known.cups >= needed:
        return []
    text = say(
        "cup more, from other bags: {needed} cups show a note that is in {telling_share:.0%} of cups with {confidence:.0%}",
        needed=needed,
        telling_share=limits.telling_share,
        confidence=limits.confidence,
    )
    return [Step("sample", text)]
