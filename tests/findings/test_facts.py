"""What a lot says as plain facts: rows, patterns, cups, days and what is computed of them; and what is said over a whole range only."""

from __future__ import annotations

import dataclasses
import datetime
from types import SimpleNamespace

import pytest

from tests.findings.build import band, fact, rule
from tests.history.build import BASE, PLACE, lot
from tracer.amounts import Amount
from tracer.findings.fact import Fact
from tracer.findings.facts import facts, known_origin, known_values, rows, spans
from tracer.findings.finding import Finding
from tracer.findings.gathered import Gathered, _doubted, _trusted, listener
from tracer.findings.spans import Split, steady_findings
from tracer.history.history import History, Measured
from tracer.knowledge.entries import Record
from tracer.lots.lot import Comparison, Control, Pattern, RecordValue
from tracer.lots.observations import CONTROL
from tracer.lots.observed import Heard, Observation

SETTINGS = BASE.settings
NOTHING = Heard((), (), False, ())
ALONE = dataclasses.replace(lot(), cuppings=(), process=None, species=None)


def record(name, kind="number", **fields):
    return Record.model_construct(
        id=name,
        kind=kind,
        label=name,
        **{**{"between": None, "difference": None, "unit": None, "possible": None}, **fields},
    )


def of(made, heard=NOTHING, history=None, records=BASE.records, settings=SETTINGS, places=frozenset()):
    return {one.name: one for one in facts(made, records, heard, places, history, settings)}


def values(*args, **kwargs):
    return {name: one.value for name, one in of(*args, **kwargs).items()}


def row(name, value, amount=None, **fields):
    return dataclasses.replace(RecordValue(name, value, f"{name} as written", PLACE, amount), **fields)


def with_rows(*given, **fields):
    return dataclasses.replace(ALONE, records=given, **fields)


# Rows.


def test_a_row_is_a_fact_of_its_kind_and_an_unknown_one_is_none():
    found = of(
        with_rows(
            row("tank_hours", 30.0), row("covered", "yes"), row("surface", "Bare Soil"), row("layer", None)
        )
    )
    assert [(one.name, one.value, one.kind) for one in found.values()] == [
        ("covered", "yes", "yes_no"),
        ("surface", "bare soil" if BASE.records["surface"].kind == "text" else "Bare Soil", "text"),
        ("tank_hours", 30.0, "number"),
    ]
    assert found["covered"].from_ == str(PLACE)
    assert of(with_rows(row("covered", "yes", said=True)))["covered"].from_ == "covered as written"
    assert of(with_rows(row("covered", True)))["covered"].value == "yes"
    assert of(with_rows(row("covered", False)))["covered"].value == "no"


def test_a_text_row_is_compared_folded_and_a_choice_as_it_stands():
    records = {"t": record("t", "text"), "c": record("c", "choice")}
    assert values(with_rows(row("t", "Café"), row("c", "Café")), records=records) == {
        "t": "cafe",
        "c": "Café",
    }
    assert values(with_rows(row("unknown", "Café")), records=records) == {"unknown": "Café"}
    assert values(with_rows(row("t", 3.0)), records=records) == {"t": 3.0}


def test_a_day_is_a_number_of_days():
    day = datetime.date(2026, 3, 9)
    assert values(with_rows(row("d", day)), records={}) == {"d": day.toordinal()}


def test_rows_are_what_the_sheet_says_by_itself():
    made = dataclasses.replace(lot(), records=(row("tank_hours", 30.0), row("covered", None)))
    assert [(one.name, one.value) for one in rows(made, BASE)] == [("tank_hours", 30.0)]


def test_a_row_without_a_figure_counts_by_its_low_end_else_its_high_one():
    least, most, few = Amount(5.0, None), Amount(None, 9.0), Amount(None, None, word="few")
    made = with_rows(
        row("tank_hours", None, least), row("hours_to_pulping", None, most), row("layer", None, few)
    )
    assert values(made) == {"tank_hours": 5.0, "hours_to_pulping": 9.0, "layer": SETTINGS.amounts.few[0]}
    assert of(made)["tank_hours"].from_ == str(PLACE)
    assert values(made, settings=None) == {}
    assert values(with_rows(row("tank_hours", 7.0, Amount(5.0, 9.0)))) == {"tank_hours": 7.0}
    assert values(with_rows(row("tank_hours", None, Amount(None, None)))) == {}


