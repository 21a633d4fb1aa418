"""What readings say together: likenesses that disagree are asked, and so is what may have been seen; a late denial denies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tracer.knowledge.entries import INNOCENT
from tracer.wording.sentence import say
from tracer.words.heard import PIECE, Reading, as_question, denied
from tracer.words.part import Part
from tracer.words.tokens import fold_word, tokens
from tracer.words.tongue import QUIET
from tracer.words.vocabulary import Vocabulary


def settle_sights(parts: Sequence[Part], readings: list[Reading], vocabulary: Vocabulary) -> None:
    """Where a word of seeing stands beside a note that may be seen, it is asked whether it was."""
    if not any("seen" in part.kinds for part in parts):
        return
    for i, one in enumerate(readings):
        names = (one.descriptor,) if one.descriptor else one.candidates
        sight = next((vocabulary.sights[name] for name in names if name in vocabulary.sights), None)
        if sight is None or one.state == "absent" or sight in names:
            continue
        told = one.weights or ((str(one.descriptor), 1.0),)
        weights = ((sight, 0.5), *((name, share / 2) for name, share in told))
        readings[i] = replace(
            one,
            descriptor=None,
            outcome="ambiguous",
            candidates=tuple(name for name, _ in weights if name != INNOCENT),
            ask=say("Was it seen, or only smelled and tasted? Stop tasting until it is settled."),
            weights=weights,
        )


def settle_likenesses(parts: Sequence[Part], readings: list[Reading], made: list[int]) -> None:
    """Likenesses that disagree, or stand among words for a sound cup, are asked; so is a piece of one beside a note."""
    for stretch in _stretches(parts, made):
        likened = [i for i in stretch if readings[i].likeness and readings[i].descriptor]
        sure = [i for i in stretch if readings[i].descriptor and not readings[i].likeness]
        names = {readings[i].descriptor for i in likened}
        around = [parts[at] for at in _parts_of(stretch, parts, made)]
        praised = any("harmless" in part.kinds for part in around)
        unknown = any(part.how == "unknown" and part.count is None for part in around)
        for i in likened:
            one = readings[i]
            single = len(tokens(one.text)) == 1
            other = any(readings[at].descriptor != one.descriptor for at in sure)
            if len(names) > 1 or other or (single and (praised or unknown)):
                readings[i] = as_question(one, str(one.descriptor))
        pieces = [i for i in stretch if readings[i].ask == PIECE]
        if sure or likened:
            for i in reversed(pieces):
                del readings[i], made[i]


def _stretches(parts: Sequence[Part], made: Sequence[int]) -> list[list[int]]:
    """Readings parted by words that end a clause, such as "and", last stretch first."""
    breaks = [at for at, part in enumerate(parts) if "break" in part.kinds]
    found: dict[int, list[int]] = {}
    for i, at in enumerate(made):
        found.setdefault(sum(one < at for one in breaks), []).append(i)
    return [found[key] for key in sorted(found, reverse=True)]


def _parts_of(stretch: Sequence[int], parts: Sequence[Part], made: Sequence[int]) -> range:
    breaks = [at for at, part in enumerate(parts) if "break" in part.kinds]
    first = made[stretch[0]]
    before = max((at for at in breaks if at < first), default=-1)
    after = min((at for at in breaks if at > first), default=len(parts))
    return range(before + 1, after)


def settle_line(
    said: Sequence[tuple[Sequence[Part], list[Reading]]], vocabulary: Vocabulary
) -> list[Reading]:
    """The readings of a line, clause by clause: "smoke? no" denies the smoke, and a mere "yuck" beside a note adds none."""
    found: list[Reading] = []
    last: list[int] = []
    for parts, readings in said:
        if readings:
            if _ends_in_denial(parts, vocabulary) and readings[-1].outcome != "clean":
                readings[-1] = denied(readings[-1], _far_from_the_end(parts), vocabulary)
            last = list(range(len(found), len(found) + len(readings)))
            found += readings
        elif _only_denies(parts):
            for at in last:
                found[at] = replace(found[at], state="absent") if found[at].outcome != "clean" else found[at]
    named = {one.descriptor for one in found if one.descriptor} - vocabulary.unspecific
    return [
        as_question(one, str(one.descriptor))
        if one.likeness and one.descriptor in vocabulary.unspecific and named and len(tokens(one.text)) == 1
        else one
        for one in found
    ]


def _ends_in_denial(parts: Sequence[Part], vocabulary: Vocabulary) -> bool:
    """ "Mofo não", but not "musty or not", nor a word that asks at the end, as in Vietnamese."""
    telling = [part for part in parts if part.kinds - {*QUIET, "doubt"} or not part.kinds]
    if len(telling) < 2 or len(parts) < 2 or fold_word(parts[-2].text) in _OR:
        return False
    last = telling[-1]
    denies = [m for m in last.meanings if m.kind == "negation"]
    asks = any(not vocabulary.languages[m.language].denial_ends for m in denies)
    return bool(denies) and not asks and not last.doubted and not last.names_a_note


def _far_from_the_end(parts: Sequence[Part]) -> bool:
    """True if more than small words stand between the last off-note and the denial at the end."""
    named = max((at for at, part in enumerate(parts) if part.names_a_note), default=0)
    return any(not part.joins for part in parts[named + 1 :])


def _only_denies(parts: Sequence[Part]) -> bool:
    kinds = [part.kinds for part in parts]
    if any(part.doubted for part in parts):
        return False  # "musty, no?" asks
    return any("negation" in one for one in kinds) and all(one & (_SMALL | {"negation"}) for one in kinds)


_OR = frozenset({"or", "o", "ou", "oder", "atau", "hoac", "u"})
_SMALL = frozenset({*QUIET, "break", "doubt"})
