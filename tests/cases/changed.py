"""What a change of the knowledge does to diagnoses: `python -m tests.cases against REVISION`.

The shipped examples, the golden lots, the published cases and the judged lots are traced by today's program with the knowledge of a
revision of the repository and with today's; every lot whose verdict, first stage or first source differs, or moves by a tenth, is printed.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tarfile
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tracer.batch.many import Brief, brief
from tracer.issues import InputError
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.knowledge.shipped import scenarios_folder
from tracer.lots.read import read_lot
from tracer.tracing import prepare

ROOT = Path(__file__).resolve().parents[2]
MOVED = 0.1
"""Probability of the first source or stage by which a diagnosis has moved."""


def sheets() -> Iterator[Path]:
    """Every lot sheet that stands for a diagnosis."""
    for folder in (
        scenarios_folder(),
        ROOT / "tests" / "cases",
        ROOT / "tests" / "judged",
        ROOT / "tests" / "messages",
    ):
        yield from (
            path
            for path in sorted(folder.rglob("*.yaml"))
            if path.stem not in ("open", "own", "judged", "nulls")
        )


def diagnoses(base: KnowledgeBase) -> dict[str, Brief]:
    """What every sheet that the knowledge can read comes to."""
    ready = prepare(base)
    found = {}
    for path in sheets():
        lot, _ = read_lot(path, base)
        if lot is not None:
            [found[str(path.relative_to(ROOT))]] = brief([lot], base, ready)
    return found


def knowledge_of(revision: str) -> KnowledgeBase:
    """The knowledge of a revision. Raises InputError where today's program cannot read it."""
    done = subprocess.run(
        ["git", "archive", revision, "knowledge"], cwd=ROOT, capture_output=True, check=False
    )
    if done.returncode:
        sys.exit(f"no such revision here: {done.stderr.decode().strip()}")
    with tempfile.TemporaryDirectory() as named:
        with tarfile.open(fileobj=io.BytesIO(done.stdout)) as archive:
            archive.extractall(named, filter="data")
        return load_or_fail(Path(named) / "knowledge")


def told(found: Brief) -> str:
    """A diagnosis in one line."""
    stage = f"{found.stages[0].id} {found.stages[0].probability:.2f}" if found.stages else "-"
    source = f"{found.sources[0].id} {found.sources[0].probability:.2f}" if found.sources else "-"
    return f"{found.verdict}, {stage}, {source}"


def differ(one: Brief, other: Brief) -> bool:
    """True where verdict, first stage or first source differs, or moves by a tenth."""
    if one.verdict != other.verdict:
        return True
    for first, second in ((one.stages, other.stages), (one.sources, other.sources)):
        if [x.id for x in first[:1]] != [x.id for x in second[:1]]:
            return True
        if first and abs(first[0].probability - second[0].probability) >= MOVED:
            return True
    return False


def main(revision: str) -> None:
    """Print every diagnosis that has moved."""
    try:
        before = diagnoses(knowledge_of(revision))
    except InputError as error:
        sys.exit(
            "\n".join(map(str, error.issues[:5]))
            + f"\nToday's program cannot read the knowledge of {revision}."
        )
    after = diagnoses(load_or_fail())
    both = [name for name in after if name in before]
    moved = [name for name in both if differ(before[name], after[name])]
    for name in moved:
        print(f"{name}\n  - {told(before[name])}\n  + {told(after[name])}")
    only = sorted(set(after) ^ set(before))
    print(
        f"\n{len(moved)} of {len(both)} diagnoses moved; {len(only)} sheets can be read by one of the two only"
    )
