"""How often the season finds what was planted, and how often it finds what is not there: `python -m tests.season`."""

from __future__ import annotations

import time

from tests.season.simulate import season
from tracer.knowledge.cache import load_cached
from tracer.season.look import look

SEASONS = 200


def main() -> None:
    """Print both, over so many seasons of 400 lots from 12 exporters."""
    base = load_cached()
    found = false = alarms = names = 0
    start = time.perf_counter()
    for seed in range(SEASONS):
        alarms += bool(look(season(seed)[0], base).found)
    between = time.perf_counter()
    for seed in range(SEASONS):
        lots, causes = season(seed, planted=True)
        told = [{(one.name, one.when) for one in each.group.shared} for each in look(lots, base).found]
        hits = [cause for cause in causes.values() if any(cause in one for one in told)]
        found, names = found + len(hits), names + (len(hits) == 3 and len(told) == 3)
        false += any(not one & set(causes.values()) for one in told)
    end = time.perf_counter()
    print(
        f"{SEASONS} seasons without a shared cause: {alarms} with a false alarm; {(between - start) / SEASONS:.2f} s a season"
    )
    print(
        f"{SEASONS} seasons with three: {found} of {3 * SEASONS} causes told, all three and nothing else in {names}; "
        f"another group told in {false}; {(end - between) / SEASONS:.2f} s a season"
    )


if __name__ == "__main__":
    main()
