"""The chain that carries a source to the cups, on a small knowledge base written here: bands often 0.5 and rarely 0.05."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tests.findings.build import settings, strength
from tracer.explain.chains import chain, missing
from tracer.knowledge.settings import Band

OFTEN, RARELY = strength(band="often"), strength(band="rarely")


def link_to(name, how, **more):
    return SimpleNamespace(descriptor=name, compound=name, strength=how, cites=(), spread="throughout", **more)


def note(label, **confused):
    return SimpleNamespace(label=label, confusable_with=tuple(confused), stop_tasting=False)
