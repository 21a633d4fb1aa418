"""What of a network matters for given evidence, and the scopes of its factorisation.

Each compound gets an auxiliary k in 0..S-1 with
    P(C = c | F) = sum_k D(c, k) L(k) prod_i Q_i(k | F_i),   D(c, k) = 1 if k = c, -1 if k = c - 1, else 0,
and every observed node below is summed out by parts,
    sum_y v(y) P(N = y | parents) = sum_y w(y) P(N <= y | parents),   w(y) = v(y) - v(y + 1),
so that it needs an auxiliary e over its terms with w(y) not 0 (Takikawa and D'Ambrosio 1999; Diez and Galan 2003). A
note of a segment that several events hear is at most the least of their e. Compounds, notes and words are summed out on
the spot: what is left are tables over the auxiliaries and the faults.

For source probabilities the auxiliary k of a compound with a path to a traced finding carries a switch b as well: b = 0
weighs what is alive less what is dead, with the contributions of the chosen faults held at zero; b = 1 weighs the dead:
the same compound with its contributions to traced findings held at zero. At k = 0 both are the same, and are merged.
Nodes without evidence below them change nothing and are left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import log2, prod

import numpy as np
from numpy.typing import NDArray

from tracer.inference.bunches import Bunch, Middle, bunches
from tracer.inference.elimination import Order, Plan, Scope, make_order, make_plan
from tracer.inference.network import Evidence, Network, Structure, Traced
from tracer.inference.scopes import (
    Below,
    Cause,
    causes_of,
    scope_below,
    scope_of_cause,
    sure,
    variable_of,
)

Array = NDArray[np.float64]
Grid = NDArray[np.int64]

KEPT = 512
"""Skeletons kept for one network."""


@dataclass(frozen=True)
class Skeleton:
    """Structure for one set of observed nodes; values are filled in by `tables`."""

    structure: Structure
    states: int
    heard: Mapping[int, Below]
    words: Mapping[int, Below]
    signs: Mapping[int, Below]
    middles: tuple[Middle, ...]
    bunches: tuple[Bunch, ...]
    """All of them, by what hangs below."""
    leaks: tuple[tuple[Scope, tuple[int, ...]], ...]
    """Variables of notes heard, and the notes of segments that are part of just these."""
    sign_leaves: tuple[tuple[int, tuple[int, ...]], ...]
    """(sign, places in `causes` of faults that lead to it alone)."""
    branching: tuple[int, ...]
    """Places in `causes` of faults that lead to several."""
    loose: tuple[int, ...]
    """Places in `causes` of faults that lead to no variable."""
    causes: tuple[Cause, ...]
    barren: tuple[int, ...]
    """Faults that change nothing."""
    scopes: tuple[Scope, ...]
    sizes: Mapping[int, int]
    order: Order
    traced_notes: frozenset[int]
    """Notes of segments that are heard where they need a cause."""

    @cached_property
    def plan(self) -> Plan:
        """The steps of its elimination."""
        return make_plan(self.scopes, self.sizes, self.order.variables)

    @cached_property
    def leak_grids(self) -> tuple[tuple[Grid, ...], ...]:
        """For each of `leaks`, the least state of each note that its heard notes allow, over their variables."""
        return tuple(tuple(self.least(note, scope) for note in notes) for scope, notes in self.leaks)

    @cached_property
    def grids(self) -> tuple[tuple[Grid, NDArray[np.bool_]], ...]:
        """The same for each note link of each bunch, shape (compounds, links, e..), and whether its note is traced."""
        found = []
        for bunch in self.bunches:
            into = [[self.structure.note_links[link][1] for link in links] for links in bunch.notes.tolist()]
            every = sorted({note for notes in into for note in notes})
            place = {note: at for at, note in enumerate(every)}
            shape = [self.sizes[variable] for variable in bunch.scope]
            least = np.zeros((len(every), *shape), dtype=np.int64)
            for at, note in enumerate(every):
                least[at] = self.least(note, bunch.scope)
            places = np.array([[place[note] for note in notes] for notes in into], dtype=np.int64)
            traced = np.array([note in self.traced_notes for note in every], dtype=bool)
            found.append((least[places], traced[places]))
        return tuple(found)

    def least(self, note: int, scope: Scope) -> Grid:
        """The least state that the heard notes of a note of a segment allow, over a scope."""
        grid = np.full([1] * len(scope), self.states - 1, dtype=np.int64)
        for name in self.structure.heard_of_note[note]:
            if name in self.heard:
                below = self.heard[name]
                levels = np.array(below.levels, dtype=np.int64)
                shape = [1] * len(scope)
                if below.variable is not None:
                    shape[scope.index(below.variable)] = len(levels)
                grid = np.minimum(grid, levels.reshape(shape))
        return grid


def levels_of(middle: Middle | Bunch, states: int) -> tuple[tuple[int, ...], tuple[bool, ...]]:
    """State y of a compound's k, and whether b = 0, for each state of its auxiliary."""
    if not middle.switch:
        return tuple(range(states)), (False,) * states
    return (0, *range(1, states), *range(1, states)), (*(False,) * states, *((True,) * (states - 1)))


