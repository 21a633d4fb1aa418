"""What cases teach: priors of faults, links to compounds, and what an origin, exporter or process has more of.

Every shipped figure counts as a number of cases (settings, `learning`), a link by what it rests on; confirmed cases are added to it as
counts, and lots that were cupped clean are sound ones, closed or not: else every case would add a fault, and most lots be at fault.
    prior  = (w p + confirmed) / (w + taught)                       Beta with mean p and weight w: p the share of all lots for those cupped
                                                                    as routine or clean, the share of suspected lots, odds times the
                                                                    suspicion, for the others
    link   = (w s + sum of P(compound there | case)) / (w + cases of the fault)
    ratio  = odds of (g prior + confirmed in group) / (g + taught in group) over odds of the prior
Nothing is changed here: the outcome is a house
overlay for a person to read and accept.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from zlib import crc32

from tracer.batch.many import brief
from tracer.casebook.learned_share import counts, learned_share
from tracer.casebook.presence import Presence, presence
from tracer.casebook.taught import Taught
from tracer.findings.facts import known_origin, known_values
from tracer.inference.assemble import layout
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.rule import Rule
from tracer.knowledge.scale import link as link_range
from tracer.knowledge.scale import share_of_lots
from tracer.knowledge.settings import Settings
from tracer.knowledge.strength import Prior, Strength
from tracer.lots.lot import Lot
from tracer.names import fold
from tracer.rate import Rate
from tracer.tracing import Prepared, prepare
from tracer.wording.sentence import Id, Name, Own, Sentence, say

_PLAIN = re.compile("[a-z0-9]+( [a-z0-9]+)*")
GROUPS = ("origin", "exporter", "process")
LEAST_MOVE = 0.02
"""A figure that moves by less than this share of itself is left as it is."""
FLOOR = 1e-4


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure before and after, with the counts behind it."""

    kind: str
    """prior, link or group."""
    fault: Id
    before: float
    after: float
    low: float
    high: float
    confirmed: float
    cases: int
    compound: Id = ""
    """Of a link."""
    group: Id = ""
    """Of a group, with the value that its lots share."""
    value: Name = ""

    @property
    def about(self) -> Sentence:
        """What it is a figure of."""
        if self.group:
            return say(
                "{fault} where {group} is {value}", fault=self.fault, group=self.group, value=Own(self.value)
            )
        return (
            say("{fault} -> {compound}", fault=self.fault, compound=self.compound)
            if self.compound
            else say(self.fault)
        )


@dataclass(frozen=True)
class Learned:
    """All figures that moved, what they rest on, and whether they would have foreseen the cases better."""

    figures: tuple[Figure, ...]
    taught: int
    by_belief: int
    not_found: int
    clean: int
    """Of those that teach: cupped clean, and closed by nobody."""
    loss_before: float | None
    loss_after: float | None


def learn(
    taught: Sequence[Taught], base: KnowledgeBase, belief: int = 0, missing: int = 0, foresee: bool = True
) -> Learned:
    """Figures that cases move; with `foresee`, each closed case is also judged by what the cases before it had taught."""
    ready = prepare(base)
    seen = presences(taught, base, ready)
    closed = sum(one.closed for one in taught)
    before, after = _foreseen(taught, seen, base, ready) if foresee and closed > 1 else (None, None)
    figures = tuple(_figures(taught, seen, base))
    return Learned(figures, len(taught), belief, missing, len(taught) - closed, before, after)


def _figures(taught: Sequence[Taught], seen: Sequence[Presence], base: KnowledgeBase) -> list[Figure]:
    counted = counts(taught, base)
    found = []
    priors = {}
    for name, fault in base.faults.items():
        p = share_of_lots(fault, base.settings).best
        after, low, high = learned_share(fault, p, base.settings.learning.prior_weight, counted, base)
        priors[name] = after
        found.append(Figure("prior", name, p, after, low, high, counted.confirmed(name), len(taught)))
    found += _links(taught, seen, base)
    found += _groups(taught, base, priors)
    return [one for one in found if one.cases and abs(one.after - one.before) > LEAST_MOVE * one.before]


