"""What a question or test is worth, on a small network: by Bayes from the probabilities before it, worked by hand.

One note heard, that a fault gives by way of a compound. With s the probability that the fault is its source, p that it is there
and c that the compound is: an answer that comes with 0.9 where the fault is and 0.2 where it is not has P(a) = 0.9 p + 0.2 (1 - p),
and since a source is there, P(source | a) = 0.9 s / P(a). A test of the compound has c in the place of p.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import entropy

from tests.inference.written import build
from tracer.enquiry import plan
from tracer.enquiry.plan import _presence, _roughly, asks, most_telling
from tracer.findings.answers import Term
from tracer.inference.assemble import Whole
from tracer.inference.exact import posterior
from tracer.inference.network import Traced
from tracer.inference.sources import source_probabilities
from tracer.knowledge.entries import Enquiry, Given

COST = {"free": 0.5, "low": 1.0, "medium": 2.0, "high": 50.0}
FAULTS = {"sweat": "transport", "damp_store": "store", "slow_drying": "drying", "dust": "milling"}


def net(*faults):
    """Each fault makes mould, and mould is heard as musty; but dust makes a compound of its own, that nothing heard comes of."""
    own = {"dust": "grit"}
    return {
        "faults": [{"id": f, "stage": FAULTS[f], "segment": "lot", "prior": 0.1} for f in faults],
        "fault_links": [
            {"fault": f, "compound": own.get(f, "mould"), "law": [0.3, 0.3, 0.4]} for f in faults
        ],
        "compound_leaks": [{"compound": "mould", "segment": "lot", "law": [0.9, 0.05, 0.05]}],
        "note_links": [
            {"compound": "mould", "note": "musty", "law": {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}},
            {"compound": "grit", "note": "gritty", "law": {1: [0.5, 0.4, 0.1], 2: [0.2, 0.2, 0.6]}},
        ],
        "note_leaks": [{"note": "musty", "segment": "lot", "law": [0.95, 0.03, 0.02]}],
        "events": [{"id": "arrival", "reach": ["lot"]}],
        "evidence": {"notes": [{"note": "musty", "event": "arrival", "likelihood": [0.05, 0.6, 0.9]}]},
        "traced": [{"note": "musty", "event": "arrival"}],
    }


class Case:
    """A network, and just as much of a knowledge base as the plan reads."""

    def __init__(self, *faults):
        self.built = built = build(net(*faults))
        places = {name: (place,) for place, name in enumerate(faults)}
        compounds = {
            name.split("@")[0]: (place,) for place, name in enumerate(built.network.structure.compounds)
        }
        empty = np.zeros(0)
        self.whole = Whole(built.network, places, compounds, {}, {}, empty, empty, {})
        self.faults = faults
        self.base = SimpleNamespace(
            stages={FAULTS[f]: SimpleNamespace(label=FAULTS[f].title()) for f in faults},
            faults={f: SimpleNamespace(label=f.replace("_", " ").capitalize()) for f in faults},
            faults_of=lambda stage: tuple(f for f in faults if FAULTS[f] == stage),
            settings=SimpleNamespace(cost=COST),
            node=lambda name: name,
            enquiries={},
        )
        known = posterior(built.network, built.evidence)
        self.there = dict(zip(faults, known.fault, strict=True))
        self.compound = {name: 1 - known.compound[place, 0] for name, (place,) in compounds.items()}
        sets = [frozenset(place) for place in places.values()]
        live = source_probabilities(built.network, built.evidence, built.traced, sets)[0]
        self.source = dict(zip(faults, map(float, live), strict=True))

    def told(self, *enquiries, traced=None):
        built = self.built
        traced = built.traced if traced is None else traced
        return most_telling(
            self.base, self.whole, built.network, built.evidence, traced, self.faults, enquiries
        )

    def asks(self, enquiries, facts=(), answers=(), stopped=False):
        base = SimpleNamespace(**{**vars(self.base), "enquiries": {one.id: one for one in enquiries}})
        built = self.built
        weighed = SimpleNamespace(network=built.network, evidence=built.evidence, traced=built.traced)
        lot = SimpleNamespace(
            facts=[SimpleNamespace(name=name) for name in facts],
            lot=SimpleNamespace(answers=answers),
            whole=self.whole,
            weighed=weighed,
            unlisted=None,
            leaning={},
        )
        return [line.id for line in asks(base, lot, self.faults, None, stopped)]


def enquiry(name="ask", about="sweat", yes=0.9, anyhow=0.2, cost="low", compound=False, **more):
    given = {"yes": yes, "no": 1 - yes}
    what = {"compound": about} if compound else {"faults": (about,)}
    return Enquiry.model_construct(
        id=name,
        kind="question",
        stage="transport",
        ask_of="carrier",
        text="Was it wet?",
        answers={"yes": "It was", "no": "It was not"},
        given=(
            Given.model_construct(**{"faults": (), "stage": None, "compound": None, **what}, answers=given),
        ),
        otherwise={"yes": anyhow, "no": 1 - anyhow},
        record="the survey",
        cost=cost,
        days=3.0,
        caution="gloves",
        **more,
    )


@pytest.fixture(scope="module")
def one():
    return Case("sweat")


@pytest.fixture(scope="module")
def three():
    return Case("sweat", "damp_store", "slow_drying", "dust")


def bits(p):
    return entropy([p, 1 - p], base=2)


@pytest.mark.parametrize("compound", [False, True])
@pytest.mark.parametrize(("yes", "anyhow"), [(0.9, 0.2), (0.2, 0.9), (0.6, 0.05)])
def test_a_question_and_a_test_are_worth_what_bayes_says(one, compound, yes, anyhow):
    s, p = one.source["sweat"], one.compound["mould"] if compound else one.there["sweat"]
    (line,) = one.told(
        enquiry(about="mould" if compound else "sweat", yes=yes, anyhow=anyhow, compound=compound)
    )
    chance = {"yes": yes * p + anyhow * (1 - p), "no": (1 - yes) * p + (1 - anyhow) * (1 - p)}
    after = {"yes": s * yes / chance["yes"], "no": s * (1 - yes) / chance["no"]}
    assert {a.answer: a.probability for a in line.answers} == pytest.approx(chance)
    assert {a.answer: a.top_stage_probability for a in line.answers} == pytest.approx(after)
    # One stage, and "none of these", which is its complement here: the same information twice.
    wanted = 2 * (bits(s) - sum(chance[a] * bits(after[a]) for a in chance))
    assert line.gain_bits == pytest.approx(wanted)


@pytest.mark.parametrize(("cost", "units"), COST.items())
def test_a_gain_is_told_for_its_cost_too(one, cost, units):
    (line,) = one.told(enquiry(cost=cost))
    assert line.gain_per_cost == pytest.approx(line.gain_bits / units)


def test_a_line_tells_who_is_asked_what_what_settles_it_and_how_long_it_takes(one):
    (line,) = one.told(enquiry())
    assert (line.id, line.kind, line.ask_of, line.stage) == ("ask", "question", "carrier", "transport")
    assert (line.text, line.record, line.cost, line.days) == ("Was it wet?", "the survey", "low", 3.0)
    assert line.caution == "gloves"
    assert [a.label for a in line.answers] == ["It was", "It was not"]


def test_an_answer_names_the_stage_and_the_source_that_are_likeliest_after_it(three):
    (line,) = three.told(enquiry(about="damp_store", yes=0.95, anyhow=0.05))
    yes, no = line.answers
    assert (yes.top_source, yes.top_stage) == ("Damp store", "Store")
    assert no.top_source in ("Sweat", "Slow drying")
    assert no.top_stage in ("Transport", "Drying")
    p = three.there["damp_store"]
    assert yes.top_stage_probability == pytest.approx(
        three.source["damp_store"] * 0.95 / (0.95 * p + 0.05 * (1 - p))
    )


def test_the_best_for_its_cost_comes_first_and_of_equals_the_first_by_name(three):
    dear = enquiry("dear", yes=0.99, anyhow=0.01, cost="high")
    cheap = enquiry("cheap", yes=0.7, anyhow=0.2, cost="free")
    same = enquiry("again", yes=0.7, anyhow=0.2, cost="free")
    lines = three.told(dear, cheap, same)
    assert [line.id for line in lines] == ["again", "cheap", "dear"]
    assert lines[0].gain_per_cost > lines[2].gain_per_cost
    assert lines[0].gain_bits < lines[2].gain_bits


def test_what_tells_nothing_is_not_asked(three):
    assert three.told(enquiry(yes=0.2, anyhow=0.2)) == ()
    assert three.told(enquiry(yes=0.201, anyhow=0.2)) == (), "far below 0.0005 bits"


def test_what_is_about_a_fault_or_a_compound_that_cannot_have_made_the_note_is_not_asked(three):
    assert three.told(enquiry(about="dust")) == ()
    assert three.told(enquiry(about="grit", compound=True)) == ()
    assert [line.id for line in three.told(enquiry(about="dust"), enquiry("wet"))] == ["wet"]


def test_with_nothing_traced_nothing_is_asked(one):
    assert one.told(enquiry(), traced=Traced()) == ()


def test_what_the_papers_or_an_answer_have_settled_is_not_asked_again(one):
    wet, log = enquiry("wet"), enquiry("log", settled_by=("logger",))
    assert sorted(one.asks([wet, log])) == ["log", "wet"]
    assert one.asks([wet, log], facts=["logger"]) == ["wet"]
    assert one.asks([wet, log], answers=[("wet", "no")]) == ["log"]


def test_after_a_stop_note_nobody_is_asked_to_smell_or_taste(one):
    smell, paper = enquiry("smell", by_senses=True), enquiry("paper")
    assert sorted(one.asks([smell, paper])) == ["paper", "smell"]
    assert one.asks([smell, paper], stopped=True) == ["paper"]


def test_of_many_questions_the_best_for_their_cost_and_two_that_tell_most_are_worked_out(three):
    # Eight are listed of twelve: ten weak ones for nothing, of which the six best; and two strong ones that cost a hundred times as much.
    weak = [
        enquiry(f"weak_{place:02d}", yes=0.3 + place / 50, anyhow=0.2, cost="free") for place in range(10)
    ]
    strong = [enquiry(f"strong_{yes}", yes=yes, anyhow=0.05, cost="high") for yes in (0.5, 0.55)]
    found = {line.id for line in three.told(*strong, *weak)}
    assert found == {"strong_0.5", "strong_0.55", *(f"weak_{place:02d}" for place in range(4, 10))}


def test_the_quick_score_ranks_tests_of_a_compound_as_the_exact_gain_does(three):
    many = [
        enquiry(f"test_{place}", about="mould", compound=True, yes=0.25 + place / 20, anyhow=0.2)
        for place in range(10)
    ]
    alone = {one.id: three.told(one)[0].gain_bits for one in many if three.told(one)}
    best = sorted(alone, key=lambda name: -alone[name])[:8]
    assert {line.id for line in three.told(*many)} == set(best)


def test_a_question_about_a_whole_stage_is_about_each_of_its_faults(three):
    by_stage = replace_given(enquiry(), stage="transport", faults=())
    (one,), (other,) = three.told(by_stage), three.told(enquiry())
    assert one.gain_bits == pytest.approx(other.gain_bits)


def replace_given(made, **fields):
    (given,) = made.given
    return made.model_copy(update={"given": (given.model_copy(update=fields),)})


def test_an_answer_that_comes_as_often_whatever_is_at_work_changes_nothing(one):
    made = enquiry(yes=0.6, anyhow=0.1)
    (given,) = made.given
    given = given.model_copy(update={"answers": {"yes": 0.6, "no": 0.2, "no_record": 0.2}})
    names = {"yes": "It was", "no": "It was not", "no_record": "Nobody knows"}
    otherwise = {"yes": 0.1, "no": 0.7, "no_record": 0.2}
    (line,) = one.told(made.model_copy(update={"answers": names, "given": (given,), "otherwise": otherwise}))
    silent = next(a for a in line.answers if a.answer == "no_record")
    assert silent.probability == pytest.approx(0.2)
    assert silent.top_stage_probability == pytest.approx(one.source["sweat"])


def test_the_rough_worth_of_a_question_takes_faults_as_independent(one):
    network, share = one.built.network, np.array([[0.4], [0.0]])
    # Absent with its leak, 0.9, and with a fault that is on with 0.4 and then leaves it out with 0.3.
    there = 1 - 0.9 * (1 - 0.4 * 0.7)
    assert _presence(network, share, one.whole.compound["mould"]) == pytest.approx([there, 0.1])
    term = Term(0.5, (("sweat", 3.0),), (("mould", 0.25),))
    found = _roughly(network, one.whole, share, term)
    assert found == pytest.approx([0.5 * (1 + 0.4 * 2) * (1 - there * 0.75), 0.5 * (1 - 0.1 * 0.75)])


def test_of_many_questions_the_best_for_their_cost_and_the_most_telling_are_worked_out(three, monkeypatch):
    monkeypatch.setattr(plan, "EXACT", 2)
    monkeypatch.setattr(plan, "TELLING", 1)
    sure, fair, poor = {"yes": 0.99, "anyhow": 0.01}, {"yes": 0.8, "anyhow": 0.2}, {"yes": 0.5, "anyhow": 0.2}
    dear, cheap, other = (
        enquiry("dear", cost="high", **sure),
        enquiry("cheap", **fair),
        enquiry("other", **poor),
    )
    assert {line.id for line in three.told(other, dear, cheap)} == {"dear", "cheap"}
    same = enquiry("again", **fair)
    assert {line.id for line in three.told(cheap, same, dear)} == {"again", "dear"}
    twice = enquiry("a_dear", cost="high", **sure)
    assert {line.id for line in three.told(cheap, twice, dear)} == {"cheap", "a_dear"}
    assert {line.id for line in three.told(other, cheap)} == {"other", "cheap"}
