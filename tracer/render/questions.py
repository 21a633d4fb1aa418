"""What to ask and test next, as a screen: by stage order of worth, with every answer's consequence."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from tracer.enquiry.plan import AskLine
from tracer.names import printable
from tracer.report.document import Report
from tracer.wording.language import tell
from tracer.wording.sentence import Own


def questions_screen(report: Report) -> RenderableType:
    """Every question worth asking, best first, with who, record, cost, and what each answer would change."""
    report = tell(report)
    if not report.asks:
        reason = (
            tell("no off-note was reported")
            if not report.notes
            else tell("no question left would change the ranking")
        )
        return Text(tell("Nothing to ask: {reason}.", reason=reason))
    stages = {line.stage: line.label for line in report.stages}
    parts: list[RenderableType] = [
        Text(
            tell("Lot {lot}: what to ask and test, most telling first", lot=printable(report.lot)),
            style="bold",
        )
    ]
    parts += [_one(number, ask, stages) for number, ask in enumerate(report.asks, 1)]
    return Group(*parts)


def _one(number: int, ask: AskLine, stages: dict[str, str]) -> RenderableType:
    who = ask.ask_of.replace("_", " ")
    days = tell("at once") if ask.days < 0.05 else tell("about {days:g} days", days=ask.days)
    head = Text(f"\n{number}. {ask.text}", style="bold")
    about = Text(
        tell(
            "{kind} to: {who}; stage: {stages}; cost: {cost}; {days}; settled by: {record}",
            kind=ask.kind,
            who=who,
            stages=stages[ask.stage],
            cost=ask.cost,
            days=days,
            record=ask.record,
        )
    )
    worth = Text(
        tell(
            "worth {gain_bits:.3f} bits about the source stages ({gain_per_cost:.3f} for its cost); id {id}",
            gain_bits=ask.gain_bits,
            gain_per_cost=ask.gain_per_cost,
            id=ask.id,
        ),
        style="dim",
    )
    lines: list[RenderableType] = [about, worth]
    for answer in ask.answers:
        change = tell(
            "{top_stage} {top_stage_probability:.2f}, first source {top_source}",
            top_stage=answer.top_stage,
            top_stage_probability=answer.top_stage_probability,
            top_source=answer.top_source,
        )
        lines.append(
            Text(
                tell(
                    '- if "{label}" [{answer}] ({probability:.0%}): {change}',
                    label=answer.label,
                    answer=Own(answer.answer),
                    probability=answer.probability,
                    change=change,
                )
            )
        )
    if ask.caution:
        lines.append(Text(ask.caution, style="yellow"))
    return Group(head, Padding(Group(*lines), (0, 0, 0, 3)))
