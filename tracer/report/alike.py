"""Cases that a lot reads like: their source, what they were traced to, and what they share with it, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import RenderableType
from rich.text import Text

from tracer.knowledge.base import KnowledgeBase
from tracer.names import printable
from tracer.precedents.model import Alike
from tracer.wording.language import tell
from tracer.wording.sentence import Id, Name, Own, joined, say

SHARED = 4
"""Shared marks that are shown, the rarest first."""


@dataclass(frozen=True, slots=True)
class AlikeLine:
    """A published or closed case beside the lot."""

    case: Id
    title: str
    likeness: float
    stage: Id
    stage_label: str
    fault: str
    source: Name
    shared: tuple[str, ...]


def alike_lines(base: KnowledgeBase, found: Sequence[Alike]) -> tuple[AlikeLine, ...]:
    """The cases found, as the report holds them."""
    lines = []
    for one in found:
        case = base.precedents[one.case]
        source = case.source
        where = joined(
            filter(None, (source.authors, str(source.year or source.when or ""), source.title, source.where))
        )
        told = [_plainly(base, mark) for mark in one.shared if not _worked_out(base, mark)]
        shared = tuple(dict.fromkeys(told))[:SHARED]
        lines.append(
            AlikeLine(
                case.id,
                case.title,
                one.likeness,
                case.truth.stage,
                _stage(base, case.truth.stage),
                case.truth.fault,
                where,
                shared,
            )
        )
    return tuple(lines)


def _stage(base: KnowledgeBase, stage: str) -> str:
    if stage in base.stages:
        return base.stages[stage].label
    return {"none": say("nothing wrong"), "storage": say("some store")}.get(stage, stage)


def _worked_out(base: KnowledgeBase, mark: str) -> bool:
    """A row that the tool works out from the cups tells a reader nothing here."""
    name = mark.partition(":")[2].partition("=")[0]
    return name in base.records and base.records[name].section == "lot"


def _plainly(base: KnowledgeBase, mark: str) -> str:
    """A mark in words: the label of its note, row or rule."""
    kind, _, name = mark.partition(":")
    name, _, value = name.partition("=")
    for entries in (base.descriptors, base.records, base.rules, base.materials, base.compounds):
        if name in entries:
            label = str(getattr(entries[name], "label", name))
            break
    else:
        label = name.replace("_", " ")
    told = (
        label
        if not value or value == "yes"
        else say("{label}: {value}", label=label, value=value.replace("_", " "))
    )
    return say("no {told}", told=told) if kind == "absent" else told


def told_alike(lines: Sequence[AlikeLine]) -> list[str]:
    """Each case in one sentence."""
    return [
        say(
            "{title}: traced to {fault} ({stage_label}); shares {shared}. {source}",
            title=line.title,
            fault=line.fault,
            stage_label=line.stage_label,
            shared=joined(line.shared, "; "),
            source=line.source,
        )
        for line in lines
    ]


def alike_screen(lines: Sequence[AlikeLine]) -> list[RenderableType]:
    """The section of the screen; nothing where no case is near."""
    if not lines:
        return []
    parts: list[RenderableType] = [Text(tell("\nCases that read like this"), style="bold")]
    for line in lines:
        parts.append(Text(tell("- {title}", title=Own(printable(line.title)))))
        parts.append(
            Text(
                tell(
                    "    traced to: {fault} ({stage_label})",
                    fault=printable(line.fault),
                    stage_label=line.stage_label,
                )
            )
        )
        parts.append(Text(tell("    shares: {shared}", shared=printable(joined(line.shared, "; ")))))
        parts.append(Text(f"    {printable(line.source)}", style="dim"))
    return parts
