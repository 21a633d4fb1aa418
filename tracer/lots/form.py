"""The lot sheet: the table of its fields. The reader, the blank sheet, the editor schema and SHEET.md are made from it.

Rows of `history`, `green` and `bench` are knowledge (`records/`), and stand there.
"""

from __future__ import annotations

from typing import Annotated, Any, get_args

from pydantic import BeforeValidator, WithJsonSchema, model_validator

from tracer.knowledge.phrase import Level, Other, Share, Shows
from tracer.lots.fields import (
    LONGEST_MESSAGE,
    Choice,
    Day,
    Many,
    Part,
    Raw,
    Text,
    YesNo,
    asked,
    asked_many,
    known,
    problem,
    whole,
)
from tracer.lots.form_cupping import CuppingForm
from tracer.lots.logs.log import WHERE
from tracer.lots.logs.times import ORDERS
from tracer.wording.sentence import say, to_type

LEVELS: tuple[str, ...] = get_args(Level)
SHARES: tuple[str, ...] = get_args(Share)
OTHERS: tuple[str, ...] = get_args(Other)
SHOWN: tuple[str, ...] = get_args(Shows)
PROCESSES = ("washed", "natural", "pulped_natural", "wet_hulled", "other")
RESULTS = ("raised", "not_raised", "detected", "below_limit")
MATRICES = ("green", "roasted", "brew")
METHODS = ("iso6673", "iso1446", "meter", "unknown")
AT = ("start", "end")
HOW = ("touched", "beside", "same_room", "carried_before", "mixed_in")


class ClockForm(Part):
    """A time limit of your own contract."""

    what: Text = asked("What it is for.", say("quality claim"))
    clause: Text = asked("Form, edition and article.", say("form and article"))
    days: Annotated[
        int | None, BeforeValidator(known(whole(0, 1000))), WithJsonSchema({"type": "integer"})
    ] = asked("Calendar days.", "21")
    from_: Day = asked("Day it counts from.", "2026-03-06", alias="from")


class PatternForm(Part):
    """Who shares the note and who does not, level by level."""

    of: Text = asked("The note it speaks of, where it holds for one only.", "smoke")
    since: Text = asked("Since when: a day, or what changed.", say("the new thermocouple"))
    cups: Text = asked("one, some, most, all, none; or 2 of 10, or 20 %", "some")
    beans: Text = asked("as above", "some")
    bags: Text = asked("as above; or outer, inner, bottom, top", "outer")
    layers: Text = asked("layers of the stack: bottom, top, outer, inner", "bottom")
    stores: Text = asked("places in the store, or stores", "one")
    containers: Text = asked("containers of the shipment", "1 of 3")
    tanks: Text = asked("tanks or fermentation batches", "one")
    day_lots: Text = asked("days or day lots of the mill; also first, last", "last")
    farms: Text = asked("farms that delivered", "2 of 30")
    stations: Text = asked("stations, mills or collectors", "one")
    districts: Text = asked("districts", "one")
    crops: Text = asked("crops or years", "one")
    roast_batches: Text = asked("roasts of the same green", "one")
    grinders: Text = asked("grinders", "one")
    rooms: Text = asked("rooms or benches", "one")
    tasters: Text = asked("tasters", "1 of 4")
    table: Text = asked("the other coffees of the table", "none")


class ComparisonForm(Part):
    """What another coffee, or the same one treated otherwise, shows."""

    with_: Choice(OTHERS) = asked(
        say("One of {choices}.", choices=to_type(OTHERS)), "other_container", alias="with"
    )
    shows: Choice(SHOWN) = asked("clean, same (it shows the note too), or other_note.", "clean")
    of: Text = asked("The note it speaks of, where it holds for one only.", "smoke")
    name: Text = asked("Its mark.", say("container 2"))
    by: Text = asked("Who says so.", say("the exporter"))


class ContactForm(Part):
    """What touched or stood beside the coffee."""

    with_: Text = asked(
        "The material: an id or name (tracer show MATERIAL), or your own words.", "onions", alias="with"
    )
    stage: Text = asked("Stage of the chain.", "transport")
    how: Choice(HOW) = asked(say("One of {choices}.", choices=to_type(HOW)), "beside")
    smell: Text = asked("What it smells of, where it is not a known material.", say("sour milk"))
    of: Text = asked("The note it speaks of, where it holds for one only.", "onion")
    by: Text = asked("Who says so.", say("the carrier"))


