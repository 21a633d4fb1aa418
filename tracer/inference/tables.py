"""The tables of what was observed, filled in for a skeleton: compounds, notes, words and signs summed out on the spot."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from tracer.inference.elimination import Scope
from tracer.inference.network import Evidence, Network, Structure, Traced
from tracer.inference.skeleton import Below, Middle, Skeleton, by_parts, words_of

Array = NDArray[np.float64]


def observed_tables(
    network: Network, evidence: Evidence, bones: Skeleton, traced: Traced | None
) -> list[Array]:
    """Tables of compounds, leaks of notes, notes heard, words and signs, in the order of the skeleton's scopes."""
    structure, numbers = network.structure, network.numbers
    tables = [compound_table(network, evidence, bones, middle, traced) for middle in bones.middles]
    for note, scope in bones.leaks:
        grid = _least(structure, bones, note, scope, numbers.states)
        tables.append(numbers.note_leak[:, note][:, grid])
    for name, below in bones.heard.items():
        tables.append(_note_table(network, evidence, bones, name, below))
    for name, below in bones.words.items():
        weights = by_parts(evidence.words[name]) * numbers.word_leak[:, name]
        tables.append(_at(weights, below))
    for name, below in bones.signs.items():
        leak = numbers.sign_leak[:, name]
        law = np.stack([1 - leak, np.ones_like(leak)], axis=-1)
        tables.append(_at(by_parts(evidence.signs[name]) * law, below))
    return tables


def _at(values: Array, below: Below) -> Array:
    chosen = values[..., list(below.levels)]
    return chosen if below.variable is not None else chosen[..., 0]


def _note_table(network: Network, evidence: Evidence, bones: Skeleton, name: int, below: Below) -> Array:
    """w(y) of a note heard, over its own variable and those of the words that may mean it."""
    numbers = network.numbers
    states = numbers.states
    value = evidence.heard.get(name, np.ones(states))[None]
    around = words_of(network.structure, bones.words, name)
    axes = sorted(variable for _, variable in around if variable is not None)
    value = value.reshape(1, *[1] * len(axes), states)
    for link, variable in around:
        word = bones.words[network.structure.word_links[link][0]]
        share = numbers.word[:, link][:, None, None]
        passed = np.where(np.array(word.levels)[:, None] >= np.arange(states)[None, :], 1.0, 1 - share)
        shape = [len(passed), *[1] * len(axes), states]
        if variable is not None:
            shape[1 + axes.index(variable)] = len(word.levels)
        value = value * passed.reshape(shape)
    weights = by_parts(value)[..., list(below.levels)]
    return np.moveaxis(weights, -1, 1) if below.variable is not None else weights[..., 0]


def compound_table(
    network: Network, evidence: Evidence, bones: Skeleton, middle: Middle, traced: Traced | None
) -> Array:
    """One compound summed out: M(e.., k) = L(k) sum_c D(c, k) v(c) prod Q(e | c)."""
    numbers = network.numbers
    leak = numbers.compound_leak[:, middle.compound]
    leak = leak.reshape(len(leak), *[1] * len(middle.scope), -1)

    def summed(dead: Traced | None) -> Array:
        law = inner(network, bones, middle, dead)
        if middle.compound in evidence.compounds:
            law = law * likelihood_of(network, evidence, middle)
        return np.asarray(by_parts(law) * leak)

    table = summed(None)
    if not middle.switch:
        return table
    dead = np.broadcast_to(summed(traced), table.shape)
    # States of the auxiliary: (0, merged), then b = 1 for k = 1.., then b = 0 for k = 1..
    return np.concatenate([table[..., :1], dead[..., 1:], (table - dead)[..., 1:]], axis=-1)


def likelihood_of(network: Network, evidence: Evidence, middle: Middle) -> Array:
    """Likelihood of what is known of the compound itself, with axes for the batch and its scope."""
    value = np.atleast_2d(evidence.compounds.get(middle.compound, np.ones(network.numbers.states)))
    return np.asarray(value.reshape(len(value), *[1] * len(middle.scope), -1))


def inner(network: Network, bones: Skeleton, middle: Middle, dead: Traced | None) -> Array:
    """prod of Q(e | c) over what hangs below a compound, axes (batch, scope, c); paths to `dead` held at nothing."""
    structure, numbers = network.structure, network.numbers
    states, scope = numbers.states, middle.scope
    laws = numbers.note.swapaxes(2, 3)
    result = np.ones([1] * (len(scope) + 1) + [states])
    for link in middle.notes:
        note = structure.note_links[link][1]
        if dead is not None and note in bones.traced_notes:
            grid = np.zeros([1] * len(scope), dtype=np.int64)
        else:
            grid = _least(structure, bones, note, scope, states)
        result = result * laws[:, link][:, grid]
    for link in middle.signs:
        sign = structure.sign_compounds[link][0]
        below = bones.signs[sign]
        missed = 1 - numbers.sign_compound[:, link]
        part = missed[:, None, :]
        if below.variable is not None and not (dead is not None and sign in dead.signs):
            part = np.where(np.array(below.levels)[None, :, None] == 0, part, 1.0)
        shape = [len(part), *[1] * len(scope), states]
        if part.shape[1] > 1 and below.variable is not None:
            shape[1 + scope.index(below.variable)] = part.shape[1]
        result = result * part.reshape(shape)
    return result


def _least(structure: Structure, bones: Skeleton, note: int, scope: Scope, states: int) -> NDArray[np.int64]:
    """The least state that the heard notes of a note of a segment allow, over a scope."""
    if (note, scope) in bones.least:
        return bones.least[note, scope]
    grid = np.full([1] * len(scope), states - 1, dtype=np.int64)
    for below in _heard(structure, bones, note):
        levels = np.array(below.levels, dtype=np.int64)
        shape = [1] * len(scope)
        if below.variable is not None:
            shape[scope.index(below.variable)] = len(levels)
        grid = np.minimum(grid, levels.reshape(shape))
    bones.least[note, scope] = grid
    return grid


def _heard(structure: Structure, bones: Skeleton, note: int) -> Iterator[Below]:
    for name in structure.heard_of_note[note]:
        if name in bones.heard:
            yield bones.heard[name]
