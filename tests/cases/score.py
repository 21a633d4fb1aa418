"""Score on published cases: stage and fault first and among three, compounds, false alarms, false abstentions.

The cases are few and were read from the literature (each sheet names its source); the score is a check on
the knowledge, not something to fit it to. 'Without the history' keeps the notes, species and process alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import yaml

from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail
from tracer.lots.lot import Lot
from tracer.lots.read import read_lot
from tracer.report.document import Report
from tracer.tracing import Prepared, prepare, trace

FOLDER = Path(__file__).parent
ABSTAINS = ("no_defect_supported", "insufficient_evidence")


@dataclass(frozen=True)
class Score:
    """Shares over the cases they apply to."""

    stage_first: float
    """Strict: the stage the source names."""
    stage_first_partial: float
    """Also counting stages that earn partial credit."""
    stage_three: float
    fault_first: float
    fault_three: float
    compound_three: float
    null_abstained: int
    nulls: int
    false_abstentions: int
    defects: int


def cases() -> list[dict]:
    """What the sources say of each case."""
    return yaml.safe_load((FOLDER / "truth.yaml").read_text(encoding="utf-8"))


def sheet(identity: str, base: KnowledgeBase) -> Lot:
    """The lot sheet of a case."""
    lot, issues = read_lot(FOLDER / f"{identity}.yaml", base)
    assert lot is not None, "\n".join(map(str, issues))
    return lot


def without_history(lot: Lot) -> Lot:
    """The notes, species and process alone."""
    return replace(lot, records=(), laboratory=(), answers=())


def run(base: KnowledgeBase, ready: Prepared, history: bool) -> list[tuple[dict, Report]]:
    """Every case with its report."""
    results = []
    for case in cases():
        lot = sheet(case["id"], base)
        results.append((case, trace(lot if history else without_history(lot), base, ready)))
    return results


def score(results: list[tuple[dict, Report]]) -> Score:
    """The score of a run."""
    defects = [(case, report) for case, report in results if case["kind"] != "null"]
    nulls = [report for case, report in results if case["kind"] == "null"]
    chemistry = [(case, report) for case, report in defects if case["compounds"]]

    def share(items, hit) -> float:
        return sum(hit(case, report) for case, report in items) / len(items)

    def stages(report: Report, count: int) -> list[str]:
        return [line.stage for line in report.stages[:count]]

    def faults(report: Report, count: int) -> list[str]:
        return [line.fault for line in report.sources[:count]]

    return Score(
        stage_first=share(defects, lambda c, r: any(s in c["stage"] for s in stages(r, 1))),
        stage_first_partial=share(
            defects, lambda c, r: any(s in c["stage"] + c["stage_also"] for s in stages(r, 1))
        ),
        stage_three=share(defects, lambda c, r: any(s in c["stage"] for s in stages(r, 3))),
        fault_first=share(defects, lambda c, r: any(f in c["faults"] for f in faults(r, 1))),
        fault_three=share(defects, lambda c, r: any(f in c["faults"] for f in faults(r, 3))),
        compound_three=share(
            chemistry, lambda c, r: any(x.compound in c["compounds"] for x in r.compounds[:3])
        ),
        null_abstained=sum(report.verdict in ABSTAINS for report in nulls),
        nulls=len(nulls),
        false_abstentions=sum(report.verdict == "no_defect_supported" for _, report in defects),
        defects=len(defects),
    )


def told(found: Score, history: bool) -> list[str]:
    """A score in four lines."""
    how = "with" if history else "without"
    return [
        f"{how} history, green, bench and laboratory: {found.defects} faults, {found.nulls} null cases",
        f"  stage first {found.stage_first:.2f} ({found.stage_first_partial:.2f} with partial credit), among three {found.stage_three:.2f}",
        f"  fault first {found.fault_first:.2f}, among three {found.fault_three:.2f}; compound among three {found.compound_three:.2f}",
        f"  null cases without a false source {found.null_abstained} of {found.nulls}; false abstentions {found.false_abstentions}",
    ]


def main() -> None:
    """Print both scores, and each case that misses."""
    base = load_or_fail()
    ready = prepare(base)
    for history in (True, False):
        results = run(base, ready, history)
        found = score(results)
        print("\n" + "\n".join(told(found, history)))
        for case, report in results:
            top = ", ".join(f"{s.fault} {s.probability:.2f}" for s in report.sources[:3])
            stage = report.stages[0].stage if report.stages else "-"
            right = stage in case["stage"] + case["stage_also"] or (
                case["kind"] == "null" and report.verdict in ABSTAINS
            )
            mark = "ok  " if right else "MISS"
            print(
                f"  {mark} {case['id']:6} {report.verdict:22} {stage:20} {top}  [wanted {'/'.join(case['stage'])}: {', '.join(case['faults'])}]"
            )


if __name__ == "__main__":
    main()
