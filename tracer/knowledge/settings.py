"""Settings: the named bands, the tasters' defaults and the limits of the verdicts."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from tracer.knowledge.panel_settings import Learning, PanelSettings
from tracer.knowledge.parts_of_the_chain import Contacts, Patterns
from tracer.knowledge.phrase import Comparison, Pattern, Unit
from tracer.knowledge.physics import Physics
from tracer.knowledge.settings_parts import Explained
from tracer.knowledge.strength import Citation, Entry, Id
from tracer.knowledge.taster_settings import Band, Cups, Tasters


class Bands(Explained):
    """Named bands of one kind."""

    bands: dict[str, Band]


class Suspicion(Explained):
    """That somebody wants a lot traced: a factor on the odds of every fault but those of the bench.

    A lot counts as suspected unless its sheet says that it was cupped as routine.
    """

    ratio: Band = Field(
        description="P(somebody wants it traced | fault) / P(somebody wants it traced | no such fault)."
    )
    record: Id = Field(description="The row that says why a lot was cupped.")
    routine: str = Field(description="Its value where nobody had anything to trace: the factor is left out.")
    prior_bands: Bands = Field(
        description="Shares of all lots cupped, for the faults that the factor raises."
    )


class Spreads(Explained):
    """How a fault's compound is divided between the states, given that it is there at all."""

    throughout: dict[str, float] = Field(
        description="Spread -> P(throughout | present); the rest is scattered."
    )


class AmountWords(Explained):
    """What amounts without an exact figure stand for."""

    about: float = Field(description="Share of a figure by which an 'about' reaches to either side.")
    few: tuple[float, float]
    some: tuple[float, float | None]
    many: tuple[float, float | None] = Field(description="Beans in 300 g, or per cent; null is open.")


class StandsFor(Entry):
    """A pattern or comparison that says the same as a row of the sheet."""

    pattern: Pattern | None = None
    comparison: Comparison | None = None
    record: str
    value: str


class Leaks(Explained):
    """Chance of a compound or a note with no cause in the knowledge base."""

    compound_scattered: float
    compound_throughout: float
    note_scattered: float
    note_throughout: float


class OpenWords(Explained):
    """How a word of several meanings is weighed: as a child of the notes it may mean."""

    used: float = Field(description="Chance that a taster who finds its commonest note uses the word.")
    leak: float = Field(description="Chance of the word with none of its notes there.")
    usual_note: float = Field(
        description="Chance of a note before the cups, by which the share of innocent use becomes a leak."
    )
    most: int = Field(description="Words of one lot that are weighed, the most telling first.")
    readings: int = Field(description="Notes a word is weighed for, the commonest first.")


class Signs(Explained):
    """How signs are weighed."""

    as_telling: float = Field(
        gt=1,
        description="Two findings of a group that say the opposite contradict each other where their ratios multiply to within this of 1.",
    )


class Unread(Explained):
    """What a machine took from sentences and nobody read."""

    right: float = Field(gt=0, le=1, description="Share of it that a careful person would take too.")
    contact: float = Field(gt=0, le=1, description="The same of contacts.")
    least: float = Field(gt=0, le=1, description="Probability of being right from which it is taken.")


class SureReading(Explained):
    """How probably a careful person would put on the sheet what a way of a phrase, wholly there, makes of a sentence:
    1 / (1 + exp -z), z the sum of these figures, each times what it names."""

    constant: float
    weight: float = Field(description="times ln of the weight of the way (see `match`).")
    alike: float = Field(description="times ln of what all words of the sentence add to it (see `alike`).")
    loose: float = Field(description="times ln(1 + words between its own).")
    clauses: float = Field(description="where its words stand in several clauses.")
    telling: float = Field(description="times its words that are no small words, five at most.")
    sure: float = Field(description="Probability from which it is offered as sure.")
    of_cases: float = Field(
        description="The same for a row of a published record that is only to be a mark of its case: many weak marks tell more than few."
    )


class GreenSmells(Explained):
    """Smells of the green."""

    reach: float = Field(
        gt=0,
        le=1,
        description="Share of what taints the cup that somebody who smells the green finds there.",
    )
    leak: float = Field(gt=0, lt=1, description="Chance of such a smell with nothing there that makes it.")


class Together(Explained):
    """Lots traced together: how far a cause lies in what they share."""

    shared: float = Field(
        gt=0, lt=1, description="Share of a fault's prior that lies in a place, not in one lot."
    )
    reach: float = Field(
        gt=0, lt=1, description="Share of the lots of such a place that the fault reaches when it is there."
    )
    leading: int = Field(description="Common sources of which each pair is tried too, the most probable.")
    exporter: tuple[Id, ...] = Field(description="Stages that an exporter's lots have in common.")


class OwnChance(Entry):
    """Chance that another coffee shows a note by itself."""

    scattered: float
    throughout: float


class Shared(Entry):
    """What a comparison has gone through together with the lot."""

    stages: tuple[Id, ...] = Field(description="Stages shared, those of the bench among them.")
    spares: tuple[Unit, ...] = Field(
        (), description="Units that strike it apart though it went through the stage."
    )
    also: tuple[Unit, ...] = Field((), description="Units that hold it too, at whatever stage.")
    all_but_last: bool = Field(
        False,
        description="Of a sample known to come from later on: all stages it has gone through but the last.",
    )
    own: OwnChance | None = Field(None, description="Its own chance of a note, where not the usual one.")


