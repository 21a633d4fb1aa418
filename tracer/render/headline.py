"""The lines that come first on every screen and paper: what, where, what next, and what to hold for."""

from __future__ import annotations

from tracer.enquiry.plan import AskLine
from tracer.knowledge.base import KnowledgeBase
from tracer.names import printable
from tracer.report.document import Report
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined


def said_once(report: Report, level: str) -> list[str]:
    """The cautions of a level, each once, with everything it is said for."""
    because: dict[str, list[str]] = {}
    for one in report.cautions:
        if one.level == level:
            because.setdefault(one.text, []).append(one.because)
    return [f"{text} ({'; '.join(dict.fromkeys(reasons))})" for text, reasons in because.items()]


def what(report: Report) -> str:
    """What is traced: notes with their cups, smells of the green, and what else needs a cause."""
    found = [f"{note.label} ({note.cups})" for note in report.notes]
    if found or report.beside:
        return joined([*(found or [tell("no off-note in the cups")]), *report.beside], "; ")
    if report.unmatched_words:
        return tell("words still open: see below")
    if report.elsewhere:
        return tell(
            "no off-note in the {sample} sample; before it: {elsewhere}",
            sample=report.sample.replace("_", " "),
            elsewhere=joined(report.elsewhere, "; "),
        )
    return tell("no off-note was reported")


def where(report: Report) -> str:
    """The first stage and the first source; the stage of the source too, where that is another."""
    if not report.sources:
        return first_stage(report)
    best, first = report.sources[0], report.stages[0]
    of = next(line.label for line in report.stages if line.stage == best.stage)
    if best.stage == first.stage:
        return tell(
            "{stage}; first source: {label} {probability:.2f}",
            stage=Own(first_stage(report)),
            label=best.label,
            probability=best.probability,
        )
    return tell(
        "{stage}; first source: {label} {probability:.2f} ({of})",
        stage=Own(first_stage(report)),
        label=best.label,
        probability=best.probability,
        of=of,
    )


def first_stage(report: Report) -> str:
    """The first stage with its figure; where it comes first by a cause that the knowledge does not name, that is said.

    Where nothing is traced, and the sheet tells more than clean cups: where to look first if something is wrong all the same.
    """
    if not report.sources:
        if not report.stages or not (report.findings or report.alike):
            return tell("nothing to trace")
        stages = joined(
            (
                tell("{label} {probability:.2f}", label=one.label, probability=one.probability)
                for one in report.stages[:2]
            ),
            ", ",
        )
        if report.unmatched_words:
            return tell(
                "no word is understood yet; by its papers and the cases it reads like, look first at: {stages}",
                stages=stages,
            )
        return tell(
            "nothing to trace; if something went wrong all the same, by its papers and the cases it reads like: {stages}",
            stages=stages,
        )
    stage = report.stages[0]
    if 2 * stage.unlisted <= stage.probability:
        return f"{stage.label} {stage.probability:.2f}"
    return tell(
        "{label} {probability:.2f}, of that {unlisted:.2f} for a cause that is not listed",
        label=stage.label,
        probability=stage.probability,
        unlisted=stage.unlisted,
    )


def next_step(report: Report, plain: bool = False) -> str:
    """What to do next, the first thing first; `plain` without ids and bits, and without what a caution above it says."""
    report = tell(report)
    asked = {ask.id: ask for ask in report.asks}
    steps = [step for step in report.next if not (plain and step.kind in ("stop", "hold"))]
    parts = [_asked(asked[step.ask], plain) if step.kind == "ask" else printable(step.text) for step in steps]
    return joined(parts, "; ") or tell("nothing more to ask that would change this")


def _asked(ask: AskLine, plain: bool) -> str:
    verb = (
        tell("test") if ask.kind == "test" else tell("ask the {ask_of}", ask_of=ask.ask_of.replace("_", " "))
    )
    if plain:
        return tell("{verb}: {text}", verb=verb, text=ask.text)
    return tell(
        "{verb}: {text} [{id}; {cost}, {days}, {gain_bits:.2f} bits]",
        verb=verb,
        text=ask.text,
        id=ask.id,
        cost=ask.cost,
        days=in_days(ask.days),
        gain_bits=ask.gain_bits,
    )


def in_days(days: float) -> str:
    """How long an answer takes."""
    return tell("at once") if days < 0.05 else f"{days:g} d"


def about_ask(ask: AskLine) -> str:
    """Kind, who is asked, cost and what settles it; the line is told already but for its ids."""
    return tell(
        "{kind}, {asked}, {cost}; settled by: {record}",
        kind=ask.kind,
        asked=ask.ask_of.replace("_", " "),
        cost=ask.cost,
        record=ask.record,
    )


def labels_of(base: KnowledgeBase) -> dict[str, str]:
    """What the rows of a sheet are called, for the page."""
    return {record.id: record.label for record in base.records.values()}
