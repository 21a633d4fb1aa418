"""Processor time of each verb in a new process, beside that of its libraries, and the rule engine beside the plain matcher."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

TIMES = 5
LIBRARIES = ["-c", "import numpy, yaml, pydantic, rich"]


def cold(words: list[str], folder: str, **env: str) -> float:
    """Least milliseconds of processor time, user and system, of a new process; bytecode and compiled knowledge are there already."""
    whole = {
        **os.environ,
        "TRACER_CACHE_DIR": f"{folder}/cache",
        "TRACER_CASEBOOK": f"{folder}/book.sqlite",
        **env,
    }
    whole.pop("PYTHONDONTWRITEBYTECODE", None)
    taken = []
    for number in range(TIMES + 1):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *words], capture_output=True, check=True, env=whole)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        if number:
            taken.append(after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)
    return min(taken) * 1000


def main() -> None:
    """Print the tables as Markdown."""
    lot = ["--example", "container_damp"]
    print("\nA verb in a new process (ms of processor time, and times that of the libraries alone)\n")
    print("| verb | ms | times |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        libraries = cold(LIBRARIES, folder)
        print(f"| python -c '{LIBRARIES[1]}' | {libraries:,.0f} | |")

        def told(name: str, words: list[str], **env: str) -> None:
            taken = cold(["-m", "tracer", *words], folder, **env)
            print(f"| {name} | {taken:,.0f} | {taken / libraries:.1f} |", flush=True)

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
            told(name, list(words))
        for engine in ("durable", "plain"):
            told(f"trace, rules by the {engine} engine", ["trace", *lot], TRACER_RULE_ENGINE=engine)
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
