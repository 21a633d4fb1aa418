"""Physical constants and house limits behind the findings from logs and readings, each with its basis."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from tracer.knowledge.settings_parts import Explained
from tracer.knowledge.strength import Entry

Pair = tuple[float, float]


class LogLimits(Explained):
    """What a logger can read at all, and how much of a log may be missing."""

    possible: dict[str, Pair] = Field(description="Channel -> lowest and highest reading of a sound sensor.")
    gap_factor: float = Field(gt=1, description="A gap is more than this many usual steps without a reading.")
    most_missing: float = Field(description="Share missing or dropped above which nothing is assessed.")


class Isotherm(Explained):
    """Moisture (% dry basis) in balance with air, by one of the usual forms."""

    form: Literal["roa", "oswin", "gab", "modified_henderson"]
    coefficients: dict[str, tuple[float, ...]]
    product: str
    temperature: Pair = Field(description="Range of the fit, C.")
    moisture: Pair = Field(description="Range of the fit, % dry basis.")
    error: float = Field(description="Standard error of the fit, % dry basis.")
    guard: tuple[float, float, float, float] = Field(
        description="T (C), aw, measured moisture (% dry basis) and how far the form may lie from it: rejects a misprint."
    )


class WaterActivityError(Explained):
    """Standard error of a water activity worked out from moisture."""

    parchment: float
    green: float
    cherry: float
    method_unknown: float = Field(description="Added where the moisture method is not known.")
    doubtful: float = Field(
        description="Measured and computed aw further apart than this many errors: doubtful."
    )


class MoistureMethods(Explained):
    """How methods of moisture differ from ISO 6673, in points of % wet basis."""

    above_iso6673: dict[str, float] = Field(description="Method -> points it reads above ISO 6673.")
    error: dict[str, float] = Field(description="Method -> standard error, points.")
    certain: float = Field(description="A difference counts as real beyond this many standard errors.")


class ThinLayer(Explained):
    """dM/dt = -m q (M - Me) D^n t^(q-1); D the vapour pressure deficit in kPa, t in hours, M in % dry basis."""

    m: float
    n: float
    q: float
    temperature: Pair
    start_moisture: dict[str, float] = Field(description="Process -> moisture at spreading, % wet basis.")
    rate_factor: dict[str, Pair] = Field(
        description="parchment, cherry -> usual factor on the rate, and its spread as a factor."
    )
    reading_error_below_15: float = Field(description="Standard error of a reading below 15 %, points.")
    reading_error_above_15: float


class MouldGrowth(Explained):
    """Growth of mixed storage moulds in mm a day: cardinal model in aw at 30 C, moved with temperature."""

    fastest: float
    aw: tuple[float, float, float] = Field(description="Least, best and highest water activity.")
    shift: Pair = Field(description="a and b of the shift a (cosh(b (T - 30)) - 1).")
    warmest: float
    lag_hours: Pair = Field(description="Lag at aw 0.95 and more, and at 0.85 and less.")
    lag_aw: Pair
    dry_spell: Pair = Field(description="Below this aw, for more than these hours, the lag begins anew.")


class MouldWindow(Explained):
    """Water activity and temperature between which mould is counted."""

    aw: Pair
    toxin_aw: float
    temperature: Pair
    store_aw: Pair = Field(description="Slow xerophilic moulds: mustiness in store over weeks.")


class Condensation(Explained):
    """When a wall is taken to be wet."""

    surface_below_air: float = Field(
        description="No probe on the roof: the roof is this much colder than the air, K."
    )
    cargo_hours: float = Field(description="The cargo follows the mean air temperature of this many hours.")
    humidity_error: float = Field(description="Error of a logger's humidity, points.")


class DryerHeat(Explained):
    """When coffee in a dryer is counted as too hot."""

    wet_moisture: float
    wet_limit: float
    any_limit: float
    lasting: float = Field(description="The highest temperature is the one that lasted this many minutes.")


class Interruption(Explained):
    """When drying is counted as interrupted or wetted again."""

    hours: float
    moisture: float
    temperature: float
    least_loss: float = Field(description="Loss in that time below this, points, counts as none.")
    rise: float = Field(description="A later reading this much wetter, points, counts as wetted again.")


class Store(Explained):
    """How store air is read."""

    damp: float = Field(description="Relative humidity above which a day is counted as damp, %.")
    follows_hours: float = Field(description="Bags are taken to follow the mean air of this many hours.")
    turns_a_day: int = Field(description="Turns a day that count as turned often.")


class Sampling(Explained):
    """What a number of cups or bags can show."""

    beans_a_cup: tuple[int, int, int] = Field(description="Low, usual, high.")
    whole_lot_rate: float = Field(description="Share of cups that show a cause that is in all of the lot.")
    single_bean_rate: float = Field(description="Share of beans, for a cause in single beans.")
    confidence: float
    telling_share: float = Field(description="Share of cups that a user would want to be told of.")


class Physics(Entry):
    """Everything behind the findings from logs and readings."""

    logs: LogLimits
    isotherm: Isotherm
    water_activity_error: WaterActivityError
    moisture_methods: MoistureMethods
    thin_layer: ThinLayer
    mould_growth: MouldGrowth
    mould_window: MouldWindow
    condensation: Condensation
    dryer_heat: DryerHeat
    interruption: Interruption
    store: Store
    sampling: Sampling

    @model_validator(mode="after")
    def _methods_are_whole(self) -> Physics:
        methods = self.moisture_methods
        if set(methods.above_iso6673) != set(methods.error):
            raise ValueError("moisture_methods: each method needs its difference and its error")
        return self
