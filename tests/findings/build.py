"""Rules and facts for tests, as short as they can be written."""

from __future__ import annotations

import sys

import pytest

from tracer.findings import engine
from tracer.findings.fact import Fact
from tracer.knowledge.rule import Rule
from tracer.knowledge.settings import Band, Settings, Signs
from tracer.knowledge.strength import Strength

needs_durable = pytest.mark.skipif(
    not engine._durable_works(),
    reason=f"durable_rules 2.0.28 cannot be imported on Python {sys.version_info[0]}.{sys.version_info[1]}",
)
BOTH = [pytest.param("plain"), pytest.param("durable", marks=needs_durable)]


def rule(name: str, when: object, *then: dict[str, object]) -> Rule:
    """A rule; `when` is a list of conditions that must all hold, or a whole `when`."""
    return Rule.model_validate(
        {
            "id": name,
            "label": f"{name} holds",
            "when": {"all": when} if isinstance(when, list) else when,
            "then": list(then) or [{"rules_out": "some_fault"}],
            "because": f"because of {name}",
        }
    )


def fact(name: str, value: float | str) -> Fact:
    """A fact from the sheet."""
    kind = "number" if not isinstance(value, str) else "yes_no" if value in ("yes", "no") else "text"
    return Fact(name, value, kind, f"history.{name}")


def band(name: str) -> dict[str, str]:
    """A strength from a band."""
    return {"band": name, "basis": "judgement"}


def strength(**fields: object) -> Strength:
    """A strength on judgement."""
    return Strength.model_validate({"basis": "judgement", **fields})


def settings() -> Settings:
    """Settings with a few round bands; the rest is left out."""

    def bands(**named: tuple[float, float, float]) -> object:
        from tracer.knowledge.settings import Bands

        made = {name: Band(low=low, best=best, high=high) for name, (low, best, high) in named.items()}
        return Bands(basis="judgement", why="round numbers", bands=made)

    return Settings.model_construct(
        link_bands=bands(often=(0.4, 0.5, 0.6), rarely=(0.01, 0.05, 0.1)),
        ratio_bands=bands(
            weakly_for=(1.5, 2, 3),
            moderately_for=(3, 5, 8),
            moderately_against=(0.125, 0.2, 0.3),
            strongly_against=(0.02, 0.05, 0.1),
        ),
        leak_bands=bands(seldom=(0.05, 0.1, 0.2), commonly=(0.1, 0.2, 0.3)),
        signs=Signs(basis="judgement", why="round numbers", as_telling=1.6),
        prior_bands=bands(rare=(0.001, 0.01, 0.02), common=(0.04, 0.08, 0.1)),
        rules_out=Band(low=0.001, best=0.002, high=0.01),
        unknown_link=Band(low=0.05, best=0.35, high=0.9),
    )
