"""The kinds of entry in the knowledge base. This is the table of fields: the loader, the
checker, FIELDS.md and the editor schema are all made from these models."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, ValidationInfo, field_validator, model_validator

from tracer.knowledge.letter import Party
from tracer.knowledge.numbers_of_record import doi_form, year_of_print
from tracer.knowledge.phrase import Unit
from tracer.knowledge.rule import Condition
from tracer.knowledge.strength import Basis, Citation, Entry, Id, Prior, Strength


class Source(Entry):
    """A paper, standard, handbook or page; each once, seen or not."""

    id: Id
    kind: Literal["article", "book", "standard", "regulation", "thesis", "page", "house_record"]
    authors: str
    year: int | None = None
    title: str
    where: str = ""
    doi: str | None = None
    seen: Literal["full", "part", "no"] = Field(description="How much of it was read: full, part, no.")
    note: str | None = None

    _doi_has_its_form = field_validator("doi")(doi_form)
    _year_can_be = field_validator("year")(year_of_print)


class Stage(Entry):
    """A stage of the chain, in order."""

    id: Id
    label: str
    definition: str
    ask_of: str = Field(description="Who answers for this stage first.")
    words: dict[str, tuple[str, ...]] = Field(
        {}, description="Language -> words that say a sentence speaks of this stage."
    )


WAS = "Ids it had before, or that were merged into it: old sheets are told what to write now."


class Confusion(Entry):
    """Another note that tasters call by this one's name, and how to tell them apart."""

    descriptor: Id
    tell_apart: str
    swapped: bool = Field(
        False, description="Tasters really use one word for the other: it counts in the reasoning."
    )


class Descriptor(Entry):
    """An off-note: the one common term for many tasters' words."""

    id: Id
    was: tuple[Id, ...] = Field((), description=WAS)
    label: str
    group: Literal[
        "damp_and_mould",
        "plant_and_unripe",
        "age_and_storage",
        "animal",
        "chemical_like",
        "ferment_and_rot",
        "foreign_contamination",
        "taste_and_mouthfeel",
        "roast_and_cupping_room",
        "unspecific",
    ] = Field(description="Only for finding things in a list; implies no cause.")
    modality: tuple[Literal["aroma", "flavour", "taste", "mouthfeel", "aftertaste"], ...]
    definition: str
    not_to_confuse: tuple[Confusion, ...] = Field((), description="Two-way; list it once.")
    words: dict[str, tuple[str, ...]] = Field(description="Language code -> words tasters use.")
    misspelt: dict[str, tuple[str, ...]] = Field({}, description="Language code -> misspellings seen.")
    vague: bool = Field(False, description="Says that something is wrong, not what (dirty, dull).")
    stop_tasting: bool = Field(False, description="Nobody goes on tasting a cup with this note.")
    lack_of: Literal["acidity", "sweetness", "aroma", "body"] | None = Field(
        None, description="The note is that this quality is missing; words for it stand in languages.yaml."
    )
    seen_as: Id | None = Field(None, description="The off-note it is where it is seen and not only smelled.")
    not_clean: bool = Field(False, description="What 'not clean' means, where nobody says more.")
    leak: Strength | None = Field(
        None, description="Chance of the note with no fault known here; default in settings."
    )
    note: str | None = None
    cites: tuple[Citation, ...] = ()


INNOCENT = "innocent"
"""The reading of a word that is no off-note, in `readings:` of an ambiguity and `means:` of a lot sheet."""


