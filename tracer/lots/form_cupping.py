"""The cuppings of a lot sheet: the table of their fields."""

from __future__ import annotations

import re
from typing import Annotated, Any, get_args

from pydantic import BeforeValidator, WithJsonSchema, model_validator

from tracer.knowledge.phrase import SampleKind
from tracer.lots.fields import (
    MOST_CUPS,
    Choice,
    Count,
    Day,
    Many,
    Part,
    Raw,
    Text,
    YesNo,
    asked,
    asked_many,
    problem,
    text,
    whole,
)
from tracer.lots.lot import ALL_CUPS
from tracer.names import fold
from tracer.wording.sentence import say, to_type

SAMPLES: tuple[str, ...] = get_args(SampleKind)
INTENSITIES = ("slight", "moderate", "strong")


def _note(value: Any) -> Any:
    return value if isinstance(value, dict) else {"note": value}


class NoteForm(Part):
    """A note: a line as it was said, or the words with what is known of them."""

    note: Text = asked("The taster's own words.", "like a damp cellar")
    cups: Annotated[Any, WithJsonSchema({})] = asked(
        "How many cups had it: a number, 2 of 6, a share, all, most, some, one, or the cups by number in a list.",
        "2",
    )
    of: Count = asked("Of how many cups; left out, the cups of the taster or the table.", "5")
    intensity: Choice(INTENSITIES) = asked("How strong.", "slight")
    when: Text = asked("When it showed: dry, break, hot, cold.", "break")
    means: Text = asked(
        "What the taster, asked back, says the words mean: the id of an off-note, or innocent.", "innocent"
    )

    @model_validator(mode="after")
    def _has_words(self) -> NoteForm:
        if self.note is None:
            raise problem(say("a note needs its words"), say("Write note: and the taster's own words."))
        return self


Notes = Many(Annotated[NoteForm, BeforeValidator(_note, json_schema_input_type=str | NoteForm)])


class TasterForm(Part):
    """One taster's sheet of one table."""

    taster: Text = asked("A name, initials or a number.", "first")
    language: Text = asked("en es pt fr de it id vi ja am: binds how the words are read.", "en")
    cups: Count = asked("Cups of this taster, where not those of the table.", "5")
    notes: Notes = asked_many("What was found.", "[damp cellar, smoke]")
    not_found: Notes = asked_many("Looked for and not there.", "[phenolic, smoky]")
    checked_all: YesNo = asked("yes if the whole list of off-notes was looked for.", "no")
    score: Raw = asked("Points this taster gave, on the scale of the house.", "84.5")

    @model_validator(mode="after")
    def _has_a_name(self) -> TasterForm:
        if self.taster is None:
            raise problem(
                say("a taster's sheet needs a name"), say("Write taster: and a name, initials or a number.")
            )
        return self


class ControlForm(Part):
    """Cups of a known clean coffee on the same table."""

    cups: Count = asked("Cups of the control.", "5")
    notes: Notes = asked_many("What was found in it; [] or clean for nothing.", "[]")
    not_found: Notes = asked_many("Looked for and not there.", "[damp cellar, smoke]")
    language: Text = asked("Language of these words.", "en")


class BesideForm(Part):
    """Another coffee on the same table."""

    name: Text = asked("Its mark.", "LOT-12")
    kin: Choice(("unrelated", "sister", "same_lot")) = asked(
        "unrelated, sister (same mill, day or exporter), or another draw of the same_lot.", "unrelated"
    )
    cups: Count = asked("Its cups.", "5")
    notes: Notes = asked_many("What was found in it.", "[clean]")
    not_found: Notes = asked_many("Looked for and not there.", "[damp cellar, smoke]")
    language: Text = asked("Language of these words.", "en")


class CuppingForm(Part):
    """A table of cups of one sample."""

    on: Day = asked("Day of the cupping.", "2026-03-09")
    sample: Choice(SAMPLES) = asked(
        say("Where in the chain it was drawn: {choices}.", choices=to_type(SAMPLES)), "arrival"
    )
    drawn_by: Text = asked("Who drew it.", say("warehouse"))
    blind: Choice(("yes", "no")) = asked(
        "Whether the tasters did not know what was in which cup; letters say so.", "yes"
    )
    bench: Text = asked(
        "Which bench, roast or table, where there are several.", say("second roast, small room")
    )
    cups: Count = asked("Cups for each taster.", "5")
    score: Raw = asked(
        "Points of the sample on the scale of the house; kept and compared, not weighed.", "84.5"
    )
    tasters: Many(TasterForm) = asked_many("One entry a taster.", "[{taster: first, notes: [damp cellar]}]")
    control: ControlForm | None = asked("A known clean coffee on the same table.", "{cups: 5, notes: []}")
    beside: Many(BesideForm) = asked_many(
        "Other coffees on the table, and what they showed.", "[{name: LOT-12, notes: [clean]}]"
    )
    table: Text = asked(
        "The notes as CSV or XLSX beside this file: taster, note, cups, of, intensity, state, language, when, means.",
        "cups.csv",
    )


def of_cups(value: object) -> tuple[object, str | None]:
    """What `cups:` of a note says, and of how many where it says that too.

    >>> of_cups("1 of 6"), of_cups("all of 10 cups"), of_cups(2)
    (('1', '6'), ('all', '10'), (2, None))
    """
    match = re.fullmatch(r"(\d+|all|every|one|none) (?:of|in|out of) (\d+)(?: cups)?", fold(str(value)))
    return (match[1], match[2]) if match else (value, None)


def cups_said(value: object) -> tuple[int | None, tuple[int, ...], str | None]:
    """What `cups:` of a note says: how many (ALL_CUPS for all), which by number, and the words where it is a share."""
    if isinstance(value, list):
        return len(value), tuple(whole(1, MOST_CUPS)(one) for one in value), None
    if isinstance(value, str):
        folded = fold(value).removesuffix(" cups")
        if folded in ("all", "every", "all cups"):
            return ALL_CUPS, (), None
        if folded in ("one", "single", "a single", "one cup", "single cup"):
            return 1, (), None
        if folded == "none":
            return 0, (), None
        if folded in SOME:
            return None, (), None if folded in ("some", "some cups", "unknown") else folded
        if "%" in folded or folded.startswith(("about", "half", "a third", "most")):
            return None, (), text(value)
    if value is None:
        return None, (), None
    return whole(0, MOST_CUPS)(value), (), None


SCATTERED = ("scattered", "sporadic", "irregular", "occasional", "now and then", "here and there")
"""Words for some here and some there."""
SOME = ("some", "some cups", "unknown", "a few", "few", "several", *SCATTERED, "most", "many")
"""Words for a share of the cups that names no number: at least one had it."""
