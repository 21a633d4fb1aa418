"""A discrimination test in sentences: what a result shows, and what a test would need."""

from __future__ import annotations

from tracer.panel.discrimination import (
    Method,
    critical_number,
    distance,
    distance_error,
    p_value,
    power,
    right_by_share,
    share_who_tell,
    similarity,
    trials_needed,
)
from tracer.rate import Rate


def result(
    method: Method, trials: int, right: int, alpha: float, alike: float | None = None
) -> dict[str, str]:
    """What so many right answers show; with `alike`, also whether they show that fewer than this share can tell."""
    p = p_value(right, trials, method)
    needed = critical_number(trials, method, alpha)
    low, high = Rate(right, trials - right + 1), Rate(right + 1, trials - right)
    ends = (low.quantile(0.025) if right else 0.0, high.quantile(0.975) if right < trials else 1.0)
    found = {
        "test": f"{method.label} ({method.standard}), guess 1 in {1 / method.guess:.0f}",
        "result": f"{right} of {trials} right; p = {p:.4g}",
        "verdict": "a difference is shown"
        if needed is not None and right >= needed
        else "no difference is shown, which is not the same as none",
        "needed": f"{needed} right at {alpha:g}"
        if needed is not None
        else f"not even all right would do at {alpha:g}",
        "can tell": f"{share_who_tell(right / trials, method):.0%} of people ({share_who_tell(ends[0], method):.0%} to {share_who_tell(ends[1], method):.0%}, 95 % exact)",
    }
    if method.id != "two_of_five":
        error = distance_error(right, trials, method)
        spread = f", standard error {error:.2f}" if error is not None else ", error not defined at the ends"
        found["distance"] = f"d' {distance(right / trials, method):.2f}{spread}"
    if alike is not None:
        chance = similarity(right, trials, method, alike)
        shown = "shown" if chance <= alpha else "not shown"
        found["alike"] = f"that fewer than {alike:.0%} can tell is {shown}; p = {chance:.4g}"
    found["mind"] = "several answers of one person are not several people: say whose they are"
    return found


def before(method: Method, share: float, alpha: float, wanted: float, trials: int | None) -> dict[str, str]:
    """What a test would need to show that this share of people can tell."""
    right = right_by_share(share, method)
    found = {
        "test": f"{method.label} ({method.standard})",
        "if": f"{share:.0%} can tell, so that {right:.0%} of answers are right",
    }
    needed = trials_needed(method, right, wanted, alpha)
    if needed is None:
        found["needed"] = "more than 2,000 answers"
    else:
        first, stable = needed
        more = f"; never below it again from {stable}" if stable != first else ""
        found["needed"] = f"{first} answers for a power of {wanted:.0%} at {alpha:g}{more}"
    if trials is not None:
        found["power"] = f"{power(trials, method, right, alpha):.0%} with {trials} answers"
    return found
