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

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tracer.inference.elimination import Order, Plan, Scope, make_order, make_plan
from tracer.inference.network import Evidence, Network, Structure, Traced

Array = NDArray[np.float64]


KEPT = 512
"""Skeletons kept for one network."""


@dataclass(frozen=True)
class Below:
    """An observed node: the states it is summed over, and its variable where there are several."""

    levels: tuple[int, ...]
    variable: int | None


@dataclass(frozen=True)
class Middle:
    """A compound that matters, with what hangs below it."""

    compound: int
    variable: int
    notes: tuple[int, ...]
    """Its note links to notes of segments that are heard."""
    signs: tuple[int, ...]
    """Its links to observed signs."""
    switch: bool
    """A path leads from it to a traced finding."""
    scope: tuple[int, ...]
    """Variables of what hangs below it, in order."""


@dataclass(frozen=True)
class Cause:
    """A fault that matters: its links, and the variables they lead to."""

    fault: int
    links: tuple[tuple[int, int], ...]
    """(place in `middles`, fault link), in the order of the variables."""
    signs: tuple[int, ...]
    """Links to signs with a variable, in the order of the variables."""
    absent: tuple[int, ...]
    """Links to signs that are summed over `no` alone."""


@dataclass(frozen=True)
class Skeleton:
    """Structure for one set of observed nodes; values are filled in by `tables`."""

    heard: Mapping[int, Below]
    words: Mapping[int, Below]
    signs: Mapping[int, Below]
    middles: tuple[Middle, ...]
    leaks: tuple[tuple[int, tuple[int, ...]], ...]
    """Notes of segments with the variables of the heard notes they are part of."""
    leaves: tuple[tuple[int, ...], ...]
    """For each compound, places in `causes` of faults that lead there alone."""
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
    least: dict[tuple[int, Scope], NDArray[np.int64]] = field(default_factory=dict, compare=False)
    """(note of a segment, scope) -> the least state that its heard notes allow, once it was needed."""

    @cached_property
    def plan(self) -> Plan:
        """The steps of its elimination."""
        return make_plan(self.scopes, self.sizes, self.order.variables)


def levels_of(middle: Middle, states: int) -> tuple[tuple[int, ...], tuple[bool, ...]]:
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
    return tuple(int(y) for y in np.nonzero(by_parts(likelihood))[0])


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
    first = len(sizes)
    needs = traced_notes(structure, traced or Traced())
    foul = traced.signs if traced is not None else frozenset()
    middles = []
    for place, compound in enumerate(sorted(notes_of)):
        middle = Middle(
            compound,
            first + place,
            tuple(notes_of[compound]),
            tuple(signs_of.get(compound, ())),
            any(structure.note_links[link][1] in needs for link in notes_of[compound])
            or any(structure.sign_compounds[link][0] in foul for link in signs_of.get(compound, ())),
            (),
        )
        scope = _scope(structure, middle, heard, signs)
        middle = Middle(*(*list(vars(middle).values())[:-1], scope))
        middles.append(middle)
        sizes[middle.variable] = len(levels_of(middle, states)[0])
    causes = _causes(structure, middles, signs)
    scopes: list[Scope] = [(*middle.scope, middle.variable) for middle in middles]
    leaks = tuple(
        (
            note,
            tuple(
                sorted(
                    v for name in structure.heard_of_note[note] if (v := _variable(heard, name)) is not None
                )
            ),
        )
        for note in sorted(audible)
    )
    scopes += [scope for _, scope in leaks]
    for name, below in heard.items():
        own = () if below.variable is None else (below.variable,)
        scopes.append(
            tuple(sorted((*own, *(v for _, v in words_of(structure, words, name) if v is not None))))
        )
    for group in (words, signs):
        scopes += [() if below.variable is None else (below.variable,) for below in group.values()]
    leaves: list[list[int]] = [[] for _ in middles]
    sign_leaves: dict[int, list[int]] = {}
    branching, loose = [], []
    for place, cause in enumerate(causes):
        count = len(cause.links) + len(cause.signs)
        if count > 1:
            branching.append(place)
        elif cause.links:
            leaves[cause.links[0][0]].append(place)
        elif cause.signs:
            sign_leaves.setdefault(structure.sign_faults[cause.signs[0]][0], []).append(place)
        else:
            loose.append(place)
    scopes += [(middle.variable,) for middle in middles]
    scopes += [(_sure(signs[sign].variable),) for sign in sign_leaves]
    scopes += [_cause_scope(structure, causes[place], middles, signs) for place in branching]
    touched = {cause.fault for cause in causes}
    return Skeleton(
        heard,
        words,
        signs,
        tuple(middles),
        leaks,
        tuple(map(tuple, leaves)),
        tuple((sign, tuple(places)) for sign, places in sign_leaves.items()),
        tuple(branching),
        tuple(loose),
        tuple(causes),
        tuple(fault for fault in range(len(structure.faults)) if fault not in touched),
        tuple(scopes),
        sizes,
        make_order(scopes, sizes),
        needs,
    )


def _below(found: tuple[int, ...], sizes: dict[int, int]) -> Below:
    if len(found) < 2:
        return Below(found, None)
    variable = len(sizes)
    sizes[variable] = len(found)
    return Below(found, variable)


def _variable(group: Mapping[int, Below], name: int) -> int | None:
    return group[name].variable if name in group else None


def _sure(variable: int | None) -> int:
    assert variable is not None
    return variable


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


def _scope(
    structure: Structure, middle: Middle, heard: Mapping[int, Below], signs: Mapping[int, Below]
) -> tuple[int, ...]:
    found = {
        variable
        for link in middle.notes
        for name in structure.heard_of_note[structure.note_links[link][1]]
        if (variable := _variable(heard, name)) is not None
    }
    found |= {
        variable
        for link in middle.signs
        if (variable := _variable(signs, structure.sign_compounds[link][0])) is not None
    }
    return tuple(sorted(found))


def _causes(structure: Structure, middles: list[Middle], signs: Mapping[int, Below]) -> list[Cause]:
    links: dict[int, list[tuple[int, int]]] = {}
    seen: dict[int, list[int]] = {}
    absent: dict[int, list[int]] = {}
    for place, middle in enumerate(middles):
        for link in structure.links_into_compound[middle.compound]:
            links.setdefault(structure.fault_links[link][0], []).append((place, link))
    for link, (sign, fault) in enumerate(structure.sign_faults):
        if sign in signs:
            (absent if signs[sign].variable is None else seen).setdefault(fault, []).append(link)
    found = []
    for fault in sorted({*links, *seen, *absent}):
        own = sorted(
            seen.get(fault, ()), key=lambda link: _sure(signs[structure.sign_faults[link][0]].variable)
        )
        found.append(Cause(fault, tuple(links.get(fault, ())), tuple(own), tuple(absent.get(fault, ()))))
    return found


def _cause_scope(
    structure: Structure, cause: Cause, middles: list[Middle], signs: Mapping[int, Below]
) -> Scope:
    return (
        *(_sure(signs[structure.sign_faults[link][0]].variable) for link in cause.signs),
        *(middles[place].variable for place, _ in cause.links),
    )
