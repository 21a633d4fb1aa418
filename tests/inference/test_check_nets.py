"""The worked nets of the extended form, to the ninth figure (listing of every elementary draw; net C also by formula)."""

from pathlib import Path

import numpy as np
import pytest
import yaml

from tests.inference.written import build
from tracer.inference.exact import posterior, signs_foreseen
from tracer.inference.rows import evaluate, one_row
from tracer.inference.sources import source_probabilities

NETS = yaml.safe_load((Path(__file__).parent / "check_nets.yaml").read_text(encoding="utf-8"))["nets"]
BY_ID = {net["id"]: net for net in NETS}


def whole(net):
    return {**whole(BY_ID[net["like"]]), **net} if "like" in net else net


@pytest.mark.parametrize("net", NETS, ids=lambda net: net["id"])
def test_the_worked_nets_come_out_to_the_ninth_figure(net):
    net = whole(net)
    built, wanted = build(net), net["expected"]
    known = posterior(built.network, built.evidence)
    z = evaluate(built.network, built.evidence, one_row(built.network))
    assert z[0] == pytest.approx(wanted["evidence"], rel=1e-9)
    assert np.exp(known.log_evidence) == pytest.approx(wanted["evidence"], rel=1e-9)
    assert dict(zip(built.faults, known.fault, strict=True)) == pytest.approx(wanted["present"], abs=1e-9)
    sets = [frozenset({place}) for place in range(len(built.faults))]
    sets += [frozenset(places) for places in built.stages.values()]
    sets.append(frozenset(range(len(built.faults))))
    live = source_probabilities(built.network, built.evidence, built.traced, sets)[0]
    count = len(built.faults)
    assert dict(zip(built.faults, live[:count], strict=True)) == pytest.approx(wanted["source"], abs=1e-9)
    assert dict(zip(built.stages, live[count:-1], strict=True)) == pytest.approx(wanted["stage"], abs=1e-9)
    assert 1 - live[-1] == pytest.approx(wanted["none_of_these"], abs=1e-9)
    open_signs = [place for place in range(len(built.signs)) if place not in built.evidence.signs]
    foreseen = dict(zip(open_signs, signs_foreseen(built.network, built.evidence, open_signs), strict=True))
    for place, name in enumerate(built.signs):
        seen = foreseen.get(place, built.evidence.signs.get(place, np.zeros(2))[1])
        assert seen == pytest.approx(wanted["signs_predicted"][name], abs=1e-9)