def skeleton(network: Network, evidence: Evidence, traced: Traced | None) -> Skeleton:
    """Skeleton for this evidence, kept on the network by structure; without `traced` no switches are made."""
    structure, states = network.structure, network.numbers.states
    words = {w: found for w, v in sorted(evidence.words.items()) if (found := _terms(v)) != (states - 1,)}
    signs = {s: found for s, v in sorted(evidence.signs.items()) if (found := _terms(v)) != (1,)}
    read = {structure.word_links[link][1] for word in words for link in structure.links_into_word[word]}
    heard = {}
    for name in sorted({*evidence.heard, *read}):
        found = tuple(range(states)) if name in read else _terms(evidence.heard[name])
        if found != (states - 1,):
            heard[name] = found
    key = (
        tuple(heard.items()),
        tuple(words.items()),
        tuple(signs.items()),
        tuple(sorted(evidence.compounds)),
        traced,
        structure.sign_faults,
        structure.sign_compounds,
        structure.word_links,
    )
    kept: dict[object, Skeleton] = network.__dict__.setdefault("_skeletons", {})
    if key not in kept:
        if len(kept) > KEPT:
            kept.clear()
        kept[key] = _build(structure, states, heard, words, signs, frozenset(evidence.compounds), traced)
    return kept[key]


def _terms(likelihood: Array) -> tuple[int, ...]:
    """The states that count, in any row."""
    return tuple(np.nonzero(np.atleast_2d(by_parts(likelihood)).any(axis=0))[0].tolist())


def by_parts(likelihood: Array) -> Array:
    """w(y) = v(y) - v(y + 1), with v(S) = 0, along the last axis."""
    found = np.array(likelihood)
    found[..., :-1] -= likelihood[..., 1:]
    return found


