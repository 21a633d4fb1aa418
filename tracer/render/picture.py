"""A picture of the chains through one term: stage, fault, compound, note in four columns, as SVG."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

import networkx as nx

from tracer.knowledge.base import KnowledgeBase
from tracer.wording.language import tell
from tracer.wording.sentence import say

COLUMNS = ("stage", "fault", "compound", "descriptor")
HEADINGS = {
    "stage": "Stage",
    "fault": say("What went wrong"),
    "compound": "Compound",
    "descriptor": say("Note in the cup"),
}
WIDTH, BOX, HEIGHT, GAP, TOP = 1160, 240, 30, 10, 60
_LONGEST = 38


def chain_picture(base: KnowledgeBase, graph: nx.DiGraph, identity: str, leads_to: str | None = None) -> str:
    """SVG of every node on a path through `identity`.

    Stages are in the order of the chain; each link is a curve, dashed where its strength is unknown. With `leads_to`, a box is a
    link to that address followed by its id.
    """
    node = base.node(identity) if identity in base.compounds else identity
    nodes = {node, *nx.ancestors(graph, node), *nx.descendants(graph, node)}
    nodes = {name for name in nodes if not (name in base.compounds and base.compounds[name].part_of)}
    columns = {kind: _ordered(base, graph, nodes, kind) for kind in COLUMNS}
    rows = max(len(names) for names in columns.values())
    height = TOP + rows * (HEIGHT + GAP) + GAP
    places = {}
    for index, kind in enumerate(COLUMNS):
        step = (height - TOP) / max(1, len(columns[kind]))
        for row, name in enumerate(columns[kind]):
            places[name] = (20 + index * (WIDTH - BOX - 40) / 3, TOP + row * step + (step - HEIGHT) / 2)
    label = escape(tell(graph.nodes[node]["label"]))
    role = "group" if leads_to else "img"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" role="{role}" '
        f'aria-labelledby="title" font-family="sans-serif" font-size="13">',
        f'<title id="title">{tell("Chains through {label}", label=label)}</title>',
        f'<rect width="{WIDTH}" height="{height:.0f}" fill="#ffffff"/>',
    ]
    for index, kind in enumerate(COLUMNS):
        x = 20 + index * (WIDTH - BOX - 40) / 3
        parts.append(
            f'<text x="{x:.0f}" y="32" font-weight="bold" fill="#222222">{tell(HEADINGS[kind])}</text>'
        )
    parts += [
        _curve(graph, places, one, other) for one, other in graph.edges if one in places and other in places
    ]
    parts += [_box(graph, name, places[name], name == node, leads_to) for name in places]
    parts.append("</svg>")
    return "\n".join(parts)


def _ordered(base: KnowledgeBase, graph: nx.DiGraph, nodes: Iterable[str], kind: str) -> list[str]:
    stages = list(base.stages)
    chosen = [name for name in nodes if graph.nodes[name]["kind"] == kind]
    if kind == "stage":
        return sorted(chosen, key=stages.index)
    if kind == "fault":
        return sorted(chosen, key=lambda name: (stages.index(base.faults[name].stage), name))
    return sorted(chosen, key=lambda name: graph.nodes[name]["label"])


def _curve(graph: nx.DiGraph, places: dict[str, tuple[float, float]], one: str, other: str) -> str:
    x1, y1 = places[one][0] + BOX, places[one][1] + HEIGHT / 2
    x2, y2 = places[other][0], places[other][1] + HEIGHT / 2
    middle = (x1 + x2) / 2
    strength = graph.edges[one, other]["step"].strength
    dash = ' stroke-dasharray="5 4"' if strength is not None and strength.unknown else ""
    return (
        f'<path d="M{x1:.0f},{y1:.1f} C{middle:.0f},{y1:.1f} {middle:.0f},{y2:.1f} {x2:.0f},{y2:.1f}" '
        f'fill="none" stroke="#777777" stroke-width="1.2"{dash}/>'
    )


def _box(graph: nx.DiGraph, name: str, place: tuple[float, float], chosen: bool, leads_to: str | None) -> str:
    label = tell(graph.nodes[name]["label"])
    shown = label if len(label) <= _LONGEST else label[: _LONGEST - 1] + "…"
    x, y = place
    line = "3" if chosen else "1"
    box = (
        f'<g><title>{escape(label)}</title><rect x="{x:.0f}" y="{y:.1f}" width="{BOX}" height="{HEIGHT}" rx="4" '
        f'fill="#f6f4ef" stroke="#222222" stroke-width="{line}"/>'
        f'<text x="{x + 8:.0f}" y="{y + 20:.1f}" fill="#111111" font-size="12">{escape(shown)}</text></g>'
    )
    return f'<a href="{leads_to}{name}">{box}</a>' if leads_to else box
