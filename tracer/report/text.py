"""The report on a terminal: answer first, then sources, stages, questions; cautions on top."""

from __future__ import annotations

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from tracer.enquiry.plan import AskLine
from tracer.names import printable
from tracer.report.alike import alike_screen
from tracer.report.aside import conflicts, history, notes, of_level, open_words, panel, safe, unweighed
from tracer.report.document import Report, SourceLine
from tracer.report.verdict import parted

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
    parts: list[RenderableType] = [_heading(report)]
    parts += [_caution_panel(report, level) for level in ("stop", "hold") if of_level(report, level)]
    parts.append(_answer(report))
    if report.deadlines:
        first = report.deadlines[0]
        told = f"First claim day  {first.what} by {first.last_day} ({first.clause})"
        parts.append(Text(safe(told), style="bold yellow"))
    if report.sources:
        parts += [Text(), _sources(report), Text(), _stages(report)]
    if report.compounds:
        parts += [Text(), _compounds(report)]
    if report.measured:
        parts += [Text("\nWhat the laboratory's figures come to", style="bold")]
        parts += [Text(f"- {safe(line)}") for line in report.measured]
    if report.asks:
        parts += [Text(), _asks(report)]
    parts += open_words(report) + conflicts(report) + panel(report) + history(report) + notes(report)
    parts += unweighed(report) + alike_screen(report.alike)
    return Group(*parts)


def _heading(report: Report) -> Text:
    line = Text()
    line.append(f"Lot {safe(report.lot)}", style="bold")
    if report.described:
        line.append(f"   {safe(report.described)}")
    version = f"   knowledge {report.knowledge.version} {report.knowledge.sha256[:8]}"
    line.append(version, style="dim")
    return line


def _caution_panel(report: Report, level: str) -> RenderableType:
    title = {"stop": "STOP TASTING", "hold": "HOLD THE LOT"}[level]
    body = Group(*[Text(f"- {c.text} ({c.because})") for c in report.cautions if c.level == level])
    style = "bold red" if level == "stop" else "yellow"
    return Panel(body, title=title, title_align="left", border_style=style)


def _answer(report: Report) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    table.add_row("What", Text(what(report)))
    table.add_row("Where", _where(report))
    apart = parted(report.by_note)
    if apart:
        table.add_row("Apart", Text(apart))
    table.add_row("How sure", Text(report.verdict_text))
    table.add_row("Next", Text(next_step(report)))
    return table


def what(report: Report) -> str:
    """What is traced: notes with their cups, smells of the green, and what else needs a cause."""
    found = [f"{note.label} ({note.cups})" for note in report.notes]
    if found or report.beside:
        return "; ".join([*(found or ["no off-note in the cups"]), *report.beside])
    if report.unmatched_words:
        return "words still open: see below"
    if report.elsewhere:
        return f"no off-note in the {report.sample.replace('_', ' ')} sample; before it: {'; '.join(report.elsewhere)}"
    return "no off-note was reported"


def _where(report: Report) -> Text:
    if not report.sources:
        return Text("nothing to trace")
    best, stage = report.sources[0], report.stages[0]
    text = Text(f"{stage.label} {stage.probability:.2f}")
    text.append(f"; first source: {best.label} {best.probability:.2f}")
    if report.none_of_these >= 0.2:
        text.append(f"; none of these {report.none_of_these:.2f}")
    return text


def next_step(report: Report) -> str:
    """What to do next, the first thing first."""
    asked = {ask.id: ask for ask in report.asks}
    parts = [_asked(asked[step.ask]) if step.kind == "ask" else printable(step.text) for step in report.next]
    return "; ".join(parts) or "nothing more to ask that would change this"


def _asked(ask: AskLine) -> str:
    verb = "test" if ask.kind == "test" else f"ask the {ask.ask_of.replace('_', ' ')}"
    return f"{verb}: {ask.text} [{ask.id}; {ask.cost}, {_days(ask.days)}, {ask.gain_bits:.2f} bits]"


def _days(days: float) -> str:
    return "at once" if days < 0.05 else f"{days:g} d"


def _table(*columns: str, title: str) -> Table:
    table = Table(
        title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0)
    )
    for column in columns:
        right = column in ("probability", "bits", "per cost")
        table.add_column(column, justify="right" if right else "left", header_style="dim")
    return table


