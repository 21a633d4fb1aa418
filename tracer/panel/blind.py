"""Blind sets: three-digit codes, a balanced order for each taster, hidden blanks and a repeat; the key apart."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tracer.names import fold
from tracer.panel.order import williams

BLANK = "blank"
FRESH = 2**31
"""A set without a seed of its own takes one below this."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One thing served: `notes` is empty for a blank. `last` ones come after all others."""

    name: str
    notes: tuple[str, ...]
    multiple: float | None = None
    last: bool = False


@dataclass(frozen=True, slots=True)
class Cup:
    """One cup for one taster."""

    taster: str
    place: int
    code: str
    sample: Sample
    repeat: bool


@dataclass(frozen=True, slots=True)
class BlindSet:
    """All cups of a session, in order of serving for each taster."""

    name: str
    seed: int
    cups: tuple[Cup, ...]

    def tasters(self) -> tuple[str, ...]:
        """Tasters in their order."""
        return tuple(dict.fromkeys(cup.taster for cup in self.cups))

    def of(self, taster: str) -> tuple[Cup, ...]:
        """One taster's cups in order of serving."""
        return tuple(cup for cup in self.cups if cup.taster == taster)


def blind_set(
    name: str, samples: Sequence[Sample], tasters: Sequence[str], blanks: int, repeats: int, seed: int
) -> BlindSet:
    """A session: samples, hidden blanks and repeats of samples drawn by the seed, each taster with own codes and own order.

    Orders are rows of a Williams square, those passed over in which a repeat would follow its twin. The same seed gives the
    same set. Codes have three digits, none twice for one taster, and none twice at all while
    there are enough of them.
    """
    if not samples:
        raise ValueError("there is nothing to serve")
    if not tasters or len({fold(t) for t in tasters}) != len(tasters):
        raise ValueError("tasters need different names")
    repeats = min(repeats, len(samples))
    served = [(sample, False) for sample in samples]
    served += [(Sample(f"{BLANK} {i + 1}", ()), False) for i in range(blanks)]
    generator = random.Random(seed)
    served += [(sample, True) for sample in generator.sample(list(samples), repeats)]
    early = [one for one in served if not one[0].last]
    late = [one for one in served if one[0].last]
    generator.shuffle(early)
    generator.shuffle(late)
    codes = _codes(generator, len(tasters) * len(served), len(served))
    cups = []
    for index, taster in enumerate(tasters):
        for place, (sample, repeat) in enumerate((*_row(early, index), *_row(late, index)), 1):
            cups.append(Cup(taster, place, next(codes), sample, repeat))
    return BlindSet(name, seed, tuple(cups))


def _row(served: list[tuple[Sample, bool]], index: int) -> list[tuple[Sample, bool]]:
    if not served:
        return []
    rows = [[served[position - 1] for position in row] for row in williams(len(served))]
    apart = [row for row in rows if all(one[0] != other[0] for one, other in pairwise(row))]
    usable = apart or rows
    return usable[index % len(usable)]


def _codes(generator: random.Random, cups: int, each: int) -> Iterator[str]:
    every = [str(number) for number in range(100, 1000)]
    if each > len(every):
        raise ValueError(f"{each} cups are more than there are three-digit codes")
    if cups <= len(every):
        yield from generator.sample(every, cups)
        return
    for _ in range(cups // each):
        yield from generator.sample(every, each)