def test_the_ends_of_a_range_are_those_of_its_words_and_of_what_a_record_can_be():
    words = SETTINGS.amounts
    records = {"r": record("r", possible=(2.0, 50.0)), "open": record("open")}

    def ends(amount, name="r"):
        return spans(with_rows(row(name, None, amount)), records, SETTINGS).get(name)

    assert ends(Amount(5.0, 9.0)) == (5, 9)
    assert ends(Amount(None, 9.0)) == (2, 9)
    assert ends(Amount(5.0, None)) == (5, 50)
    assert ends(Amount(None, None), "open") == (0, 1e9)
    assert ends(Amount(None, None, word="none")) == (0, 0)
    for word, law in (("few", words.few), ("some", words.some), ("many", words.many)):
        low, high = law
        assert ends(Amount(None, None, word=word)) == (
            2 if low is None else low,
            50 if high is None else high,
        )
    about = ends(Amount(10.0, 10.0, about=True))
    assert about == pytest.approx((10 - 10 * words.about, 10 + 10 * words.about))
    assert ends(None) is None


# What stands for a row, what is measured.


def test_a_pattern_or_comparison_stands_for_a_row_and_the_row_itself_counts_before_it():
    made = dataclasses.replace(
        ALONE, pattern=(Pattern("bags", "outer", None, PLACE), Pattern("bags", "nowhere", None, PLACE))
    )
    assert values(made) == {"outer_bags_worst": "yes"}
    assert of(made)["outer_bags_worst"].from_ == str(PLACE)
    assert values(dataclasses.replace(made, records=(row("outer_bags_worst", "no"),))) == {
        "outer_bags_worst": "no"
    }
    table = dataclasses.replace(
        ALONE, comparisons=(Comparison("table_lots", "same", None, None, None, PLACE),)
    )
    assert values(table) == {"all_coffees_share_note": "yes"}
    assert (
        values(
            dataclasses.replace(
                ALONE, comparisons=(Comparison("table_lots", "worse", None, None, None, PLACE),)
            )
        )
        == {}
    )
    assert (
        values(dataclasses.replace(ALONE, comparisons=(Comparison("mill", "same", None, None, None, PLACE),)))
        == {}
    )
    assert values(dataclasses.replace(ALONE, pattern=(Pattern("layers", "outer", None, PLACE),))) == {}
    assert values(made, settings=None) == {}


def test_what_was_measured_counts_before_the_row():
    history = History((Measured("tank_hours", 20.0, None, None, "from the log"),))
    found = of(with_rows(row("tank_hours", 30.0)), history=history)
    assert (found["tank_hours"].value, found["tank_hours"].from_) == (20.0, "from the log")


# The lot.


def test_what_the_lot_is_are_facts_too():
    made = dataclasses.replace(
        ALONE,
        process="washed",
        species="arabica",
        exporter="Café House",
        origin="Hills, Rwanda",
        declared=("Carbonic maceration", "semi-dry"),
    )
    assert values(made, places=frozenset({"rwanda"})) == {
        "process": "washed",
        "species": "arabica",
        "exporter": "cafe house",
        "origin": "rwanda",
        "declared_carbonic_maceration": "yes",
        "declared_semi_dry": "yes",
    }
    assert {one.from_ for one in of(made).values()} == {"lot"}
    assert known_origin("Rwanda - Hills; x", frozenset({"hills"})) == "hills"
    assert known_origin(" , Rwanda", frozenset()) == ", rwanda"


def test_the_values_that_rules_compare_a_record_with_are_folded():
    rules = [
        rule("a", [{"record": "origin", "is": "Rwanda"}]),
        rule(
            "b",
            {
                "any": [
                    {"record": "origin", "one_of": ["Kenya", "Café"]},
                    {"record": "process", "is": "washed"},
                ]
            },
        ),
        rule("c", [{"record": "origin", "at_least": 3}]),
    ]
    assert known_values(rules, "origin") == {"rwanda", "kenya", "cafe"}


# The cups.


def seen(descriptor="musty", found=2, taster="a", cups=5, cupping=0, **fields):
    return Observation(
        descriptor,
        taster,
        found,
        cups,
        "unstated",
        fields.pop("doubtful", False),
        "x",
        cupping,
        PLACE,
        **fields,
    )


def heard(*observations, **fields):
    return dataclasses.replace(NOTHING, observations=observations, **fields)


TABLE = lot().cuppings[0]


def tables(*given):
    return dataclasses.replace(ALONE, cuppings=tuple(dataclasses.replace(TABLE, **one) for one in given))


def test_the_sample_its_last_day_and_whether_a_note_was_found():
    days = [datetime.date(2026, 3, 9), datetime.date(2026, 3, 12), datetime.date(2026, 5, 1)]
    made = tables(
        {"on": days[0]},
        {"on": days[1], "sample": "unknown"},
        {"on": days[2], "sample": "pre_shipment"},
        {"on": None},
    )
    assert values(made) == {"sample": "arrival", "notes_found": "no", "cupped": days[1].toordinal()}
    found = values(made, heard(seen()))
    assert (found["notes_found"], found["tasters_disagree"]) == ("yes", "no")
    assert "cupped" not in values(tables({"on": None}))
    assert "tasters_disagree" not in values(made)


