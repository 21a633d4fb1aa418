"""Habits and limits of measuring a panel and of learning from cases, each a setting that a house can change."""

from __future__ import annotations

from pydantic import Field

from tracer.knowledge.settings_parts import Explained
from tracer.knowledge.strength import Basis, Entry


class MeasuredWeight(Entry):
    """How many cups the default of an unmeasured taster is worth beside measured ones."""

    hit: float
    false_alarm: float


class Training(Entry):
    """How a panel is trained."""

    steps: tuple[float, ...] = Field(
        min_length=1,
        description="Times threshold, strongest first; the next once a note is found in both cups.",
    )
    blanks: int = Field(gt=0, description="Clean cups in each session.")
    litres_a_cup: float = Field(gt=0, description="L served to a taster for one cup.")
    spare: float = Field(ge=1, description="How much more is made than is served.")
    minutes_a_cup: float = Field(gt=0, description="Tasting, writing and waiting.")
    minutes_a_reference: float = Field(gt=0, description="Weighing, diluting and labelling one.")
    minutes_of_talk: float = Field(description="Talk after all are done.")


class PanelSettings(Explained):
    """Measuring tasters and preparing references."""

    every_days: int = Field(description="Days after which a calibration is due again.")
    multiple: float = Field(description="Usual strength of a reference, times its threshold.")
    reference_share: float = Field(
        0.5,
        gt=0,
        le=1,
        description="Least share a reference makes its note, of the compound that makes it most.",
    )
    measured_weight: MeasuredWeight
    plan: Training
    fades_in_days: float = Field(
        description="Half of what a calibration taught is believed after this many days."
    )
    alarm_limit: float = Field(description="A session this unlikely at a taster's own norm raises the alarm.")
    least_cups: int = Field(description="Cups with a note, below which a rate is called hardly measured.")
    fewest_for_leaning: int = Field(
        description="Cups with and without the note, below which no leaning is told."
    )
    most_cups: int = Field(description="Cups a session beyond which tiring is warned of.")
    drill_target: float = Field(description="Share that should still be known when a drill card is due.")
    smallest_volume: float = Field(description="Smallest volume to pipette, ul.")
    smallest_mass: float = Field(description="Smallest mass to weigh, mg.")
    most_carrier: float = Field(description="Most carrier in a litre, ml.")
    carrier: str
    balance_error: float = Field(description="Error of the balance, mg.")
    flask_error: float = Field(description="Relative error of a flask.")
    pipette_error: float = Field(description="Relative error of a pipette.")
    water_error: float = Field(description="Relative error of the last volume.")
    cautions: tuple[str, ...]


class Learning(Explained):
    """How much the shipped figures are worth beside closed cases."""

    prior_weight: float = Field(gt=0, description="Cases that a shipped prior counts as.")
    link_weight: dict[Basis, float] = Field(
        description="Basis of a shipped link -> cases that it counts as; a count n/m counts as its own m."
    )
    group_weight: float = Field(gt=0, description="Cases that the whole casebook counts as within one group.")
    fewest_in_group: int = Field(
        description="Closed cases of a group below which it learns nothing of its own."
    )
    most_ratio: float = Field(gt=1, description="Bound of a learned likelihood ratio, and its inverse.")
