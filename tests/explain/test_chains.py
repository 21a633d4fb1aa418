"""The chain that carries a source to the cups, on knowledge written here: a link is often (0.5) or rarely (0.05), a swap of words 0.15."""

from __future__ import annotations

from types import SimpleNamespace

from tests.findings.build import settings, strength
from tracer.explain.chains import _basis, chain, missing
from tracer.knowledge.strength import Citation, Strength

OFTEN, RARELY = strength(band="often"), strength(band="rarely")
PAPER = (Citation.model_validate({"source": "paper", "read": "seen"}),)


def causes(compound, how, cites=()):
    return SimpleNamespace(compound=compound, strength=how, spread="throughout", cites=cites)


def compound(label, **notes):
    evokes = [SimpleNamespace(descriptor=name, strength=how, cites=()) for name, how in notes.items()]
    return SimpleNamespace(label=label, evokes=evokes)


def base(faults, compounds, swapped=()):
    """`swapped` are pairs of notes whose words tasters swap."""
    pairs = [*swapped, *((b, a) for a, b in swapped)]
    names = {"musty", "earthy", "smoky", "woody"}
    made = settings().model_copy(update={"tasters": SimpleNamespace(confusion=SimpleNamespace(best=0.15))})
    return SimpleNamespace(
        settings=made,
        faults={"damp": SimpleNamespace(label="kept damp", causes=faults, cites=PAPER)},
        compounds=compounds,
        descriptors={name: SimpleNamespace(label=name.title()) for name in names},
        swapped=lambda name: tuple(other for one, other in pairs if one == name),
    )


def links(found):
    return [(one.cause, one.effect) for one in found]


def test_a_chain_runs_from_the_fault_over_the_compound_to_the_note_that_was_reported():
    known = base([causes("tca", OFTEN)], {"tca": compound("TCA", musty=RARELY, earthy=OFTEN)})
    found = chain(known, "damp", ("musty",))
    assert links(found) == [("kept damp", "TCA"), ("TCA", "Musty")]
    assert [one.strength for one in found] == ["throughout, often, judgement", "rarely, judgement"]
    assert [one.basis for one in found] == ["judgement", "judgement"]


def test_a_link_without_sources_of_its_own_rests_on_those_of_the_fault():
    own = (Citation.model_validate({"source": "own", "read": "memory"}),)
    compounds = {"tca": compound("TCA", musty=OFTEN)}
    assert chain(base([causes("tca", OFTEN)], compounds), "damp", ("musty",))[0].sources == ("paper",)
    assert chain(base([causes("tca", OFTEN, own)], compounds), "damp", ("musty",))[0].sources == (
        "own (memory)",
    )


def test_a_compound_that_reaches_no_reported_note_is_left_out():
    known = base(
        [causes("smoke", OFTEN), causes("tca", OFTEN)],
        {"smoke": compound("Smoke", smoky=OFTEN), "tca": compound("TCA", musty=OFTEN)},
    )
    assert links(chain(known, "damp", ("musty",))) == [("kept damp", "TCA"), ("TCA", "Musty")]
    assert chain(known, "damp", ("woody",)) == ()


def test_the_strongest_carrier_comes_first():
    # Weight of a carrier: P(compound | fault) times the largest P(note | compound): 0.05 x 0.5 against 0.5 x 0.5, ...
    two = {"weak": compound("Weak", musty=OFTEN), "strong": compound("Strong", musty=OFTEN)}
    known = base([causes("weak", RARELY), causes("strong", OFTEN)], two)
    assert [one.effect for one in chain(known, "damp", ("musty",))][::2] == ["Strong", "Weak"]
    # ... and 0.5 x 0.05 against 0.5 x 0.5, though the weak one carries two notes.
    two = {"weak": compound("Weak", musty=RARELY, earthy=RARELY), "strong": compound("Strong", musty=OFTEN)}
    known = base([causes("weak", OFTEN), causes("strong", OFTEN)], two)
    assert links(chain(known, "damp", ("musty", "earthy")))[0] == ("kept damp", "Strong")
    # The best of its notes counts, not the worst.
    two = {"one": compound("One", earthy=OFTEN, musty=RARELY), "other": compound("Other", musty=RARELY)}
    known = base([causes("other", OFTEN), causes("one", OFTEN)], two)
    assert links(chain(known, "damp", ("musty", "earthy")))[0] == ("kept damp", "One")


def test_a_link_counts_by_its_best_figure_and_not_by_how_strong_it_might_be():
    # Of unknown strength: 0.35, perhaps 0.9; often: 0.5, at most 0.6.
    unknown = strength(unknown=True)
    two = {"open": compound("Open", musty=OFTEN), "sure": compound("Sure", musty=OFTEN)}
    known = base([causes("open", unknown), causes("sure", OFTEN)], two)
    assert links(chain(known, "damp", ("musty",)))[0] == ("kept damp", "Sure")
    assert missing(base([causes("open", unknown)], two), "damp", (), ()) == ()
    two = {"open": compound("Open", musty=unknown), "sure": compound("Sure", musty=OFTEN)}
    known = base([causes("open", OFTEN), causes("sure", OFTEN)], two)
    assert links(chain(known, "damp", ("musty",)))[0] == ("kept damp", "Sure")
    assert missing(base([causes("open", OFTEN)], two), "damp", (), ()) == ()


def test_a_note_may_be_carried_under_the_name_of_one_it_is_taken_for():
    known = base([causes("tca", OFTEN)], {"tca": compound("TCA", musty=OFTEN)}, [("musty", "earthy")])
    found = chain(known, "damp", ("earthy",))
    assert links(found) == [("kept damp", "TCA"), ("TCA", "Earthy")]
    assert (found[1].strength, found[1].basis, found[1].sources) == ("taken for Musty", "judgement", ())


def test_of_two_ways_to_a_note_the_stronger_is_told():
    # Its own word rarely: 0.05; by a swap 0.5 x 0.15 = 0.075.
    swaps = [("musty", "earthy")]
    known = base([causes("tca", OFTEN)], {"tca": compound("TCA", musty=OFTEN, earthy=RARELY)}, swaps)
    assert chain(known, "damp", ("earthy",))[1].strength == "taken for Musty"
    known = base([causes("tca", OFTEN)], {"tca": compound("TCA", musty=OFTEN, earthy=OFTEN)}, swaps)
    assert chain(known, "damp", ("earthy",))[1].strength == "often, judgement"


def test_notes_it_would_usually_make_are_told_with_whether_anybody_looked():
    # From a chance of 0.5 x 0.5 that the fault makes it: often and often is just enough.
    compounds = {"tca": compound("TCA", musty=OFTEN, earthy=OFTEN, smoky=RARELY, woody=OFTEN)}
    known = base([causes("tca", OFTEN)], compounds)
    assert missing(known, "damp", ("musty",), ("woody",)) == (
        "Earthy (not looked for)",
        "Woody (looked for, not found)",
    )
    assert missing(base([causes("tca", RARELY)], compounds), "damp", (), ()) == ()


def test_a_note_missing_by_two_compounds_is_told_once():
    two = {"one": compound("One", musty=OFTEN), "other": compound("Other", musty=OFTEN)}
    known = base([causes("one", OFTEN), causes("other", OFTEN)], two)
    assert missing(known, "damp", (), ()) == ("Musty (not looked for)",)


def test_a_link_of_unknown_strength_rests_on_nothing_known():
    assert _basis(Strength(unknown=True)) == "unknown"
    assert _basis(None) == "unknown"
