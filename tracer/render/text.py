"""The report on a terminal: answer first, then sources, stages, questions; cautions on top."""

from __future__ import annotations

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from tracer.enquiry.plan import AskLine
from tracer.render.aside import conflicts, history, notes, of_level, open_words, panel, safe, unweighed
from tracer.render.columns import columns
from tracer.render.headline import in_days, next_step, said_once, what, where
from tracer.report.alike import alike_screen
from tracer.report.document import Report, SourceLine
from tracer.report.verdict import parted
from tracer.wording.language import tell
from tracer.wording.sentence import joined

BAR = 20


def show_report(report: Report, console: Console, everything: bool = False) -> None:
    """Print the first screen; with `everything`, also weights, findings and what is not known."""
    console.print(first_screen(report))
    if everything:
        for source in report.sources:
            console.print(source_screen(source))
        console.print(_all_findings(report))


def first_screen(report: Report) -> RenderableType:
    """What is it, where did it come from, how sure, what to do next; then the tables."""
    report = tell(report)
    parts: list[RenderableType] = [_heading(report)]
    parts += [_caution_panel(report, level) for level in ("stop", "hold") if of_level(report, level)]
    parts.append(_answer(report))
    if report.deadlines:
        first = report.deadlines[0]
        told = tell(
            "First claim day  {what} by {last_day} ({clause})",
            what=first.what,
            last_day=first.last_day,
            clause=first.clause,
        )
        parts.append(Text(safe(told), style="bold yellow"))
    if report.sources:
        parts += [Text(), _sources(report), Text(), _stages(report)]
    if report.compounds:
        parts += [Text(), _compounds(report)]
    if report.measured:
        parts += [Text(tell("\nWhat the laboratory's figures come to"), style="bold")]
        parts += [Text(f"- {safe(line)}") for line in report.measured]
    if report.asks:
        parts += [Text(), _asks(report)]
    parts += open_words(report) + conflicts(report) + panel(report) + history(report) + notes(report)
    parts += unweighed(report) + alike_screen(report.alike)
    return Group(*parts)


def _heading(report: Report) -> Text:
    line = Text()
    line.append(tell("Lot {lot}", lot=safe(report.lot)), style="bold")
    if report.described:
        line.append(f"   {safe(report.described)}")
    version = tell(
        "   knowledge {version} {sha256}",
        version=report.knowledge.version,
        sha256=report.knowledge.sha256[:8],
    )
    line.append(version, style="dim")
    return line


def _caution_panel(report: Report, level: str) -> RenderableType:
    title = tell({"stop": "STOP TASTING", "hold": "HOLD THE LOT"}[level])
    body = Group(*[Text(f"- {line}") for line in said_once(report, level)])
    style = "bold red" if level == "stop" else "yellow"
    return Panel(body, title=title, title_align="left", border_style=style)


def _answer(report: Report) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    table.add_row(tell("What"), Text(what(report)))
    table.add_row(tell("Where"), _where(report))
    apart = parted(report.by_note)
    if apart:
        table.add_row(tell("Apart"), Text(apart))
    table.add_row(tell("How sure"), Text(report.verdict_text))
    table.add_row(tell("Next"), Text(next_step(report)))
    return table


def _where(report: Report) -> Text:
    text = Text(where(report))
    if report.sources and report.none_of_these >= 0.2:
        text.append(tell("; none of these {none_of_these:.2f}", none_of_these=report.none_of_these))
    return text


def _sources(report: Report) -> Table:
    table = columns(
        "",
        tell("probable source"),
        tell("stage"),
        tell("probability"),
        tell("range"),
        tell("carried by"),
        title=tell("Sources, most probable first"),
    )
    labels = {stage.stage: stage.label for stage in report.stages}
    for number, source in enumerate(report.sources, 1):
        carried = dict.fromkeys(step.cause for step in source.chain if step.cause != source.label)
        table.add_row(
            str(number),
            Text(source.label),
            labels[source.stage],
            f"{source.probability:.2f}",
            tell("{low:.2f} to {high:.2f}", low=source.low, high=source.high),
            Text(joined(carried)),
        )
    table.add_row("", Text(tell("none of these"), style="italic"), "", f"{report.none_of_these:.2f}", "", "")
    return table


def _stages(report: Report) -> Table:
    some = any(stage.unlisted >= 0.005 for stage in report.stages)
    other_column = (tell("of that not listed"),) if some else ()
    table = columns(
        tell("stage"), tell("probability"), "", *other_column, tell("who answers for it"), title="Stages"
    )
    for stage in report.stages:
        if stage.probability < 0.005:
            continue
        filled = round(stage.probability * BAR)
        bar = Text("█" * filled, style="cyan").append("·" * (BAR - filled), style="dim")
        other = f"{stage.unlisted:.2f}" if stage.unlisted >= 0.005 else ""
        table.add_row(
            stage.label, f"{stage.probability:.2f}", bar, *((other,) if some else ()), Text(stage.ask_of)
        )
    return table


