"""What faults lead to and what hangs below compounds: the variables of their tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tracer.inference.bunches import Middle
from tracer.inference.elimination import Scope
from tracer.inference.network import Structure


@dataclass(frozen=True)
class Below:
    """An observed node: the states it is summed over, and its variable where there are several."""

    levels: tuple[int, ...]
    variable: int | None


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


def variable_of(group: Mapping[int, Below], name: int) -> int | None:
    """The variable of an observed node, if it has one."""
    return group[name].variable if name in group else None


def sure(variable: int | None) -> int:
    """A variable that is there."""
    assert variable is not None
    return variable


def scope_below(
    structure: Structure,
    notes: Iterable[int],
    sign_links: Iterable[int],
    heard: Mapping[int, Below],
    signs: Mapping[int, Below],
) -> Scope:
    """Variables of what hangs below a compound with these links, in order."""
    found = {
        variable
        for link in notes
        for name in structure.heard_of_note[structure.note_links[link][1]]
        if (variable := variable_of(heard, name)) is not None
    }
    found |= {
        variable
        for link in sign_links
        if (variable := variable_of(signs, structure.sign_compounds[link][0])) is not None
    }
    return tuple(sorted(found))


def causes_of(structure: Structure, middles: list[Middle], signs: Mapping[int, Below]) -> list[Cause]:
    """The faults that lead to some compound or sign that matters, in their order."""
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
            seen.get(fault, ()), key=lambda link: sure(signs[structure.sign_faults[link][0]].variable)
        )
        found.append(Cause(fault, tuple(links.get(fault, ())), tuple(own), tuple(absent.get(fault, ()))))
    return found


def scope_of_cause(
    structure: Structure, cause: Cause, middles: list[Middle], signs: Mapping[int, Below]
) -> Scope:
    """Variables that a fault leads to, in order."""
    return (
        *(sure(signs[structure.sign_faults[link][0]].variable) for link in cause.signs),
        *(sure(middles[place].variable) for place, _ in cause.links),
    )
