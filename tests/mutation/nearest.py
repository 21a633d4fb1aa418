"""Which tests belong to which module of the core, the quickest first; and the modules whose own part of what is prepared once is made anew."""

from __future__ import annotations

_NETS = ("tests/inference/test_worked_nets.py", "tests/inference/test_enumeration.py")
_CHAIN = ("tests/inference/test_chain.py", "tests/inference/test_extended_outside.py")
_WORDS = ("tests/lots/test_words.py", "tests/lots/test_denials.py", "tests/lots/test_meanings_and_tables.py")
_PANEL = ("tests/panel/test_published_values.py", "tests/panel/test_properties.py")
_REPORTS = ("tests/inference/test_reports.py", "tests/inference/test_reports_of_tasters.py")

NEAREST: dict[str, tuple[str, ...]] = {
    "tracer.rate": _PANEL,
    "tracer.words.clauses": ("tests/words/test_reading.py", *_WORDS),
    "tracer.words.reading": ("tests/words/test_reading.py", *_WORDS),
    "tracer.words.heard": ("tests/words/test_reading.py", *_WORDS),
    "tracer.words.settle": ("tests/words/test_reading.py", *_WORDS),
    "tracer.findings.weigh": ("tests/findings/test_weigh.py", "tests/findings/test_signs.py"),
    "tracer.findings.answers": ("tests/findings/test_signs.py", "tests/inference/test_what_if.py"),
    "tracer.causes.graph": ("tests/explain/test_chains.py", *_NETS),
    "tracer.causes.contacts": ("tests/findings/test_contacts_and_patterns.py",),
    "tracer.inference.absences": ("tests/inference/test_absent_notes.py",),
    "tracer.inference.assemble": (*_NETS, *_CHAIN),
    "tracer.inference.bunches": ("tests/inference/test_bunches.py", *_NETS),
    "tracer.inference.chain": _CHAIN,
    "tracer.inference.elimination": ("tests/inference/test_bunches.py", *_NETS),
    "tracer.inference.exact": (*_NETS, *_CHAIN),
    "tracer.inference.gain": ("tests/enquiry/test_gain.py",),
    "tracer.inference.leaning": ("tests/inference/test_not_listed.py",),
    "tracer.inference.not_listed": ("tests/inference/test_not_listed.py",),
    "tracer.inference.unlisted": ("tests/inference/test_not_listed.py",),
    "tracer.inference.numbered": ("tests/inference/test_numbered.py", *_REPORTS),
    "tracer.inference.odour_activity": ("tests/inference/test_odour_activity.py",),
    "tracer.inference.open_words": ("tests/inference/test_own_words.py",),
    "tracer.inference.reports": _REPORTS,
    "tracer.inference.rows": (*_NETS, *_CHAIN),
    "tracer.inference.said": (*_CHAIN, "tests/inference/test_own_words.py"),
    "tracer.inference.scopes": (*_NETS, *_CHAIN),
    "tracer.inference.skeleton": (*_NETS, *_CHAIN),
    "tracer.inference.smells": ("tests/inference/test_smells.py",),
    "tracer.inference.sources": (*_NETS, *_CHAIN),
    "tracer.inference.tables": (*_NETS, *_CHAIN),
    "tracer.explain.answer": ("tests/explain/test_answer.py",),
    "tracer.explain.by_note": ("tests/explain/test_answer.py",),
    "tracer.explain.chains": ("tests/explain/test_chains.py",),
    "tracer.explain.weights": ("tests/explain/test_answer.py",),
    "tracer.enquiry.effects": ("tests/enquiry/test_plan.py",),
    "tracer.enquiry.plan": ("tests/enquiry/test_plan.py",),
    "tracer.enquiry.what_if": ("tests/inference/test_what_if.py",),
    "tracer.report.cautions": ("tests/report/test_cautions.py",),
    "tracer.report.conflicts": ("tests/report/test_conflicts.py",),
    "tracer.report.verdict": ("tests/report/test_verdict.py",),
    "tracer.panel.agreement": _PANEL,
    "tracer.panel.discrimination": _PANEL,
    "tracer.panel.drift": ("tests/panel/test_standing.py", *_PANEL),
    "tracer.panel.pooling": _PANEL,
    "tracer.panel.recognition": _PANEL,
    "tracer.panel.reliability": _PANEL,
    "tracer.panel.scoring": ("tests/panel/test_standing.py", *_PANEL),
    "tracer.panel.standing": ("tests/panel/test_standing.py",),
    "tracer.panel.thresholds": _PANEL,
}

MADE_ANEW = frozenset({"tracer.inference.assemble"})
"""Modules at work in `prepare`: nothing they made is taken over."""
