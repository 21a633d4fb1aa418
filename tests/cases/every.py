"""Score on every case and message at hand: by the knowledge alone, by the published cases alone, and by both together.

A case is scored with its own group left out of the published cases. Records of cases, and messages, are read by the machine alone, each
first proposal that is sure taken unread; sheets were written by people. The messages are invented, their truth decided first.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from tracer.batch.many import Brief, brief
from tracer.issues import Place
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.lots.lot import Lot
from tracer.lots.read import lot_of_data, read_lot
from tracer.precedents.model import Model
from tracer.precedents.read import as_lot
from tracer.precedents.shipped import model_of
from tracer.report.verdict import BENCH_SUSPECTED, SEVERAL_SOURCES, SOURCE_SUPPORTED
from tracer.sentences.draft import draft
from tracer.tracing import Prepared, gather, prepare, weighed

FOLDER = Path(__file__).parent
MESSAGES = FOLDER.parent / "messages"
WAYS = ("knowledge", "cases", "together")
NAMES_A_SOURCE = (SOURCE_SUPPORTED, SEVERAL_SOURCES, BENCH_SUSPECTED)


@dataclass(frozen=True)
class Told:
    """A lot with its truth."""

    id: str
    group: str
    lot: Lot
    stages: frozenset[str]
    """Empty where nothing was wrong, or nobody could say."""
    also: frozenset[str]
    faults: frozenset[str]
    """Faults of the knowledge that mean the same, as far as they are told."""
    null: bool
    """Nothing was wrong, or what is known does not tell."""


@dataclass
class Sums:
    """What is counted over a set."""

    lots: int = 0
    first: int = 0
    first_or_also: int = 0
    three: int = 0
    faults: int = 0
    fault_first: int = 0
    fault_three: int = 0
    nulls: int = 0
    nulls_right: int = 0
    supported: int = 0
    supported_right: int = 0
    squares: list[float] = field(default_factory=list)
    given: list[tuple[float, bool]] = field(default_factory=list)
    """Probability of the first stage, and whether it was right."""

    def row(self) -> str:
        """The figures of a set in one line."""

        def share(part: int, whole: int) -> str:
            return f"{part / whole:.2f}" if whole else "   -"

        brier = f"{sum(self.squares) / len(self.squares):.2f}" if self.squares else "   -"
        return (
            f"{self.lots:4}  {share(self.first, self.lots)}  {share(self.first_or_also, self.lots)}  {share(self.three, self.lots)}   "
            f"{self.faults:4}  {share(self.fault_first, self.faults)}  {share(self.fault_three, self.faults)}   "
            f"{self.nulls_right:3} of {self.nulls:<3}  {share(self.supported_right, self.supported)} of {self.supported:<4} {brier}"
        )


HEAD = "lots  stage  +also  three  faults  first  three   nulls right  supported    Brier"


def sheets(base: KnowledgeBase) -> Iterator[Told]:
    """Published cases as people wrote their sheets."""
    for path in sorted((FOLDER / "set1").glob("*.yaml")):
        lot, issues = read_lot(path, base)
        assert lot is not None, "\n".join(map(str, issues))
        yield of_case(base, f"case_{path.stem.lower().replace('-', '_')}", lot)


def records(base: KnowledgeBase, ready: Prepared) -> Iterator[Told]:
    """Records of all published cases, read by the machine alone."""
    for case in base.precedents.values():
        if not case.gives_away:
            yield of_case(base, case.id, as_lot(case, base, ready))


def of_case(base: KnowledgeBase, identity: str, lot: Lot) -> Told:
    """A lot with the truth of a published case."""
    case = base.precedents[identity]
    found = frozenset(_stages(case.truth.stage))
    also = frozenset(stage for name in case.truth.also for stage in _stages(name))
    null = case.truth.stage in ("none", "undetermined") or case.expect in ("ask", "abstain")
    return Told(identity, case.group, lot, found & set(base.stages), also, frozenset(case.truth.faults), null)


def _stages(name: str) -> tuple[str, ...]:
    return ("origin_storage", "destination_storage") if name == "storage" else (name,)


def messages(base: KnowledgeBase, ready: Prepared, name: str) -> Iterator[Told]:
    """Messages as they come in, read by the machine alone."""
    for one in _messages(name):
        said = [
            {"by": "writer", "language": d.read.language, "text": d.read.text, "confirmed": list(d.confirmed)}
            for d in draft(ready.reader.message(one["text"]), (), True, base.settings.unread.least)
        ]
        drafted = {"from": one["id"], "on": datetime.date(2026, 11, 1), "taken": "first_unread"}
        data = {"lot": one["id"], "drafted": drafted, "said": said}
        lot, issues = lot_of_data(data, Place(one["id"]), base)
        assert lot is not None, "\n".join(map(str, issues))
        yield _of_message(base, one, lot)


def message_sheets(base: KnowledgeBase) -> Iterator[Told]:
    """Sheets that people made of the invented messages."""
    for one in _messages("own"):
        lot, issues = read_lot(MESSAGES / f"{one['id']}.yaml", base)
        assert lot is not None, "\n".join(map(str, issues))
        yield _of_message(base, one, lot)


def _messages(name: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = yaml.safe_load((MESSAGES / f"{name}.yaml").read_text(encoding="utf-8"))
    return found


def _of_message(base: KnowledgeBase, one: dict[str, Any], lot: Lot) -> Told:
    truth = one["truth"]
    stages = frozenset(truth["stages"]) & set(base.stages)
    null = not stages or one["expect"] in ("ask", "abstain")
    return Told(one["id"], "", lot, stages, frozenset(truth["also"]), frozenset(), null)


def score(told: Sequence[Told], base: KnowledgeBase, ready: Prepared, way: str) -> Sums:
    """The sums of a set, traced one of the three ways."""

    @cache
    def without(group: str) -> Model:
        return model_of(base, (group,) if group else ())

    sums = Sums()
    for one in told:
        own = replace(ready, cases=None if way == "knowledge" else without(one.group))
        if way == "cases":
            _count_stages(sums, one, _by_cases(one, base, own))
        else:
            [found] = brief([one.lot], base, own)
            _count(sums, one, found)
    return sums


def _by_cases(one: Told, base: KnowledgeBase, ready: Prepared) -> list[tuple[str, float]]:
    leaning = weighed(one.lot, base, ready).leaning
    total = sum(leaning.values())
    return sorted(((stage, odds / total) for stage, odds in leaning.items()), key=lambda pair: -pair[1])


def _count(sums: Sums, one: Told, found: Brief) -> None:
    names = [source.id for source in found.sources]
    if one.null:
        sums.nulls += 1
        sums.nulls_right += found.verdict not in NAMES_A_SOURCE
    _count_stages(sums, one, [(stage.id, stage.probability) for stage in found.stages])
    if one.faults and not one.null:
        sums.faults += 1
        sums.fault_first += bool(one.faults & set(names[:1]))
        sums.fault_three += bool(one.faults & set(names[:3]))
    if found.verdict == SOURCE_SUPPORTED:
        sums.supported += 1
        sums.supported_right += not one.null and found.sources[0].stage in one.stages | one.also


def _count_stages(sums: Sums, one: Told, stages: Sequence[tuple[str, float]]) -> None:
    if one.null or not one.stages:
        return
    first, given = stages[0] if stages else ("", 0.0)
    sums.lots += 1
    sums.first += first in one.stages
    sums.first_or_also += first in one.stages | one.also
    sums.three += bool(one.stages & {stage for stage, _ in stages[:3]})
    right = first in one.stages | one.also
    sums.squares.append((given - right) ** 2)
    sums.given.append((given, right))


def notes_alone(one: Told, base: KnowledgeBase, ready: Prepared) -> Told:
    """The same lot with nothing but its cups, species and process."""
    lot = gather(one.lot, base, ready).lot
    bare = replace(
        lot, records=(), laboratory=(), answers=(), said=(), comparisons=(), contact=(), remarks=()
    )
    return replace(one, lot=bare)


def main(quick: bool = False) -> None:
    """Print the table of every set and way, and how often the first stage was right by its probability."""
    base = load_or_fail()
    ready = prepare(base, precedents=False)
    sets = {
        "published cases, people's sheets": list(sheets(base)),
        "the same, notes alone": [notes_alone(one, base, ready) for one in sheets(base)],
        "messages, machine alone": list(messages(base, ready, "open")),
        "invented messages, machine alone": list(messages(base, ready, "own")),
        "invented messages, people's sheets": list(message_sheets(base)),
    }
    if not quick:
        sets["published records, machine alone"] = list(records(base, ready))
    together = Sums()
    for name, told in sets.items():
        print(f"\n{name}\n            {HEAD}")
        for way in WAYS:
            found = score(told, base, ready, way)
            print(f"  {way:9} {found.row()}", flush=True)
            if way == "together":
                together.given += found.given
    print("\nfirst stage, by its probability: given, right, lots")
    for low, high in ((0, 0.2), (0.2, 0.4), (0.4, 0.6), (0.6, 0.8), (0.8, 1.01)):
        inside = [(p, right) for p, right in together.given if low <= p < high]
        if inside:
            mean, right = (sum(x) / len(inside) for x in zip(*inside, strict=True))
            print(f"  {low:.1f} to {min(high, 1):.1f}   {mean:.2f}  {right:.2f}  {len(inside)}")