def test_one_who_finds_it_in_most_cups_and_one_who_finds_none_disagree():
    def disagree(*observations):
        return values(tables({}), heard(*observations))["tasters_disagree"]

    assert disagree(seen(found=3), seen(found=0, taster="b")) == "yes"
    assert disagree(seen(found=2, cups=4), seen(found=0, taster="b")) == "no"
    assert disagree(seen(found=3, cups=4), seen(found=0, taster="b")) == "yes"
    assert disagree(seen(found=3), seen(found=1, taster="b")) == "no"
    assert disagree(seen(found=3), seen(found=0, taster="b", cupping=1)) == "no"
    assert disagree(seen(found=3), seen("earthy", found=0, taster="b")) == "no"
    assert disagree(seen(found=None), seen(found=0, taster="b")) == "no"
    assert disagree(seen("earthy", found=1), seen(found=4), seen(found=0, taster="b")) == "yes"


def test_a_control_shares_the_note_or_is_clean():
    made = tables({"control": Control(())}, {})

    def control(*beside, observations=(seen(),), given=made):
        return values(given, heard(*observations, beside=beside)).get("control_cup")

    assert control() == "clean"
    assert control(seen(taster=CONTROL)) == "same_note"
    assert control(seen(taster=CONTROL, found=None)) == "same_note"
    assert control(seen(taster=CONTROL, found=0)) == "clean"
    assert control(seen(taster=CONTROL, cupping=1)) == "clean"
    assert control(seen("earthy", taster=CONTROL)) == "clean"
    assert control(seen(taster="another coffee")) == "clean"
    assert control(observations=()) is None
    assert control(given=tables({})) is None
    assert control(given=tables({}, {"sample": "pre_shipment", "control": Control(())})) is None


def test_an_earlier_sample_shows_the_same_note_or_was_clean():
    made = tables({}, {"sample": "pre_shipment"}, {"sample": "unknown"})

    def earlier(*elsewhere, observations=(seen(),)):
        found = values(made, heard(*observations, elsewhere=elsewhere))
        return {name: value for name, value in found.items() if name.startswith("earlier")}

    assert earlier() == {"earlier_clean": "pre_shipment"}
    assert earlier(seen(cupping=1)) == {"earlier_same_note": "pre_shipment"}
    assert earlier(seen(cupping=1, found=None)) == {"earlier_same_note": "pre_shipment"}
    assert earlier(seen(cupping=1, found=0)) == {"earlier_clean": "pre_shipment"}
    assert earlier(seen("earthy", cupping=1)) == {"earlier_clean": "pre_shipment"}
    assert earlier(seen(cupping=2)) == {"earlier_clean": "pre_shipment"}
    assert earlier(observations=()) == {}


# What is computed.

FIRST, LAST = datetime.date(2026, 1, 1), datetime.date(2026, 1, 15)


@pytest.mark.parametrize(
    ("unit", "value"),
    [("h", 336.0), ("d", 14.0), ("weeks", 2.0), ("months", round(14 / (365.25 / 12), 3)), (None, 14.0)],
)
def test_a_span_of_time_is_computed_in_the_unit_of_its_record(unit, value):
    records = {"span": record("span", between=("first", "last"), unit=unit)}
    found = of(with_rows(row("first", FIRST), row("last", LAST)), records=records)["span"]
    assert (found.value, found.from_) == (pytest.approx(value), "computed from first and last")


def test_what_is_written_is_not_computed_and_what_is_not_known_gives_nothing():
    records = {
        "span": record("span", between=("first", "last"), unit="d"),
        "gain": record("gain", difference=("a", "b")),
    }
    days = (row("first", FIRST), row("last", LAST))
    assert values(with_rows(*days, row("span", 3.0)), records=records)["span"] == 3
    assert "span" not in values(with_rows(days[0]), records=records)
    assert "span" not in values(with_rows(days[1]), records=records)
    assert "span" not in values(with_rows(days[0], row("last", 3.0)), records=records)
    found = of(with_rows(row("a", 11.0), row("b", 12.25)), records=records)["gain"]
    assert (found.value, found.from_) == (1.25, "computed from a and b")
    assert "gain" not in values(with_rows(row("a", 11.0)), records=records)
    assert "gain" not in values(with_rows(row("b", 11.0)), records=records)
    assert "gain" not in values(with_rows(row("a", 11.0), row("b", "x")), records=records)
    assert values(with_rows(row("a", 1.0), row("b", 2.0), row("gain", 9.0)), records=records)["gain"] == 9


