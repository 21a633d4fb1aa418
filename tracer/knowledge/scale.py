"""From a stated strength to numbers: (low, best, high) of a link, a likelihood ratio or a prior.

A count n of m becomes Beta(n + 1/2, m - n + 1/2), the Jeffreys posterior of a share: its mean, and its 5 and
95 per cent points (Brown, Cai and DasGupta 2001, Statistical Science 16:101-133; from memory).
"""

from __future__ import annotations

from functools import lru_cache
from math import sqrt
from typing import NamedTuple

from tracer.knowledge.entries import Fault
from tracer.knowledge.settings import Bands, Settings
from tracer.knowledge.strength import Strength
from tracer.knowledge.taster_settings import Band
from tracer.rate import Rate


class Range(NamedTuple):
    """A figure with its ends."""

    low: float
    best: float
    high: float


def link(strength: Strength, settings: Settings) -> Range:
    """P(effect | cause). Unknown gives the wide range of the settings; no best, the middle."""
    if strength.unknown:
        return _of_band(settings.unknown_link)
    return _probability(strength, settings.link_bands, geometric=False)


def share_seen_anyhow(strength: Strength, settings: Settings) -> Range:
    """P(a sign is seen | none of its causes is at work). Unknown gives everything the leak bands span."""
    if strength.unknown:
        bands = settings.leak_bands.bands.values()
        low, high = min(band.low for band in bands), max(band.high for band in bands)
        return Range(low, sqrt(low * high), high)
    return _probability(strength, settings.leak_bands, geometric=True)


def prior(fault: Fault, settings: Settings) -> Range:
    """Share of the lots that somebody wants traced which have the fault: odds of all lots times the suspicion.

    Its ends are those of the share; what is not sure of the suspicion counts where it is taken off.
    """
    return _odds_times(share_of_lots(fault, settings), suspicion(fault, settings).best)


def share_of_lots(fault: Fault, settings: Settings) -> Range:
    """Share of all lots cupped which have the fault. Unknown gives everything the bands span; no best, the geometric mean."""
    strength, law = fault.prior, settings.suspicion
    raised = law is not None and fault.stage not in settings.verdicts.bench_stages
    named = law.prior_bands if law is not None and raised else settings.prior_bands
    if strength.unknown:
        bands = named.bands.values()
        low, high = min(band.low for band in bands), max(band.high for band in bands)
        return Range(low, sqrt(low * high), high)
    found = _probability(strength, named, geometric=True)
    if strength.band is not None or strength.of == "all_lots":
        return found
    return _odds_times(found, 1 / suspicion(fault, settings).best)


def suspicion(fault: Fault, settings: Settings) -> Range:
    """How much more often a lot with the fault is one that somebody wants traced: a likelihood ratio; 1 for faults of the bench."""
    law = settings.suspicion
    if law is None or fault.stage in settings.verdicts.bench_stages:
        return Range(1.0, 1.0, 1.0)
    return _of_band(law.ratio) if fault.suspicion is None else ratio(fault.suspicion, settings)


def raised(share: float, factor: float) -> float:
    """A probability with its odds multiplied.

    >>> round(raised(0.5, 3), 2)
    0.75
    """
    return share * factor / (1 - share + share * factor)


def _odds_times(share: Range, factor: float) -> Range:
    return Range(*(raised(end, factor) for end in share))


def ratio(strength: Strength | None, settings: Settings) -> Range:
    """Likelihood ratio of a finding. None is the settings' `rules_out`; unknown is 1: it changes nothing."""
    if strength is None:
        return _of_band(settings.rules_out)
    if strength.unknown:
        return Range(1.0, 1.0, 1.0)
    if strength.count is not None:
        raise ValueError(f"a count ({strength.count}) is a share, and no likelihood ratio")
    return _stated(strength, settings.ratio_bands, geometric=True)


def _probability(strength: Strength, bands: Bands, geometric: bool) -> Range:
    found = _of_count(strength.count) if strength.count else _stated(strength, bands, geometric)
    if found.high > 1:
        raise ValueError(f"{found.high} is no probability")
    return found


def _stated(strength: Strength, bands: Bands, geometric: bool) -> Range:
    if strength.band is not None:
        return _of_band(bands.bands[strength.band])
    assert strength.low is not None
    assert strength.high is not None
    low, high = strength.low, strength.high
    middle = sqrt(low * high) if geometric else (low + high) / 2
    return Range(low, middle if strength.best is None else strength.best, high)


def _of_band(band: Band) -> Range:
    return Range(band.low, band.best, band.high)


@lru_cache(maxsize=256)
def _of_count(count: str) -> Range:
    """Range of a share seen as n/m.

    >>> tuple(round(value, 3) for value in _of_count("18/100"))
    (0.124, 0.183, 0.25)
    """
    n, m = (int(part) for part in count.split("/"))
    low, high = Rate(n + 0.5, m - n + 0.5).interval()
    return Range(low, (n + 0.5) / (m + 1), high)
