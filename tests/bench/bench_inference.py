"""Warm posterior, sources and enquiry sweep on the shipped network with eight findings, and peers on the same.

Peers get the same network and the same findings: full tables over the faults, compounds and notes that bear
on them. Times are medians; they compare one with another on one machine.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np

from tests.inference.test_outside_libraries import with_pgmpy, with_pyagrum
from tracer.enquiry.plan import asks
from tracer.inference.assemble import layout
from tracer.inference.exact import posterior
from tracer.inference.network import Evidence, FaultLink, Network, NoteLink
from tracer.inference.skeleton import skeleton
from tracer.inference.sources import source_probabilities
from tracer.knowledge.load import load_or_fail

PRESENT = ("musty", "mouldy", "earthy", "fermented", "woody")
ABSENT = ("phenolic", "smoky", "potato_pea")


def timed(work: Callable[[], object], times: int) -> float:
    """Median milliseconds."""
    work()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken)


def bearing(network: Network, evidence: Evidence) -> tuple[Network, Evidence]:
    """The part of a network that bears on the evidence, with its own indices: what the peers are given."""
    bones = skeleton(network, evidence, switches=False)
    notes = sorted(evidence.descriptors)
    faults = sorted(
        {network.fault_links[k].fault for c in bones.compounds for k in network.links_of_compound[c]}
    )
    part = Network(
        tuple(network.faults[f] for f in faults),
        tuple(network.compounds[c] for c in bones.compounds),
        tuple(network.descriptors[d] for d in notes),
        network.prior[faults],
        network.compound_leak[list(bones.compounds)],
        network.descriptor_leak[notes],
        tuple(
            FaultLink(faults.index(k.fault), bones.compounds.index(k.compound), k.law)
            for k in network.fault_links
            if k.compound in bones.compounds
        ),
        tuple(
            NoteLink(bones.compounds.index(k.compound), notes.index(k.descriptor), k.law)
            for k in network.note_links
            if k.descriptor in notes
        ),
    )
    return part, Evidence({notes.index(d): v for d, v in evidence.descriptors.items()})


def main() -> None:
    """Print the table."""
    base = load_or_fail()
    plan = layout(base)
    network = plan.network
    vectors = {plan.descriptor[n]: np.array([0.02, 0.7, 1.0]) for n in PRESENT}
    vectors |= {plan.descriptor[n]: np.array([1.0, 0.4, 0.05]) for n in ABSENT}
    evidence = Evidence(vectors)
    reported = frozenset(plan.descriptor[n] for n in PRESENT)
    sets = [frozenset({i}) for i in plan.fault.values()]
    sets += [frozenset(plan.fault[f] for f in base.faults_of(s)) for s in base.stages]
    sets.append(frozenset(plan.fault.values()))
    size = skeleton(network, evidence, switches=True).plan.log2_largest
    print(
        f"{len(base.faults)} faults, {len(plan.compound)} compound nodes, {len(base.descriptors)} notes; 8 findings; largest table 2^{size:.1f}"
    )
    ours = timed(lambda: posterior(network, evidence), 50)
    print(f"  posterior of every fault      {ours:8.2f} ms")
    print(
        f"  source probabilities          {timed(lambda: source_probabilities(network, evidence, reported, sets), 20):8.2f} ms"
    )
    top = tuple(base.faults)[:5]
    sweep = timed(lambda: asks(base, plan, network, evidence, reported, top, set(), set()), 5)
    print(f"  every question and test       {sweep:8.2f} ms")
    part, same = bearing(network, evidence)
    found = posterior(part, same).fault
    for name, peer, times in (("pyAgrum", with_pyagrum, 3), ("pgmpy", with_pgmpy, 1)):
        try:
            start = time.perf_counter()
            theirs = peer(part, same)
            one = (time.perf_counter() - start) * 1000
            taken = min(one, timed(lambda peer=peer: peer(part, same), times))
        except Exception as error:
            print(f"  {name:8} not run: {error}")
            continue
        worst = np.abs(theirs - found).max()
        print(
            f"  {name:8} tables and posteriors {taken:8.1f} ms, {taken / ours:6.0f} times ours; largest difference {worst:.1e}"
        )
    cold = timed(
        lambda: subprocess.run(
            [sys.executable, "-m", "tracer", "trace", "--example", "container_damp"],
            capture_output=True,
            check=True,
        ),
        5,
    )
    print(f"  tracer trace, a new process   {cold:8.0f} ms")


if __name__ == "__main__":
    main()
