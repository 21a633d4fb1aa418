"""The tables of what was observed, filled in for a skeleton: compounds, notes, words and signs summed out on the spot."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tracer.inference.bunches import Bunch
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.scopes import Below
from tracer.inference.skeleton import Skeleton, by_parts, words_of

Array = NDArray[np.float64]


def bunch_tables(network: Network, evidence: Evidence, bones: Skeleton, traced: Traced | None) -> list[Array]:
    """The tables of each bunch of compounds, M(e.., k) = L(k) sum_c D(c, k) v(c) prod Q(e | c), shape (B, compounds, e.., K).

    Of one lot the same are wanted many times, for other priors and chosen faults: the last few are kept.
    """
    numbers = network.numbers
    made_of = (bones, numbers.note, numbers.compound_leak, numbers.sign_compound, evidence.compounds, traced)
    for known, found in _made:
        if all(one is other for one, other in zip(known, made_of, strict=True)):
            return found
    made = [_tables(network, evidence, bones, at, traced) for at in range(len(bones.bunches))]
    _made[:] = [*_made[-3:], (made_of, made)]
    return made


_made: list[tuple[tuple[object, ...], list[Array]]] = []


def observed_tables(
    network: Network, evidence: Evidence, bones: Skeleton, by_bunch: Sequence[Array]
) -> list[Array]:
    """Tables of compounds with a variable, leaks of notes, notes heard, words and signs, in the order of the skeleton's scopes."""
    numbers = network.numbers
    tables = [
        made[:, place]
        for bunch, made in zip(bones.bunches, by_bunch, strict=True)
        for place in range(len(bunch.variables))
    ]
    for (_, notes), grids in zip(bones.leaks, bones.leak_grids, strict=True):
        leak = np.ones(1)
        for note, grid in zip(notes, grids, strict=True):
            leak = leak * numbers.note_leak[:, note][:, grid]
        tables.append(leak)
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
    value = np.atleast_2d(evidence.heard.get(name, np.ones(states)))
    around = words_of(network.structure, bones.words, name)
    axes = sorted(variable for _, variable in around if variable is not None)
    value = value.reshape(len(value), *[1] * len(axes), states)
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


def _tables(network: Network, evidence: Evidence, bones: Skeleton, at: int, traced: Traced | None) -> Array:
    bunch = bones.bunches[at]
    leak = _spread(network.numbers.compound_leak[:, list(bunch.compounds)], bunch)
    likelihood = likelihood_of(network, evidence, bunch)

    def summed(dead: Traced | None) -> Array:
        return np.asarray(by_parts(inner(network, bones, at, dead) * likelihood) * leak)

    table = summed(None)
    if not bunch.switch:
        return table
    dead = np.broadcast_to(summed(traced), table.shape)
    # States of the auxiliary: (0, merged), then b = 1 for k = 1.., then b = 0 for k = 1..
    return np.concatenate([table[..., :1], dead[..., 1:], (table - dead)[..., 1:]], axis=-1)


def _spread(values: Array, bunch: Bunch) -> Array:
    """Values (B, compounds, S) with axes for the scope of the bunch."""
    return values.reshape(*values.shape[:2], *[1] * len(bunch.scope), values.shape[2])


def likelihood_of(network: Network, evidence: Evidence, bunch: Bunch) -> Array:
    """Likelihood of what is known of the compounds themselves, with axes for the batch and their scope."""
    none = np.ones((1, network.numbers.states))
    values = [np.atleast_2d(evidence.compounds.get(one, none)) for one in bunch.compounds]
    return _spread(np.stack(np.broadcast_arrays(*values), axis=1), bunch)


def inner(network: Network, bones: Skeleton, at: int, dead: Traced | None) -> Array:
    """prod of Q(e | c) over what hangs below the compounds of a bunch, axes (batch, compounds, scope, c); paths to `dead` held at nothing."""
    numbers, bunch = network.numbers, bones.bunches[at]
    scope, (grid, traced) = bunch.scope, bones.grids[at]
    laws = numbers.note.swapaxes(2, 3)
    result = np.ones((1, len(bunch.compounds), *[1] * len(scope), numbers.states))
    for place, links in enumerate(bunch.notes.T):
        least = grid[:, place]
        if dead is not None:
            least = np.where(traced[:, place].reshape(-1, *[1] * len(scope)), 0, least)
        result = result * laws[:, links.reshape(-1, *[1] * len(scope)), least]
    for links in bunch.signs.T:
        sign = network.structure.sign_compounds[links[0]][0]
        below = bones.signs[sign]
        part = _spread(1 - numbers.sign_compound[:, links], bunch)
        if below.variable is not None and not (dead is not None and sign in dead.signs):
            axes = [1] * len(scope)
            axes[scope.index(below.variable)] = len(below.levels)
            part = np.where(np.array(below.levels).reshape(*axes, 1) == 0, part, 1.0)
        result = result * part
    return result
