"""The history of a lot on a terminal: days by stage, what was measured, the logs as small charts."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from tracer.history.charts import Chart, Series
from tracer.history.history import Measured
from tracer.names import printable
from tracer.render.columns import columns
from tracer.report.document import Report
from tracer.wording.language import tell
from tracer.wording.sentence import Own, joined

BLOCKS = "▁▂▃▄▅▆▇█"
WIDTH = 72


def history_screen(report: Report, labels: dict[str, str]) -> RenderableType:
    """Everything that is known of the lot in time. `labels` names records and stages."""
    report, labels = tell(report), tell(labels)
    parts: list[RenderableType] = [
        Text(tell("Lot {lot}: history", lot=printable(report.lot)), style="bold"),
        Text(),
    ]
    history = report.history
    if not (report.dated or history.measured or history.proposed or history.unread):
        parts.append(
            Text(
                tell(
                    "Nothing dated, logged or said is on the sheet. That is no finding, and not a clean history."
                )
            )
        )
        return Group(*parts)
    parts += [*_stages(report, labels), *_measured(report, labels)]
    parts += [one for chart in report.charts for one in (Text(), chart_lines(chart, labels))]
    parts += _lists(report)
    return Group(*parts)


def _stages(report: Report, labels: dict[str, str]) -> Iterator[RenderableType]:
    if not report.dated:
        return
    table = columns(tell("day"), tell("stage"), tell("what"), title="Days")
    for line in report.dated:
        when = (
            line.first
            if line.first == line.last
            else tell("{first} to {last}", first=line.first, last=line.last)
        )
        table.add_row(when, labels.get(line.stage, ""), Text(printable(line.text)))
    yield table


def _measured(report: Report, labels: dict[str, str]) -> Iterator[RenderableType]:
    measured = report.history.measured
    if not measured:
        return
    yield Text(
        tell("\nWhat logs and readings show (! marks what raises a suspicion or a caution)"), style="bold"
    )
    for one in measured:
        fired = _findings(report, one.record)
        alarming = any(kind != "against" for kind, _ in fired)
        line = Text("! " if alarming else "  ", style="bold red").append(
            labels.get(one.record, one.record), style="none"
        )
        yield line.append(": ").append_text(value(one))
        for kind, text in fired:
            yield Padding(
                Text(f"{tell(kind)} {text}", style="yellow" if kind != "against" else "green"), (0, 0, 0, 6)
            )
        yield Padding(Text(printable(tell(one.source)), style="dim"), (0, 0, 0, 6))


def value(one: Measured) -> Text:
    """A value with its low and high."""
    if isinstance(one.value, str):
        return Text(tell(one.value), style="bold")
    text = Text(f"{one.value:g}", style="bold")
    if one.low is not None and one.high is not None and one.high - one.low > 0.05:
        text.append(tell(" ({low:.3g} to {high:.3g})", low=one.low, high=one.high), style="dim")
    return text


def _findings(report: Report, record: str) -> list[tuple[str, str]]:
    found = []
    for finding in report.findings:
        if any(name == record for name, _ in finding.reads):
            kind = "caution" if finding.kind == "warns" else "for" if finding.log10 > 0 else "against"
            about = finding.label if finding.kind == "warns" else joined(finding.targets)
            told = (kind, about)
            if told not in found:
                found.append(told)
    return found


def chart_lines(chart: Chart, labels: dict[str, str]) -> RenderableType:
    """One log as rows of blocks, with a row of marks under it where a finding rests on it."""
    head = Text(
        f"{labels.get(chart.stage, chart.stage)}, {chart.where}: {printable(chart.file)}", style="bold"
    )
    head.append(
        tell(
            "   {times} to {times_2}, {rows:,} rows",
            times=chart.times[0],
            times_2=chart.times[-1],
            rows=chart.rows,
        ),
        style="dim",
    )
    count = min(WIDTH, len(chart.times))
    lines: list[RenderableType] = [head]
    marks = _marks(chart, count)
    for series in chart.series:
        lines.append(_row(series, count, marks))
    if any(marks):
        risky = "".join("!" if mark else " " for mark in marks)
        lines.append(
            Text(
                f"{'':14}{risky}  {', '.join(dict.fromkeys(s.what for s in chart.shaded))}", style="bold red"
            )
        )
    return Group(*lines)


def _marks(chart: Chart, count: int) -> list[bool]:
    marks = [False] * count
    for shaded in chart.shaded:
        for index, time in enumerate(chart.times):
            if shaded.first[:16] <= time[:16] <= shaded.last[:16]:
                marks[index * count // len(chart.times)] = True
        nearest = min(
            range(len(chart.times)), key=lambda i: abs(_ordinal(chart.times[i]) - _ordinal(shaded.first))
        )
        marks[nearest * count // len(chart.times)] = True
    return marks


def _ordinal(time: str) -> float:
    import datetime

    return datetime.datetime.fromisoformat(time).timestamp()


def _row(series: Series, count: int, marks: list[bool]) -> Text:
    groups: list[list[float]] = [[] for _ in range(count)]
    for index, one in enumerate(series.values):
        if one is not None:
            groups[index * count // len(series.values)].append(one)
    means = [sum(group) / len(group) if group else None for group in groups]
    known = [mean for mean in means if mean is not None]
    low, high = min(known), max(known)
    room = high - low or 1.0
    text = Text(f"{series.name:<14}")
    for mean, mark in zip(means, marks, strict=True):
        block = " " if mean is None else BLOCKS[min(7, int((mean - low) / room * 8))]
        text.append(block, style="red" if mark else "cyan")
    every = [one for one in series.values if one is not None]
    return text.append(
        tell("  {every:.1f} to {every_2:.1f} {unit}", every=min(every), every_2=max(every), unit=series.unit),
        style="dim",
    )


def _lists(report: Report) -> Iterator[RenderableType]:
    history = report.history
    said = [one for one in history.proposed if one.state == "open"]
    if said:
        lines = [
            Text(
                tell("\nSentences that seem to say something; they count once you confirm them"), style="bold"
            )
        ]
        for one in said:
            lines.append(Text(f"- {printable(one.by)}: '{printable(one.sentence)}'"))
            lines.append(
                Text(
                    tell(
                        "    would mean {record}: {value}. Put confirmed: [{id}] or declined: [{id}] ({place})",
                        record=Own(one.record),
                        value=one.value,
                        id=Own(one.phrase),
                        place=Own(one.place),
                    )
                )
            )
        yield Group(*lines)
    for title, items in (
        (
            tell("Confirmed from what was said"),
            [
                f"{one.record}: {one.value} ('{one.sentence}')"
                for one in history.proposed
                if one.state == "confirmed"
            ],
        ),
        (tell("Sentences that matched nothing"), [f"'{text}'" for text in history.unread]),
        (
            tell("Not assessed, which is no finding either way"),
            [f"{one.what}: {one.because}" for one in history.not_assessed],
        ),
        (tell("Does not go together"), list(history.doubts)),
        (tell("What the sample can show"), list(report.sampling)),
    ):
        if items:
            yield Group(Text(f"\n{title}", style="bold"), *[Text(printable(f"- {item}")) for item in items])
