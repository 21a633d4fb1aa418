"""What stands below the answer on a terminal: open words, conflicts, the panel, history, cautions, and what was not weighed."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.text import Text

from tracer.names import printable
from tracer.report.document import Report
from tracer.wording.language import tell
from tracer.wording.sentence import joined


def safe(text: str) -> str:
    """Text that cannot drive a terminal."""
    return printable(text)


def of_level(report: Report, level: str) -> list[str]:
    """Cautions of a level."""
    return [caution.text for caution in report.cautions if caution.level == level]


def open_words(report: Report) -> list[RenderableType]:
    """Words that wait for an answer of their taster."""
    if not report.unmatched_words:
        return []
    lines = [
        Text(
            tell(
                "\nWords to settle with the taster (till then weighed by what tasters mean; unknown ones not at all)"
            ),
            style="bold",
        )
    ]
    for word in report.unmatched_words:
        options = word.candidates or word.suggestions
        hint = f" [{', '.join(options)}]" if options else ""
        lines.append(
            Text(
                f"- {safe(word.taster)}: '{safe(word.words)}' {safe(word.question)}{hint}  ({safe(word.place)})"
            )
        )
    first = next((word for word in report.unmatched_words if word.means), None)
    if first is not None:
        told = tell(
            "On the sheet, once the taster has said: {{note: {words}, means: {means}}}",
            words=first.words,
            means=first.means[0],
        )
        lines.append(Text(safe(told), style="dim"))
    return [Group(*lines)]


def conflicts(report: Report) -> list[RenderableType]:
    """What does not go together."""
    if not (report.conflicts or report.history.doubts):
        return []
    lines = [Text(tell("\nDoes not go together"), style="bold")]
    lines += [Text(f"- {safe(conflict.text)} {conflict.remedy}") for conflict in report.conflicts]
    lines += [Text(f"- {safe(doubt)}") for doubt in report.history.doubts]
    return [Group(*lines)]


def panel(report: Report) -> list[RenderableType]:
    """Which tasters were measured, and what that moved."""
    panel = report.panel
    if panel is None:
        return []
    lines = [Text(tell("\nThe panel"), style="bold")]
    for one in panel.measured:
        age = tell(", {age_days} days before", age_days=one.age_days) if one.age_days else ""
        lines.append(
            Text(
                tell(
                    "- {taster}: measured on {cups} cups, last on {last}{age}",
                    taster=safe(one.taster),
                    cups=one.cups,
                    last=one.last,
                    age=age,
                )
            )
        )
    if panel.unmeasured:
        lines.append(
            Text(
                safe(
                    tell(
                        "- never measured, taken as average: {unmeasured}",
                        unmeasured=joined(panel.unmeasured),
                    )
                )
            )
        )
    if panel.source:
        with_average = tell("not listed") if panel.average is None else f"{panel.average:.2f}"
        told = tell(
            "- {source}: {probability:.2f} with these tasters, {with_average} with an average panel",
            source=panel.source,
            probability=panel.probability,
            with_average=with_average,
        )
        if panel.average_first != panel.source:
            told += tell(", which would put first: {average_first}", average_first=panel.average_first)
        lines.append(Text(told))
    return [Group(*lines)]


def history(report: Report) -> list[RenderableType]:
    """How much the history holds, and where to see it."""
    history = report.history
    said = sum(one.state == "open" for one in history.proposed)
    counts = (
        (len(report.charts), "log"),
        (len(history.measured), tell("value worked out")),
        (len(history.not_assessed), tell("thing not assessed")),
        (said, tell("sentence to confirm")),
    )
    told = [f"{count} {_plural(name, count)}" for count, name in counts if count]
    return [Text(tell("\nHistory: {told}. See it with: tracer history", told=joined(told)))] if told else []


def unweighed(report: Report) -> list[RenderableType]:
    """What stands on the sheet and moved nothing, by reason; and what was corrected."""
    by_reason: dict[str, list[str]] = {}
    for one in report.not_weighed:
        by_reason.setdefault(one.because, []).append(one.what)
    lines = [
        Text(safe(f"- {because}: {'; '.join(dict.fromkeys(what))}")) for because, what in by_reason.items()
    ]
    found: list[RenderableType] = []
    for how, title in (
        ("corrected", tell("Spelling taken as")),
        ("usual", tell("Of several meanings the usual one is taken")),
    ):
        told = [
            tell("'{words}' as {value}", words=one.words, value=one.taken_for or one.note)
            for one in report.understood
            if one.how == how
        ]
        if told:
            found.append(Text("\n" + safe(f"{title}: {'; '.join(dict.fromkeys(told))}")))
    if lines:
        found.append(Group(Text(tell("\nOn the sheet, not weighed"), style="bold"), *lines))
    return found


def _plural(name: str, count: int) -> str:
    first, _, rest = name.partition(" ")
    return name if count == 1 else f"{first}s {rest}".strip()


def notes(report: Report) -> list[RenderableType]:
    """Notes normal for this coffee, and the general cautions."""
    lines = [Text(f"- {safe(item.because)} [{item.rule}]") for item in report.expected]
    found: list[RenderableType] = []
    if lines:
        found.append(Group(Text(tell("\nNormal for this coffee"), style="bold"), *lines))
    notes = of_level(report, "note")
    if notes:
        found.append(Group(Text(tell("\nCautions"), style="bold"), *[Text(f"- {text}") for text in notes]))
    return found
