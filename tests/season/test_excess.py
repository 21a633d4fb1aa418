"""Shared causes planted in invented seasons are told, each once and by its narrowest group; chance is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.season.simulate import season
from tracer.season.look import look
from tracer.season.lots import SeasonLot


def told(lots, base):
    return [{(one.name, one.when) for one in each.group.shared} for each in look(lots, base).found]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_of_400_lots_with_three_planted_causes_all_three_are_told_and_nothing_else(base, seed):
    lots, causes = season(seed, planted=True)
    assert len(lots) == 400
    assert len({lot.exporter for lot in lots}) == 12
    found = told(lots, base)
    assert len(found) == 3
    assert all(any(cause in names for names in found) for cause in causes.values())


def test_where_a_third_of_the_traces_name_a_wrong_stage_most_is_told_and_nothing_else(base):
    for seed in (1, 2, 3):
        lots, causes = season(seed, planted=True, mistraced=0.3)
        found = told(lots, base)
        assert len(found) >= 2
        assert all(names & set(causes.values()) for names in found)


def test_seasons_without_a_cause_show_one_less_often_than_the_limit(base):
    # 40 seasons at 5 %: more than 6 false alarms have a chance of 0.4 % (binomial). All 200: python -m tests.season.
    assert sum(bool(look(season(seed)[0], base).found) for seed in range(40)) <= 6


def lot(number: int, troubled: bool, stage: str = "transport", **more: object) -> SeasonLot:
    row = SeasonLot(f"L-{number}", "sheet", tasted=True, troubled=troubled, stage=stage if troubled else "")
    return replace(row, **more)  # type: ignore[arg-type]


def test_a_bad_container_is_told_and_not_the_exporter_it_came_from(base):
    lots = [
        lot(
            n,
            n < 9 or n in (20, 40),
            exporter="Cold Spring" if n < 30 else "Far Ridge",
            passed=(("transport", f"box {n // 10}"),),
        )
        for n in range(80)
    ]
    assert told(lots, base) == [{("box 0", "")}]


def test_a_bad_exporter_is_told_and_not_one_of_its_containers(base):
    lots = [
        lot(
            n,
            n % 2 == 0 if n < 40 else n % 21 == 0,
            "dry_milling",
            exporter="Cold Spring" if n < 40 else f"Other {n % 5}",
            passed=(("transport", f"box {n // 10}"),),
        )
        for n in range(160)
    ]
    assert told(lots, base) == [{("Cold Spring", "")}]


def test_an_exporter_with_two_causes_is_told_as_the_two(base):
    def bad(n: int) -> bool:
        return n < 9 or 20 <= n < 29 or n in (55, 77, 99)

    lots = [
        lot(
            n,
            bad(n),
            exporter="Cold Spring" if n < 40 else f"Other {n % 5}",
            passed=(("transport", f"box {n // 10}"),),
        )
        for n in range(160)
    ]
    assert sorted(map(sorted, told(lots, base))) == [[("box 0", "")], [("box 2", "")]]


def test_what_exactly_the_same_lots_share_is_told_together(base):
    lots = [
        lot(
            n,
            n < 8 or n == 33,
            passed=(("transport", f"box {n // 10}"), ("origin_storage", f"shed {n // 10}")),
        )
        for n in range(100)
    ]
    assert told(lots, base) == [{("box 0", ""), ("shed 0", "")}]


def test_where_every_lot_is_troubled_the_stage_it_was_traced_to_still_tells(base):
    lots = [
        lot(
            n,
            True,
            "transport" if n < 10 or n % 17 == 0 else "drying",
            passed=(("transport", f"box {n // 10}"),),
        )
        for n in range(100)
    ]
    assert told(lots, base) == [{("box 0", "")}]


def test_lots_that_nobody_tasted_are_not_compared(base):
    lots = [lot(n, n < 9, passed=(("transport", f"box {n // 10}"),), tasted=n >= 10) for n in range(80)]
    assert told(lots, base) == []


def test_a_season_without_any_trouble_or_any_lot_tells_nothing(base):
    assert told([lot(n, False, exporter=f"Other {n % 3}") for n in range(30)], base) == []
    assert told([], base) == []
