"""What to ask and test next, as a screen: by stage order of worth, with every answer's consequence."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from tracer.enquiry.plan import AskLine
from tracer.names import printable
from tracer.report.document import Report


def questions_screen(report: Report) -> RenderableType:
    """Every question worth asking, best first, with who, record, cost, and what each answer would change."""
    if not report.asks:
        reason = (
            "no off-note was reported" if not report.notes else "no question left would change the ranking"
        )
        return Text(f"Nothing to ask: {reason}.")
    stages = {line.stage: line.label for line in report.stages}
    parts: list[RenderableType] = [
        Text(f"Lot {printable(report.lot)}: what to ask and test, most telling first", style="bold")
    ]
    parts += [_one(number, ask, stages) for number, ask in enumerate(report.asks, 1)]
    return Group(*parts)


def _one(number: int, ask: AskLine, stages: dict[str, str]) -> RenderableType:
    who = ask.ask_of.replace("_", " ")
    days = "at once" if ask.days < 0.05 else f"about {ask.days:g} days"
    head = Text(f"\n{number}. {ask.text}", style="bold")
    about = Text(
        f"{ask.kind} to: {who}; stage: {stages[ask.stage]}; cost: {ask.cost}; {days}; settled by: {ask.record}"
    )
    worth = Text(
        f"worth {ask.gain_bits:.3f} bits about the source stages ({ask.gain_per_cost:.3f} for its cost); id {ask.id}",
        style="dim",
    )
    lines: list[RenderableType] = [about, worth]
    for answer in ask.answers:
        change = f"{answer.top_stage} {answer.top_stage_probability:.2f}, first source {answer.top_source}"
        lines.append(Text(f"- if '{answer.label}' ({answer.probability:.0%}): {change}"))
    if ask.caution:
        lines.append(Text(ask.caution, style="yellow"))
    return Group(head, Padding(Group(*lines), (0, 0, 0, 3)))
