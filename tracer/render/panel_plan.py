"""A training plan on a terminal."""

from __future__ import annotations

import shlex
from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from tracer.knowledge.base import KnowledgeBase
from tracer.names import printable
from tracer.panel.amounts import figure
from tracer.panel.plan import Plan, Week
from tracer.panel.references import References
from tracer.render.panel import table
from tracer.wording.language import tell
from tracer.wording.sentence import joined


def plan_screen(plan: Plan, base: KnowledgeBase, house: str) -> RenderableType:
    """Where each taster begins, the weeks with what to weigh, what to buy, the time, and when to calibrate again."""
    labels = {note: tell(one.label) for note, one in base.descriptors.items()}
    begin = table(
        tell("taster"), tell("state"), tell("due"), tell("weakest notes"), title=tell("Where each begins")
    )
    for one in plan.starts:
        state = tell({"novice": "novice", "training": "in training", "calibrated": "calibrated"}[one.state])
        begin.add_row(
            printable(one.taster), state, str(one.due or ""), joined(labels[note] for note in one.weakest)
        )
    weeks = table(
        tell("week"),
        tell("day"),
        tell("serve"),
        tell("cups each"),
        tell("coffee"),
        tell("time"),
        title=tell("\nThe weeks, if all goes well"),
    )
    for week in plan.weeks:
        served = joined((f"{labels[one.note]} x{one.multiple:g}" for one in week.serves), "; ")
        time = tell(
            "{taster:.0f} min each, trainer {trainer:.0f} min",
            taster=week.taster_minutes,
            trainer=week.trainer_minutes,
        )
        weeks.add_row(
            tell("{number}, check", number=week.number) if week.check else str(week.number),
            str(week.on),
            served,
            str(week.cups),
            f"{week.litres:g} L",
            time,
        )
    rule = tell(
        "Each note is served twice a session, first {first:g} times threshold. Once everybody found it in both cups it goes down a step ({steps}); else it stays. Make the plan again after each kept session: it starts from what was found.",
        first=plan.steps[0],
        steps=joined((f"{step:g}" for step in plan.steps), " -> "),
    )
    prepare = table(
        tell("week"),
        tell("reference"),
        tell("weigh"),
        tell("into the coffee"),
        title=tell("\nWhat to weigh (each with: tracer panel card)"),
    )
    for week in plan.weeks:
        for serve in week.serves:
            prepare.add_row(
                str(week.number),
                f"{labels[serve.note]}: {tell(serve.card.label)}",
                f"{figure(serve.mass)} mg",
                tell(serve.card.steps[-1].text),
            )
    buy = table(tell("reference"), tell("in all"), title=tell("\nWhat to buy"))
    for label, mass in plan.buy:
        buy.add_row(tell(label), tell("at least {mass} mg", mass=figure(mass)))
    tasters = sum(week.taster_minutes for week in plan.weeks) / 60
    trainer = sum(week.trainer_minutes for week in plan.weeks) / 60
    lines = [
        tell(
            "Time in all: {tasters:.1f} h for each taster, {trainer:.1f} h for the trainer.",
            tasters=tasters,
            trainer=trainer,
        ),
        tell(
            "Calibrate again by {again}, in month {month} after the check: the check once more.",
            again=plan.again,
            month=(plan.again - plan.weeks[-1].on).days // 30 + 1,
        ),
    ]
    short = [labels[note] for note, passed in plan.reached.items() if passed < len(plan.steps)]
    if short:
        lines.append(
            tell(
                "Not through all steps in these weeks: {short}. Give more weeks or fewer notes.",
                short=joined(short),
            )
        )
    lines += [
        tell("Nothing can be prepared for {note}: train it on real coffee.", note=labels[note])
        for note in plan.without
    ]
    lines += one_reference(plan.references, base)
    sets = [Text(tell("\nThe sets"), style="bold"), *(Text(_set(week, plan) + house) for week in plan.weeks)]
    before = [Text(f"- {tell(text)}") for text in base.settings.panel.cautions]
    return Group(
        begin,
        weeks,
        Text(rule),
        prepare,
        buy,
        Text(""),
        *map(Text, lines),
        *sets,
        Text(tell("\nBefore each session"), style="bold"),
        *before,
    )


def one_reference(found: References, base: KnowledgeBase) -> list[str]:
    """Which notes cannot be told apart by what is prepared for them."""
    return [
        tell(
            "{one} and {other} are one reference here ({compound}): no cup of this set tells them apart.",
            one=base.descriptors[one].label,
            other=base.descriptors[other].label,
            compound=compound,
        )
        for one, other, compound in found.one
    ]


def prepared_from(found: References, notes: Sequence[str], base: KnowledgeBase) -> str:
    """What each note of a set is prepared from."""
    return joined(
        (
            f"{tell(base.descriptors[note].label)}: {tell(found.compounds[note].label)}"
            for note in notes
            if note in found.compounds
        ),
        "; ",
    )


def _set(week: Week, plan: Plan) -> str:
    words = ["tracer", "panel", "set"]
    for one in week.serves:
        words += ["--note", f"{one.note}@{one.multiple:g}"]
    for start in plan.starts:
        words += ["--taster", printable(start.taster)]
    name = f"week-{week.number}"
    words += [
        "--blanks",
        str(week.blanks),
        "--repeats",
        str(week.repeats),
        "--name",
        name,
        "--out",
        name,
    ]
    return shlex.join(words)
