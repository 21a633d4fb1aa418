"""The report on a terminal: answer first, then sources, stages, questions; cautions on top."""

from __future__ import annotations

from rich.console import Console, Group, RenderableType
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from tracer.enquiry.plan import AskLine
from tracer.names import printable
from tracer.report.document import Report, SourceLine

BAR = 20
SETTLED = ("source_supported", "several_sources", "bench_suspected")
"""Verdicts after which there is something to do with the lot."""


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
    parts += [_caution_panel(report, level) for level in ("stop", "hold") if _of_level(report, level)]
    parts.append(_answer(report))
    if report.deadlines:
        first = report.deadlines[0]
        told = f"First claim day  {first.what} by {first.last_day} ({first.clause})"
        parts.append(Text(_safe(told), style="bold yellow"))
    if report.sources:
        parts += [Text(), _sources(report), Text(), _stages(report)]
    if report.compounds:
        parts += [Text(), _compounds(report)]
    if report.asks:
        parts += [Text(), _asks(report)]
    parts += _open_words(report) + _conflicts(report) + _panel(report) + _history(report) + _notes(report)
    parts += _unweighed(report)
    return Group(*parts)


def _heading(report: Report) -> Text:
    line = Text()
    line.append(f"Lot {_safe(report.lot)}", style="bold")
    if report.described:
        line.append(f"   {_safe(report.described)}")
    version = f"   knowledge {report.knowledge.version} {report.knowledge.sha256[:8]}"
    line.append(version, style="dim")
    return line


def _safe(text: str) -> str:
    return printable(text)


def _of_level(report: Report, level: str) -> list[str]:
    return [caution.text for caution in report.cautions if caution.level == level]


def _caution_panel(report: Report, level: str) -> RenderableType:
    title = {"stop": "STOP TASTING", "hold": "HOLD THE LOT"}[level]
    body = Group(*[Text(f"- {c.text} ({c.because})") for c in report.cautions if c.level == level])
    style = "bold red" if level == "stop" else "yellow"
    return Panel(body, title=title, title_align="left", border_style=style)


def _answer(report: Report) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    if report.notes:
        table.add_row("What", Text("; ".join(f"{note.label} ({note.cups})" for note in report.notes)))
    else:
        table.add_row("What", Text(_nothing_found(report)))
    table.add_row("Where", _where(report))
    table.add_row("How sure", Text(report.verdict_text))
    table.add_row("Next", _next(report))
    return table


def _nothing_found(report: Report) -> str:
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


def _next(report: Report) -> Text:
    return Text(next_step(report))


def next_step(report: Report) -> str:
    """The next thing to do, in one sentence: settle words, ask or test, or what to do with the lot."""
    if report.unmatched_words and not report.notes:
        return "settle the open words below, then trace again"
    if report.asks and report.worth_asking:
        ask = report.asks[0]
        verb = "test" if ask.kind == "test" else f"ask the {ask.ask_of.replace('_', ' ')}"
        return f"{verb}: {ask.text} [{ask.id}; {ask.cost}, {_days(ask.days)}, {ask.gain_bits:.2f} bits]"
    remedy = report.sources[0].remedy if report.sources and report.verdict in SETTLED else ()
    if remedy:
        return f"nothing more to ask would change this; with this lot: {'; '.join(remedy)}"
    return "nothing more to ask that would change this"


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
    table = _table("stage", "probability", "", "who answers for it", title="Stages")
    for stage in report.stages:
        if stage.probability < 0.005:
            continue
        filled = round(stage.probability * BAR)
        bar = Text("█" * filled, style="cyan").append("·" * (BAR - filled), style="dim")
        table.add_row(stage.label, f"{stage.probability:.2f}", bar, Text(stage.ask_of))
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


def _open_words(report: Report) -> list[RenderableType]:
    if not report.unmatched_words:
        return []
    lines = [Text("\nWords to settle with the taster (they do not count yet)", style="bold")]
    for word in report.unmatched_words:
        options = word.candidates or word.suggestions
        hint = f" [{', '.join(options)}]" if options else ""
        lines.append(
            Text(
                f"- {_safe(word.taster)}: '{_safe(word.words)}' {_safe(word.question)}{hint}  ({_safe(word.place)})"
            )
        )
    first = next((word for word in report.unmatched_words if word.means), None)
    if first is not None:
        told = f"On the sheet, once the taster has said: {{note: {first.words}, means: {first.means[0]}}}"
        lines.append(Text(_safe(told), style="dim"))
    return [Group(*lines)]


