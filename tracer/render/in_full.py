"""Every weight, finding and gap of a report, below the first screen or by itself: each thing once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from tracer.explain.weights import Weight
from tracer.render.aside import safe
from tracer.render.columns import columns
from tracer.render.headline import next_step
from tracer.report.document import Report, SourceLine
from tracer.wording.language import tell
from tracer.wording.sentence import joined


class Told:
    """What the screen has said already."""

    def __init__(self, lines: Iterable[str] = ()) -> None:
        self.lines = set(lines)

    def new(self, lines: Iterable[str]) -> Iterator[str]:
        """The lines that were not told yet; from now on they are."""
        for line in lines:
            if line not in self.lines:
                self.lines.add(line)
                yield line

    def long_or_short(self, weight: Weight) -> str:
        """The finding with its reason the first time, then its name alone."""
        if not weight.label or weight.rule not in self.lines:
            self.lines.add(weight.rule)
            return weight.text
        return weight.label


def below_the_first_screen(report: Report) -> RenderableType:
    """All sources with their weights, all findings, and what is not known, without what stands above already."""
    report = tell(report)
    told = Told(caution.text for caution in report.cautions)
    first_remedies = report.sources[0].remedy if report.sources else ()
    told.lines |= {one for one in first_remedies if one in next_step(report)}
    parts = [_source(source, told, first) for first, source in enumerate(report.sources)]
    return Group(*parts, _all_findings(report, told))


def source_screen(source: SourceLine) -> RenderableType:
    """Why one source stands where it does: chain, weights for and against, what is missing."""
    return _source(tell(source), Told())


def _source(source: SourceLine, told: Told, rank: int | None = None) -> RenderableType:
    """A source, by itself or, where it has a rank, below the table that holds its figures."""
    figures = tell(
        "source {probability:.2f} ({low:.2f} to {high:.2f})",
        probability=source.probability,
        low=source.low,
        high=source.high,
    )
    path = tell(
        "{prior:.4f} of all lots -> with the history {after_history:.3f} -> with the cups {present:.2f}",
        prior=source.prior,
        after_history=source.after_history,
        present=source.present,
    )
    lines = [source.definition, path if rank is not None else f"{figures}; {path}"]
    lines += told.new(
        f"{step.cause} -> {step.effect}: {step.strength}{'; ' if step.sources else ''}{', '.join(step.sources)}"
        for step in source.chain
    )
    table = columns(
        tell("log10"), "", tell("evidence"), title=tell("  Weight of evidence, given all the rest")
    )
    for weight in source.weights:
        size = min(10, round(abs(weight.log10) * 5))
        bar = Text(("+" if weight.log10 > 0 else "-") * size, style="green" if weight.log10 > 0 else "red")
        silent = tell(" (a stronger finding of its group speaks)") if weight.silent else ""
        table.add_row(f"{weight.log10:+.2f}", bar, Text(safe(told.long_or_short(weight) + silent)))
    remedy = told.new(source.remedy) if rank == 0 else source.remedy
    caution = list(told.new([source.caution])) if source.caution else []
    below = [Text(line) for line in _lists(source, list(remedy))]
    below += [Text(tell("caution: {caution}", caution=one), style="yellow") for one in caution]
    head = Text(f"\n{source.label}", style="bold").append(f"   [{source.fault}]", style="dim")
    parts: list[RenderableType] = [*map(Text, lines), table, *below]
    return Group(head, *(Padding(one, (0, 0, 0, 2)) for one in parts))


def _lists(source: SourceLine, remedy: list[str]) -> Iterator[str]:
    for title, items in (
        (tell("expected but not there, or not looked for"), source.missing),
        (tell("look for in the green"), source.green_signs),
        (tell("to confirm it"), source.confirm),
        (tell("with this lot"), remedy),
        (tell("next time"), source.prevention),
    ):
        if items:
            yield f"{title}: {joined(items, '; ')}"


def _all_findings(report: Report, told: Told) -> RenderableType:
    table = columns(tell("finding"), tell("says"), tell("from"), title=tell("\nAll findings"))
    alike: dict[str, list[Weight]] = {}
    for finding in report.findings:
        alike.setdefault(finding.text, []).append(finding)
    for same in alike.values():
        says = dict.fromkeys(tell(one.kind.replace("_", " ")) for one in same)
        facts = dict.fromkeys(fact for one in same for fact in one.facts)
        table.add_row(Text(safe(told.long_or_short(same[0]))), Text(joined(says)), Text(safe(joined(facts))))
    lines: list[RenderableType] = [table] if report.findings else []
    if report.absent:
        lines.append(Text(tell("\nLooked for and not found: {absent}", absent=joined(report.absent))))
    if report.absent_left_out:
        more = report.absent_left_out
        told_more = tell(
            "1 more that bears on no candidate was not weighed."
            if more == 1
            else "{absent_left_out} more that bear on no candidate were not weighed.",
            absent_left_out=more,
        )
        lines.append(Text(told_more))
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