class LaboratoryForm(Part):
    """A value from a laboratory."""

    compound: Text = asked("An id, a name or a CAS number; quote names with commas.", "tca")
    value: Raw = asked("A number, a range (1 to 100), a bound (< 0.5), or left out.", "4")
    unit: Text = asked("Its unit.", "ng/g")
    matrix: Choice(MATRICES) = asked("What was measured: green, roasted, brew.", "green")
    method: Text = asked("How.", "GC-MS")
    result: Choice(RESULTS) = asked(
        "raised or not_raised against a sound reference in the same matrix; or only detected, below_limit.",
        "raised",
    )
    on: Day = asked("Day of the report.", "2026-03-20")
    of: Text = asked("Of which sample or part, where not the lot as it is.", say("outer bags"))


class SaidForm(Part):
    """Sentences somebody wrote or said of the lot."""

    by: Text = asked("Who.", say("the exporter"))
    on: Day = asked("When.", "2026-03-25")
    language: Text = asked("In which language; left out, the words decide.", "en")
    text: Annotated[Any, WithJsonSchema({"type": "string"})] = asked(
        "The sentences as they were written.", "It rained on the parchment twice."
    )
    confirmed: Many(Text) = asked_many(
        "Proposals that are right: tracer history LOT lists them.", "[said_rain_on_coffee]"
    )
    declined: Many(Text) = asked_many("Proposals that are wrong.", "[]")

    @model_validator(mode="after")
    def _has_text(self) -> SaidForm:
        if self.text is None:
            raise problem(
                say("something said needs its text"),
                say("Add text: with the sentences as they were written."),
            )
        if isinstance(self.text, (dict, list)):
            raise problem(say("a plain text was expected here"), say("Write one line of text."))
        if len(str(self.text)) > LONGEST_MESSAGE:
            raise problem(
                say("the text is longer than {LONGEST} characters", LONGEST=LONGEST_MESSAGE),
                say("Read it with: tracer draft FILE"),
            )
        return self


class LogForm(Part):
    """A logger's file."""

    file: Text = asked("The file, beside this sheet.", "patio.csv")
    where: Choice(WHERE) = asked(say("Where the logger was: {choices}.", choices=to_type(WHERE)), "air")
    columns: Raw = asked("Which column holds what.", "{time: Date, temperature: T, humidity: RH}")
    degrees: Choice(("C", "F")) = asked("C or F.", "C")
    dates: Choice(tuple(ORDERS)) = asked(
        say("Order of its dates: {choices}.", choices=to_type(ORDERS)), "day_first"
    )
    decimal: Choice(("point", "comma")) = asked("point or comma.", "point")
    timezone: Text = asked("Zone of the logger's clock, where not that of the place.", "UTC")


class ReadingForm(Part):
    """A reading of moisture or water activity."""

    on: Raw = asked("Day, or day and time.", "2026-01-12 08:00")
    at: Choice(AT) = asked("start or end of the stage.", "end")
    moisture: Raw = asked("Moisture.", "20.7 %")
    method: Choice(METHODS) = asked("iso6673, iso1446 or meter.", "meter")
    aw: Raw = asked("Water activity.", "0.62")
    temperature: Raw = asked("Temperature of the sample.", "24 C")


class BedForm(Part):
    """A day of the drying bed's log."""

    on: Day = asked("Day.", "2026-01-13")
    turns: Annotated[
        int | None, BeforeValidator(known(whole(0, 100))), WithJsonSchema({"type": "integer"})
    ] = asked("How often turned.", "4")
    layer: Raw = asked("Depth of the layer.", "4 cm")
    rain: YesNo = asked("yes or no.", "no")
    covered: YesNo = asked("yes or no.", "yes")


class ExpectForm(Part):
    """What a right trace of this scenario must give; read by the tests."""

    verdict: Text = asked("The verdict.", "source_supported")
    source: Text = asked("Id of the fault.", "the id of a fault")
    stage: Text = asked("Id of the stage.", "transport")
    question: Text = asked("Id of the question that must be asked.", "ask_container_check")
    within: Annotated[Any, WithJsonSchema({"type": "integer"})] = asked(
        "The source stands among the first so many.", "3"
    )


