"""Parts of a lot, and other coffees, that a sentence says are clean or the same, in whatever words: invented sentences, ten languages."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="module")
def compared(ready):
    def found(language, text):
        return {
            (proposal.target, proposal.value)
            for read in ready.reader.message(text, language)
            for statement in read.statements
            for proposal in statement.proposals
            if proposal.kind == "comparison" and proposal.sure
        }

    return found


@pytest.mark.parametrize(
    ("language", "text", "wanted"),
    [
        ("en", "Vats 3 and 7 are spotless.", ("other_tank", "clean")),
        ("en", "The remaining drums cupped clean.", ("other_bag", "clean")),
        ("en", "Blocks 2 and 6 = 84.25", ("other_farm", "clean")),
        ("en", "Re-roasted on Friday, and it is still there.", ("roasted_elsewhere", "same")),
        ("es", "Las otras parcelas salieron bien.", ("other_farm", "clean")),
        ("es", "De la pila 9, cero en 40 tazas.", ("other_tank", "clean")),
        ("pt", "As outras tulhas: sem defeito.", ("other_store", "clean")),
        ("fr", "Cuves 2 et 5 : rien à signaler.", ("other_tank", "clean")),
        ("fr", "Avec de l'eau minérale, pareil.", ("brewed_elsewhere", "same")),
        ("de", "Die übrigen Säcke sind einwandfrei.", ("other_bag", "clean")),
        ("it", "Le altre vasche sono a posto.", ("other_tank", "clean")),
        ("id", "Kontainer lain bersih.", ("other_container", "clean")),
        ("vi", "Các hộ còn lại đều sạch.", ("other_farm", "clean")),
        ("ja", "他のタンクは問題なし。", ("other_tank", "clean")),
        ("am", "ሌሎች ከረጢት ንጹህ", ("other_bag", "clean")),
    ],
)
def test_a_part_that_is_clean_is_a_comparison(language, text, wanted, compared):
    assert wanted in compared(language, text)


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "The other bags are not clean."),
        ("en", "Tanks 3 and 7 are musty."),
        ("en", "The bags were clean."),
        ("en", "Are the other bags clean?"),
        ("es", "Las pilas 1 y 2 huelen a moho."),
        ("de", "Die anderen Säcke sind nicht sauber."),
    ],
)
def test_what_is_denied_or_asked_or_no_part_or_has_the_note_is_none(language, text, compared):
    assert not {one for one in compared(language, text) if one[1] == "clean"}


def test_a_confirmed_one_counts_as_the_line_of_a_sheet(base, ready):
    from tracer.findings.gathered import gather
    from tracer.lots.read import parse_lot

    text = (
        "lot: A\nsaid: [{by: a, language: en, text: 'Vats 3 and 7 are spotless.', "
        "confirmed: [sibling_other_tank_clean]}]\n"
    )
    lot, issues = parse_lot(text, "a.yaml", base)
    assert lot, issues
    (one,) = gather(lot, base, ready, "plain").lot.comparisons
    assert (one.with_, one.shows) == ("other_tank", "clean")


def test_what_is_said_further_of_a_clean_part_is_no_off_note_of_the_lot(ready):
    def sure(text):
        (read,) = ready.reader.message(text, "en")
        return {p.target for s in read.statements for p in s.proposals if p.kind == "note" and p.sure}

    assert "cereal_bready" not in sure("Blocks 1 and 2 clean, cereal, cocoa, 5 of 5 cups")
    assert "musty" in sure("Blocks 1 and 2 clean, but 3 is musty in 4 of 5 cups")
    assert "musty" in sure("Tanks 1 and 2 clean, tank 3 musty in 4 of 5 cups")


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "The file sample cupped again is clean, same as in March."),
        ("en", "Retained sample clean, the same as always."),
        ("es", "La muestra retenida sale limpia, igual que en marzo."),
    ],
)
def test_a_coffee_that_is_clean_is_as_it_was_and_not_as_the_lot_is(compared, language, text):
    assert ("retained_sample", "clean") in compared(language, text)
    assert ("retained_sample", "same") not in compared(language, text)


def test_the_container_that_two_lots_share_is_no_other_container(compared):
    found = compared("en", "Lot 78 was in the same container and they say nothing wrong with that one.")
    assert not [one for one in found if one[0] == "other_container"]
    assert ("other_container", "clean") in compared("en", "Container 2 is clean.")


@pytest.mark.parametrize(
    ("text", "met"),
    [
        ("There is no wood fire anywhere near.", False),
        ("There is a wood fire near the patio.", True),
        ("Nothing else in the store, no onions beside it.", False),
        ("It stood beside onions in the store.", True),
    ],
)
def test_a_material_that_is_denied_did_not_meet_the_coffee(ready, text, met):
    kinds = [one.kind for read in ready.reader.message(text, "en") for one in read.proposals if one.sure]
    assert ("contact" in kinds) == met
