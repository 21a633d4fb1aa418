"""Laboratory values: a figure, a range, a bound, or only that something was detected."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from tracer.amounts import Amount, AmountReader
from tracer.knowledge.compound import Compound
from tracer.lots.fields import is_unknown
from tracer.lots.form import LaboratoryForm
from tracer.lots.lot import LaboratoryResult
from tracer.lots.spot import Spot
from tracer.names import did_you_mean, fold, nearest
from tracer.quantity import FACTORS, QuantityError, unit_name
from tracer.wording.sentence import say

_DETECTED = ("detected", "found", "present", "traces", "trace", "positive")
_BELOW = (
    "not detected",
    "nd",
    "n.d.",
    "below limit",
    "below the limit",
    "below detection",
    "blq",
    "<lod",
    "<loq",
    "not found",
)
_MARKS = str.maketrans("αβ", "ab")


def compound_names(compounds: Mapping[str, Compound]) -> dict[str, str]:
    """Every name of a compound, folded -> its id: also the two of a label such as syringol (2,6-dimethoxyphenol)."""
    names = {
        plain(name): entry.id
        for entry in compounds.values()
        for name in (*entry.called, entry.label, entry.cas or entry.id, entry.id)
    }
    for entry in compounds.values():
        first, bracket, rest = entry.label.partition(" (")
        for name in (first, rest.removesuffix(")")) if bracket else ():
            names.setdefault(plain(name), entry.id)
    return names


def plain(name: str) -> str:
    """A chemical name without case, hyphens, brackets and spaces.

    >>> plain("2,4,6-Trichloroanisole") == plain("2,4,6 trichloro-anisole")
    True
    """
    return "".join(c for c in fold(name).translate(_MARKS) if c.isalnum() or c == ",")


def read_laboratory(
    forms: Iterable[LaboratoryForm],
    data: Any,
    spot: Spot,
    compounds: Mapping[str, Compound],
    amounts: AmountReader,
) -> tuple[LaboratoryResult, ...]:
    """Every laboratory result; what cannot be weighed is told and kept."""
    names = compound_names(compounds)
    found = []
    for index, form in enumerate(forms):
        one = _result(form, spot.item(data, index), names, compounds, amounts)
        if one is not None:
            found.append(one)
    return tuple(found)


def _result(
    form: LaboratoryForm,
    at: Spot,
    names: Mapping[str, str],
    compounds: Mapping[str, Compound],
    amounts: AmountReader,
) -> LaboratoryResult | None:
    if form.compound is None:
        at.problem(say("a laboratory result needs its compound"), say("Give an id, a name or a CAS number."))
        return None
    identity = names.get(plain(form.compound))
    if identity is None:
        near = nearest(fold(form.compound), compounds)
        told = say("'{compound}' is no compound of the knowledge base", compound=form.compound)
        if near is not None:
            (at / "compound").problem(told, did_you_mean(form.compound, compounds, ""))
            return None
        (at / "compound").problem(
            told,
            say("It is kept on the sheet and not weighed. Browse the compounds with: tracer show NOTE"),
            "warning",
        )
    amount, result = _amount(form, at, amounts)
    if amount is not None and form.unit is None and amount.best is not None:
        at.problem(say("an amount needs its unit"), say("Add unit: as ug/kg, ng/L."))
    if form.unit is not None and not _is_unit(form.unit):
        (at / "unit").problem(
            say("'{unit}' is no unit known here", unit=form.unit),
            say("The value is kept and not weighed. Known: ng/L, ug/kg, mg/kg, ng/g ..."),
            "warning",
        )
    if result is None and amount is None and identity is not None:
        at.problem(
            say(
                "the result for '{compound}' has no value and does not say whether it is raised, and so does not count",
                compound=form.compound,
            ),
            say(
                "Add value: and unit:, or result: raised or not_raised, against a sound reference in the same matrix."
            ),
            "warning",
        )
    value = amount.best if amount is not None and amount.exact else None
    return LaboratoryResult(
        identity or fold(form.compound),
        value,
        form.unit,
        form.matrix,
        form.method,
        result,
        at.place,
        amount if amount is not None and not amount.exact else None,
        form.of,
        identity is not None,
    )


def _amount(form: LaboratoryForm, at: Spot, amounts: AmountReader) -> tuple[Amount | None, str | None]:
    """The figure as an amount, and the result; "detected" and "below the limit" may stand in either place."""
    value: object = form.value
    if is_unknown(value):
        return None, form.result
    if isinstance(value, list) and len(value) == 2:
        value = say("{value} to {value_2}", value=value[0], value_2=value[1])
    if isinstance(value, (dict, list)):
        (at / "value").problem(say("a number was expected here"), say("Write a number, a range or a bound."))
        return None, form.result
    if isinstance(value, str) and fold(value) in _DETECTED:
        return None, form.result or "detected"
    if isinstance(value, str) and fold(value) in _BELOW:
        return None, form.result or "below_limit"
    try:
        amount = (
            amounts.read(value, form.unit or "1")
            if form.unit and _is_unit(form.unit)
            else amounts.read(value, "1")
        )
    except QuantityError as error:
        (at / "value").problem(
            error.message, say("Write digits, a range (1 to 100), a bound (< 0.5), detected or below_limit.")
        )
        return None, form.result
    if any(end is not None and end < 0 for end in (amount.low, amount.high)):
        (at / "value").problem(
            say("an amount cannot be below 0"),
            say("Write what the report says; below the limit is below_limit."),
        )
    return amount, form.result


def _is_unit(text: str) -> bool:
    name = unit_name(text.split()[0]) if text.split() else ""
    return name in {unit for table in FACTORS.values() for unit in table} or name in FACTORS
