"""The report as data: all a screen, a page or a file shows is read from here and nowhere else."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any, Literal

from tracer.enquiry.plan import AskLine
from tracer.explain.by_note import NoteSource
from tracer.explain.chains import ChainStep
from tracer.explain.weights import Weight
from tracer.history.charts import Chart
from tracer.history.history import History
from tracer.inference.tasters import MeasuredTaster
from tracer.report.alike import AlikeLine
from tracer.wording.language import tell
from tracer.wording.sentence import Id, Name


@dataclass(frozen=True, slots=True)
class SeenNote:
    """A note somebody reported, over all tasters of the sample traced."""

    descriptor: Id
    label: str
    cups: str
    """As '4 of 15 cups, 2 of 3 tasters'."""
    words: tuple[Name, ...]
    stop_tasting: bool
    vague: bool
    found: int | None = None
    """Cups with the note, of those of the tasters who counted them; None where nobody did."""
    of: int | None = None
    tasters: int = 0


@dataclass(frozen=True, slots=True)
class SourceLine:
    """A ranked probable source."""

    fault: Id
    label: str
    stage: Id
    probability: float
    """P(it happened and a live path runs from it to a reported note | everything known)."""
    low: float
    high: float
    present: float
    """P(it happened | everything known), whether or not it explains the notes."""
    prior: float
    """Share of all lots cupped that have it."""
    after_history: float
    chain: tuple[ChainStep, ...]
    because: tuple[str, ...]
    against: tuple[str, ...]
    missing: tuple[str, ...]
    """Notes it would usually make that nobody looked for, or looked for and did not find."""
    weights: tuple[Weight, ...]
    definition: str
    green_signs: tuple[str, ...]
    confirm: tuple[str, ...]
    remedy: tuple[str, ...]
    prevention: tuple[str, ...]
    caution: str | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StageLine:
    """A stage of the chain with the probability that the cause lies there."""

    stage: Id
    label: str
    probability: float
    """Of a lot of which nothing is traced: that any fault of the stage is there."""
    ask_of: str
    unlisted: float = 0.0
    """The part of it that is a cause which the knowledge does not name."""


@dataclass(frozen=True, slots=True)
class CompoundLine:
    """A compound, group or complex, with the probability that it is in the cups."""

    compound: Id
    label: str
    probability: float
    members: tuple[str, ...]
    identified: bool
    evokes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenWord:
    """A word that needs an answer from the taster before it counts."""

    words: Name
    taster: Name
    place: Name
    outcome: Id
    question: str
    candidates: tuple[str, ...]
    suggestions: tuple[str, ...]
    means: tuple[Id, ...]
    """Ids of what it may mean, as `means:` of the lot sheet takes them."""


@dataclass(frozen=True, slots=True)
class Caution:
    """Something that must be read: stop, hold or note."""

    level: Id
    text: str
    because: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two pieces of evidence that do not go together, and what to do about it."""

    text: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Expected:
    """A note that is normal for this process or origin."""

    descriptor: Id
    because: str
    rule: Id


@dataclass(frozen=True, slots=True)
class DatedLine:
    """Something that happened to the lot, with its day or days."""

    stage: str
    first: Name
    last: Name
    text: str


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do next."""

    kind: Literal["stop", "hold", "words", "act", "bench", "claim", "ask", "sample"]
    text: str
    source: Id = ""
    """The fault it is the remedy of."""
    ask: Id = ""
    """The enquiry, where it is a question or test."""


@dataclass(frozen=True, slots=True)
class Deadline:
    """The last day of a time limit the user entered."""

    what: Name
    clause: Name
    last_day: Name


@dataclass(frozen=True, slots=True)
class PanelLine:
    """Which tasters were measured, and how far that moved the first source."""

    measured: tuple[MeasuredTaster, ...]
    unmeasured: tuple[Name, ...]
    source: str
    probability: float
    average: float | None
    """Its probability with an average panel; None where it would not be listed."""
    average_first: str
    """The first source with an average panel."""


@dataclass(frozen=True, slots=True)
class KnowledgeLine:
    """Which knowledge the report was computed with."""

    version: Name
    sha256: Name
    houses: tuple[Name, ...]
    rule_engine: Name


@dataclass(frozen=True, slots=True)
class NotWeighed:
    """A line of the sheet that moves no figure, and why."""

    what: str
    because: str
    place: Name
    kind: Id
    """record, answer, laboratory, crop, pattern, comparison, contact, normal, note, said, score or remark."""


@dataclass(frozen=True, slots=True)
class UnderstoodWord:
    """A word that was taken for another one, or by the usual one of its meanings."""

    words: Name
    taken_for: str
    note: str
    taster: Name
    place: Name
    how: Id = "corrected"
    """corrected or usual."""


@dataclass(frozen=True, slots=True)
class Report:
    """Everything `trace` found."""

    lot: Name
    described: str
    sample: Id
    verdict: Id
    verdict_text: str
    notes: tuple[SeenNote, ...]
    absent: tuple[str, ...]
    absent_left_out: int
    """Notes looked for and not found that bear on no candidate source, and were not weighed."""
    sources: tuple[SourceLine, ...]
    stages: tuple[StageLine, ...]
    compounds: tuple[CompoundLine, ...]
    measured: tuple[str, ...]
    """What the laboratory's figures come to in the cup."""
    none_of_these: float
    by_note: tuple[NoteSource, ...]
    beside: tuple[str, ...]
    """What else was traced: foul smells of the green; damage and compounds where nothing was smelled or tasted."""
    """For each note by itself, where there are several."""
    conflicts: tuple[Conflict, ...]
    cautions: tuple[Caution, ...]
    asks: tuple[AskLine, ...]
    worth_asking: bool
    next: tuple[Step, ...]
    """What to do now, the first thing first."""
    """False where no question would tell enough to be the next step."""
    unmatched_words: tuple[OpenWord, ...]
    expected: tuple[Expected, ...]
    findings: tuple[Weight, ...]
    """Every finding that fired, whatever fault it bears on."""
    deadlines: tuple[Deadline, ...]
    """Earliest first."""
    claim: tuple[str, ...]
    """Every fault of cup and green with its count, as a claim must name them."""
    panel: PanelLine | None
    history: History
    """What logs, readings, bed days and sentences show."""
    charts: tuple[Chart, ...]
    dated: tuple[DatedLine, ...]
    """Days of the lot that the sheet or its logs name, in order of time."""
    sampling: tuple[str, ...]
    """What the cups and bags of this sample can and cannot show."""
    not_known: tuple[str, ...]
    knowledge: KnowledgeLine
    not_weighed: tuple[NotWeighed, ...] = ()
    """Lines of the sheet that move no figure, each with the reason."""
    understood: tuple[UnderstoodWord, ...] = ()
    """Words that were taken for others: corrections of spelling."""
    alike: tuple[AlikeLine, ...] = ()
    """Published and closed cases that the lot reads like; none where they are left out."""
    elsewhere: tuple[str, ...] = ()
    """Notes of other samples than the one traced, with the sample."""

    def to_json(self) -> str:
        """One JSON object in the reader's language; probabilities rounded to six figures."""
        return json.dumps(_rounded(asdict(tell(self))), ensure_ascii=False, indent=2)

    def to_keep(self) -> str:
        """The same in English whoever keeps it, as the casebook holds it for readers of every language."""
        return json.dumps(_rounded(asdict(self)), ensure_ascii=False, indent=2)


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 6)
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(item) for item in value]
    return value
