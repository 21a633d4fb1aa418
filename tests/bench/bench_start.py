"""How long each verb takes in a new process, and the rule engine beside the plain matcher."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

TIMES = 7


def cold(words: list[str], folder: str, **env: str) -> float:
    """Median milliseconds of a new process; bytecode and the compiled knowledge are there already."""
    whole = {
        **os.environ,
        "TRACER_CACHE_DIR": f"{folder}/cache",
        "TRACER_CASEBOOK": f"{folder}/book.sqlite",
        **env,
    }
    whole.pop("PYTHONDONTWRITEBYTECODE", None)
    taken = []
    for number in range(TIMES + 1):
        before = time.perf_counter()
        subprocess.run([sys.executable, "-m", "tracer", *words], capture_output=True, check=True, env=whole)
        if number:
            taken.append((time.perf_counter() - before) * 1000)
    return statistics.median(taken)


def main() -> None:
    """Print the tables as Markdown."""
    lot = ["--example", "container_damp"]
    print("\nA verb in a new process (ms)\n")
    print("| verb | ms |\n| --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        verbs = (
            ["--help"],
            ["sheet"],
            ["check"],
            ["show", "musty"],
            ["trace", *lot],
            ["why", *lot],
            ["ask", *lot],
            ["history", "--example", "log_sea_passage"],
            ["letter", *lot, "--by", "2026-12-20"],
            ["report", *lot, "--html", f"{folder}/lot.html"],
            ["trace", *lot, "--keep", "--by", "QA"],
            ["cases"],
            ["cases", "again", "1"],
            ["panel", "card", "potato"],
            ["panel", "status"],
        )
        for words in verbs:
            name = " ".join(word for word in words if word not in lot and not word.startswith(folder))
            print(f"| {name} | {cold(list(words), folder):,.0f} |", flush=True)
        for engine in ("durable", "plain"):
            print(
                f"| trace, rules by the {engine} engine | {cold(['trace', *lot], folder, TRACER_RULE_ENGINE=engine):,.0f} |",
                flush=True,
            )
    _rules()


def _rules() -> None:
    from tracer.findings.engine import fire
    from tracer.findings.facts import facts, known_values
    from tracer.history.measure import measure
    from tracer.knowledge.load import load_or_fail
    from tracer.knowledge.shipped import scenarios_folder
    from tracer.lots.observations import hear
    from tracer.lots.read import read_lot
    from tracer.tracing import prepare

    base = load_or_fail()
    ready = prepare(base)
    known = []
    for path in sorted(Path(scenarios_folder()).glob("golden/*.yaml")):
        lot, _ = read_lot(path, base)
        assert lot is not None
        heard = hear(lot, ready.vocabulary, 5)
        places = known_values(ready.rules, "origin")
        known.append(facts(lot, base.records, heard, places, measure(lot, base)))
    print(
        f"\nFiring {len(ready.rules)} rules on the facts of one lot, warm, mean of {len(known)} lots (ms)\n"
    )
    print("| engine | ms |\n| --- | --- |")
    for engine in ("durable", "plain"):
        for one in known:
            fire(ready.rules, one, engine)  # type: ignore[arg-type]
        before = time.perf_counter()
        for one in known:
            fire(ready.rules, one, engine)  # type: ignore[arg-type]
        print(f"| {engine} | {(time.perf_counter() - before) * 1000 / len(known):.2f} |", flush=True)


if __name__ == "__main__":
    main()
