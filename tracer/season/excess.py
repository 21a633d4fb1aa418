"""Which group of lots has more trouble than chance gives, each told once: as the narrowest group that explains it.

Trouble is counted two ways: any off-note traced, and one traced to a stage that the group stands for. Step by step the group with the
smallest exact p is taken, given those taken before (lots that share the same of them are compared with one another alone), until the
corrected p passes the limit. One whose excess those taken after it explain falls out again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tracer.season.exact import able, exact
from tracer.season.groups import Group

Flags = NDArray[np.bool_]
ANY = ""
"""Kind of trouble: any."""
LIMIT = 0.05
"""Corrected p up to which a group is told."""
_REST = 0.05
"""The rest of a wider group is in excess of its own below this p, not corrected: then the narrower one does not explain it."""


@dataclass(frozen=True, slots=True)
class Excess:
    """A group with more trouble than chance gives."""

    group: Group
    kind: str
    """Stages whose trouble is counted, parted by blanks; empty for any."""
    here: int
    troubled_here: int
    others: int
    troubled_others: int
    """Other lots, less those of the other groups told."""
    p: float
    corrected: float
    alike: tuple[Group, ...] = ()
    """Other groups that explain these lots about as well: not to be told apart by what is known."""


@dataclass(frozen=True)
class Looked:
    """What was compared, and what was found."""

    found: tuple[Excess, ...]
    compared: int
    """Comparisons: groups times kinds of trouble."""
    counted: int
    """Of these, those that their few lots allow to pass the limit at all."""
    limit: float = LIMIT


_Test = tuple[int, str]


@dataclass
class _Season:
    """The comparisons of one season."""

    groups: Sequence[Group]
    trouble: Mapping[str, Flags]
    members: dict[int, Flags] = field(default_factory=dict)
    tests: list[_Test] = field(default_factory=list)

    def __post_init__(self) -> None:
        lots = len(self.trouble[ANY])
        for number, group in enumerate(self.groups):
            flags = np.zeros(lots, dtype=bool)
            flags[list(group.lots)] = True
            self.members[number] = flags
            kinds = {ANY, *(" ".join(one.stages) for one in group.shared)}
            self.tests += [(number, kind) for kind in sorted(kinds & set(self.trouble))]

    def p(self, test: _Test, given: Sequence[int]) -> tuple[float, float]:
        """Exact p of a comparison and the least it can be, among lots alike in the groups `given`."""
        here, bad = self.members[test[0]], self.trouble[test[1]]
        pattern = np.zeros(len(here), dtype=np.int64)
        for number in given:
            pattern = 2 * pattern + self.members[number]
        _, pattern = np.unique(pattern, return_inverse=True) if given else (0, pattern)
        counts = [
            np.bincount(pattern[flags]) if flags is not None else np.bincount(pattern)
            for flags in (None, bad, here, here & bad)
        ]
        size = len(counts[0])
        rows = [np.pad(one, (0, size - len(one))) for one in counts]
        return exact(zip(*(map(int, row) for row in rows), strict=True))


def excesses(groups: Sequence[Group], trouble: Mapping[str, Flags], limit: float = LIMIT) -> Looked:
    """Groups with more trouble than chance, the surest first. `trouble`: kind -> which lots have it; ANY must be there."""
    season = _Season(groups, trouble)
    if not season.tests or not trouble[ANY].any():
        return Looked((), len(season.tests), 0, limit)
    told: list[_Test] = []
    dropped: set[int] = set()
    first = 0
    while True:
        open_tests = [
            test for test in season.tests if test[0] not in dropped and test[0] not in {n for n, _ in told}
        ]
        scored = [(*season.p(test, [n for n, _ in told]), test) for test in open_tests]
        counted = able([least for _, least, _ in scored], limit) if scored else 1
        first = first or counted
        best = min(scored, default=None, key=lambda one: (one[0], len(groups[one[2][0]].lots), one[2]))
        if best is None or best[0] * counted > limit:
            break
        told.append(best[2])
        told = _kept(season, told, counted, limit, dropped)
    told = [_narrowest(season, test, told, counted, limit) for test in told]
    found = [_excess(season, test, told, counted, limit) for test in told]
    return Looked(tuple(sorted(found, key=lambda one: one.p)), len(season.tests), first, limit)


def _kept(season: _Season, told: list[_Test], counted: int, limit: float, dropped: set[int]) -> list[_Test]:
    """The groups told, less those whose excess the others explain; the weakest goes first."""
    while len(told) > 1:
        weak = max(told, key=lambda test: season.p(test, _others(told, test))[0])
        if season.p(weak, _others(told, weak))[0] * counted <= limit:
            break
        told = [test for test in told if test != weak]
        dropped.add(weak[0])
    return told


def _others(told: Sequence[_Test], but: _Test) -> list[int]:
    return [number for number, _ in told if number != but[0]]


def _narrowest(season: _Season, test: _Test, told: Sequence[_Test], counted: int, limit: float) -> _Test:
    """The narrower group inside a told one that explains all its excess, if there is one."""
    others, wide = _others(told, test), season.groups[test[0]]
    inside = []
    for narrow in season.tests:
        if season.groups[narrow[0]].lots < wide.lots:
            p, _ = season.p(narrow, others)
            if p * counted <= limit and season.p(test, [*others, narrow[0]])[0] > _REST:
                inside.append((p, narrow))
    return min(inside)[1] if inside else test


def _excess(season: _Season, test: _Test, told: Sequence[_Test], counted: int, limit: float) -> Excess:
    others = _others(told, test)
    p, _ = season.p(test, others)
    here, bad = season.members[test[0]], season.trouble[test[1]]
    elsewhere = ~here
    for number in others:
        elsewhere &= ~season.members[number]
    alike = {
        one[0]: season.groups[one[0]]
        for one in season.tests
        if one[0] not in {number for number, _ in told}
        and season.groups[one[0]].lots & season.groups[test[0]].lots
        and season.p(one, others)[0] * counted <= limit
        and season.p(test, [*others, one[0]])[0] > _REST
    }
    return Excess(
        season.groups[test[0]],
        test[1],
        int(here.sum()),
        int((here & bad).sum()),
        int(elsewhere.sum()),
        int((elsewhere & bad).sum()),
        p,
        min(1.0, p * counted),
        tuple(alike.values()),
    )
