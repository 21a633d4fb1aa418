"""One lot traced by this edition and by the first, side by side: processor time of a warm trace, and of a new process."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path

FIRST = "a57a3f7"
"""Last commit of the first edition: 67 faults, the latest sample alone."""
NOTES = "[musty, mouldy, earthy, fermented, woody], not_found: [phenolic, smoky, potato]"
LOTS = {
    "one sample, 8 notes": ("arrival",),
    "three samples and a control, 8 notes": ("pre_shipment", "arrival", "warehouse"),
}
LIBRARIES = "import numpy, yaml, pydantic, rich"
TIMES = 5
WARM = """
import json, sys, time
from tracer.knowledge.load import load_or_fail
from tracer.lots.read import parse_lot
from tracer.tracing import prepare, trace
base = load_or_fail(); ready = prepare(base); told = []
for sheet in json.loads(sys.argv[1]):
    lot, issues = parse_lot(sheet, "lot.yaml", base)
    assert lot is not None, issues
    trace(lot, base, ready)
    taken = []
    for _ in range(5):
        before = time.process_time(); trace(lot, base, ready); taken.append(time.process_time() - before)
    told.append(min(taken) * 1000)
print(json.dumps(told))
"""


def sheet(samples: Sequence[str]) -> str:
    """A lot with the same notes in each sample, or clean before the last; the last with a control where there are several."""
    lines = ["lot: A", "process: washed", "cuppings:"]
    for place, name in enumerate(samples):
        last = place == len(samples) - 1
        notes = f"notes: {NOTES}" if last else "notes: [clean], checked_all: yes"
        lines += [f"- sample: {name}", f"  on: 2026-0{place + 1}-10", "  cups: 5"]
        lines += ["  control: {notes: []}"] if last and len(samples) > 1 else []
        lines += [f"  tasters: [{{taster: a, language: en, {notes}}}]"]
    return "\n".join(lines) + "\n"


def warm(folder: Path) -> list[float]:
    """Milliseconds of processor time of each lot in one process of this tree."""
    sheets = json.dumps([sheet(samples) for samples in LOTS.values()])
    env = {**os.environ, "PYTHONPATH": str(folder), "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(
        [sys.executable, "-c", WARM, sheets], capture_output=True, text=True, check=True, env=env, cwd=folder
    )
    return list(json.loads(done.stdout.splitlines()[-1]))


def new_process(words: Sequence[str], folder: Path) -> float:
    """Least processor time, user and system, of a new process, in milliseconds; caches are warm."""
    env = {**os.environ, "PYTHONPATH": str(folder)}
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    taken = []
    for _ in range(TIMES + 1):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *words], capture_output=True, check=True, env=env, cwd=folder)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken.append(after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)
    return min(taken[1:]) * 1000


def main() -> None:
    """Print the tables as Markdown."""
    here = Path(__file__).resolve().parents[2]
    with tempfile.TemporaryDirectory() as name:
        first = Path(name)
        packed = subprocess.run(["git", "archive", FIRST], capture_output=True, check=True, cwd=here).stdout
        with tarfile.open(fileobj=BytesIO(packed)) as archive:
            archive.extractall(first, filter="data")
        print("\nOne lot, warm, beside the first edition (ms of processor time)\n")
        print(f"| lot | this edition | first edition ({FIRST}) | times |\n| --- | --- | --- | --- |")
        for lot, own, old in zip(LOTS, warm(here), warm(first), strict=True):
            print(f"| {lot} | {own:,.0f} | {old:,.0f} | {own / old:.1f} x |", flush=True)
        verb = ["-m", "tracer", "trace", "--example", "container_damp"]
        libraries = new_process(["-c", LIBRARIES], here)
        print("\nA new process (ms of processor time)\n")
        print("| process | ms | times |\n| --- | --- | --- |")
        print(f"| python -c '{LIBRARIES}' | {libraries:,.0f} | |")
        for edition, folder in (("this edition", here), ("first edition", first)):
            taken = new_process(verb, folder)
            print(f"| tracer trace, {edition} | {taken:,.0f} | {taken / libraries:.1f} x |", flush=True)


if __name__ == "__main__":
    main()
