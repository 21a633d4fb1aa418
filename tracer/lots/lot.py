"""A lot as its sheet tells it: cuppings, history, green, bench and laboratory."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

from tracer.amounts import Amount
from tracer.issues import Place
from tracer.lots.logs.log import Log

Value = int | float | str | datetime.date
ALL_CUPS = -1
"""A note said to be in all cups, whatever their number."""


@dataclass(frozen=True, slots=True)
class Note:
    """One note of a taster, in the taster's own words.

    `cups` is the number of cups that had it: None where not said (at least one), ALL_CUPS for all.
    """

    text: str
    cups: int | None
    of: int | None
    intensity: str | None
    when: str | None
    place: Place
    means: str | None = None
    """The off-note that the taster, asked back, says the words mean; or innocent."""
    which: tuple[int, ...] = ()
    """The cups by number."""
    share: str | None = None
    """A share of the cups in words or percent, where no number is given."""


@dataclass(frozen=True, slots=True)
class Tasting:
    """One taster's sheet of one cupping."""

    taster: str
    language: str | None
    cups: int | None
    notes: tuple[Note, ...]
    not_found: tuple[Note, ...]
    checked_all: bool
    """True if the taster worked down the whole list of off-notes."""
    place: Place
    score: float | None = None


@dataclass(frozen=True, slots=True)
class Control:
    """Cups of a known clean coffee on the same table."""

    notes: tuple[Note, ...]
    not_found: tuple[Note, ...] = ()
    cups: int | None = None
    language: str | None = None


@dataclass(frozen=True, slots=True)
class Beside:
    """Another coffee on the same table, and what it showed."""

    name: str
    kin: str | None
    notes: tuple[Note, ...]
    not_found: tuple[Note, ...]
    cups: int | None
    language: str | None
    place: Place


@dataclass(frozen=True, slots=True)
class Cupping:
    """One table of cups of one sample; `cups` is per taster."""

    on: datetime.date | None
    sample: str
    drawn_by: str | None
    cups: int | None
    tastings: tuple[Tasting, ...]
    control: Control | None
    place: Place
    beside: tuple[Beside, ...] = ()
    bench: str | None = None
    score: float | None = None
    blind: bool | None = None
    """Whether the sheet says that it was cupped blind; None where it does not say."""


@dataclass(frozen=True, slots=True)
class Witness:
    """One of several who say what a record is."""

    by: str
    written: str


@dataclass(frozen=True, slots=True)
class RecordValue:
    """What a paper of the lot says. `value` is None where it is not known, was not kept, or witnesses contradict.

    Numbers are in the record's own unit; `written` is what stands in the sheet. Where no exact figure was given,
    `amount` has its ends and `value` its middle.
    """

    record: str
    value: Value | None
    written: str
    place: Place
    amount: Amount | None = None
    witnesses: tuple[Witness, ...] = ()
    said: bool = False
    """It comes from a confirmed sentence and not from a row of the sheet."""
    right: float | None = None
    """Probability that the sentence was read rightly, where it is known."""


@dataclass(frozen=True, slots=True)
class LaboratoryResult:
    """A laboratory value; `result` is raised or not_raised against a sound reference, or None."""

    compound: str
    value: float | None
    unit: str | None
    matrix: str | None
    method: str | None
    result: str | None
    place: Place
    amount: Amount | None = None
    of: str | None = None
    known: bool = True
    """False for something that is no compound of the knowledge base."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Which part of a level shares the note: a share word, k of n, or percent. `since` has no level."""

    level: str
    share: str
    of: str | None
    place: Place
    found: int | None = None
    among: int | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What another coffee, or the same one treated otherwise, shows."""

    with_: str
    shows: str
    of: str | None
    name: str | None
    by: str | None
    place: Place


@dataclass(frozen=True, slots=True)
class Contact:
    """What touched or stood beside the coffee. `material` is None for a thing not in materials.yaml."""

    material: str | None
    words: str
    stage: str | None
    how: str | None
    smell: str | None
    of: str | None
    by: str | None
    place: Place


@dataclass(frozen=True, slots=True)
class Normal:
    """A stage where somebody saw nothing unusual."""

    stage: str
    place: Place


@dataclass(frozen=True, slots=True)
class Reading:
    """Moisture (% wet basis, by its method) or water activity of a sample of the lot."""

    stage: str
    on: datetime.datetime | None
    at: str | None
    """start or end of the stage, where the sheet says so."""
    moisture: float | None
    method: str
    aw: float | None
    temperature: float | None
    place: Place


@dataclass(frozen=True, slots=True)
class BedDay:
    """One day of a drying bed's log; layer in cm."""

    stage: str
    on: datetime.date
    turns: int | None
    layer: float | None
    rain: str | None
    covered: str | None
    place: Place


@dataclass(frozen=True, slots=True)
class Said:
    """Sentences somebody wrote or said; `confirmed` and `declined` name phrases found in them."""

    by: str
    on: datetime.date | None
    language: str | None
    text: str
    confirmed: tuple[str, ...]
    declined: tuple[str, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Passed:
    """A place the lot went through: a farm, a station, a bed, a mill, a warehouse, a container, a roaster."""

    stage: str
    node: str


@dataclass(frozen=True, slots=True)
class Clock:
    """A time limit as the user's own contract sets it."""

    what: str
    clause: str
    days: int
    counted_from: datetime.date

    @property
    def last_day(self) -> datetime.date:
        """The last day, counting calendar days from the day named."""
        return self.counted_from + datetime.timedelta(days=self.days)


@dataclass(frozen=True, slots=True)
class Expectation:
    """What a scenario says a right trace must give."""

    story: str
    verdict: str | None = None
    source: str | None = None
    stage: str | None = None
    question: str | None = None
    within: int = 1


@dataclass(frozen=True, slots=True)
class Lot:
    """A lot as its sheet tells it."""

    lot: str
    species: str | None
    process: str | None
    declared: tuple[str, ...]
    """Styles the lot was sold as: 'anaerobic', 'carbonic', 'aged' ..."""
    origin: str | None
    crop: str | None
    cuppings: tuple[Cupping, ...]
    records: tuple[RecordValue, ...]
    laboratory: tuple[LaboratoryResult, ...]
    answers: tuple[tuple[str, str], ...]
    scenario: Expectation | None
    file: str
    logs: tuple[Log, ...] = ()
    readings: tuple[Reading, ...] = ()
    beds: tuple[BedDay, ...] = ()
    said: tuple[Said, ...] = ()
    exporter: str | None = None
    custody: tuple[Passed, ...] = ()
    made_of: tuple[str, ...] = ()
    """Lots that this one was split from or blended of."""
    contract: str | None = None
    clocks: tuple[Clock, ...] = ()
    pattern: tuple[Pattern, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    contact: tuple[Contact, ...] = ()
    normal: tuple[Normal, ...] = ()
    remarks: tuple[str, ...] = ()
    drafted: str | None = None
    """How `tracer draft` made the sheet: one_by_one or first_unread."""
    drafted_on: datetime.date | None = None
    """When its message was written, or drafted."""

    @property
    def taken_unread(self) -> bool:
        """A machine took the first meaning of each sentence, and nobody read it."""
        return self.drafted == "first_unread"

    def answered(self, enquiry: str, answer: str) -> Lot:
        """The lot once an enquiry has got an answer."""
        return replace(self, answers=(*self.answers, (enquiry, answer)))
