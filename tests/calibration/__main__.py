"""`python -m tests.calibration [LOTS]` prints how far probabilities and verdicts can be taken at their word."""

from __future__ import annotations

import sys

from tests.calibration.score import Outcome, simulate
from tracer.knowledge.load import load_or_fail
from tracer.tracing import prepare

WAYS = (
    ("cups, whole list looked for", True, 0, False),
    ("cups, only what was found was named", False, 0, False),
    ("cups and 12 answers, whole list looked for", True, 12, False),
    ("the same, every strength another within its range", True, 12, True),
)


def show(one: Outcome) -> None:
    """Print one way of simulating."""
    print(
        f"\n{one.name}: {one.lots:,} lots, {one.with_notes:,} with a note; Brier {one.brier:.3f}, mean error of a probability {one.error:.3f}"
    )
    print(f"  {'given':>12} {'sources':>8} {'mean given':>11} {'true':>6}")
    for b in one.bins:
        print(f"  {b.low:5.2f} to {min(b.high, 1):4.2f} {b.count:8,} {b.given:11.2f} {b.true:6.2f}")
    print(
        f"  {'verdict':24} {'lots':>7} {'given':>6} {'first source true':>18} {'first stage holds one':>22}"
    )
    for word, (count, given, right, stage) in one.verdicts.items():
        print(f"  {word:24} {count:7,} {given:6.2f} {right:18.2f} {stage:22.2f}")
    print(
        "  first source from  "
        + "  ".join(
            f"{limit:.1f}: {right:.2f} true ({share:.0%} of lots)"
            for limit, (share, right) in one.thresholds.items()
        )
    )


def main() -> None:
    """Print every way."""
    lots = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    base = load_or_fail()
    ready = prepare(base, precedents=False)
    for seed, (name, whole_list, answers, shaken) in enumerate(WAYS, 1):
        show(simulate(base, ready, name, lots, seed, whole_list, answers, shaken))


if __name__ == "__main__":
    main()
