"""One lot's evidence: likelihoods of what was heard at each event, and of laboratory results, on the nodes of the network.

Notes found at any event, and the few looked-for-and-absent ones that bear most, are nodes of the exact computation; the other
absent ones enter as factors (`absences`). Left out instead, they would make every source look likelier than it is
(`python -m tests.calibration`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.absences import absences, compounds_beside, compounds_making
from tracer.inference.assemble import Whole, odds_times
from tracer.inference.chain import Chain
from tracer.inference.measured import measured
from tracer.inference.network import Evidence, Network, Traced
from tracer.inference.open_words import OpenWord, open_words, own_words, with_words
from tracer.inference.reports import likelihood
from tracer.inference.said import Said, fill_in, said_at, silent_last
from tracer.inference.skeleton import skeleton
from tracer.inference.smells import Smell, smells, with_smells
from tracer.inference.tasters import MeasuredPanel
from tracer.knowledge.base import KnowledgeBase
from tracer.lots.lot import Lot
from tracer.lots.observed import Heard, Observation

Array = NDArray[np.float64]
NO, YES = np.array([1.0, 0.0]), np.array([0.0, 1.0])
"""P(what was seen | the sign is not there, is there)."""
ROOM = 2.0
"""log2 of the largest table's size that is kept free of notes that nobody found."""


@dataclass(frozen=True)
class Weighed:
    """The evidence as weighed, and which notes were left out."""

    network: Network
    """The network of the lot, with what its laboratory results need, and the absences that bear on faults alone."""
    spoken: Network
    """The same without those absences."""
    quiet: Array
    """Factor of those absences on the odds of each fault."""
    evidence: Evidence
    traced: Traced
    reported: tuple[str, ...]
    """Notes found at any event of the lot, in the order first named."""
    vectors: Mapping[str, tuple[int, ...]]
    """Note weighed exactly -> the notes heard that carry it."""
    words: Mapping[int, OpenWord]
    """Words of several meanings, and tasters' own, that are weighed."""
    smelled: Mapping[int, Smell]
    """Signs that are smells of the green."""
    absent: tuple[str, ...]
    absent_apart: tuple[str, ...]
    """Absent notes weighed on each compound apart."""
    tests: Mapping[int, Array]
    """The evidence on compounds without those notes: laboratory results and answered tests."""
    absent_left_out: int
    """Absent notes that no candidate source could have made."""
    present_left_out: tuple[str, ...]
    """Notes reported by the fewest cups, beyond what the exact computation takes."""
    words_left_out: tuple[str, ...]
    """Words of several meanings beyond it."""


