"""One lot's evidence: what is weighed, in which order, and what is left out where the tables would grow too large."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tracer.findings.weigh import Sign
from tracer.inference.assemble import for_lot
from tracer.inference.chain import chain_of
from tracer.inference.evidence import weigh
from tracer.inference.reports import likelihood
from tracer.inference.said import fill_in, said_at
from tracer.knowledge.scale import Range
from tracer.lots.observations import hear
from tracer.lots.read import parse_lot


def cups(*notes, rest="", **fields):
    given = ", ".join(notes)
    told = "".join(f", {name}: {value}" for name, value in fields.items())
    return (
        "lot: A\ncuppings:\n  - {sample: arrival, cups: 5, tasters: [{taster: a, language: en, notes: ["
        + given
        + "]"
        + told
        + "}]}\n"
        + rest
    )


def note(name, count=None):
    return f"{{note: {name}}}" if count is None else f"{{note: {name}, cups: {count}}}"


def limited(base, words=None, **limits):
    settings = base.settings
    settings = settings.model_copy(update={"limits": settings.limits.model_copy(update=limits)})
    if words is not None:
        settings = settings.model_copy(update={"words": settings.words.model_copy(update={"most": words})})
    return replace(base, settings=settings)


class Weigher:
    def __init__(self, base, ready, text, **changes):
        self.base = base
        lot, issues = parse_lot(text, "lot.yaml", base)
        assert lot is not None, issues
        self.lot = replace(lot, **changes)
        self.chain = chain_of(self.lot, base)
        self.whole = ready.plan.of(self.chain)
        self.heard = hear(self.lot, ready.vocabulary, 5)

    def __call__(self, network=None, tested=None, **more):
        network = self.whole.network if network is None else network
        return weigh(self.base, self.whole, self.chain, network, self.heard, self.lot, tested or {}, **more)

    def node(self, name, event=0):
        return self.whole.heard[name, event]

    def vector(self, name, event=0):
        said = said_at(self.base, self.chain, self.heard)
        fill_in(self.base, self.chain, said, self.heard, self.lot, [name])
        return likelihood(said[name, event], self.base.settings.tasters, self.base.settings.cups)


@pytest.fixture
def of(base, ready):
    def made(text, known=base, **changes):
        return Weigher(known, ready, text, **changes)

    return made


FOUR = cups(note("musty", 3), note("smoky", 2), note("earthy"), note("rubbery", 1))


def test_every_note_found_is_weighed_as_its_reports_say_and_traced(of):
    lot = of(FOUR)
    found = lot()
    assert found.reported == ("musty", "smoky", "earthy", "rubbery")
    assert found.present_left_out == ()
    for name in found.reported:
        assert found.vectors[name] == (lot.node(name),)
        assert found.evidence.heard[lot.node(name)] == pytest.approx(lot.vector(name))
    assert found.traced.heard == {lot.node(name) for name in found.reported}
    assert found.traced.signs == frozenset()


def test_the_loudest_notes_are_weighed_first_and_one_without_a_count_is_half_a_cup(of, base):
    found = of(FOUR, limited(base, present_weighed=3))()
    assert set(found.reported) == {"musty", "smoky", "rubbery"}
    assert found.present_left_out == ("earthy",)
    found = of(FOUR, limited(base, present_weighed=1))()
    assert found.reported == ("musty",)
    assert found.present_left_out == ("smoky", "rubbery", "earthy")


def test_two_tasters_make_a_note_louder(of, base):
    text = FOUR.replace("]}\n", "]}\n").replace(
        "}]}]}", "}]}, {taster: b, language: en, notes: [{note: smoky, cups: 2}]}]}"
    )
    assert of(text, limited(base, present_weighed=1))().reported == ("smoky",)


def test_a_note_in_all_of_two_cups_is_louder_than_in_three_of_five(of, base):
    text = cups(note("musty", 3), "{note: smoky, cups: 2, of: 2}")
    assert of(text, limited(base, present_weighed=1))().reported == ("smoky",)


def test_a_doubtful_note_is_weighed_and_not_traced(of):
    lot = of(cups(note("musty", 3), '{note: "maybe smoky", cups: 2}'))
    found = lot()
    assert lot.node("smoky") in found.evidence.heard
    assert found.traced.heard == {lot.node("musty")}


def test_notes_that_were_looked_for_are_weighed_by_how_much_they_bear(of, base):
    text = cups(note("musty", 3), checked_all="yes")
    few, more, none = (
        of(text, limited(base, absent_weighed=count, largest_table=19.0))() for count in (3, 5, 0)
    )
    assert (len(few.absent), len(more.absent), none.absent) == (3, 5, ())
    assert more.absent[:3] == few.absent
    assert {*few.absent, *few.absent_apart} == {*more.absent, *more.absent_apart} == set(none.absent_apart)
    assert few.absent_apart[:2] == more.absent[3:]
    assert "musty" not in few.absent_apart
    lot = of(text)
    for name in few.absent:
        assert few.evidence.heard[lot.node(name)] == pytest.approx(lot.vector(name))
        assert few.vectors[name] == (lot.node(name),)
    # What bears more on the compounds of the faults in question comes first.
    structure, law = lot.whole.network.structure, lot.whole.network.numbers.note
    making = {c for c, n in structure.note_links if structure.notes[n].startswith("musty@")}
    faults = {f for f, c in structure.fault_links if c in making}
    near = {c for f, c in structure.fault_links if f in faults}
    bearing = {}
    for link, (compound, place) in enumerate(structure.note_links):
        if compound in near:
            name = structure.notes[place].partition("@")[0]
            bearing[name] = max(bearing.get(name, 0), 1 - law[0, link, -1, 0])
    order = [bearing[name] for name in (*few.absent, *few.absent_apart)]
    assert order == sorted(order, reverse=True)


def test_a_note_denied_by_name_comes_before_those_only_ticked_and_those_not_asked(of, base):
    ticked = of(
        cups(note("musty", 3), checked_all="yes"), limited(base, absent_weighed=1, largest_table=19.0)
    )()
    last = "fishy"
    assert last in ticked.absent_apart[5:]
    named = of(
        cups(note("musty", 3), checked_all="yes", not_found=f"[{{note: {last}}}]"),
        limited(base, absent_weighed=1, largest_table=19.0),
    )()
    assert named.absent == (last,)
    unasked = of(cups(note("musty", 3)))()
    assert (unasked.absent, unasked.absent_apart, unasked.absent_left_out) == ((), (), 0)
    only = of(cups(note("musty", 3), not_found=f"[{{note: {last}}}]"))()
    assert (only.absent, only.absent_apart) == ((last,), ())


def test_what_was_not_asked_speaks_a_little_against_what_would_be_named(of):
    lot = of(cups(note("musty", 3)))
    found = lot()
    assert found.evidence.compounds
    assert all(one.max() == pytest.approx(1.0) for one in found.evidence.compounds.values())
    assert found.quiet.max() <= 1 + 1e-12
    assert found.quiet.min() < 1
    prior = lot.whole.network.numbers.prior[0]
    odds = prior / (1 - prior) * found.quiet
    assert found.network.numbers.prior[0] == pytest.approx(odds / (1 + odds))
    assert found.spoken.numbers.prior[0] == pytest.approx(prior)


def test_notes_of_other_lots_that_share_something_are_weighed_here_as_not_found(of):
    lot = of(cups(note("musty", 3)))
    found = lot(elsewhere=("petroleum_fuel", "musty"))
    assert found.absent == ("petroleum_fuel",)
    assert found.vectors["petroleum_fuel"] == (lot.node("petroleum_fuel"),)
    assert found.absent_apart == ()
    assert found.reported == ("musty",)


def test_an_absent_note_that_no_source_in_question_makes_is_counted_as_left_out(of, base):
    lot = of(cups(note("musty", 3), checked_all="yes"))
    found = lot()
    assert found.absent_left_out == len(base.descriptors) - 1 - len(found.absent) - len(found.absent_apart)


# Signs.


def test_a_sign_is_as_sure_as_its_trust(of):
    lot = of(cups(note("musty", 3)))
    fault = next(iter(lot.whole.fault))
    signs = tuple(Sign(name, Range(0.05, 0.1, 0.2), ((fault, Range(0.4, 0.5, 0.6)),)) for name in ("a", "b"))
    network = for_lot(lot.base, lot.whole, (), {}, signs)
    found = lot(network, trust={"a": 0.8})
    assert {number: vector.tolist() for number, vector in found.evidence.signs.items()} == {
        0: pytest.approx([0.2, 1.0]),
        1: [0.0, 1.0],
    }
    assert lot(network).evidence.signs[0].tolist() == [0.0, 1.0]
    assert found.traced.signs == frozenset()
    damaged = lot(network, damaged=frozenset({"b"}))
    assert damaged.traced.signs == frozenset()
    silent = of("lot: A\ncuppings: []\n")
    network = for_lot(silent.base, silent.whole, (), {}, signs)
    assert silent(network, damaged=frozenset({"b"})).traced.signs == {1}
    assert not silent(network).traced


def test_a_smell_of_the_green_is_there_or_not(of, ready):
    lot = of(cups(note("musty", 3), rest="green: {green_smells_musty: yes, green_smells_smoky: no}\n"))
    found = lot()
    assert found.smelled
    assert {number: tuple(found.evidence.signs[number]) for number in found.smelled} == {
        number: (0.0, 1.0) if smell.found else (1.0, 0.0) for number, smell in found.smelled.items()
    }
    assert found.traced.signs == {number for number, smell in found.smelled.items() if smell.found}


# The laboratory.


def test_what_the_laboratory_found_is_traced_where_nothing_was_tasted(of):
    raised = "laboratory: [{compound: tca, result: raised}]\n"
    silent = of("lot: A\ncuppings: []\n" + raised)()
    assert silent.traced.heard or silent.traced.signs
    lot = of(cups(note("musty", 3), rest=raised))
    assert lot().traced.heard == {lot.node("musty")}
    tested = next(iter(lot.whole.compound))
    assert lot(tested={tested: 4.0}).tests or lot(tested={tested: 4.0}).evidence.heard


# A comparison taken unread.


def test_a_comparison_that_a_machine_took_unread_says_less(of, base):
    text = cups(note("musty", 3), rest="comparisons: [{with: earlier_sample, shows: clean}]\n")
    sure, unread = of(text), of(text, drafted="first_unread")
    node = next(
        sure.whole.heard[key]
        for key in sure.whole.heard
        if key[0] == "musty" and sure.chain.events[key[1]].kind == "comparison"
    )
    said, doubted = sure().evidence.heard[node], unread().evidence.heard[node]
    right = base.settings.unread.right
    assert doubted == pytest.approx(right * said + (1 - right) * said.max())
    assert unread().evidence.heard[unread.node("musty")] == pytest.approx(
        sure().evidence.heard[sure.node("musty")]
    )


# Open words.

OPEN = cups(note("musty", 3), "{note: sewer, cups: 1}", "{note: wet dog, cups: 2}")
FIVE = cups(
    note("earthy", 3),
    *(f"{{note: {word}, cups: 2}}" for word in ("sewer", "wet dog", "cellar", "chemical", "old")),
)


def test_words_of_several_meanings_are_weighed_and_what_they_may_mean_is_traced(of, base):
    lot = of(OPEN)
    found = lot()
    assert [word.words for word in found.words.values()] == ["sewer", "wet dog"]
    assert set(found.words) == set(found.evidence.words)
    for number, word in found.words.items():
        assert found.evidence.words[number] is word.reports
    assert found.words_left_out == ()
    least = base.settings.cautions.perhaps
    meant = {
        lot.node(name, word.event)
        for word in found.words.values()
        for name, share in word.shares
        if share >= least
    }
    assert found.traced.heard == meant | {lot.node("musty")}
    assert any(share < least for word in found.words.values() for _, share in word.shares) or len(meant) >= 4


def test_every_word_beyond_the_most_that_are_weighed_is_told(of, base):
    found = of(FIVE)()
    assert len(found.words) <= base.settings.words.most == 4
    weighed = {word.words for word in found.words.values()}
    assert weighed | set(found.words_left_out) == {"sewer", "wet dog", "cellar", "chemical", "old"}
    assert not weighed & set(found.words_left_out)
    none = of(FIVE, limited(base, words=0))()
    assert (none.words, len(none.words_left_out)) == ({}, 5)


# Tables that grow too large.


def test_where_tables_grow_too_large_absent_notes_go_first_then_words_then_the_faintest_note(of, base):
    text = cups(
        note("musty", 3),
        note("smoky", 1),
        "{note: sewer, cups: 1}",
        "{note: wet dog, cups: 2}",
        checked_all="yes",
    )
    sizes = [one / 2 for one in range(40, 2, -1)]
    before = None
    seen = []
    for size in sizes:
        found = of(text, limited(base, largest_table=size))()
        state = (len(found.absent), len(found.words), len(found.reported))
        seen.append(state)
        if before is not None:
            assert all(now <= then for now, then in zip(state, before, strict=True))
            if state[1] < before[1] or state[2] < before[2]:
                assert state[0] == 0
            if state[2] < before[2]:
                assert state[1] == 0
        before = state
        assert len(found.reported) >= 1
    assert seen[0][0] > 0
    assert seen[-1][:2] == (0, 0)
    last = of(FOUR, limited(base, largest_table=0.0))()
    assert last.reported == ("musty",)
    assert last.present_left_out == ("smoky", "rubbery", "earthy")
    assert last.traced.heard == set(last.vectors["musty"])


def test_room_is_kept_free_of_notes_that_nobody_found(of, base):
    text = cups(note("musty", 3), note("smoky", 2), note("earthy", 1), checked_all="yes")
    for size in (8.0, 10.0, 12.0, 14.0):
        found = of(text, limited(base, largest_table=size))()
        from tracer.inference.skeleton import skeleton

        largest = skeleton(found.spoken, found.evidence, found.traced).order.log2_largest
        assert largest <= (size - 2 if found.absent else size) or len(found.evidence.heard) == 1
