"""The causes of one lot as a picture made of its report alone: stage, fault, compound, note; every node says why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape

from tracer.names import printable
from tracer.report.document import Report, SourceLine
from tracer.wording.language import tell

SHOWN = 4
"""Sources drawn, the most probable first."""
WIDTH, BOX, HEIGHT, GAP, TOP = 1080, 230, 46, 14, 20
_FIRST, _SECOND = 21, 27
"""Letters that fit on the first line of a box, beside its figure, and on the second."""
_COLUMNS = ("stage", "fault", "compound", "note")


@dataclass(frozen=True, slots=True)
class Node:
    """A box of the picture: a figure where the report has one, and why it stands there, line by line."""

    id: str
    kind: str
    label: str
    figure: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CausePicture:
    """The picture as SVG, and what its nodes say."""

    svg: str
    nodes: tuple[Node, ...]
    leads_to: Mapping[str, tuple[str, ...]]
    """Id of a box -> ids of those it leads to: the same as text, for a screen that is too narrow."""


def cause_picture(
    report: Report, order: Sequence[str], title: str, headings: Sequence[str]
) -> CausePicture | None:
    """Draw the first sources of a report; None where there are none. `order` is the order of the stages.

    Every box links to the element `why-<id>` of the page that holds it.
    """
    report = tell(report)
    sources = report.sources[:SHOWN]
    if not sources:
        return None
    nodes = (
        *_stages(report, sources, order),
        *_faults(sources),
        *_compounds(report, sources),
        *_notes(report),
    )
    named = {(node.kind, node.label): node.id for node in nodes}
    links = {
        link
        for source in sources
        for link in _links(source, {stage.stage: stage.label for stage in report.stages}, named)
    }
    linked = {end for link in links for end in link}
    drawn = tuple(node for node in nodes if node.id in linked)
    leads_to = {node.id: tuple(other.id for other in drawn if (node.id, other.id) in links) for node in drawn}
    return CausePicture(_svg(drawn, sorted(links), title, headings), drawn, leads_to)


def _stages(report: Report, sources: Sequence[SourceLine], order: Sequence[str]) -> list[Node]:
    wanted = {source.stage for source in sources}
    lines = {line.stage: line for line in report.stages}
    found = []
    for name in order:
        if name in wanted and name in lines:
            line = lines[name]
            of_it = [f"{s.label}: {s.probability:.2f}" for s in report.sources if s.stage == name]
            why = (
                tell("a source lies here with probability {probability:.2f}", probability=line.probability),
                *of_it,
                line.ask_of,
            )
            found.append(Node(f"stage-{name}", "stage", line.label, f"{line.probability:.2f}", why))
    return found


def _faults(sources: Sequence[SourceLine]) -> list[Node]:
    found = []
    for source in sources:
        spoken = [weight for weight in source.weights if not weight.silent]
        weights = [f"{weight.log10:+.2f} {weight.text}" for weight in spoken]
        range_ = tell(
            "source {probability:.2f} ({low:.2f} to {high:.2f})",
            probability=source.probability,
            low=source.low,
            high=source.high,
        )
        missing = [tell("expected: {text}", text=text) for text in source.missing]
        why = (source.definition, range_, *weights, *missing)
        found.append(Node(f"fault-{source.fault}", "fault", source.label, f"{source.probability:.2f}", why))
    return found


def _compounds(report: Report, sources: Sequence[SourceLine]) -> list[Node]:
    lines = {line.label: line for line in report.compounds}
    notes = {note.label for note in report.notes}
    steps: dict[str, dict[str, None]] = {}
    for source in sources:
        for step in source.chain:
            name = step.cause if step.effect in notes and step.cause != source.label else step.effect
            based = f"; {', '.join(step.sources)}" if step.sources else ""
            steps.setdefault(name, {})[f"{step.cause} → {step.effect}: {step.strength}{based}"] = None
    found = []
    for place, (label, told) in enumerate(steps.items()):
        line = lines.get(label)
        figure = f"{line.probability:.2f}" if line else ""
        there = (
            (tell("in the cups with probability {probability:.2f}", probability=line.probability),)
            if line
            else ()
        )
        found.append(Node(f"compound-{place}", "compound", label, figure, (*there, *told)))
    return found


def _notes(report: Report) -> list[Node]:
    return [
        Node(
            f"note-{note.descriptor}",
            "note",
            note.label,
            "",
            (note.cups, *(f"“{words}”" for words in note.words)),
        )
        for note in report.notes
    ]


def _links(
    source: SourceLine, stages: dict[str, str], named: dict[tuple[str, str], str]
) -> list[tuple[str, str]]:
    found = [(named["stage", stages[source.stage]], f"fault-{source.fault}")]
    for step in source.chain:
        cause = f"fault-{source.fault}" if step.cause == source.label else named.get(("compound", step.cause))
        effect = named.get(("note", step.effect)) if step.cause != source.label else None
        effect = effect or named.get(("compound", step.effect))
        if cause and effect:
            found.append((cause, effect))
    return found


def _svg(nodes: Sequence[Node], links: Sequence[tuple[str, str]], title: str, headings: Sequence[str]) -> str:
    columns = {kind: [node for node in nodes if node.kind == kind] for kind in _COLUMNS}
    rows = max(len(column) for column in columns.values())
    height = TOP + 24 + rows * (HEIGHT + GAP)
    step = (WIDTH - BOX - 2) / (len(_COLUMNS) - 1)
    places = {}
    for across, kind in enumerate(_COLUMNS):
        room = (height - TOP - 24) / max(1, len(columns[kind]))
        for down, node in enumerate(columns[kind]):
            places[node.id] = (1 + across * step, TOP + 24 + down * room + (room - HEIGHT) / 2)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="causes" viewBox="0 0 {WIDTH} {height:.0f}" role="group" '
        f'aria-label="{escape(printable(title), quote=True)}">'
    ]
    for across, heading in enumerate(headings):
        parts.append(
            f'<text class="heading" x="{1 + across * step:.0f}" y="16">{escape(printable(heading))}</text>'
        )
    for one, other in links:
        x1, y1 = places[one][0] + BOX, places[one][1] + HEIGHT / 2
        x2, y2 = places[other][0], places[other][1] + HEIGHT / 2
        middle = (x1 + x2) / 2
        parts.append(
            f'<path class="link" d="M{x1:.0f},{y1:.1f} C{middle:.0f},{y1:.1f} {middle:.0f},{y2:.1f} {x2:.0f},{y2:.1f}"/>'
        )
    parts += [_box(node, places[node.id]) for node in nodes]
    return "\n".join((*parts, "</svg>"))


def _box(node: Node, place: tuple[float, float]) -> str:
    x, y = place
    label = printable(node.label)
    first, rest = _in_two(label)
    lines = f'<text x="{x + 10:.0f}" y="{y + (20 if rest else 28):.1f}">{escape(first)}</text>'
    if rest:
        lines += f'<text x="{x + 10:.0f}" y="{y + 37:.1f}">{escape(rest)}</text>'
    figure = (
        f'<text class="figure" x="{x + BOX - 8:.0f}" y="{y + 20:.1f}" text-anchor="end">{node.figure}</text>'
        if node.figure
        else ""
    )
    return (
        f'<a href="#why-{escape(node.id, quote=True)}" class="node {node.kind}"><rect x="{x:.0f}" y="{y:.1f}" width="{BOX}" '
        f'height="{HEIGHT}" rx="6"/>{lines}{figure}</a>'
    )


def _in_two(label: str) -> tuple[str, str]:
    """A label on two lines, the second cut where it is too long.

    >>> _in_two("1-octen-3-ol and 1-octen-3-one (mould volatiles)")
    ('1-octen-3-ol and', '1-octen-3-one (mould volat…')
    >>> _in_two("2,4,6-trichloroanisole")
    ('', '2,4,6-trichloroanisole')
    """
    if len(label) <= _FIRST:
        return label, ""
    cut = label.rfind(" ", 0, _FIRST + 1)
    if cut < 0 and len(label) <= _SECOND:
        return "", label
    cut = cut if cut > 0 else _FIRST
    rest = label[cut:].strip()
    return label[:cut], rest if len(rest) <= _SECOND else rest[: _SECOND - 1] + "…"
