"""Words in the network: each a child of the notes it may mean, at the event where it was used.

A word of several meanings is heard of all tasters who use it. A taster who is measured to call one note by another's name has a
word of their own for it; their report then speaks of both notes, and nobody else's does.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.chain import Chain
from tracer.inference.network import Network
from tracer.inference.reports import likelihood
from tracer.inference.said import Said
from tracer.inference.tasters import MeasuredPanel
from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import INNOCENT
from tracer.lots.observed import Asked, Heard, Observation
from tracer.names import fold

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OpenWord:
    """A word as it was used at one event."""

    words: str
    event: int
    shares: tuple[tuple[str, float], ...]
    """Notes it may mean -> share of tasters who mean each, or how often this taster does; the commonest first."""
    links: tuple[float, ...]
    """P(the word is used | the note is there), in the order of the shares."""
    leak: float
    """P(it is used | none of them is there)."""
    reports: Array
    taster: str = ""
    """Whose own word it is; empty where it is everybody's."""


def open_words(base: KnowledgeBase, chain: Chain, heard: Heard) -> tuple[OpenWord, ...]:
    """The words of several meanings that can be weighed, the most telling first; tasters who use one at one event are heard together.

    A word is used for its commonest note with the chance `used`, for the others in proportion to their shares; its leak is so
    large that the share of innocent use comes out where its notes are as rare as usual.
    """
    law = base.settings.words
    event_of = {
        cupping: number
        for number, event in enumerate(chain.events)
        if event.kind == "sample"
        for cupping in event.cuppings
    }
    used: dict[tuple[tuple[tuple[str, float], ...], int], list[Asked]] = {}
    for word in (*heard.asked, *heard.asked_elsewhere):
        if word.outcome == "ambiguous" and not word.denied and word.weights and word.cupping in event_of:
            used.setdefault((word.weights, event_of[word.cupping]), []).append(word)
    found = []
    for (weights, event), words in used.items():
        shares = sorted(
            ((name, share) for name, share in weights if name in base.descriptors), key=lambda one: -one[1]
        )[: law.readings]
        innocent = dict(weights).get(INNOCENT, 0.0)
        if shares and innocent < 1:
            reports = likelihood(
                [_as_heard(word) for word in words], base.settings.tasters, base.settings.cups
            )
            links = tuple(law.used * share / shares[0][1] for _, share in shares)
            leak = min(0.5, law.leak + law.used * law.usual_note * innocent / max(1 - innocent, 0.05))
            found.append(
                (
                    innocent,
                    -shares[0][1],
                    OpenWord(words[0].words, event, tuple(shares), links, leak, reports),
                )
            )
    return tuple(word for *_, word in sorted(found, key=lambda one: one[:2]))


def own_words(
    base: KnowledgeBase, said: Said, panel: MeasuredPanel | None
) -> tuple[tuple[OpenWord, ...], frozenset[tuple[str, int, str]]]:
    """Words of tasters who are measured to confuse the note they found with another, and whose reports they hold.

    The reports are (note, event, taster); the word is used for the note itself for certain, for another as often as measured.
    """
    if panel is None or not panel.confusions:
        return (), frozenset()
    law, least = base.settings.words, base.settings.tasters.own_confusion
    found = []
    for (name, event), rows in said.items():
        for taster in dict.fromkeys(row.taster for row in rows if row.found != 0 and row.words):
            also = {
                given: often
                for (who, given, named), often in panel.confusions.items()
                if who == fold(taster) and named == name and often >= least
            }
            if also:
                shares = ((name, 1.0), *sorted(also.items(), key=lambda one: -one[1])[: law.readings - 1])
                own = [row for row in rows if row.taster == taster]
                reports = likelihood(own, base.settings.tasters, base.settings.cups, panel)
                links = tuple(often for _, often in shares)
                found.append(OpenWord(own[0].words, event, shares, links, law.leak, reports, taster))
    found.sort(key=lambda word: -word.links[1])
    kept = tuple(found[: law.most])
    return kept, frozenset((word.shares[0][0], word.event, word.taster) for word in kept)


def _as_heard(word: Asked) -> Observation:
    return Observation(
        word.words,
        word.taster,
        word.found,
        max(word.cups, 1),
        word.intensity,
        word.doubtful,
        word.words,
        word.cupping,
        Place("word"),
    )


def with_words(
    network: Network,
    heard: Mapping[tuple[str, int], int],
    words: Iterable[OpenWord],
) -> Network:
    """The network with the words added, each an any-of over its notes."""
    names, links, strengths, leaks = [], [], [], []
    for number, word in enumerate(words):
        names.append(word.words)
        for (name, _), strength in zip(word.shares, word.links, strict=True):
            links.append((number, heard[name, word.event]))
            strengths.append(strength)
        leaks.append(np.cumsum([1 - word.leak, word.leak / 2, word.leak / 2]))
    if not names:
        return network
    structure = network.structure.with_more(words=tuple(names), word_links=tuple(links))
    numbers = replace(network.numbers, word=np.array([strengths]), word_leak=np.array([leaks]))
    return network.grown(structure, numbers)
