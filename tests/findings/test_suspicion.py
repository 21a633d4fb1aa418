"""Of lots cupped as a matter of course far fewer have anything: 116 of 1,310 graded arabica lots had an unclean cup (source cqi2018)."""

from __future__ import annotations

from math import log10

import pytest

from tracer.batch.many import brief
from tracer.lots.read import parse_lot
from tracer.tracing import trace

SHEET = "lot: A\ncuppings: [{{sample: arrival, cups: 5, tasters: [{{taster: a, language: en, notes: [{{note: musty, cups: 1}}]}}]}}]\n{more}"


@pytest.fixture(scope="module")
def found(base, ready):
    def of(why):
        lot, issues = parse_lot(
            SHEET.format(more=f"bench: {{cupped_for: {why}}}\n" if why else ""), "x.yaml", base
        )
        assert lot is not None, issues
        [one] = brief([lot], base, ready, listed=len(base.stages))
        return one

    return of


def before_the_bench(one, base):
    bench = base.settings.verdicts.bench_stages
    return sum(stage.probability - stage.unlisted for stage in one.stages if stage.id not in bench)


def test_a_slight_note_of_a_routine_table_needs_a_cause_less_often_than_one_that_was_suspected(base, found):
    routine, suspected = found("routine"), found("suspicion")
    assert before_the_bench(routine, base) < 0.6 * before_the_bench(suspected, base)
    assert routine.none_of_these > suspected.none_of_these


def test_the_factor_is_told_apart_from_the_share_of_all_lots(base, ready):
    told = {}
    for why in ("", "routine"):
        lot, issues = parse_lot(
            SHEET.format(more=f"bench: {{cupped_for: {why}}}\n" if why else ""), "x.yaml", base
        )
        assert lot is not None, issues
        [one] = [
            line for line in trace(lot, base, ready, keep="rewetting").sources if line.fault == "rewetting"
        ]
        share, suspicion = one.weights[:2]
        assert (share.kind, suspicion.kind) == ("prior", "suspicion")
        assert share.log10 == pytest.approx(log10(one.prior / (1 - one.prior)))
        assert suspicion.sources == ("cqi2018",)
        told[why] = suspicion.log10
    assert told[""] == pytest.approx(log10(base.settings.suspicion.ratio.best))
    assert told["routine"] == pytest.approx(0, abs=1e-9)


def test_why_it_was_cupped_is_never_lost_in_silence(base, ready):
    lot, issues = parse_lot(SHEET.format(more="bench: {cupped_for: claim}\n"), "x.yaml", base)
    assert lot is not None, issues
    [line] = [one for one in trace(lot, base, ready).not_weighed if "cupped" in one.what]
    assert "counts as suspected" in line.because


def test_without_a_word_on_it_and_for_a_claim_the_priors_stand(base, found):
    plain = found("")
    for why in ("suspicion", "claim"):
        assert before_the_bench(found(why), base) == pytest.approx(before_the_bench(plain, base), abs=0.02)