def _conflicts(report: Report) -> list[RenderableType]:
    if not (report.conflicts or report.history.doubts):
        return []
    lines = [Text("\nDoes not go together", style="bold")]
    lines += [Text(f"- {_safe(conflict.text)} {conflict.remedy}") for conflict in report.conflicts]
    lines += [Text(f"- {_safe(doubt)}") for doubt in report.history.doubts]
    return [Group(*lines)]


def _panel(report: Report) -> list[RenderableType]:
    panel = report.panel
    if panel is None:
        return []
    lines = [Text("\nThe panel", style="bold")]
    for one in panel.measured:
        age = f", {one.age_days} days before" if one.age_days else ""
        lines.append(Text(f"- {_safe(one.taster)}: measured on {one.cups} cups, last on {one.last}{age}"))
    if panel.unmeasured:
        lines.append(Text(_safe(f"- never measured, taken as average: {', '.join(panel.unmeasured)}")))
    if panel.source:
        with_average = "not listed" if panel.average is None else f"{panel.average:.2f}"
        told = f"- {panel.source}: {panel.probability:.2f} with these tasters, {with_average} with an average panel"
        if panel.average_first != panel.source:
            told += f", which would put first: {panel.average_first}"
        lines.append(Text(told))
    return [Group(*lines)]


def _history(report: Report) -> list[RenderableType]:
    history = report.history
    said = sum(one.state == "open" for one in history.proposed)
    counts = (
        (len(report.charts), "log"),
        (len(history.measured), "value worked out"),
        (len(history.not_assessed), "thing not assessed"),
        (said, "sentence to confirm"),
    )
    told = [f"{count} {_plural(name, count)}" for count, name in counts if count]
    return [Text(f"\nHistory: {', '.join(told)}. See it with: tracer history")] if told else []


def _unweighed(report: Report) -> list[RenderableType]:
    """What stands on the sheet and moved nothing, by reason; and what was corrected."""
    by_reason: dict[str, list[str]] = {}
    for one in report.not_weighed:
        by_reason.setdefault(one.because, []).append(one.what)
    lines = [
        Text(_safe(f"- {because}: {'; '.join(dict.fromkeys(what))}")) for because, what in by_reason.items()
    ]
    found: list[RenderableType] = []
    if report.understood:
        told = "; ".join(f"'{one.words}' as {one.taken_for}" for one in report.understood)
        found.append(Text(_safe(f"\nSpelling taken as: {told}")))
    if lines:
        found.append(Group(Text("\nOn the sheet, not weighed", style="bold"), *lines))
    return found


def _plural(name: str, count: int) -> str:
    first, _, rest = name.partition(" ")
    return name if count == 1 else f"{first}s {rest}".strip()


def _notes(report: Report) -> list[RenderableType]:
    lines = [Text(f"- {_safe(item.because)} [{item.rule}]") for item in report.expected]
    found: list[RenderableType] = []
    if lines:
        found.append(Group(Text("\nNormal for this coffee", style="bold"), *lines))
    notes = _of_level(report, "note")
    if notes:
        found.append(Group(Text("\nCautions", style="bold"), *[Text(f"- {text}") for text in notes]))
    return found


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
        table.add_row(f"{weight.log10:+.2f}", bar, Text(_safe(about)))
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
        table.add_row(Text(_safe(finding.text)), finding.kind, Text(_safe(", ".join(finding.facts))))
    lines: list[RenderableType] = [table]
    if report.absent:
        lines.append(Text(f"\nLooked for and not found: {', '.join(report.absent)}"))
    if report.absent_left_out:
        lines.append(Text(f"{report.absent_left_out} more that bear on no candidate were not weighed."))
    if report.not_known:
        lines.append(
            Text(f"\nNot known, and so no evidence either way: {_safe(', '.join(report.not_known))}")
        )
    return Group(*lines)