def _figure(
    kind: str, fault: str, before: float, rate: Rate, confirmed: float, cases: int, compound: str = ""
) -> Figure:
    low, high = rate.interval()
    return Figure(kind, fault, before, rate.mean, low, high, confirmed, cases, compound)


def presences(taught: Sequence[Taught], base: KnowledgeBase, ready: Prepared) -> list[Presence]:
    """For each case: how probably each compound of its confirmed fault was there, the fault being certain."""
    return [presence(one.lot, one.fault, base, ready) if one.fault else {} for one in taught]


def _links(taught: Sequence[Taught], seen: Sequence[Presence], base: KnowledgeBase) -> list[Figure]:
    """Fault to compound: how often the compound seems to have been there when the fault was confirmed."""
    there: dict[tuple[str, str], float] = defaultdict(float)
    cases: dict[str, int] = defaultdict(int)
    for one, present in zip(taught, seen, strict=True):
        if one.fault is None:
            continue
        cases[one.fault] += 1
        for compound, chance in present.items():
            there[one.fault, compound] += chance
    found = []
    for (fault, compound), number in there.items():
        strength = next(link.strength for link in base.faults[fault].causes if link.compound == compound)
        s = link_range(strength, base.settings).best
        weight = link_weight(strength, base.settings)
        rate = Rate(s * weight, (1 - s) * weight).after(number, cases[fault])
        found.append(_figure("link", fault, s, rate, round(number, 2), cases[fault], compound))
    return found


def link_weight(strength: Strength, settings: Settings) -> float:
    """Cases that a shipped link counts as: a count as many as it counted, anything else by its basis; what nobody knows as judged."""
    if strength.count is not None:
        return float(strength.count.partition("/")[2])
    return settings.learning.link_weight[strength.basis or "judgement"]


def value_of(lot: Lot, group: str, places: frozenset[str]) -> str | None:
    """What a lot has for a group, as rules would read it; `places` are the origins that rules know."""
    value = getattr(lot, group)
    if not value:
        return None
    return known_origin(value, places) if group == "origin" else fold(value)


def _groups(taught: Sequence[Taught], base: KnowledgeBase, priors: Mapping[str, float]) -> list[Figure]:
    """What a group has more or less of than the whole casebook, as a likelihood ratio drawn toward 1."""
    settings, places = base.settings.learning, known_values(base.rules.values(), "origin")
    members: dict[tuple[str, str], list[Taught]] = defaultdict(list)
    for one in taught:
        for group in GROUPS:
            value = value_of(one.lot, group, places)
            if value is not None:
                members[group, value].append(one)
    found = []
    for (group, value), rows in sorted(members.items()):
        if len(rows) < settings.fewest_in_group or len(rows) == len(taught):
            continue
        for fault in sorted({one.fault for one in rows if one.fault}):
            count = sum(one.fault == fault for one in rows)
            p = priors[fault]
            shares = learned_share(base.faults[fault], p, settings.group_weight, counts(rows, base), base)
            ends = [_bounded(_odds(x) / _odds(p), settings.most_ratio) for x in shares]
            found.append(
                Figure(
                    "group", fault, 1.0, ends[0], ends[1], ends[2], count, len(rows), group=group, value=value
                )
            )
    return found


def _odds(p: float) -> float:
    inside = min(max(p, 1e-9), 1 - 1e-9)
    return inside / (1 - inside)


def _bounded(ratio: float, most: float) -> float:
    return min(max(ratio, 1 / most), most)


def _foreseen(
    taught: Sequence[Taught], seen: Sequence[Presence], base: KnowledgeBase, ready: Prepared
) -> tuple[float, float]:
    """Mean log loss of the confirmed cause of each case, by the shipped figures and by those learned before it."""
    before = after = 0.0
    closed = [(number, one) for number, one in enumerate(taught) if one.closed]
    for number, one in closed:
        before += _loss(one, base, ready)
        own = apply(_figures(taught[:number], seen[:number], base), base)
        rules = tuple(own.rules.values())
        places = ready.places | known_values(rules, "origin")
        after += _loss(one, own, replace(ready, rules=rules, plan=layout(own), places=places))
    return before / len(closed), after / len(closed)


