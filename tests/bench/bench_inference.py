"""Posteriors, source probabilities and the sweep of questions beside pyAgrum and pgmpy, and growth with findings and faults.

Every engine runs alone in a process, on the same network and findings, with its net built beforehand; peers get the part of
the network that bears on the findings, noisy-MAX written as chains of small tables (`tests/inference/peers.py`).
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

FINDINGS = (2, 4, 6, 8, 10, 12)
COPIES = (1, 4, 16)
PATIENCE = 120


def run(engine: str, findings: int, copies: int) -> dict[str, Any] | None:
    """What one engine tells of one case; None where it fails or takes too long."""
    words = [sys.executable, "-m", "tests.bench.one", engine, str(findings), str(copies)]
    try:
        done = subprocess.run(words, capture_output=True, text=True, timeout=PATIENCE, check=True)
    except (subprocess.TimeoutExpired, subprocess.CalledProcessError):
        return None
    told: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return told


def _ms(value: float | None) -> str:
    return f"not in {PATIENCE} s" if value is None else f"{value:,.1f}" if value < 100 else f"{value:,.0f}"


def _differs(one: list[float], other: list[float]) -> float:
    return max(abs(a - b) for a, b in zip(one, other, strict=False))


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    """Print the tables as Markdown."""
    print("\nPosterior of every fault, warm (ms), by number of findings; the shipped knowledge\n")
    _heading("findings")
    for findings in FINDINGS:
        _posterior(findings, 1, str(findings), with_pgmpy=True)
    print("\nThe same with 8 findings, every fault 1, 4 and 16 times over on the same compounds\n")
    _heading("faults")
    for copies in COPIES:
        _posterior(8, copies, f"{copies} x", with_pgmpy=copies == 1)
    _whole()


def _heading(first: str) -> None:
    print(
        _row([first, "ours", "pyAgrum", "times", "pgmpy", "times", "largest difference", "our largest table"])
    )
    print(_row(["---"] * 8))


def _posterior(findings: int, copies: int, name: str, with_pgmpy: bool) -> None:
    ours, gum = run("ours", findings, copies), run("pyAgrum", findings, copies)
    pgmpy = run("pgmpy", findings, copies) if with_pgmpy else None
    assert ours is not None
    cells, worst = [name, _ms(ours["posterior"])], 0.0
    for peer in (gum, pgmpy):
        cells += [
            _ms(peer and peer["posterior"]),
            f"{peer['posterior'] / ours['posterior']:,.0f} x" if peer else "-",
        ]
        worst = max(worst, _differs(peer["values"], ours["values"])) if peer else worst
    print(_row([*cells, f"{worst:.0e}", f"2^{ours['largest']:.1f}"]), flush=True)


def _whole() -> None:
    ours, gum, pgmpy = run("ours", 8, 1), run("pyAgrum", 8, 1), run("pgmpy", 8, 1)
    assert ours is not None
    print(
        "\nOne lot with 8 findings: all that a trace asks of the network (ms; memory is the peak of the process)\n"
    )
    print(_row(["", "ours", "pyAgrum", "pgmpy"]))
    print(_row(["---"] * 4))
    print(_row(["posterior of every fault", *(_ms(one and one["posterior"]) for one in (ours, gum, pgmpy))]))
    sets = ours["sets"]
    told = f"{_ms(gum['one_set'] * sets)} ({sets} sets at {gum['one_set']:.1f})" if gum else "-"
    print(_row(["source probability of every fault and of all", _ms(ours["sources"]), told, "not run"]))
    print(_row(["sweep of every question and test", _ms(ours["sweep"]), "not run", "not run"]))
    print(_row(["memory, MB", *(_ms(one and one["memory"]) for one in (ours, gum, pgmpy))]))
    if gum:
        print(
            f"\nSource probabilities differ from pyAgrum's by at most {_differs(gum['live'], ours['live']):.0e}.",
            flush=True,
        )


if __name__ == "__main__":
    main()
