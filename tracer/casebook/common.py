"""Which places do lots with like sources share, beyond what their traffic explains; and which lots passed there too.

As in a trace-back of an outbreak: cases are lots whose first source is of a kind, the rest are controls. For each place
a one-sided exact test of its 2 x 2 table (hypergeometric), with Holm's correction over the places tested.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, lgamma
from pathlib import Path

from tracer.casebook.file import opened

FEWEST = 2
"""Affected lots that must share a place for it to be tested."""


@dataclass(frozen=True, slots=True)
class Shared:
    """A place and what it has to do with the affected lots."""

    stage: str
    node: str
    affected_here: int
    affected: int
    others_here: int
    others: int
    p: float
    corrected: float
    """After Holm's correction over all places tested."""
    to_cup: tuple[str, ...]
    """Lots that passed here and are not among the affected."""

    @property
    def lift(self) -> float:
        """Share of affected lots that passed, over the share of all lots that did."""
        here, every = self.affected_here + self.others_here, self.affected + self.others
        return (self.affected_here / self.affected) / (here / every)


def upper_tail(both: int, affected: int, here: int, every: int) -> float:
    """P(at least so many affected lots passed here), if which lots are affected had nothing to do with it.

    Hypergeometric; the one-sided exact test of Fisher.

    >>> round(upper_tail(3, 4, 4, 8), 6)
    0.242857
    """
    most = min(affected, here)
    if both > most:
        return 0.0

    def choose(n: int, k: int) -> float:
        return lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1)

    whole = choose(every, affected)
    total = 0.0
    for k in range(max(both, affected - (every - here)), most + 1):
        total += exp(choose(here, k) + choose(every - here, affected - k) - whole)
    return min(1.0, total)


def holm(values: Sequence[float]) -> list[float]:
    """Corrected p-values: the k-th smallest times (number - k + 1), never falling, at most 1. Holm 1979 (from memory)."""
    order = sorted(range(len(values)), key=lambda i: values[i])
    corrected, running = [0.0] * len(values), 0.0
    for rank, index in enumerate(order):
        running = max(running, min(1.0, values[index] * (len(values) - rank)))
        corrected[index] = running
    return corrected


def shared_places(
    passages: Mapping[str, Iterable[tuple[str, str]]], affected: frozenset[str]
) -> tuple[Shared, ...]:
    """Places shared by affected lots, the least explained by chance first. `passages`: lot -> (stage, place)."""
    lots_at: dict[tuple[str, str], set[str]] = defaultdict(set)
    for lot, places in passages.items():
        for place in places:
            lots_at[place].add(lot)
    known = set(passages)
    sick = affected & known
    tested = [
        (place, lots)
        for place, lots in lots_at.items()
        if len(lots & sick) >= FEWEST and len(lots) < len(known)
    ]
    p = [upper_tail(len(lots & sick), len(sick), len(lots), len(known)) for _, lots in tested]
    found = [
        Shared(
            *place,
            len(lots & sick),
            len(sick),
            len(lots - sick),
            len(known) - len(sick),
            p[i],
            fixed,
            tuple(sorted(lots - sick)),
        )
        for i, ((place, lots), fixed) in enumerate(zip(tested, holm(p), strict=True))
    ]
    return tuple(sorted(found, key=lambda one: (one.corrected, one.p, -one.affected_here, one.node)))


def with_ancestors(
    passages: Mapping[str, Iterable[tuple[str, str]]], made_of: Iterable[tuple[str, str]]
) -> dict[str, set[tuple[str, str]]]:
    """Places of each lot with those of the lots it was split from or blended of (pairs: part, whole), however far back."""
    import networkx as nx  # takes long to import, and only this needs it

    graph = nx.DiGraph()
    graph.add_nodes_from(passages)
    graph.add_edges_from(made_of)
    order = list(nx.topological_sort(graph)) if nx.is_directed_acyclic_graph(graph) else list(graph.nodes)
    found: dict[str, set[tuple[str, str]]] = {lot: set(passages.get(lot, ())) for lot in graph.nodes}
    for lot in order:
        for part in graph.predecessors(lot):
            found[lot] |= found[part]
    return {lot: places for lot, places in found.items() if lot in passages}


def load_passages(
    path: Path,
) -> tuple[dict[str, set[tuple[str, str]]], dict[str, tuple[str | None, str | None, str | None]]]:
    """From the casebook: places by lot, and (first source, stage, confirmed fault) by lot; the last case of a lot counts."""
    with opened(path) as book:
        rows = book.execute(
            "SELECT c.lot, c.source, c.stage, (SELECT fault FROM closing k WHERE k.lot_case = c.id ORDER BY k.id DESC LIMIT 1), c.id FROM lot_case c "
            "WHERE c.id IN (SELECT max(id) FROM lot_case WHERE NOT example GROUP BY lot)"
        ).fetchall()
        places = book.execute("SELECT p.lot_case, p.stage, p.node FROM passage p").fetchall()
    lot_of = {identity: lot for lot, _, _, _, identity in rows}
    passages: dict[str, set[tuple[str, str]]] = {lot: set() for lot in lot_of.values()}
    parts: list[tuple[str, str]] = []
    for identity, stage, node in places:
        lot = lot_of.get(identity)
        if lot is None:
            continue
        if stage == MADE_OF:
            parts.append((node, lot))
        else:
            passages[lot].add((stage, node))
    whole = with_ancestors(passages, parts) if parts else passages
    return whole, {lot: (source, stage, fault) for lot, source, stage, fault, _ in rows}


MADE_OF = "made_of"
"""Stage under which the casebook keeps the lots that a lot was made of."""
