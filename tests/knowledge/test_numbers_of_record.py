"""Numbers by which the world names a thing: a mistyped one is refused. CAS numbers as CAS gives them in its examples."""

from __future__ import annotations

import pytest

from tracer.knowledge.numbers_of_record import cas_number, doi_form, fema_number, year_of_print


@pytest.mark.parametrize("good", ["107-07-3", "7732-18-5", "58-08-2", "87-40-1"])
def test_a_cas_number_has_its_check_digit(good):
    # 107-07-3 is the worked example of CAS; water, caffeine and 2,4,6-trichloroanisole from memory.
    assert cas_number(good) == good


@pytest.mark.parametrize("bad", ["107-07-4", "87-04-1", "0-00-0", "caffeine", "7732185"])
def test_a_mistyped_cas_number_is_refused(bad):
    with pytest.raises(ValueError, match="CAS"):
        cas_number(bad)


@pytest.mark.parametrize("bad", ["nonsense", "https://doi.org/10.1021/x", "10.1/x", "10.1021/"])
def test_what_is_no_doi_is_refused(bad):
    with pytest.raises(ValueError, match="DOI"):
        doi_form(bad)


def test_years_and_fema_numbers_must_be_able_to_be():
    assert (year_of_print(1899), fema_number(3433)) == (1899, 3433)
    with pytest.raises(ValueError, match="year"):
        year_of_print(20122)
    with pytest.raises(ValueError, match="FEMA"):
        fema_number(9999999)
