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
from tracer.wording.sentence import say


def result(
    method: Method, trials: int, right: int, alpha: float, alike: float | None = None
) -> dict[str, str]:
    """What so many right answers show; with `alike`, also whether they show that fewer than this share can tell."""
    p = p_value(right, trials, method)
    needed = critical_number(trials, method, alpha)
    low, high = Rate(right, trials - right + 1), Rate(right + 1, trials - right)
    ends = (low.quantile(0.025) if right else 0.0, high.quantile(0.975) if right < trials else 1.0)
    found: dict[str, str] = {
        "test": say(
            "{label} ({standard}), guess 1 in {guess:.0f}",
            label=method.label,
            standard=method.standard,
            guess=1 / method.guess,
        ),
        "result": say("{right} of {trials} right; p = {p:.4g}", right=right, trials=trials, p=p),
        "verdict": say("a difference is shown")
        if needed is not None and right >= needed
        else say("no difference is shown, which is not the same as none"),
        "needed": say("{needed} right at {alpha:g}", needed=needed, alpha=alpha)
        if needed is not None
        else say("not even all right would do at {alpha:g}", alpha=alpha),
        say("can tell"): say(
            "{right:.0%} of people ({ends:.0%} to {ends_2:.0%}, 95 % exact)",
            right=share_who_tell(right / trials, method),
            ends=share_who_tell(ends[0], method),
            ends_2=share_who_tell(ends[1], method),
        ),
    }
    if method.id != "two_of_five":
        error = distance_error(right, trials, method)
        spread = (
            say(", standard error {error:.2f}", error=error)
            if error is not None
            else say(", error not defined at the ends")
        )
        found["distance"] = say(
            "d' {right:.2f}{spread}", right=distance(right / trials, method), spread=spread
        )
    if alike is not None:
        chance = similarity(right, trials, method, alike)
        shown = "shown" if chance <= alpha else say("not shown")
        found["alike"] = say(
            "that fewer than {alike:.0%} can tell is {shown}; p = {chance:.4g}",
            alike=alike,
            shown=shown,
            chance=chance,
        )
    found["mind"] = say("several answers of one person are not several people: say whose they are")
    return found


def before(method: Method, share: float, alpha: float, wanted: float, trials: int | None) -> dict[str, str]:
    """What a test would need to show that this share of people can tell."""
    right = right_by_share(share, method)
    found: dict[str, str] = {
        "test": say("{label} ({standard})", label=method.label, standard=method.standard),
        "if": say("{share:.0%} can tell, so that {right:.0%} of answers are right", share=share, right=right),
    }
    needed = trials_needed(method, right, wanted, alpha)
    if needed is None:
        found["needed"] = say("more than 2,000 answers")
    else:
        first, stable = needed
        more = say("; never below it again from {stable}", stable=stable) if stable != first else ""
        found["needed"] = say(
            "{first} answers for a power of {wanted:.0%} at {alpha:g}{more}",
            first=first,
            wanted=wanted,
            alpha=alpha,
            more=more,
        )
    if trials is not None:
        found["power"] = say(
            "{trials:.0%} with {trials_2} answers",
            trials=power(trials, method, right, alpha),
            trials_2=trials,
        )
    return found
