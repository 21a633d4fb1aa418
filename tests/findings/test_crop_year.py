"""A crop year tells that a lot is old, and nothing of one that may be fresh."""

from __future__ import annotations

import calendar
import datetime

import pytest

from tracer.findings.crop_year import months_since
from tracer.lots.read import parse_lot
from tracer.tracing import trace

CUPPED = datetime.date(2026, 3, 30)
SHEET = "lot: A\ncrop: {crop}\ncuppings: [{{on: 2026-03-30, sample: warehouse, cups: 5, tasters: [{{taster: a, notes: [{{note: woody, cups: 4}}]}}]}}]\n"


@pytest.mark.parametrize(
    ("crop", "months"),
    [
        ("2023/24", 18),  # picked by the end of September 2024
        ("23-24", 18),
        ("2023/2024", 18),
        ("2024", 15),  # picked by the end of 2024
        ("2024/25", None),  # six months at least: may be fresh
        ("2025/26", None),
        ("main crop", None),
    ],
)
def test_the_age_is_counted_from_the_last_day_such_a_crop_can_have_been_picked(base, crop, months):
    found = months_since(crop, CUPPED, base.settings.crop_year)
    assert found == (None if months is None else pytest.approx(months, abs=0.2))


@pytest.fixture(scope="module")
def report(base, ready):
    def of(crop):
        lot, issues = parse_lot(SHEET.format(crop=crop), "x.yaml", base)
        assert lot is not None, issues
        return trace(lot, base, ready)

    return of


def past_crop(report):
    return next((source.probability for source in report.sources if source.fault == "past_crop"), 0.0)


def test_an_old_crop_speaks_for_past_crop_and_a_new_one_is_told_as_not_weighed(report):
    old, new = report("2023/24"), report("2025/26")
    assert past_crop(old) > 1.5 * past_crop(new)
    assert not [one for one in old.not_weighed if one.kind == "crop"]
    assert [str(one.what) for one in new.not_weighed if one.kind == "crop"] == ["crop 2025/26"]


def test_a_month_is_a_twelfth_of_a_year_of_365_and_a_quarter_days(base):
    law = base.settings.crop_year
    month = law.last_month["one"]
    last = datetime.date(2000, month, calendar.monthrange(2000, month)[1])
    cupped = last + datetime.timedelta(days=9131)
    # 25 years of 365.25 days are 9131 days.
    assert months_since("2000", cupped, law) == 300.0
    early = last + datetime.timedelta(days=round(law.tells_from * 365.25 / 12) + 1)
    assert months_since("2000", early, law) == pytest.approx(law.tells_from, abs=0.1)
    assert months_since("2000", early - datetime.timedelta(days=3), law) is None