def _sources(report: Report) -> Table:
    table = _table(
        "",
        "probable source",
        "stage",
        "probability",
        "range",
        "carried by",
        title="Sources, most probable first",
    )
    labels = {stage.stage: stage.label for stage in report.stages}
    for number, source in enumerate(report.sources, 1):
        carried = dict.fromkeys(step.cause for step in source.chain if step.cause != source.label)
        table.add_row(
            str(number),
            Text(source.label),
            labels[source.stage],
            f"{source.probability:.2f}",
            f"{source.low:.2f} to {source.high:.2f}",
            Text(", ".join(carried)),
        )
    table.add_row("", Text("none of these", style="italic"), "", f"{report.none_of_these:.2f}", "", "")
    return table


def _stages(report: Report) -> Table:
    some = any(stage.unlisted >= 0.005 for stage in report.stages)
    other_column = ("not listed",) if some else ()
    table = _table("stage", "probability", "", *other_column, "who answers for it", title="Stages")
    for stage in report.stages:
        if stage.probability + stage.unlisted < 0.005:
            continue
        filled = round(stage.probability * BAR)
        bar = Text("█" * filled, style="cyan").append("·" * (BAR - filled), style="dim")
        other = f"{stage.unlisted:.2f}" if stage.unlisted >= 0.005 else ""
        table.add_row(
            stage.label, f"{stage.probability:.2f}", bar, *((other,) if some else ()), Text(stage.ask_of)
        )
    return table


def _compounds(report: Report) -> Table:
    table = _table("compound", "probability", "members or nature", title="Compounds in the cups")
    for compound in report.compounds:
        nature = (
            ", ".join(compound.members)
            if compound.members
            else ("" if compound.identified else "no molecule known")
        )
        table.add_row(Text(compound.label), f"{compound.probability:.2f}", Text(nature))
    return table


def _asks(report: Report) -> Table:
    table = _table("", "bits", "per cost", "ask", "what each answer would change", title="Ask or test next")
    for number, ask in enumerate(report.asks[:5], 1):
        table.add_row(
            str(number), f"{ask.gain_bits:.2f}", f"{ask.gain_per_cost:.2f}", _question(ask), _answers(ask)
        )
    return table


def _question(ask: AskLine) -> Text:
    who = ask.ask_of.replace("_", " ")
    text = Text(ask.text)
    text.append(f"\n{ask.kind}, {who}, {ask.cost}, {_days(ask.days)}; id {ask.id}", style="dim")
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
    head = Text(f"\n{source.label}", style="bold").append(f"   [{source.fault}]", style="dim")
    lines: list[RenderableType] = [head, Padding(Text(source.definition), (0, 0, 0, 2))]
    numbers = (
        f"source {source.probability:.2f} ({source.low:.2f} to {source.high:.2f});"
        f" prior {source.prior:.3f} -> with the history {source.after_history:.3f} -> with the cups {source.present:.2f}"
    )
    lines.append(Padding(Text(numbers), (0, 0, 0, 2)))
    for step in source.chain:
        sources = f"; {', '.join(step.sources)}" if step.sources else ""
        lines.append(Padding(Text(f"{step.cause} -> {step.effect}: {step.strength}{sources}"), (0, 0, 0, 2)))
    table = _table("log10", "", "evidence", title="  Weight of evidence, given all the rest")
    for weight in source.weights:
        size = min(10, round(abs(weight.log10) * 5))
        bar = Text(("+" if weight.log10 > 0 else "-") * size, style="green" if weight.log10 > 0 else "red")
        about = weight.text + (" (a stronger finding of its group speaks)" if weight.silent else "")
        table.add_row(f"{weight.log10:+.2f}", bar, Text(safe(about)))
    lines.append(Padding(table, (0, 0, 0, 2)))
    for title, items in (
        ("expected but not there, or not looked for", source.missing),
        ("look for in the green", source.green_signs),
        ("to confirm it", source.confirm),
        ("with this lot", source.remedy),
        ("next time", source.prevention),
    ):
        if items:
            lines.append(Padding(Text(f"{title}: ").append("; ".join(items)), (0, 0, 0, 2)))
    if source.caution:
        lines.append(Padding(Text(f"caution: {source.caution}", style="yellow"), (0, 0, 0, 2)))
    return Group(*lines)


def _all_findings(report: Report) -> RenderableType:
    table = _table("finding", "says", "from", title="\nAll findings")
    for finding in report.findings:
        table.add_row(Text(safe(finding.text)), finding.kind, Text(safe(", ".join(finding.facts))))
    lines: list[RenderableType] = [table]
    if report.absent:
        lines.append(Text(f"\nLooked for and not found: {', '.join(report.absent)}"))
    if report.absent_left_out:
        lines.append(Text(f"{report.absent_left_out} more that bear on no candidate were not weighed."))
    if report.not_known:
        lines.append(Text(f"\nNot known, and so no evidence either way: {safe(', '.join(report.not_known))}"))
    return Group(*lines)
