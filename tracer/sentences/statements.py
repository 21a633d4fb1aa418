"""Proposals for one sentence, gathered into statements: those that rest on the same words are rivals of one statement."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace

from tracer.sentences.proposal import Proposal, Statement
from tracer.sentences.siblings import SIBLING

SHOWN = 3
"""Proposals offered for one statement."""
RIVAL = 0.5
"""Share of the signs that two proposals rest on, from which only one of them can be meant: tried on the open sentences of tests/reading."""
LEAST_APART, GUESSES = 3.0, 3
"""Weight from which what is not sure is a statement of its own, and how many of these a sentence has at most: judgement."""
APART = ("sample", "contact", "lot", "laboratory")
"""Kinds that stand beside whatever else the same words say; they have rivals only of their own kind."""


def statements(found: list[Proposal]) -> Iterator[Statement]:
    """Proposals that rest on the same words are rivals; each group is one statement, the surest first.

    The weightiest of what is not sure stand for themselves, the rest fills up the places behind: an off-note that is named comes before
    what the words are merely alike to.
    """
    clean = {one.target for one in found if one.sure and one.kind == "comparison" and one.value == "clean"}
    found = [replace(one, sure=one.sure and not _as_clean(one, clean)) for one in found]
    rest = _told_once(sorted(found, key=lambda one: (-one.sure, -one.score, one.id)))
    groups: list[list[Proposal]] = []
    for proposal in rest:
        group = next((group for group in groups if _rivals(proposal, group[0])), None)
        if group is None:
            groups.append([proposal])
        else:
            group.append(proposal)
    groups.sort(key=lambda group: (-group[0].sure, -group[0].score))
    apart = [group for group in groups if not group[0].sure and group[0].score >= LEAST_APART][:GUESSES]
    own = [
        _narrow_first(list({one.id: one for one in group}.values()))[:SHOWN]
        for group in groups
        if group[0].sure or group in apart
    ]
    left = sorted(
        (one for group in groups if not group[0].sure and group not in apart for one in group),
        key=lambda one: (one.kind != "note", -one.score),
    )
    for group in own:
        taken, left = left[: SHOWN - len(group)], left[SHOWN - len(group) :]
        yield Statement((*group, *taken))
    if left and not own:
        yield Statement(tuple(left[:SHOWN]))


def _told_once(ranked: Iterable[Proposal]) -> list[Proposal]:
    """Where a row would get two values from one sentence, or one figure would fill two rows, the weightier stays sure."""
    values: dict[str, object] = {}
    rows: dict[tuple[int, int], str] = {}
    found = []
    for one in ranked:
        second = False
        if one.kind == "record" and one.sure:
            second = values.setdefault(one.target, one.value) != one.value
            if one.amount is not None:
                second |= rows.setdefault((one.amount.start, one.amount.end), one.target) != one.target
        found.append(replace(one, sure=False, right=None) if second else one)
    return sorted(found, key=lambda one: (-one.sure, -one.score, one.id))


def _as_clean(one: Proposal, clean: Collection[str]) -> bool:
    """True for "the same" of a coffee that the sentence calls clean: it is as it was, not as the lot is."""
    return one.kind == "comparison" and one.value == "same" and one.target in clean


def _narrow_first(group: list[Proposal]) -> list[Proposal]:
    """The leader gives way to a sure rival that rests on all its words and more: moisture at loading is no moisture now."""
    leader = group[0]
    narrower = next(
        (
            one
            for one in group[1:]
            if one.sure and set(one.places) > set(leader.places) and one.kind == leader.kind
        ),
        None,
    )
    return group if narrower is None else [narrower, *(one for one in group if one is not narrower)]


def _rivals(proposal: Proposal, leader: Proposal) -> bool:
    if proposal.kind != leader.kind and any(one.id.startswith(SIBLING) for one in (proposal, leader)):
        return False
    if (proposal.kind in APART or leader.kind in APART) and proposal.kind != leader.kind:
        return False
    own, shared = set(proposal.places), set(proposal.places) & set(leader.places)
    overlap = bool(shared) and len(shared) >= RIVAL * max(len(own), len(set(leader.places)))
    return overlap or (bool(shared) and _same_row(proposal, leader))


def _same_row(one: Proposal, other: Proposal) -> bool:
    return one.kind == other.kind and one.target == other.target
