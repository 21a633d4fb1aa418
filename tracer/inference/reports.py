"""How likely the tasters' reports are, given whether a note is absent, scattered or throughout.

A taster names a note in k of n cups. With share s of bad cups, hit rate h and false-alarm rate f
    P(k | s, h, f) = Binomial(k; n, s h + (1 - s) f)
and h, f, s are not known but have Beta laws, so that no report is ever certain:
    g_t(s) = (1 - c) E_h,f Binomial(k; n, s h + (1 - s) f) + c E_f Binomial(k; n, f)
with c the share of tasters who cannot smell the note. A taster who says nothing of a note has found none, or is one of those who
do not name all that they find: (1 - u) + u P(0 | s, h, f), u the share of finds that are named. Tasters at one table share the cups, so s is
integrated once for all of them: lambda(state) = E_s [ prod_t g_t(s) ], and s = 0 when absent.
Beta-binomial counts: the usual conjugate form, as in any text on Bayesian data analysis.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import comb, exp, log10
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tracer.inference.numbered import Rates, by_number, false_alarm_factor, is_numbered, kept
from tracer.inference.tasters import MeasuredPanel, TasterRates
from tracer.knowledge.taster_settings import Cups, Psychometric, Tasters
from tracer.lots.observed import Observation

_SHARE_POINTS = 32
_RATE_POINTS = 16


def likelihood(
    observations: Iterable[Observation], tasters: Tasters, cups: Cups, panel: MeasuredPanel | None = None
) -> NDArray[np.float64]:
    """Likelihood of all reports on one note, for the states absent, scattered, throughout.

    Measured rates of `panel` stand in for the defaults of `tasters`. Scaled so that the largest is 1; posteriors do
    not change.
    """
    total = _log_likelihood(observations, tasters, cups, panel)
    return np.asarray(np.exp(total - total.max()))


def raw_likelihood(
    observations: Iterable[Observation], tasters: Tasters, cups: Cups, panel: MeasuredPanel | None = None
) -> NDArray[np.float64]:
    """The same as a probability, not scaled."""
    return np.asarray(np.exp(_log_likelihood(observations, tasters, cups, panel)))


def _log_likelihood(
    observations: Iterable[Observation], tasters: Tasters, cups: Cups, panel: MeasuredPanel | None
) -> NDArray[np.float64]:
    total = np.zeros(3)
    by_cupping: dict[int, list[Observation]] = {}
    for observation in observations:
        by_cupping.setdefault(observation.cupping, []).append(observation)
    for group in by_cupping.values():
        laws = [_rates(observation, group, tasters, panel) for observation in group]
        found = (
            by_number(group, laws, tasters, cups)
            if is_numbered(group)
            else _log(_by_share(group, laws, tasters, cups))
        )
        total = total + found
    return total


def _log(values: NDArray[np.float64]) -> NDArray[np.float64]:
    with np.errstate(divide="ignore"):  # what cannot be has the logarithm of 0
        return np.asarray(np.log(values))


def _by_share(
    group: list[Observation], laws: list[Rates], tasters: Tasters, cups: Cups
) -> NDArray[np.float64]:
    """One cupping, its share of bad cups integrated once for all its tasters."""
    told = tuple(
        _Told(
            -1 if one.found is None else one.found,
            one.cups,
            law,
            kept(one, tasters),
            false_alarm_factor(one, tasters),
            tasters.names if one.unasked else 1.0,
        )
        for one, law in zip(group, laws, strict=True)
    )
    mixtures = tuple(
        tuple((one.a, one.b, one.share) for one in mixture) for mixture in (cups.scattered, cups.throughout)
    )
    return _shared(told, mixtures)


class _Told(NamedTuple):
    """A report as far as its likelihood goes: most notes of a table were passed over in silence alike."""

    found: int
    """-1 is 'at least one'."""
    cups: int
    law: Rates
    kept: float
    false_alarm: float
    names: float
    """Share of finds that are named."""


Law = tuple[tuple[float, float, float], ...]
"""A mixture: a, b and share of each part."""


@lru_cache(maxsize=1024)
def _shared(told: tuple[_Told, ...], mixtures: tuple[Law, ...]) -> NDArray[np.float64]:
    shares = [_mixed(mixture) for mixture in mixtures]
    absent, present = 1.0, [np.ones(len(points)) for points, _ in shares]
    for one in told:
        absent *= (one.false_alarm * _given_share(one, (0.0,))[0]) ** one.kept
        for state, (points, _) in enumerate(shares):
            present[state] = present[state] * _given_share(one, tuple(points)) ** one.kept
    means = [float((values * weight).sum()) for values, (_, weight) in zip(present, shares, strict=True)]
    found = np.array([absent, *means])
    found.setflags(write=False)
    return found


def _mixed(mixture: Law) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points and weights of a mixture of Beta laws."""
    parts = [(_nodes(a, b, _SHARE_POINTS), share) for a, b, share in mixture]
    points = np.concatenate([nodes for (nodes, _), _ in parts])
    weights = np.concatenate([weight * share for (_, weight), share in parts])
    return points, weights / weights.sum()