def _loss(one: Taught, base: KnowledgeBase, ready: Prepared) -> float:
    [found] = brief([one.lot], base, ready)
    if one.fault is None:
        p = found.none_of_these
    else:
        p = next((source.probability for source in found.sources if source.id == one.fault), FLOOR)
    return -log(max(p, FLOOR))


def stated(figure: Figure, most: float = 1.0) -> Strength:
    """A learned figure as a strength of the knowledge."""
    low, best, high = (round(min(max(x, 1e-6), most), 6) for x in (figure.low, figure.after, figure.high))
    return Strength.model_validate(
        {"low": min(low, best), "best": best, "high": max(high, best), "basis": "casebook"}
    )


def group_rule(figure: Figure, settings: Settings) -> Rule:
    """A learned group as a rule of the house."""
    fault, group, value = figure.fault, figure.group, figure.value
    name = "".join(c if c.isalnum() and c.isascii() else "_" for c in f"{fault}_{group}_{value}")
    # Names in other scripts, long ones, and those that differ in their signs alone would share an id.
    plain = _PLAIN.fullmatch(value) and len(name) <= 60
    tail = "" if plain else f"_{crc32(value.encode()):08x}"
    return Rule.model_validate(
        {
            "id": f"learned.{name.strip('_').lower()[:60]}{tail}",
            "label": f"{group} {value}, by closed cases",
            "when": {"all": [{"record": group, "is": value}]},
            "then": [
                {
                    "favours": fault,
                    "strength": stated(figure, settings.learning.most_ratio).model_dump(),
                    "group": "learned",
                }
            ],
            "because": f"{figure.confirmed:g} of {figure.cases} closed cases of this {group} were confirmed as this.",
        }
    )


def apply(figures: Iterable[Figure], base: KnowledgeBase) -> KnowledgeBase:
    """The knowledge with learned figures in place, for judging them; the shipped one is left as it is."""
    faults, rules = dict(base.faults), dict(base.rules)
    for figure in figures:
        if figure.kind == "prior":
            fault = faults[figure.fault]
            known = Prior.model_validate({**stated(figure).model_dump(), "of": "all_lots"})
            faults[figure.fault] = fault.model_copy(update={"prior": known})
        elif figure.kind == "link":
            name, compound = figure.fault, figure.compound
            causes = tuple(
                link.model_copy(update={"strength": stated(figure)}) if link.compound == compound else link
                for link in faults[name].causes
            )
            faults[name] = faults[name].model_copy(update={"causes": causes})
        else:
            rule = group_rule(figure, base.settings)
            rules[rule.id] = rule
    return replace(base, faults=faults, rules=rules)


def overlay(
    figures: Sequence[Figure], base: KnowledgeBase, by: str, on: str
) -> dict[str, list[dict[str, object]]]:
    """House files by name: what changes, by whom, when and why."""
    changed = apply([one for one in figures if one.kind != "group"], base)
    entries: dict[str, dict[str, object]] = {}
    for one in figures:
        fault = one.fault
        if one.kind == "group":
            continue
        entry = entries.setdefault(
            fault,
            {
                "change": fault,
                "by": by,
                "on": on,
                "why": f"learned from {one.cases} closed cases, reviewed and accepted",
            },
        )
        if one.kind == "prior":
            entry["prior"] = changed.faults[fault].prior.model_dump(mode="json", exclude_defaults=True)
        else:
            entry["causes"] = [
                link.model_dump(mode="json", exclude_defaults=True) for link in changed.faults[fault].causes
            ]
    rules = [
        group_rule(one, base.settings).model_dump(mode="json", by_alias=True, exclude_defaults=True)
        for one in figures
        if one.kind == "group"
    ]
    files: dict[str, list[dict[str, object]]] = {}
    if entries:
        files["faults/learned.yaml"] = list(entries.values())
    if rules:
        files["rules/learned.yaml"] = rules
    return files
