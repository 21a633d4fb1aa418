"""What the trainer reads on a terminal. Data in, renderables out; no arithmetic."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Table
from rich.text import Text

from tracer.casebook.sessions import Session
from tracer.knowledge.base import KnowledgeBase
from tracer.names import printable
from tracer.panel.amounts import figure
from tracer.panel.cards import Card, Refusal
from tracer.panel.recognition import Score, score
from tracer.panel.reliability import default_rates
from tracer.panel.scoring import NONE, Agreement, Served, agreement, confusions, counts, notes_of, repeated
from tracer.panel.standing import Standing
from tracer.rate import Rate
from tracer.render.panel_trend import blocks
from tracer.wording.language import tell
from tracer.wording.sentence import joined, say


def table(*columns: str, title: str) -> Table:
    """A plain table."""
    made = Table(
        title=title, title_justify="left", title_style="bold", box=None, pad_edge=False, padding=(0, 2, 0, 0)
    )
    for column in columns:
        made.add_column(tell(column), header_style="dim")
    return made


def session_line(one: Session, every: Sequence[Session]) -> str:
    """A kept session, and whether it counts; of an entry without cups, what it does."""
    stands = tell("  (replaced)") if one.replaced else ""
    if not one.cups and one.replaced:
        stands = tell("  (undone)")
    elif one.replaces and any(other.id == one.replaces and not other.cups for other in every):
        stands = tell("  (undoes entry {number})", number=one.replaces)
    elif one.replaces and not one.cups:
        stands = tell("  (takes out session {number})", number=one.replaces)
    return tell(
        "{id}  {on}  {name}  {cups} cups, {tasters} tasters{replaced}",
        id=one.id,
        on=one.on,
        name=one.name,
        cups=one.cups,
        tasters=one.tasters,
        replaced=stands,
    )


def rate_words(rate: Rate) -> str:
    """Mean and 90 % interval."""
    low, high = rate.interval()
    return tell("{mean:.2f} ({low:.2f} to {high:.2f})", mean=rate.mean, low=low, high=high)


def card_screen(card: Card, refused: Sequence[Refusal]) -> RenderableType:
    """The recipe, what is refused and why, and the cautions in sight."""
    card, refused = tell(card), tell(list(refused))
    parts: list[RenderableType] = [
        Text(tell("Reference for {note}: {label}", note=card.note, label=card.label), style="bold"),
        Text(
            tell(
                "{multiple:g} times threshold in {volume:g} L. {threshold_words}.",
                multiple=card.multiple,
                volume=card.volume,
                threshold_words=card.threshold_words,
            )
        ),
        Panel(
            Group(*[Text(f"- {text}") for text in card.cautions]),
            title=tell("BEFORE YOU BEGIN"),
            title_align="left",
            border_style="yellow",
        ),
    ]
    for number, step in enumerate(card.steps, 1):
        parts.append(Text(f"{number}. {step.text}"))
        parts.append(Padding(Text(tell("check: {check}", check=step.check), style="dim"), (0, 0, 0, 3)))
    parts.append(
        Text(
            tell(
                "Uncertainty of the amount: {uncertainty:.1%} (balance, flasks, pipettes). Carrier: {carrier} mL a litre.",
                uncertainty=card.uncertainty,
                carrier=figure(card.carrier),
            )
        )
    )
    parts += [Text(f"! {text}", style="yellow") for text in card.warnings]
    parts.append(Text(tell("Label: {tag}", tag=card.tag)))
    return Group(*parts, *_refusals(refused))


def _refusals(refused: Sequence[Refusal]) -> list[RenderableType]:
    if not refused:
        return []
    return [
        Text(tell("\nNot prepared"), style="bold"),
        *[Text(f"- {one.label} [{one.compound}]: {one.because}") for one in refused],
    ]


def nothing_to_prepare(note: str, stop: bool, refused: Sequence[Refusal]) -> RenderableType:
    """A note for which no reference is prepared; `stop` where nobody should meet it in a cup at all."""
    told = (
        tell(
            "No reference is prepared for {note}, and none is tasted. Teach the word, and to stop; what may be smelled, if anything, stands below.",
            note=note,
        )
        if stop
        else tell(
            "No reference is prepared for {note}. Train it on real coffee that shows it, cleared of moulds by a laboratory, and spit.",
            note=note,
        )
    )
    return Group(Text(told, style="bold"), *_refusals(refused))


def score_screen(served: Sequence[Served], base: KnowledgeBase, agreements: bool = True) -> RenderableType:
    """A session: each taster by note, repeats, what is mixed up, and how far the panel agrees."""
    tasters = list(dict.fromkeys(one.taster for one in served))
    labels = tell({note: base.descriptors[note].label for note in notes_of(served)})
    parts: list[RenderableType] = []
    for taster in tasters:
        parts.append(_taster_table(served, taster, base, labels))
        alike, pairs = repeated(served, taster)
        if pairs:
            parts.append(Text(tell("repeats answered alike: {alike} of {pairs}", alike=alike, pairs=pairs)))
        parts += _mix_ups(served, taster, labels)
        parts.append(Text())
    if agreements and len(tasters) > 1:
        parts.append(_agreement_table([agreement(served, note) for note in notes_of(served)], labels))
    return Group(*parts)


def _taster_table(
    served: Sequence[Served], taster: str, base: KnowledgeBase, labels: Mapping[str, str]
) -> Table:
    made = table(
        tell("note"),
        tell("found"),
        tell("made up"),
        tell("hit rate, 90 %"),
        tell("false alarms, 90 %"),
        "d'",
        "c",
        tell("leans"),
        title=printable(taster),
    )
    laws, fewest = default_rates(base), base.settings.panel.fewest_for_leaning
    for note, label in labels.items():
        one = score(counts(served, taster, note), *laws, fewest)
        c = one.counts
        made.add_row(
            label,
            tell("{hits} of {with_note}", hits=c.hits, with_note=c.with_note),
            tell(
                "{false_alarms} of {without_note}", false_alarms=c.false_alarms, without_note=c.without_note
            ),
            rate_words(one.hit),
            rate_words(one.false_alarm),
            f"{one.sensitivity:.2f}" if c.with_note else "",
            f"{one.criterion:+.2f}" if c.with_note else "",
            _leaning(one),
        )
    return made


def _leaning(one: Score) -> str:
    leanings = {
        "misses": say("misses"),
        "shouts": say("shouts"),
        "even": say("even"),
        "unclear": say("too few cups"),
    }
    return tell(leanings[one.leaning])


def _mix_ups(served: Sequence[Served], taster: str, labels: Mapping[str, str]) -> list[RenderableType]:
    lines: list[RenderableType] = []
    for given, row in confusions(served, taster).items():
        wrong = {name: number for name, number in row.items() if name != given}
        if given != NONE and wrong:
            told = joined((f"{labels.get(name, tell('nothing'))} {number}" for name, number in wrong.items()))
            lines.append(
                Text(
                    tell("given {labels}, named instead: {told}", labels=labels[given], told=told),
                    style="dim",
                )
            )
    return lines


def _agreement_table(agreements: Sequence[Agreement], labels: Mapping[str, str]) -> Table:
    made = table(
        tell("note"),
        tell("alpha"),
        "90 %",
        title=tell("The panel's agreement (Krippendorff's alpha: 1 full, 0 chance)"),
    )
    for one in agreements:
        alpha = tell("nothing to compare") if one.alpha is None else f"{one.alpha:.2f}"
        ends = (
            ""
            if one.low is None or one.high is None
            else tell("{low:.2f} to {high:.2f}", low=one.low, high=one.high)
        )
        made.add_row(labels[one.note], alpha, ends)
    return made


def status_screen(
    standings: Sequence[Standing], notes: Sequence[tuple[str, Rate, int]], base: KnowledgeBase, sessions: int
) -> RenderableType:
    """Who is due, who has drifted, which notes are weak, and what each needs next."""
    if not standings:
        return Text(
            tell("No session is kept yet. Make a set: tracer panel set --help; then score it with --keep.")
        )
    made = table(
        tell("taster"),
        tell("cups"),
        tell("last"),
        tell("due"),
        tell("sessions"),
        tell("cases"),
        "",
        title=tell(
            "The panel, 1 session kept" if sessions == 1 else "The panel, {sessions} sessions kept",
            sessions=sessions,
        ),
    )
    for one in standings:
        state = joined(
            [
                *([tell("OVERDUE")] if one.overdue else []),
                *([tell("ALARM: worse than before")] if one.alarm else []),
            ]
        )
        made.add_row(
            printable(one.taster),
            str(one.cups),
            str(one.last),
            str(one.due),
            blocks(one.visits),
            tell("{right} of {asked}", right=one.cases[0], asked=one.cases[1]) if one.cases[1] else "",
            Text(state, style="bold yellow"),
        )
    parts: list[RenderableType] = [made]
    if notes:
        listed = table(
            tell("note"),
            tell("hit rate of the panel, 90 %"),
            tell("cups"),
            title=tell("\nNotes, weakest first"),
        )
        for note, rate, cups in notes:
            listed.add_row(tell(base.descriptors[note].label), rate_words(rate), str(cups))
        parts.append(listed)
    for one in standings:
        if one.needs:
            parts.append(Text(tell("\n{taster} next", taster=printable(one.taster)), style="bold"))
            parts += [Text(f"- {tell(need)}") for need in one.needs]
    return Group(*parts)