def _compounds(report: Report) -> Table:
    table = columns(
        tell("compound"), tell("probability"), tell("members or nature"), title=tell("Compounds in the cups")
    )
    for compound in report.compounds:
        nature = (
            joined(compound.members)
            if compound.members
            else ("" if compound.identified else tell("no molecule known"))
        )
        table.add_row(Text(compound.label), f"{compound.probability:.2f}", Text(nature))
    return table


def _asks(report: Report) -> Table:
    table = columns(
        "",
        tell("bits"),
        tell("per cost"),
        tell("ask"),
        tell("what each answer would change"),
        title=tell("Ask or test next"),
    )
    for number, ask in enumerate(report.asks[:5], 1):
        table.add_row(
            str(number), f"{ask.gain_bits:.2f}", f"{ask.gain_per_cost:.2f}", _question(ask), _answers(ask)
        )
    return table


def _question(ask: AskLine) -> Text:
    who = ask.ask_of.replace("_", " ")
    text = Text(ask.text)
    text.append(
        tell(
            "\n{kind}, {who}, {cost}, {days}; id {id}",
            kind=ask.kind,
            who=who,
            cost=ask.cost,
            days=in_days(ask.days),
            id=ask.id,
        ),
        style="dim",
    )
    if ask.caution:
        text.append(f"\n{ask.caution}", style="yellow")
    return text


def _answers(ask: AskLine) -> Text:
    lines = [
        f"{answer.label} ({answer.probability:.0%}) -> {answer.top_stage} {answer.top_stage_probability:.2f}"
        for answer in ask.answers
    ]
    return Text("\n".join(lines))


def source_screen(source: SourceLine) -> RenderableType:
    """Why one source stands where it does: chain, weights for and against, what is missing."""
    source = tell(source)
    head = Text(f"\n{source.label}", style="bold").append(f"   [{source.fault}]", style="dim")
    lines: list[RenderableType] = [head, Padding(Text(source.definition), (0, 0, 0, 2))]
    numbers = tell(
        "source {probability:.2f} ({low:.2f} to {high:.2f}); {prior:.4f} of all lots -> with the history {after_history:.3f} -> with the cups {present:.2f}",
        probability=source.probability,
        low=source.low,
        high=source.high,
        prior=source.prior,
        after_history=source.after_history,
        present=source.present,
    )
    lines.append(Padding(Text(numbers), (0, 0, 0, 2)))
    for step in source.chain:
        sources = f"; {', '.join(step.sources)}" if step.sources else ""
        lines.append(Padding(Text(f"{step.cause} -> {step.effect}: {step.strength}{sources}"), (0, 0, 0, 2)))
    table = columns(
        tell("log10"), "", tell("evidence"), title=tell("  Weight of evidence, given all the rest")
    )
    for weight in source.weights:
        size = min(10, round(abs(weight.log10) * 5))
        bar = Text(("+" if weight.log10 > 0 else "-") * size, style="green" if weight.log10 > 0 else "red")
        about = weight.text + (tell(" (a stronger finding of its group speaks)") if weight.silent else "")
        table.add_row(f"{weight.log10:+.2f}", bar, Text(safe(about)))
    lines.append(Padding(table, (0, 0, 0, 2)))
    for title, items in (
        (tell("expected but not there, or not looked for"), source.missing),
        (tell("look for in the green"), source.green_signs),
        (tell("to confirm it"), source.confirm),
        (tell("with this lot"), source.remedy),
        (tell("next time"), source.prevention),
    ):
        if items:
            lines.append(Padding(Text(f"{title}: ").append(joined(items, "; ")), (0, 0, 0, 2)))
    if source.caution:
        lines.append(
            Padding(Text(tell("caution: {caution}", caution=source.caution), style="yellow"), (0, 0, 0, 2))
        )
    return Group(*lines)


def _all_findings(report: Report) -> RenderableType:
    report = tell(report)
    table = columns(tell("finding"), tell("says"), tell("from"), title=tell("\nAll findings"))
    for finding in report.findings:
        table.add_row(
            Text(safe(finding.text)), tell(finding.kind.replace("_", " ")), Text(safe(joined(finding.facts)))
        )
    lines: list[RenderableType] = [table]
    if report.absent:
        lines.append(Text(tell("\nLooked for and not found: {absent}", absent=joined(report.absent))))
    if report.absent_left_out:
        lines.append(
            Text(
                tell(
                    "{absent_left_out} more that bear on no candidate were not weighed.",
                    absent_left_out=report.absent_left_out,
                )
            )
        )
    if report.not_known:
        lines.append(
            Text(
                tell(
                    "\nNot known, and so no evidence either way: {not_known}",
                    not_known=safe(joined(report.not_known)),
                )
            )
        )
    return Group(*lines)
