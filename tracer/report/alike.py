"""Cases that a lot reads like: their source, what they were traced to, and what they share with it, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import RenderableType
from rich.text import Text

from tracer.knowledge.base import KnowledgeBase
from tracer.names import printable
from tracer.precedents.model import Alike

SHARED = 4
"""Shared marks that are shown, the rarest first."""


@dataclass(frozen=True, slots=True)
class AlikeLine:
    """A published or closed case beside the lot."""

    case: str
    title: str
    likeness: float
    stage: str
    stage_label: str
    fault: str
    source: str
    shared: tuple[str, ...]


def alike_lines(base: KnowledgeBase, found: Sequence[Alike]) -> tuple[AlikeLine, ...]:
    """The cases found, as the report holds them."""
    lines = []
    for one in found:
        case = base.precedents[one.case]
        source = case.source
        where = ", ".join(
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
    return {"none": "nothing wrong", "storage": "some store"}.get(stage, stage)


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
    told = label if not value or value == "yes" else f"{label}: {value.replace('_', ' ')}"
    return f"no {told}" if kind == "absent" else told


def told_alike(lines: Sequence[AlikeLine]) -> list[str]:
    """Each case in one sentence."""
    return [
        f"{line.title}: traced to {line.fault} ({line.stage_label}); shares {'; '.join(line.shared)}. {line.source}"
        for line in lines
    ]


def alike_screen(lines: Sequence[AlikeLine]) -> list[RenderableType]:
    """The section of the screen; nothing where no case is near."""
    if not lines:
        return []
    parts: list[RenderableType] = [Text("\nCases that read like this", style="bold")]
    for line in lines:
        parts.append(Text(f"- {printable(line.title)}"))
        parts.append(Text(f"    traced to: {printable(line.fault)} ({line.stage_label})"))
        parts.append(Text(f"    shares: {printable('; '.join(line.shared))}"))
        parts.append(Text(f"    {printable(line.source)}", style="dim"))
    return parts