def weigh(
    base: KnowledgeBase,
    whole: Whole,
    chain: Chain,
    network: Network,
    heard: Heard,
    lot: Lot,
    tested: Mapping[str, float],
    panel: MeasuredPanel | None = None,
    damaged: frozenset[str] = frozenset(),
    elsewhere: Sequence[str] = (),
    trust: Mapping[str, float] | None = None,
) -> Weighed:
    """Turn what was heard, smelled and seen, laboratory results and answered tests into likelihood vectors.

    `tested` holds P(answer | compound there) / P(answer | not there) by compound node. `damaged` are signs seen on the beans: like
    a compound that the laboratory found, they are traced where nothing was smelled or tasted. `elsewhere` are notes found in other lots
    that share something with this one: that they are not here counts too. `trust` is the probability
    that a sign was seen at all, where it is not 1.
    """
    settings, limits = base.settings, base.settings.limits
    said = said_at(base, chain, heard)
    loud: dict[str, float] = {}
    for (name, event), rows in said.items():
        if chain.events[event].kind == "sample" and any(o.found != 0 for o in rows):
            loud[name] = max(loud.get(name, 0.0), _loudness(rows))
    named = sorted(loud, key=lambda name: -loud[name])
    present, dropped = named[: limits.present_weighed], named[limits.present_weighed :]
    others = [name for name in base.descriptors if name in set(elsewhere) - set(named)]
    fill_in(base, chain, said, heard, lot, (*present, *others))
    bearing = _bearing(network, present)
    rest = [
        name for name in dict.fromkeys(name for name, _ in said) if name not in named and name not in others
    ]
    looked_for = [name for name in rest if bearing.get(name, 0.0) > 0]
    explicit = {name for (name, _), rows in said.items() if any(not o.unasked for o in rows)}
    looked_for.sort(key=lambda name: (-_explicit(said, name), name not in explicit, -bearing[name]))

    own, moved = own_words(base, said, panel)
    every = (*own, *open_words(base, chain, heard))
    words = every[: settings.words.most]

    def apart_from_own(name: str, event: int) -> list[Observation]:
        return [one for one in said[name, event] if (name, event, one.taster) not in moved]

    def vector(name: str, event: int) -> Array:
        found = likelihood(apart_from_own(name, event), settings.tasters, settings.cups, panel)
        if lot.taken_unread and chain.events[event].kind == "comparison":
            found = settings.unread.right * found + (1 - settings.unread.right) * found.max()
        return found

    def vectors(names: Iterable[str]) -> dict[int, Array]:
        wanted = set(names)
        return {
            whole.heard[key]: vector(*key)
            for key in said
            if key[0] in wanted and whole.network.structure.heard[whole.heard[key]] and apart_from_own(*key)
        }

    network, tests, raised = measured(base, whole, chain, network, lot.laboratory, tested)
    seen = len(network.structure.signs)
    network, smelled = with_smells(base, whole, chain, network, smells(base, lot))
    network = with_words(network, whole.heard, words)
    absent = [*[name for name in looked_for if name in explicit][: limits.absent_weighed], *others]
    heard_there = vectors((*present, *absent))
    meant = {
        whole.heard[name, word.event]
        for word in words
        for name, share in word.shares
        if share >= base.settings.cautions.perhaps
    }
    traced = Traced(
        frozenset(meant)
        | frozenset(
            whole.heard[name, event]
            for (name, event), rows in said.items()
            if name in present
            and chain.events[event].kind == "sample"
            and any(o.found != 0 and not o.doubtful for o in rows)
        ),
        frozenset(number for number, smell in smelled.items() if smell.found),
    )
    if not traced:
        beans = {n for n, name in enumerate(network.structure.signs[:seen]) if name in damaged}
        traced = Traced(raised, frozenset(beans))
    sure = trust or {}
    signs = {
        number: np.array([1 - sure.get(name, 1.0), 1.0])
        for number, name in enumerate(network.structure.signs[:seen])
    }
    signs |= {number: YES if smell.found else NO for number, smell in smelled.items()}
    evidence = replace(
        tests,
        heard={**tests.heard, **heard_there},
        signs=signs,
        words={number: word.reports for number, word in enumerate(words)},
    )
    silent = silent_last(chain, said, present)
    while _too_large(network, evidence, traced, limits.largest_table - (ROOM if absent else 0)):
        if not absent and evidence.words:
            last = max(evidence.words)
            evidence = replace(evidence, words={k: v for k, v in evidence.words.items() if k != last})
            continue
        if not absent and not silent and len(present) == 1:
            break
        if absent or not silent:
            gone = absent.pop() if absent else present.pop()
            if gone in named:
                dropped = [gone, *dropped]
            less = {node for key, node in whole.heard.items() if key[0] == gone}
        else:
            less = {whole.heard[silent.pop()]}
        evidence = replace(evidence, heard={k: v for k, v in evidence.heard.items() if k not in less})
    apart = [name for name in looked_for if name not in absent]
    factors, quiet = absences(network, present, vectors(apart), evidence)
    evidence = evidence.and_compounds(factors)
    spoken, network = (
        network,
        network.with_numbers(replace(network.numbers, prior=odds_times(network.numbers.prior, quiet))),
    )
    scaled = {node: v / v.max() for node, v in evidence.compounds.items()}
    kept = {
        whole.heard[name, words[number].event]
        for number in evidence.words
        for name, _ in words[number].shares
    }
    traced = Traced(frozenset(traced.heard & (set(evidence.heard) | kept)), traced.signs)
    return Weighed(
        network,
        spoken,
        quiet,
        replace(evidence, compounds=scaled),
        traced,
        tuple(name for name in heard.everywhere() if name in present),
        {
            name: tuple(
                node for key, node in whole.heard.items() if key[0] == name and node in evidence.heard
            )
            for name in (*present, *absent)
        },
        {number: words[number] for number in evidence.words},
        smelled,
        tuple(absent),
        tuple(name for name in apart if name in explicit),
        tests.compounds,
        sum(name in explicit for name in rest) - sum(name in explicit for name in looked_for),
        tuple(dropped),
        tuple(dict.fromkeys(w.words for n, w in enumerate(every) if n not in evidence.words)),
    )


def _loudness(observations: list[Observation]) -> float:
    return sum((0.5 if o.found is None else o.found) / o.cups for o in observations)


def _explicit(said: Said, name: str) -> bool:
    return any(o.words for (other, _), rows in said.items() if other == name for o in rows)


def _bearing(network: Network, present: Iterable[str]) -> dict[str, float]:
    """How strongly each note hangs on the compounds of the faults that can explain those found."""
    structure = network.structure
    making = compounds_making(structure, present)
    compounds = making | compounds_beside(structure, making)
    strengths = (1 - network.numbers.note[0, :, -1, 0]).tolist()
    found: dict[str, float] = {}
    for heard, (compound, note) in zip(strengths, structure.note_links, strict=True):
        if compound in compounds:
            name = structure.named[note]
            found[name] = max(found.get(name, 0.0), heard)
    return found


def _too_large(network: Network, evidence: Evidence, traced: Traced, limit: float) -> bool:
    several = len(evidence.heard) + len(evidence.words) > 1
    return several and skeleton(network, evidence, traced).order.log2_largest > limit