class PrecedentSettings(Explained):
    """How far published and closed cases lean on the stages."""

    smoothing: float = Field(gt=0, description="Added to every count of the text model.")
    temper: float = Field(ge=0, description="Factor on its scores of notes, rows and findings.")
    words: float = Field(
        0.0, ge=0, description="Factor on its score of plain words, over the root of their number."
    )
    cap: float = Field(ge=0, description="Largest |ln| of the ratio it gives a stage.")
    shown: int = Field(description="Cases that are shown as alike.")
    least: float = Field(ge=0, le=1, description="Likeness from which a case is shown.")


class CropYear(Explained):
    """What a crop year tells of the age of a lot."""

    last_month: dict[Literal["one", "two"], int] = Field(
        description="Month in which picking ends at the latest, of a crop of one calendar year (2025) and of two (2025/26)."
    )
    tells_from: float = Field(
        description="Months after it from which the crop says how old the lot is at least."
    )


class Reached(Entry):
    """A row of the sheet that says how far the lot has come."""

    record: Id
    value: str
    stage: Id = Field(description="The last stage it has gone through.")


class ChainSettings(Explained):
    """What samples and comparisons have gone through."""

    drawn_after: dict[str, Id] = Field(description="Kind of sample -> the last stage it has gone through.")
    and_after: dict[str, Id] = Field(
        {},
        description="Kind of sample -> a later stage it has gone through too, where the sheet records something of that stage.",
    )
    reached: tuple[Reached, ...] = ()
    shares: dict[str, Shared]
    own: OwnChance


class Laboratory(Explained):
    """P(result | compound absent, scattered, throughout)."""

    raised: tuple[float, float, float]
    detected: tuple[float, float, float] = Field(description="Only found, against no reference.")
    not_raised: tuple[float, float, float] = Field(
        description="Also for a value below the limit of detection."
    )


class OdourActivity(Explained):
    """How a laboratory's figure is brought into the cup and weighed."""

    dose: tuple[float, float] = Field(description="Grams of coffee in a litre of brew.")
    extracted: tuple[float, float] = Field(description="Share of the compound that goes into the brew.")
    survives: dict[str, tuple[float, float]] = Field(
        description="`survives_roasting` of a compound -> share left after roasting."
    )
    slope: float = Field(description="log10 of the likelihood ratio for each log10 of the odour activity.")
    limit: float = Field(description="Likelihood ratio beyond which no figure goes, either way.")
    scattered: float = Field(description="Share of that weight where the compound is scattered.")


class Verdicts(Explained):
    """Limits between the five verdicts."""

    supported: float = Field(description="Source probability from which one source is called supported.")
    stage: float = Field(description="The same for a stage in which no source stands out.")
    several: float = Field(description="Each of several sources must reach this.")
    bench: float = Field(description="Probability of the bench stages from which a bench fault is suspected.")
    nothing: float = Field(description="Probability of none_of_these from which no defect is supported.")
    worth_asking: float = Field(
        description="Bits about the source stage below which no question is named as the next step."
    )
    worth_its_cost: float = Field(description="The same in bits for each unit of cost.")
    worth_a_letter: float = Field(
        description="Probability of a listed source from which a letter asks about it."
    )
    bench_stages: tuple[str, ...]


class Limits(Entry):
    """How many notes one lot may bring into the exact computation."""

    present_weighed: int
    absent_weighed: int
    largest_table: float = Field(description="log2 of the largest table the exact computation may build.")


class GeneralCaution(Entry):
    """A caution that stands under every report."""

    text: str
    cites: tuple[Citation, ...] = Field((), description="Empty means common practice.")


class Cautions(Entry):
    """Cautions that do not belong to one fault."""

    stop: str = Field(description="Said when a note is one nobody should go on tasting.")
    hold: str = Field(description="Said of the lot where such a note was named and no source says more.")
    perhaps: float = Field(
        description="Share of tasters who must mean a stop note by an open word for it to stop: judgement."
    )
    notes: tuple[GeneralCaution, ...]


class Settings(Entry):
    """knowledge/settings.yaml."""

    version: str
    link_bands: Bands
    green_smells: GreenSmells
    unread: Unread
    crop_year: CropYear
    reading: SureReading
    contacts: Contacts
    patterns: Patterns
    together: Together
    precedents: PrecedentSettings
    leak_bands: Bands
    ratio_bands: Bands
    prior_bands: Bands
    suspicion: Suspicion | None = Field(
        None, description="None: priors are of the lots that somebody wants traced."
    )
    rules_out: Band
    unknown_link: Band
    spreads: Spreads
    tasters: Tasters
    cups: Cups
    leaks: Leaks
    words: OpenWords
    signs: Signs
    chain: ChainSettings
    laboratory: Laboratory
    odour_activity: OdourActivity
    amounts: AmountWords
    stands_for: tuple[StandsFor, ...] = ()
    verdicts: Verdicts
    limits: Limits
    cautions: Cautions
    cost: dict[str, float] = Field(description="Cost band -> relative cost, for gain per cost.")
    physics: Physics
    panel: PanelSettings
    learning: Learning
