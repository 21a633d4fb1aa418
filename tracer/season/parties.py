"""Open questions of the season by whom they go to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tracer.season.lots import SeasonLot
from tracer.wording.sentence import Id, Name


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question, and the lots it is open for."""

    id: Id
    text: str
    lots: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class Party:
    """Somebody with open questions."""

    party: str
    name: Name
    questions: tuple[OpenQuestion, ...]


def parties(lots: Sequence[SeasonLot]) -> tuple[Party, ...]:
    """Open questions by whom they go to: the exporter of the lot by name, or the party; those with most lots first."""
    found: dict[tuple[str, str], dict[str, tuple[str, list[str]]]] = {}
    for lot in lots:
        for one in lot.questions:
            name = lot.exporter if one.party == "exporter" else ""
            mine = found.setdefault((one.party, name), {})
            mine.setdefault(one.id, (one.text, []))[1].append(lot.lot)
    told = [
        Party(
            party.replace("_", " "),
            name,
            tuple(
                OpenQuestion(id_, text, tuple(asked))
                for id_, (text, asked) in sorted(questions.items(), key=lambda one: -len(one[1][1]))
            ),
        )
        for (party, name), questions in found.items()
    ]
    return tuple(
        sorted(told, key=lambda one: (-sum(len(q.lots) for q in one.questions), one.party, one.name))
    )
