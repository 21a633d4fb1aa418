"""Invented seasons of rows: who handled each lot, when, and which lots are troubled, with and without shared causes."""

from __future__ import annotations

import datetime
import random
from collections.abc import Callable
from dataclasses import replace

from tracer.knowledge.base import KnowledgeBase
from tracer.render.season_screen import screen
from tracer.season.lots import SeasonLot, week_of
from tracer.season.season import season as worked_out

EXPORTERS, LOTS, START = 12, 400, datetime.date(2026, 1, 5)
BACKGROUND = {
    "harvest": 0.02,
    "processing": 0.03,
    "drying": 0.03,
    "dry_milling": 0.01,
    "transport": 0.02,
    "cupping_lab": 0.02,
}
"""Share of lots with trouble of their own, by stage."""
REACH = 0.75
"""Share of the lots of a place with a cause that it reaches."""


def season(
    seed: int, planted: bool = False, mistraced: float = 0.0, lots: int = LOTS
) -> tuple[list[SeasonLot], dict[str, tuple[str, str]]]:
    """Lots of a season, and of every planted cause its stage -> (place, week).

    `mistraced` is the share of troubled lots whose trace names a stage at random.
    """
    dice = random.Random(seed)
    rows = [_lot(dice, number) for number in range(lots)]
    rows = _in_containers(rows, dice)
    rows = [_own_trouble(row, dice, mistraced) for row in rows]
    causes: dict[str, tuple[str, str]] = {}
    if planted:
        keys: dict[str, Callable[[SeasonLot], tuple[str, str]]] = {
            "transport": lambda row: (row.at("transport")[0], ""),
            "dry_milling": lambda row: (row.at("dry_milling")[0], week_of(dict(row.days)["dry_milling"])),
            "cupping_lab": lambda row: (row.tables[0][0], week_of(row.tables[0][1])),
        }
        for stage, key in keys.items():
            sizes: dict[tuple[str, str], int] = {}
            for row in rows:
                sizes[key(row)] = sizes.get(key(row), 0) + 1
            cause = causes[stage] = dice.choice(sorted(one for one, size in sizes.items() if size >= 9))
            rows = [
                _troubled(row, stage, dice, mistraced) if key(row) == cause and dice.random() < REACH else row
                for row in rows
            ]
    return rows, causes


def _lot(dice: random.Random, number: int) -> SeasonLot:
    """Exporters have one to three mills, some of them shared; a lot is milled, shipped weeks later, and cupped on one of two benches."""
    exporter = dice.randrange(EXPORTERS)
    mill = dice.choice([exporter, (exporter + 1) % EXPORTERS, (exporter * 5 + 3) % EXPORTERS])
    milled = START + datetime.timedelta(days=dice.randrange(10 * 7))
    return SeasonLot(
        f"L-{number:03}",
        f"L-{number:03}.yaml",
        f"Exporter {exporter + 1}",
        f"Country {exporter % 5 + 1}",
        (("harvest", f"Station {exporter * 4 + dice.randrange(4)}"), ("dry_milling", f"Mill {mill // 2}")),
        (("dry_milling", milled),),
        tasted=True,
    )


def _in_containers(rows: list[SeasonLot], dice: random.Random) -> list[SeasonLot]:
    """Containers take 10 to 16 lots of one exporter in the order they were milled; a container is cupped within three weeks."""
    done, waiting = [], sorted(rows, key=lambda row: (row.exporter, row.days[0][1]))
    number = 0
    while waiting:
        size = dice.randint(10, 16)
        load = [row for row in waiting[:size] if row.exporter == waiting[0].exporter]
        waiting, number = waiting[len(load) :], number + 1
        arrived = load[-1].days[0][1] + datetime.timedelta(days=42)
        for row in load:
            cupped = arrived + datetime.timedelta(days=dice.randrange(21))
            table = (dice.choice(("large room", "small room")), cupped)
            passed = (*row.passed, ("transport", f"container {number}"))
            done.append(replace(row, passed=passed, tables=(table,), cupped=cupped))
    return sorted(done, key=lambda row: row.lot)


def _own_trouble(row: SeasonLot, dice: random.Random, mistraced: float) -> SeasonLot:
    for stage, share in BACKGROUND.items():
        if dice.random() < share:
            return _troubled(row, stage, dice, mistraced)
    return row


def _troubled(row: SeasonLot, true: str, dice: random.Random, mistraced: float) -> SeasonLot:
    """A trace names the true stage most often, not always."""
    stage = dice.choice(list(BACKGROUND)) if dice.random() < mistraced else true
    return replace(
        row,
        troubled=True,
        stage=stage,
        source=f"something_at_{stage}",
        label=f"something at {stage}",
        verdict="source_supported",
    )


def shown(seed: int, base: KnowledgeBase, width: int = 110) -> list[str]:
    """Lines of the screen of a season with planted causes."""
    from rich.console import Console

    found = worked_out(season(seed, planted=True)[0], base, datetime.date(2026, 3, 1))
    console = Console(width=width, color_system=None, markup=False, highlight=False, emoji=False)
    with console.capture() as capture:
        console.print(screen(found, "exporter"))
    return [line.rstrip() for line in capture.get().splitlines()]