class Ambiguity(Entry):
    """Words that mean several things: the user is asked, nothing is picked silently."""

    id: Id
    words: dict[str, tuple[str, ...]] = Field(description="Language code -> words.")
    readings: dict[Id, float] = Field(
        description="Off-note it may mean, or `innocent` -> share of tasters who mean it, by judgement; sums to 1. "
        "A plain list counts each alike."
    )
    innocent: str | None = Field(None, description="The reading that is no off-note, if there is one.")
    ask: str = Field(description="The question to the taster.")
    umbrella: bool = Field(False, description="True for a word too wide to use alone (bad, chemical, old).")
    reads_as: Id | None = Field(
        None,
        description="The reading that counts until the taster says otherwise: plain usage. None: it is asked first.",
    )

    @field_validator("readings", mode="before")
    @classmethod
    def _alike(cls, value: object, info: ValidationInfo) -> object:
        if isinstance(value, (list, tuple)):
            return {name: 1 / len(value) for name in value}
        return value

    @model_validator(mode="after")
    def _sums_to_one(self) -> Ambiguity:
        if abs(sum(self.readings.values()) - 1) > 0.011 or min(self.readings.values()) <= 0:
            raise ValueError("the shares of the readings must each be above 0 and sum to 1")
        if INNOCENT in self.readings and self.innocent is None:
            raise ValueError("a word with an innocent reading says what that is: `innocent:`")
        if self.reads_as is not None and self.reads_as not in self.notes:
            raise ValueError("`reads_as:` is one of the off-notes in its readings")
        return self

    @property
    def notes(self) -> tuple[str, ...]:
        """The off-notes it may mean."""
        return tuple(name for name in self.readings if name != INNOCENT)


class CompoundLink(Entry):
    """A fault makes a compound, scattered, in patches, or throughout the lot."""

    compound: Id
    spread: Literal["scattered", "patches", "throughout"]
    strength: Strength = Field(
        description="P(the compound reaches a level a cup shows | the fault happened)."
    )
    cites: tuple[Citation, ...] = ()


class Fault(Entry):
    """Something that went wrong at a stage. The label finishes: "this lot may have been ..."."""

    id: Id
    was: tuple[Id, ...] = Field((), description=WAS)
    label: str
    stage: Id
    definition: str
    unit: tuple[Unit, ...] = Field(
        (), description="What it strikes at a time, the usual first; empty: as is usual of its stage."
    )
    prior: Prior = Field(
        description="Share of all lots cupped, before anything is known; that somebody wants a lot traced is a factor of its own."
    )
    suspicion: Strength | None = Field(
        None,
        description="How much more often a lot with it is one that somebody wants traced: a likelihood ratio; empty: as in the settings.",
    )
    causes: tuple[CompoundLink, ...] = Field(min_length=1)
    green_signs: tuple[str, ...] = ()
    confirm: tuple[str, ...] = Field((), description="What would show that it was this one.")
    remedy: tuple[str, ...] = Field((), description="What to do with this lot.")
    prevention: tuple[str, ...] = ()
    caution: str | None = Field(None, description="Food-safety caution, if one applies.")
    cites: tuple[Citation, ...] = Field((), description="Empty means common practice.")
    golden: tuple[str, ...] = Field((), description="Scenarios that must bring it to the top.")


class Record(Entry):
    """A fact the papers of a lot can hold: a row of the lot sheet."""

    id: Id
    was: tuple[Id, ...] = Field((), description=WAS)
    label: str
    section: Literal["lot", "history", "green", "bench"]
    stage: Id | None = Field(None, description="For section history: the stage it belongs to.")
    kind: Literal["yes_no", "number", "choice", "text", "date"]
    unit: str | None = Field(None, description="Unit in which rules read the number.")
    possible: tuple[float, float] | None = Field(None, description="Outside this the figure cannot be.")
    choices: tuple[str, ...] = ()
    between: tuple[Id, Id] | None = Field(
        None, description="Computed: from the first date to the second, in `unit` (h, d or months)."
    )
    difference: tuple[Id, Id] | None = Field(None, description="Computed: the second number less the first.")
    called: tuple[str, ...] = Field((), description="Names a grading sheet gives it.")
    logged: bool = Field(False, description="Worked out from logs or readings; not asked for on the sheet.")
    comes_before: Id | None = Field(None, description="For a date: a date record it may not be later than.")
    smells_of: tuple[Id, ...] = Field(
        (), description="A smell of the green: the off-notes it is, or foretells."
    )
    smells_of_nothing: bool = Field(
        False, description="The green was smelled and has none of the smells listed."
    )
    damage: bool = Field(
        False, description="Seen on the beans, and needs a cause where nothing was smelled or tasted."
    )
    explained: str = Field(description="What to write there, for the blank sheet.")

    @model_validator(mode="after")
    def _fits_its_kind(self) -> Record:
        if self.section == "history" and self.stage is None:
            raise ValueError("a history record needs its stage")
        if self.kind == "choice" and not self.choices:
            raise ValueError("a choice record needs its choices")
        if self.kind == "number" and self.unit is None:
            raise ValueError("a number needs its unit (use 1 for a plain count or share)")
        return self