class ScenarioForm(Part):
    """A worked lot: its story, and what a right trace must give."""

    story: Text = asked("What happened.", "A night of rain on uncovered beds.")
    expect: ExpectForm | None = asked("What a right trace gives.", "{source: rewetting, within: 3}")


class DraftedForm(Part):
    """How the sheet came about, where `tracer draft` made it."""

    from_: Text = asked("The file it was read from.", "mail.txt", alias="from")
    on: Day = asked("When.", "2026-03-25")
    taken: Choice(("one_by_one", "first_unread")) = asked(
        "one_by_one: a person confirmed each; first_unread: each first proposal was taken without reading.",
        "one_by_one",
    )


def _patterns(value: Any) -> Any:
    if value is None:
        return ()
    return value if isinstance(value, (list, tuple)) else [value]


class SheetForm(Part):
    """A lot sheet."""

    lot: Text = asked("The mark or number you know it by.", "NEW-LOT")
    species: Text = asked(to_type(("arabica", "robusta")), "arabica")
    process: Choice(PROCESSES) = asked(to_type(PROCESSES), "washed")
    declared: Many(Text) = asked_many("Styles it was sold as, if any.", "[anaerobic]")
    origin: Text = asked("Country, and region if you like.", say("country"))
    exporter: Text = asked("For your casebook; the shipped knowledge does not weigh it.", say("name"))
    crop: Text = asked("Crop year.", "2025/26")
    contract: Text = asked("Number, form and edition.", say("number, form and edition"))
    clocks: Many(ClockForm) = asked_many(
        "Time limits of your own contract; the earliest is warned of.",
        "[{what: quality claim, clause: form and article, days: 21, from: 2026-03-06}]",
    )
    custody: Raw = asked(
        "Places it went through, by stage, so that lots with a shared place can be found; several in a list.",
        "{harvest: Upper farm, processing: [Station 3, tank 2], transport: container ABCU 123456-7}",
    )
    made_of: Many(Text) = asked_many("Lots it was split from or blended of.", "[LOT-11, LOT-12]")
    cuppings: Many(CuppingForm) = asked_many(
        "One entry a table of cups; another sample is another entry.", "[]"
    )
    pattern: Annotated[
        tuple[PatternForm, ...],
        BeforeValidator(_patterns, json_schema_input_type=PatternForm | tuple[PatternForm, ...]),
    ] = asked_many(
        "Who shares the note and who does not; one entry, or one a note.",
        "[{of: smoke, bags: outer, containers: 1 of 3}]",
    )
    comparisons: Many(ComparisonForm) = asked_many(
        "What another coffee, or the same kept, roasted or brewed elsewhere, shows.",
        "[{with: other_container, shows: clean}]",
    )
    contact: Many(ContactForm) = asked_many(
        "What touched or stood beside the coffee, at which stage.",
        "[{with: onions, stage: transport, how: beside}]",
    )
    normal: Many(Text) = asked_many(
        "Stages where nothing was unusual, as somebody who saw it says.", "[drying]"
    )
    history: Raw = asked("By stage: what the papers say.", "{drying: {layer: 4 cm}}")
    green: Raw = asked("What eye and nose say of the green, and counts per 300 g.", "{moisture_now: 11.4 %}")
    bench: Raw = asked("Our own bench: roast, grinder, water, cups, repeats.", "{roast: to_protocol}")
    laboratory: Many(LaboratoryForm) = asked_many(
        "Laboratory values with matrix and unit.",
        "[{compound: tca, value: 4, unit: ng/g, matrix: green, method: GC-MS, result: raised}]",
    )
    said: Many(SaidForm) = asked_many(
        "What somebody wrote or said, in plain sentences; what they mean is proposed, and counts once confirmed.",
        "[{by: the exporter, on: 2026-03-25, language: en, text: It rained on the parchment twice., confirmed: [said_rain_on_coffee]}]",
    )
    answers: Raw = asked(
        "Answers to questions of tracer ask: id of the question, then of the answer.", "{ask_store: damp}"
    )
    remarks: Many(Text) = asked_many(
        "Anything else worth keeping; nobody weighs it.", "[sample bag was torn]"
    )
    drafted: DraftedForm | None = asked("Written by tracer draft.", "{from: mail.txt, taken: one_by_one}")
    scenario: ScenarioForm | None = asked(
        "For worked lots: the story and what a right trace gives.", "{story: ...}"
    )