def _rates(
    observation: Observation, group: list[Observation], tasters: Tasters, panel: MeasuredPanel | None
) -> Rates:
    """The taster's own rates where measured, carried to how strong the table calls the note; else the usual ones for that strength."""
    called = [one.intensity for one in group if one.found != 0 and one.intensity in tasters.hit_by]
    strongest = next((name for name in ("strong", "slight") if name in called), None)
    measured = panel.of(observation.taster, observation.descriptor) if panel else None
    if measured:
        hits = carried(measured, strongest or "unstated", tasters.psychometric)
        return Rates(hits, measured.false_alarm, measured.cannot_smell)
    hit = tasters.hit_by[strongest] if strongest else tasters.hit
    striking = tasters.striking and observation.descriptor in tasters.striking.notes
    alarm = tasters.striking.false_alarm if tasters.striking and striking else tasters.false_alarm
    return Rates((hit.a, hit.b), (alarm.a, alarm.b), tasters.cannot_smell)


def carried(measured: TasterRates, strength: str, law: Psychometric | None) -> tuple[float, float]:
    """The Beta law of hits at another strength: as many cups, at the rate q with
        ln(q / (1 - q)) = ln(p / (1 - p)) + slope log10(multiple of the strength / multiple served).

    >>> law = Psychometric(slope=2.0, multiples={"slight": 1.0})
    >>> a, b = carried(TasterRates((7, 3), (1, 99), 0.0, multiple=10.0), "slight", law)
    >>> round(a, 2), round(b, 2)  # ln(7/3) - 2 = -1.15
    (2.4, 7.6)
    """
    a, b = measured.hit
    if law is None or measured.multiple is None or strength not in law.multiples:
        return a, b
    odds = a / b * exp(law.slope * log10(law.multiples[strength] / measured.multiple))
    rate = odds / (1 + odds)
    return (a + b) * rate, (a + b) * (1 - rate)


def _given_share(one: _Told, share: tuple[float, ...]) -> NDArray[np.float64]:
    value = _report(one.found, one.cups, share, one.law.hit, one.law.false_alarm, one.law.cannot_smell)
    return (1 - one.names) + one.names * value


@lru_cache(maxsize=4096)
def _report(
    found: int,
    cups: int,
    share: tuple[float, ...],
    hit: tuple[float, float],
    false_alarm: tuple[float, float],
    cannot_smell: float,
) -> NDArray[np.float64]:
    """E over h and f of Binomial(found; cups, s h + (1 - s) f) for each share s; found -1 is 'at least one'."""
    s = np.array(share)[:, None, None]
    h, h_weight = _nodes(*hit, _RATE_POINTS)
    f, f_weight = _nodes(*false_alarm, _RATE_POINTS)
    able = s * h[None, :, None] + (1 - s) * f[None, None, :]
    weight = h_weight[None, :, None] * f_weight[None, None, :]
    value = (_binomial(found, cups, able) * weight).sum(axis=(1, 2))
    blind = float((_binomial(found, cups, f) * f_weight).sum())
    result: NDArray[np.float64] = (1 - cannot_smell) * value + cannot_smell * blind
    result.setflags(write=False)
    return result


def _binomial(found: int, cups: int, rate: NDArray[np.float64]) -> NDArray[np.float64]:
    if found < 0:
        return np.asarray(1 - (1 - rate) ** cups)
    return np.asarray(comb(cups, found) * rate**found * (1 - rate) ** (cups - found))


@lru_cache(maxsize=256)
def _nodes(a: float, b: float, points: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points and weights for E over Beta(a, b), exact for polynomials of degree below twice `points`.

    A report of n cups is a polynomial of degree n in each rate, so that up to 31 cups nothing is lost. Gauss-Jacobi
    points as eigenvalues of the three-term recurrence (Golub and Welsch 1969, Math. Comp. 23:221-230).
    """
    alpha, beta = b - 1.0, a - 1.0
    k = np.arange(1, points)
    s = 2 * k + alpha + beta
    diagonal = np.empty(points)
    diagonal[0] = (beta - alpha) / (alpha + beta + 2)
    diagonal[1:] = (beta**2 - alpha**2) / (s * (s + 2))
    square = 4 * k * (k + alpha) * (k + beta) / (s**2 * (s + 1))
    # k + alpha + beta and s - 1 are one and the same where k is 1, and may be 0.
    square[1:] *= (k[1:] + alpha + beta) / (s[1:] - 1)
    beside = np.sqrt(square)
    nodes, vectors = np.linalg.eigh(np.diag(diagonal) + np.diag(beside, 1) + np.diag(beside, -1))
    return np.clip((1 + nodes) / 2, 0.0, 1.0), vectors[0] ** 2
