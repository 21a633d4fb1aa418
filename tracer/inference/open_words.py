"""Words of several meanings in the network: each a child of the notes it may mean, at the event where it was used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tracer.inference.chain import Chain
from tracer.inference.network import Network
from tracer.inference.reports import likelihood
from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.entries import INNOCENT
from tracer.lots.observed import Asked, Heard, Observation

Array = NDArray[np.float64]


@dataclass(frozen=True)
class OpenWord:
    """A word as it was used at one event."""

    words: str
    event: int
    shares: tuple[tuple[str, float], ...]
    """Notes it may mean -> share of tasters who mean each, the commonest first."""
    innocent: float
    reports: Array


def open_words(base: KnowledgeBase, chain: Chain, heard: Heard) -> tuple[OpenWord, ...]:
    """The words of a lot that are weighed, the most telling first; tasters who use one word at one event are heard together."""
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
        )
        innocent = dict(weights).get(INNOCENT, 0.0)
        if shares and innocent < 1:
            reports = likelihood(
                [_as_heard(word) for word in words], base.settings.tasters, base.settings.cups
            )
            found.append(OpenWord(words[0].words, event, tuple(shares[: law.readings]), innocent, reports))
    found.sort(key=lambda word: (word.innocent, -word.shares[0][1]))
    return tuple(found[: law.most])


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
    base: KnowledgeBase,
    network: Network,
    heard: Mapping[tuple[str, int], int],
    words: Iterable[OpenWord],
) -> Network:
    """The network with the words added.

    A word is used for its commonest note with the chance `used`, for the others in proportion to their shares; its leak is so
    large that the share of innocent use comes out where its notes are as rare as usual.
    """
    law = base.settings.words
    names, links, strengths, leaks = [], [], [], []
    for number, word in enumerate(words):
        names.append(word.words)
        top = word.shares[0][1]
        for name, share in word.shares:
            links.append((number, heard[name, word.event]))
            strengths.append(law.used * share / top)
        meant = 1 - word.innocent
        leak = min(0.5, law.leak + law.used * law.usual_note * word.innocent / max(meant, 0.05))
        leaks.append(np.cumsum([1 - leak, leak / 2, leak / 2]))
    if not names:
        return network
    structure = replace(network.structure, words=tuple(names), word_links=tuple(links))
    numbers = replace(network.numbers, word=np.array([strengths]), word_leak=np.array([leaks]))
    return network.grown(structure, numbers)
