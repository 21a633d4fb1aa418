"""One engine on one network and one set of findings, alone in a process: `python -m tests.bench.one ENGINE FINDINGS COPIES`.

Prints JSON: milliseconds, peak memory, and the posteriors, so that the tables can be set side by side and compared.
"""

from __future__ import annotations

import json
import re
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from tests.inference.three_layers import Evidence, FaultLink, Network, of_knowledge
from tracer.inference.assemble import Whole, layout
from tracer.inference.chain import one_table
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.load import load_or_fail

FOUND = ("musty", "mouldy", "earthy", "fermented", "woody", "baggy_jute", "sour_vinegary", "rancid_oily")
NOT_FOUND = ("phenolic", "smoky", "potato_pea", "medicinal")
SOURCE_SETS = 3
"""Sets of faults whose source probability a peer is timed on; the time of all is in proportion."""


def timed(work: Callable[[], object], least: int = 3, seconds: float = 1.5) -> float:
    """Median milliseconds of a warm call."""
    work()
    taken: list[float] = []
    start = time.perf_counter()
    while len(taken) < least or time.perf_counter() - start < seconds:
        before = time.perf_counter()
        work()
        taken.append((time.perf_counter() - before) * 1000)
        if len(taken) >= least and time.perf_counter() - start > 20:
            break
    return statistics.median(taken)


def findings(network: Network, number: int) -> tuple[Evidence, frozenset[int]]:
    """So many notes, about a third of them looked for and not found."""
    absent = NOT_FOUND[: number // 3 + (number == 8)]
    present = FOUND[: number - len(absent)]
    at = {name: place for place, name in enumerate(network.descriptors)}
    vectors = {at[name]: np.array([0.02, 0.7, 1.0]) for name in present}
    vectors |= {at[name]: np.array([1.0, 0.4, 0.05]) for name in absent}
    return Evidence(vectors), frozenset(at[name] for name in present)


def grown(network: Network, copies: int) -> Network:
    """The network with every fault so many times over, each as much rarer; all copies lead to the same compounds."""
    if copies == 1:
        return network
    count = len(network.faults)
    return replace(
        network,
        faults=tuple(f"{name} {copy}" for copy in range(copies) for name in network.faults),
        prior=np.tile(network.prior / copies, copies),
        fault_links=tuple(
            FaultLink(link.fault + copy * count, link.compound, link.law)
            for copy in range(copies)
            for link in network.fault_links
        ),
    )


def bearing(network: Network, evidence: Evidence) -> Network:
    """The part of a network that bears on the evidence: what peers are given, so that they need not prune."""
    compounds = {link.compound for link in network.note_links if link.descriptor in evidence.descriptors}
    return replace(
        network,
        fault_links=tuple(link for link in network.fault_links if link.compound in compounds),
        note_links=tuple(
            link
            for link in network.note_links
            if link.compound in compounds and link.descriptor in evidence.descriptors
        ),
    )


def ours(base: KnowledgeBase, whole: Whole, network: Network, number: int, sweep: bool) -> dict[str, object]:
    """Posterior of every fault, all source probabilities, and (unless the network was grown) the sweep of questions."""
    from tracer.enquiry.plan import most_telling
    from tracer.inference.exact import posterior
    from tracer.inference.network import Evidence as Known
    from tracer.inference.network import Traced
    from tracer.inference.skeleton import skeleton
    from tracer.inference.sources import source_probabilities

    evidence, reported = findings(network, number)
    known, traced, extended = Known(heard=evidence.descriptors), Traced(reported), network.extended
    sets = [frozenset({f}) for f in range(len(network.faults))]
    sets.append(frozenset(range(len(network.faults))))
    told: dict[str, object] = {
        "posterior": timed(lambda: posterior(extended, known)),
        "sources": timed(lambda: source_probabilities(extended, known, traced, sets)),
        "largest": skeleton(extended, known, traced).plan.log2_largest,
        "values": posterior(extended, known).fault.tolist(),
        "live": source_probabilities(extended, known, traced, sets[:SOURCE_SETS])[0].tolist(),
        "sets": len(sets),
    }
    if sweep:
        top = tuple(base.faults)[:5]
        told["sweep"] = timed(
            lambda: most_telling(
                base,
                whole,
                whole.network,
                heard(whole, evidence, network),
                traced_of(whole, reported, network),
                top,
                base.enquiries.values(),
            )
        )
    return told


def heard(whole: Whole, evidence: Evidence, network: Network):
    """The same findings on the network of the knowledge itself."""
    from tracer.inference.network import Evidence as Known

    names = network.descriptors
    return Known(heard={whole.heard[names[d], 0]: vector for d, vector in evidence.descriptors.items()})


def traced_of(whole: Whole, reported: frozenset[int], network: Network):
    """What of it is traced."""
    from tracer.inference.network import Traced

    return Traced(frozenset(whole.heard[network.descriptors[d], 0] for d in reported))


def peer(engine: str, network: Network, evidence: Evidence, reported: frozenset[int]) -> dict[str, object]:
    """The same posteriors and some of the same source probabilities by another engine, its net built beforehand."""
    from tests.inference.peers import Pgmpy, PyAgrum, live_nodes, nodes_of, soft

    part = bearing(network, evidence)
    make = {"pyAgrum": PyAgrum, "pgmpy": Pgmpy}[engine]
    known = soft(part, evidence)
    before = time.perf_counter()
    built = make(nodes_of(part))
    build = (time.perf_counter() - before) * 1000
    names = [part.faults[f] for f in sorted({link.fault for link in part.fault_links})]
    warm = timed(lambda: built.posteriors(known, names), 1, 0.5)
    values = dict(zip(names, built.posteriors(known, names).tolist(), strict=True))
    told: dict[str, object] = {
        "build": build,
        "posterior": warm,
        "values": [values.get(name, float(p)) for name, p in zip(part.faults, part.prior, strict=True)],
    }
    if engine == "pyAgrum":
        live, each = [], []
        for fault in range(SOURCE_SETS):
            net = make([*nodes_of(part), *live_nodes(part, reported, [fault])])
            each.append(timed(lambda net=net: net.posteriors(known, ["LIVE"]), 1, 0.3))
            live.append(float(net.posteriors(known, ["LIVE"])[0]))
        told["live"], told["one_set"] = live, statistics.median(each)
    return told


def main() -> None:
    """Run what the arguments say."""
    engine, number, copies = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    base = load_or_fail()
    whole = layout(base).of(one_table(base))
    network = grown(of_knowledge(whole), copies)
    if engine == "ours":
        told = ours(base, whole, network, number, copies == 1)
    else:
        told = peer(engine, network, *findings(network, number))
    told["memory"] = int(re.search(r"VmHWM:\s+(\d+)", Path("/proc/self/status").read_text())[1]) / 1024  # type: ignore[index]
    print(json.dumps(told))


if __name__ == "__main__":
    main()