def _one(chances: dict[str, float]) -> bool:
    return abs(sum(chances.values()) - 1) <= 1e-6 and min(chances.values()) > 0


class Given(Entry):
    """P(answer | one of these faults, stages or compounds is at work); sums to 1."""

    faults: tuple[Id, ...] = ()
    stage: Id | None = None
    compound: Id | None = Field(None, description="For a test: the compound is in the coffee.")
    answers: dict[str, float]

    @model_validator(mode="after")
    def _sums_to_one(self) -> Given:
        if sum([bool(self.faults), self.stage is not None, self.compound is not None]) != 1:
            raise ValueError("name faults, or one stage, or one compound")
        if not _one(self.answers):
            raise ValueError(
                f"the answers' probabilities must each be above 0 and sum to 1, not {sum(self.answers.values()):g}"
            )
        return self


class Enquiry(Entry):
    """A question to somebody, or a test, with what each answer would mean."""

    id: Id
    was: tuple[Id, ...] = Field((), description=WAS)
    kind: Literal["question", "test"]
    stage: Id
    ask_of: Party
    text: str = Field(description="The question, or the test to do, in plain words.")
    in_words: dict[str, str] = Field(
        {}, description="Language -> the question with the paper that settles it, for letters."
    )
    answers: dict[str, str] = Field(description="Answer id -> answer in plain words.")
    given: tuple[Given, ...] = Field(min_length=1)
    otherwise: dict[str, float] = Field(description="P(answer | none of the above).")
    basis: Basis
    record: str = Field(description="Which paper or measurement settles it.")
    settled_by: tuple[Id, ...] = Field(
        (), description="Records that already answer it; then it is not asked."
    )
    told_by: dict[str, tuple[Condition, ...]] = Field(
        {},
        description="Answer id -> tests on records, each of which says the same by itself: the row counts, not the answer, "
        "and a row that says another answer is a contradiction, which is told.",
    )
    row: dict[str, dict[str, str]] = Field(
        {}, description="Answer id -> record and value of the sheet's row that says the same."
    )
    cost: Literal["free", "low", "medium", "high"]
    days: float = Field(description="Usual time to an answer, in days.")
    caution: str | None = None
    by_senses: bool = Field(
        False, description="Somebody smells or tastes the coffee: never asked where a note stops tasting."
    )
    cites: tuple[Citation, ...] = ()
    golden: tuple[str, ...] = ()

    @property
    def records(self) -> tuple[Id, ...]:
        """Records that may answer it."""
        told = (one.record for tests in self.told_by.values() for one in tests if one.record)
        return tuple(dict.fromkeys((*self.settled_by, *told)))

    @model_validator(mode="after")
    def _same_answers(self) -> Enquiry:
        names = set(self.answers)
        if set(self.row) - names:
            raise ValueError("`row` must name answers of this enquiry")
        if set(self.told_by) - names:
            raise ValueError("`told_by` must name answers of this enquiry")
        if any(one.record is None for tests in self.told_by.values() for one in tests):
            raise ValueError("`told_by` tests records, no findings")
        if set(self.otherwise) != names or any(set(given.answers) != names for given in self.given):
            raise ValueError("every list of probabilities must name the same answers")
        if not _one(self.otherwise):
            raise ValueError(
                f"`otherwise` must be above 0 for each answer and sum to 1, not {sum(self.otherwise.values()):g}"
            )
        return self