def test_the_age_by_the_crop_year_counts_where_no_day_of_picking_is_known():
    made = dataclasses.replace(tables({"on": datetime.date(2026, 3, 30)}), crop="2023/24")
    found = of(made)["months_since_harvest"]
    assert round(found.value) == 18
    assert found.from_ == "at least, by crop 2023/24"
    assert (
        values(dataclasses.replace(made, records=(row("months_since_harvest", 5.0),)))["months_since_harvest"]
        == 5
    )
    for other in (
        dataclasses.replace(made, crop=None),
        dataclasses.replace(made, crop="2025/26"),
        dataclasses.replace(made, cuppings=()),
    ):
        assert "months_since_harvest" not in values(other)
    assert "months_since_harvest" not in values(made, settings=None)


def test_facts_come_sorted_by_name():
    names = [
        one.name
        for one in facts(with_rows(row("z", 1.0), row("a", 1.0)), {}, NOTHING, frozenset(), None, SETTINGS)
    ]
    assert names == ["a", "z"]


# Over a whole range.

LATE = rule("late", [{"record": "hours", "at_least": 30}], {"favours": "f", "strength": band("weakly_for")})
EARLY = rule("early", [{"record": "hours", "below": 10}], {"favours": "g", "strength": band("weakly_for")})
ANY = rule("any", [{"record": "hours", "at_least": 0}], {"favours": "h", "strength": band("weakly_for")})


def steady(value, **ranges):
    found, split = steady_findings(
        (LATE, EARLY, ANY), (fact("hours", value), fact("other", 1.0)), ranges, lambda _: (), "plain"
    )
    return [one.rule for one in found], list(split)


def test_a_rule_speaks_of_a_range_only_where_it_speaks_at_both_ends():
    assert steady(40.0) == (["any", "late"], [])
    assert steady(40.0, hours=(35.0, 45.0)) == (["any", "late"], [])
    assert steady(40.0, hours=(20.0, 60.0)) == (["any"], [Split("late", "hours")])
    assert steady(20.0, hours=(15.0, 30.0)) == (["any"], [Split("late", "hours")])
    assert steady(20.0, hours=(5.0, 40.0)) == (["any"], [Split("early", "hours"), Split("late", "hours")])
    assert steady(40.0, other=(0.0, 9.0)) == (["any", "late"], [])


# What is needed to hear a lot, and which of its answers count.


def test_a_listener_knows_the_rules_the_places_they_name_and_reads_sentences():
    made = listener(BASE)
    assert made.rules == tuple(BASE.rules.values())
    assert made.places == known_values(made.rules, "origin")
    assert made.reader.message("It was dried on the ground.", "en")


def test_an_answer_that_a_row_says_already_does_not_count():
    name, answer, row_of = next(
        (one.id, answer, tests[0])
        for one in BASE.enquiries.values()
        for answer, tests in one.told_by.items()
        if tests and tests[0].is_ is not None and isinstance(tests[0].is_, str)
    )
    made = dataclasses.replace(ALONE, answers=((name, answer),))
    for facts_, left in (((), 1), ((Fact(row_of.record, row_of.is_, "text", "x"),), 0)):
        told = Gathered(BASE, made, NOTHING, facts_, (), History(), (), (), ())
        assert len(told.counting.answers) == left


# What a machine took unread.


def finding(*names):
    made = tuple(fact(name, 1.0) for name in names)
    return Finding("r", "favours", ("f",), None, "g", "", "", made, ())


def trusts(found, drafted="first_unread", *given):
    made = with_rows(*given, drafted=drafted)
    return [one.trust for one in _trusted([found], made, 0.7)]


def test_a_finding_is_trusted_as_far_as_the_rows_it_rests_on():
    a, b = row("a", 1.0, said=True, right=0.9), row("b", 1.0, said=True)
    assert trusts(finding("a"), "first_unread", a, b) == [0.9]
    assert trusts(finding("b"), "first_unread", a, b) == [0.7]
    assert trusts(finding("a", "b", "c"), "first_unread", a, b) == [pytest.approx(0.63)]
    assert trusts(finding("c"), "first_unread", a, b) == [1.0]
    assert trusts(finding("a"), "one_by_one", a) == [1.0]
    assert trusts(finding("a"), "first_unread", dataclasses.replace(a, said=False)) == [1.0]


def test_patterns_of_a_sheet_filled_in_unread_are_trusted_by_the_share_that_is_right():
    assert [one.trust for one in _doubted([finding("a")], SimpleNamespace(taken_unread=True), 0.7)] == [0.7]
    assert [one.trust for one in _doubted([finding("a")], SimpleNamespace(taken_unread=False), 0.7)] == [1.0]