def _build(
    structure: Structure,
    states: int,
    heard_terms: Mapping[int, tuple[int, ...]],
    word_terms: Mapping[int, tuple[int, ...]],
    sign_terms: Mapping[int, tuple[int, ...]],
    tested: frozenset[int],
    traced: Traced | None,
) -> Skeleton:
    sizes: dict[int, int] = {}
    heard, words, signs = (
        {name: _below(found, sizes) for name, found in terms.items()}
        for terms in (heard_terms, word_terms, sign_terms)
    )
    notes_of: dict[int, list[int]] = {compound: [] for compound in tested}
    signs_of: dict[int, list[int]] = {}
    audible = {note for name in heard for note in structure.heard[name]}
    for note in sorted(audible):
        for link in structure.links_into_note[note]:
            notes_of.setdefault(structure.note_links[link][0], []).append(link)
    for link, (sign, compound) in enumerate(structure.sign_compounds):
        if sign in signs:
            notes_of.setdefault(compound, [])
            signs_of.setdefault(compound, []).append(link)
    needs = traced_notes(structure, traced or Traced())
    foul = traced.signs if traced is not None else frozenset()
    middles = []
    for compound in sorted(notes_of):
        own_notes, own_signs = tuple(notes_of[compound]), tuple(signs_of.get(compound, ()))
        switch = any(structure.note_links[link][1] in needs for link in own_notes) or any(
            structure.sign_compounds[link][0] in foul for link in own_signs
        )
        scope = scope_below(structure, own_notes, own_signs, heard, signs)
        middles.append(Middle(compound, None, own_notes, own_signs, switch, scope))
    causes = causes_of(structure, middles, signs)
    leaves: list[list[tuple[int, int]]] = [[] for _ in middles]
    sign_leaves: dict[int, list[int]] = {}
    branching, loose = [], []
    for at, cause in enumerate(causes):
        if len(cause.links) + len(cause.signs) > 1:
            branching.append(at)
        elif cause.links:
            leaves[cause.links[0][0]].append((cause.fault, cause.links[0][1]))
        elif cause.signs:
            sign_leaves.setdefault(structure.sign_faults[cause.signs[0]][0], []).append(at)
        else:
            loose.append(at)
    for place in sorted({place for at in branching for place, _ in causes[at].links}):
        middles[place] = replace(middles[place], variable=len(sizes))
        sizes[len(sizes)] = len(levels_of(middles[place], states)[0])
    together = bunches(
        middles,
        {link: sign for link, (sign, _) in enumerate(structure.sign_compounds)},
        [np.array(own, dtype=np.int64).reshape(-1, 2) for own in leaves],
    )
    leaks: dict[Scope, list[int]] = {}
    for note in sorted(audible):
        found = (variable_of(heard, name) for name in structure.heard_of_note[note])
        leaks.setdefault(tuple(sorted(one for one in found if one is not None)), []).append(note)
    joined = [variable for bunch in together for variable in bunch.variables]
    scopes: list[Scope] = [(*bunch.scope, one) for bunch in together for one in bunch.variables]
    scopes += leaks
    for name, below in heard.items():
        own = () if below.variable is None else (below.variable,)
        scopes.append(
            tuple(sorted((*own, *(v for _, v in words_of(structure, words, name) if v is not None))))
        )
    for group in (words, signs):
        scopes += [() if below.variable is None else (below.variable,) for below in group.values()]
    scopes += [bunch.scope for bunch in together if not bunch.variables]
    scopes += [(variable,) for variable in joined]
    scopes += [(sure(signs[sign].variable),) for sign in sign_leaves]
    scopes += [scope_of_cause(structure, causes[place], middles, signs) for place in branching]
    touched = {cause.fault for cause in causes}
    return Skeleton(
        structure,
        states,
        heard,
        words,
        signs,
        tuple(middles),
        tuple(together),
        tuple((scope, tuple(notes)) for scope, notes in leaks.items()),
        tuple((sign, tuple(places)) for sign, places in sign_leaves.items()),
        tuple(branching),
        tuple(loose),
        tuple(causes),
        tuple(fault for fault in range(len(structure.faults)) if fault not in touched),
        tuple(scopes),
        sizes,
        _order(scopes, sizes, together, states),
        needs,
    )


def _order(
    scopes: Sequence[Scope], sizes: Mapping[int, int], together: Iterable[Bunch], states: int
) -> Order:
    """The order of elimination; the tables of a bunch that is summed out on the spot count among those it makes."""
    order = make_order(scopes, sizes)
    own = (
        prod(sizes[variable] for variable in bunch.scope) * len(levels_of(bunch, states)[0])
        for bunch in together
    )
    return replace(order, log2_largest=max(order.log2_largest, log2(max(own, default=1))))


def _below(found: tuple[int, ...], sizes: dict[int, int]) -> Below:
    if len(found) < 2:
        return Below(found, None)
    variable = len(sizes)
    sizes[variable] = len(found)
    return Below(found, variable)


def words_of(structure: Structure, words: Mapping[int, Below], heard: int) -> list[tuple[int, int | None]]:
    """Links from a note heard to observed words, with the word's variable."""
    return [
        (link, words[word].variable)
        for link, (word, note) in enumerate(structure.word_links)
        if note == heard and word in words
    ]


def traced_notes(structure: Structure, traced: Traced) -> frozenset[int]:
    """Notes of segments that are heard where they need a cause."""
    return frozenset(note for name in traced.heard for note in structure.heard[name])
