"""What all pages share: the knowledge, the casebook, the key; and the traces, one at a time, the recent ones kept."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from tracer.casebook.again import read_kept
from tracer.casebook.answers import with_answers
from tracer.casebook.cases import Received, Whole, now, whole
from tracer.casebook.sessions import sessions
from tracer.causes.graph import cause_graph
from tracer.causes.usual import usual_notes
from tracer.issues import InputError, Issue, has_errors
from tracer.knowledge.base import KnowledgeBase
from tracer.knowledge.texts import in_language
from tracer.lots.lot import Lot
from tracer.names import fold
from tracer.page.guard import Tries
from tracer.page.offline import OfflineWords
from tracer.page.shares import ShareReader
from tracer.panel.reliability import measured_for
from tracer.report.document import Report
from tracer.tracing import Prepared, prepare, trace
from tracer.wording.sentence import say

KEPT_LOTS, KEPT_REPORTS = 64, 256


@dataclass(frozen=True, slots=True)
class Traced:
    """A kept case, its lot with the answers, its report, and what the sheet warns of."""

    kept: Whole
    lot: Lot
    report: Report
    warnings: tuple[Issue, ...]


@dataclass
class Site:
    """One running page."""

    base: KnowledgeBase
    book: Path
    keys: Mapping[str, str] = field(default_factory=dict)
    """Role -> key; none where only this machine reaches the page."""
    address: str = "http://127.0.0.1:8080"
    ready: Prepared = field(init=False)
    usual: tuple[str, ...] = field(init=False)
    graph: Any = field(init=False)
    tries: Tries = field(default_factory=Tries)
    seats: Tries = field(default_factory=lambda: Tries(most=60))
    saves: Tries = field(default_factory=lambda: Tries(most=120))
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _known: dict[str, Mapping[str, str]] = field(default_factory=dict)
    _names: dict[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    _lots: OrderedDict[int, tuple[Lot, tuple[Issue, ...]]] = field(default_factory=OrderedDict)
    _reports: OrderedDict[tuple[object, ...], Report] = field(default_factory=OrderedDict)

    def __post_init__(self) -> None:
        self.ready = prepare(self.base)
        self.usual = usual_notes(self.base)
        self.graph = cause_graph(self.base)

    @cached_property
    def bare(self) -> Prepared:
        """What a trace without the published cases needs."""
        return replace(self.ready, cases=None)

    @cached_property
    def shares(self) -> ShareReader:
        """Reads shares of the cups."""
        return ShareReader(self.base.languages.values())

    @cached_property
    def offline(self) -> OfflineWords:
        """What a phone must know by itself."""
        return OfflineWords(self.base, self.ready.vocabulary.stops)

    @property
    def tracing(self) -> threading.Lock:
        """Held while something is traced: one at a time."""
        return self._lock

    def known(self, language: str) -> Mapping[str, str]:
        """English texts of the knowledge with their translation."""
        if language not in self._known:
            self._known[language] = in_language(self.base, language)
        return self._known[language]

    def names(self, language: str) -> tuple[tuple[str, str], ...]:
        """How a language names off-notes, faults and stages, folded, each with its English label, folded."""
        if language not in self._names:
            known, found = self.known(language), []
            for kind in (self.base.faults, self.base.stages):
                found += [(fold(known.get(one.label, one.label)), fold(one.label)) for one in kind.values()]
            for note in self.base.descriptors.values():
                own = (known.get(note.label, note.label), *note.words.get(language, ()))
                found += [(fold(name), note.id.replace("_", " ")) for name in own]
            self._names[language] = tuple(found)
        return self._names[language]

    def traced(
        self,
        number: int,
        supposed: Sequence[tuple[str, str]] = (),
        keep: str | None = None,
        cases: bool = True,
    ) -> Traced:
        """A kept case traced with today's knowledge, the answers received, and answers only supposed; `cases` are the published ones.

        Raises InputError where there is no such case or its sheet cannot be read any more.
        """
        kept = whole(self.book, number)
        lot, warnings = self._lot(kept)
        more = [*kept.received, *(Received(now(), "", question, answer, "") for question, answer in supposed)]
        lot = with_answers(lot, more, self.base)
        measured = len(sessions(self.book))
        name = (number, lot.answers, keep, measured, cases)
        with self._lock:
            report = self._reports.get(name)
            if report is None:
                report = self.trace(lot, keep, locked=True, cases=cases)
                _remember(self._reports, name, report, KEPT_REPORTS)
        return Traced(kept, lot, report, warnings)

    def remember(self, number: int, lot: Lot, warnings: Sequence[Issue], report: Report) -> None:
        """What was just kept need not be read and traced again to be shown."""
        found = replace(lot, file=say("case {number}", number=number))
        name = (number, lot.answers, None, len(sessions(self.book)), True)
        with self._lock:
            _remember(self._lots, number, (found, tuple(warnings)), KEPT_LOTS)
            _remember(self._reports, name, report, KEPT_REPORTS)

    def trace(self, lot: Lot, keep: str | None = None, locked: bool = False, cases: bool = True) -> Report:
        """Trace a lot with what is measured of its tasters."""
        panel = measured_for(lot, self.base, self.book)
        ready = self.ready if cases else self.bare
        if locked:
            return trace(lot, self.base, ready, keep, panel)
        with self._lock:
            return trace(lot, self.base, ready, keep, panel)

    def _lot(self, kept: Whole) -> tuple[Lot, tuple[Issue, ...]]:
        # A kept case never changes, so what was read of it stays right.
        with self._lock:
            found = self._lots.get(kept.case.id)
        if found is None:
            lot, issues = read_kept(kept, self.base)
            if lot is None or has_errors(issues):
                raise InputError(issues)
            found = (replace(lot, file=say("case {id}", id=kept.case.id)), tuple(issues))
            with self._lock:
                _remember(self._lots, kept.case.id, found, KEPT_LOTS)
        return found


def _remember(store: OrderedDict[Any, Any], name: object, value: object, most: int) -> None:
    store[name] = value
    store.move_to_end(name)
    while len(store) > most:
        store.popitem(last=False)
