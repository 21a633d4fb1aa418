"""One printable page of a report, whole in itself: answer first, then why, what to ask, cautions, and how it was computed."""

from __future__ import annotations

from collections.abc import Mapping

from tracer.render.headline import about_ask, next_step, said_once, what, where
from tracer.render.markup import document
from tracer.render.markup import items as _list
from tracer.render.markup import section as _section
from tracer.render.markup import shown as _t
from tracer.render.markup import table as _table
from tracer.render.plot import log_picture
from tracer.report.alike import told_alike
from tracer.report.document import Report, SourceLine
from tracer.report.verdict import parted
from tracer.wording.language import tell
from tracer.wording.sentence import joined, say

TOGETHER = say(
    "The figures may add up to more than 1: a lot can have a source at more than one stage, and each stage is weighed by itself."
)


def page(
    report: Report,
    chain_picture: str | None,
    on: str,
    exporter: str = "",
    labels: Mapping[str, str] | None = None,
) -> str:
    """The page as HTML; lot and exporter stand at the top of each printed one.

    Everything that came from a sheet is shown as text only; nothing is fetched from anywhere.
    """
    report = tell(report)
    parts = [
        f"<h1>{_t(tell('Lot {lot}', lot=report.lot))}</h1><p>{_t('; '.join(filter(None, (report.described, exporter))))}</p>",
        _cautions(report, "stop"),
        _cautions(report, "hold"),
        _answer(report),
        _sources(report),
        _stages(report),
        _picture(chain_picture),
        *[_why(source, place == 0) for place, source in enumerate(report.sources[:3])],
        _asks(report),
        _history(report, tell(dict(labels or {}))),
        _claim(report),
        _panel(report),
        _words(report),
        _unweighed(report),
        _alike(report),
        _cautions(report, "note"),
        _method(report, on),
    ]
    title = tell("Lot {lot}: probable sources", lot=report.lot)
    return document(title, f"{_each_page(report, exporter, on)}{''.join(parts)}</td></tr></tbody></table>")


def _each_page(report: Report, exporter: str, on: str) -> str:
    """The head of a table that holds the page: browsers print it at the top of every sheet of paper."""
    head = " · ".join(filter(None, (tell("Lot {lot}", lot=report.lot), exporter, on)))
    return (
        f'<table class="paper" role="presentation"><thead><tr><td>{_t(head)}</td></tr></thead><tbody><tr><td>'
    )


def _unweighed(report: Report) -> str:
    return _section(
        tell("On the sheet, not weighed"), _list(f"{one.what}: {one.because}" for one in report.not_weighed)
    )


def _alike(report: Report) -> str:
    """Cases that read like this, each with what it was traced to, what they share, and its source."""
    return _section(tell("Cases that read like this"), _list(map(tell, told_alike(report.alike))), "screen")


def _cautions(report: Report, level: str) -> str:
    found = [c for c in report.cautions if c.level == level]
    if not found:
        return ""
    if level == "note":
        return _section(tell("Cautions"), _list(c.text for c in found))
    title = tell({"stop": "STOP TASTING", "hold": "HOLD THE LOT"}[level])
    return (
        f'<div class="{level}" role="alert"><strong>{title}</strong>{_list(said_once(report, level))}</div>'
    )


def _answer(report: Report) -> str:
    rows = [(tell("What"), _t(what(report))), (tell("Where"), _t(where(report)))]
    apart = parted(report.by_note)
    if apart:
        rows.append((tell("Apart"), _t(apart)))
    rows.append((tell("How sure"), _t(report.verdict_text)))
    rows.append((tell("Next"), _t(next_step(report, plain=True))))
    if report.deadlines:
        first = report.deadlines[0]
        rows.append(
            (
                tell("First claim day"),
                _t(
                    tell(
                        "{what} by {last_day} ({clause})",
                        what=first.what,
                        last_day=first.last_day,
                        clause=first.clause,
                    )
                ),
            )
        )
    cells = "".join(f'<tr><th scope="row">{_t(name)}</th><td>{cell}</td></tr>' for name, cell in rows)
    return f'<table class="first"><tbody>{cells}</tbody></table>'


def _sources(report: Report) -> str:
    labels = {stage.stage: stage.label for stage in report.stages}
    rows = [
        (
            _t(s.label),
            _t(labels[s.stage]),
            f"{s.probability:.2f}",
            _t(tell("{low:.2f} to {high:.2f}", low=s.low, high=s.high)),
            _t(joined(dict.fromkeys(step.cause for step in s.chain if step.cause != s.label))),
        )
        for s in report.sources
    ]
    if rows:
        rows.append((f"<em>{_t(tell('none of these'))}</em>", "", f"{report.none_of_these:.2f}", "", ""))
    return _section(
        tell("Probable sources"),
        _table(("source", "stage", "probability", "range", tell("carried by")), rows),
    )


def _stages(report: Report) -> str:
    some = any(stage.unlisted >= 0.005 for stage in report.stages)
    head = (
        "stage",
        "probability",
        *((tell("of that not listed"),) if some else ()),
        tell("who answers for it"),
    )
    rows = [
        (
            _t(s.label),
            f'{s.probability:.2f} <svg class="bar" viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true"><rect width="{100 * s.probability:.0f}" height="8"/></svg>',
            *((f"{s.unlisted:.2f}" if s.unlisted >= 0.005 else "",) if some else ()),
            _t(s.ask_of),
        )
        for s in report.stages
        if s.probability >= 0.005
    ]
    if not report.sources:
        return ""
    together = sum(stage.probability for stage in report.stages) >= 1.005
    told = f'<p class="small">{_t(tell(TOGETHER))}</p>' if together else ""
    return _section(tell("Stages"), _table(head, rows) + told)


def _picture(picture: str | None) -> str:
    """Too wide for a phone, where the same chain stands as text below."""
    return _section(tell("The chain of the first source"), picture, "wide") if picture else ""


def _why(source: SourceLine, printed: bool) -> str:
    weights = _table(
        ("log10", "evidence", "from"),
        [
            (
                f"{w.log10:+.2f}",
                _t(w.text + (tell(" (a stronger finding of its group speaks)") if w.silent else "")),
                _t(joined(w.facts, "; ")),
            )
            for w in source.weights
        ],
        "weights",
    )
    lists = "".join(
        f"<p><strong>{_t(title)}:</strong> {_t('; '.join(items))}</p>"
        for title, items in (
            (tell("expected but not there, or not looked for"), source.missing),
            (tell("look for in the green"), source.green_signs),
            (tell("to confirm it"), source.confirm),
            (tell("with this lot"), source.remedy),
            (tell("next time"), source.prevention),
        )
        if items
    )
    numbers = tell(
        "{prior:.4f} of all lots; with the history {after_history:.3f}; with the cups {present:.2f}; as source {probability:.2f}",
        prior=source.prior,
        after_history=source.after_history,
        present=source.present,
        probability=source.probability,
    )
    steps = _list(f"{s.cause} → {s.effect}: {s.strength}" for s in source.chain)
    return _section(
        tell("Why: {label}", label=source.label),
        f"<p>{_t(source.definition)}</p><p>{_t(numbers)}</p>{steps}{weights}{lists}",
        "" if printed else "screen",
    )


def _asks(report: Report) -> str:
    rows = [
        (
            _t(a.text) + f'<br><span class="small">{_t(about_ask(a))}</span>',
            joined(
                (
                    _t(f"{o.label} ({o.probability:.0%}) → {o.top_stage} {o.top_stage_probability:.2f}")
                    for o in a.answers
                ),
                "<br>",
            ),
        )
        for a in report.asks[:6]
    ]
    return _section(
        tell("Ask or test next"),
        _table((tell("question or test"), tell("what each answer would change")), rows, "rows asked"),
    )


def _history(report: Report, labels: Mapping[str, str]) -> str:
    rows = [
        (
            _t(
                f"{one.first}"
                if one.first == one.last
                else tell("{first} to {last}", first=one.first, last=one.last)
            ),
            _t(one.text),
        )
        for one in report.dated
    ]
    body = _table(("day", "what"), rows, "pairs")
    if report.history.measured:
        body += _table(
            ("measured", "value", "from"),
            [
                (_t(labels.get(m.record, m.record.replace("_", " "))), _t(tell(m.value)), _t(m.source))
                for m in report.history.measured
            ],
        )
    if report.charts:
        body += log_picture(report.charts, tell("Logs of lot {lot}", lot=report.lot))
    body += _list(
        tell("not assessed: {what}: {because}", what=n.what, because=n.because)
        for n in report.history.not_assessed
    )
    body += _list([*report.history.doubts, *(f"{c.text} {c.remedy}" for c in report.conflicts)])
    return _section(tell("The lot in time"), body) + _section(
        tell("What the sample can show"), _list(report.sampling)
    )


def _claim(report: Report) -> str:
    if not report.claim:
        return ""
    days = _list(
        tell("{what}: last day {last_day} ({clause})", what=d.what, last_day=d.last_day, clause=d.clause)
        for d in report.deadlines
    )
    days = (
        days
        or f"<p>{_t(tell('No time limit is on the sheet. Take form, edition and clause from your own contract.'))}</p>"
    )
    return _section(tell("For a claim: every fault by name and count"), _list(report.claim) + days)


def _panel(report: Report) -> str:
    panel = report.panel
    if panel is None:
        return ""
    items = [
        tell("{taster}: measured on {cups} cups, last on {last}", taster=m.taster, cups=m.cups, last=m.last)
        for m in panel.measured
    ]
    items += [tell("{name}: never measured, taken as average", name=name) for name in panel.unmeasured]
    average = tell("not listed") if panel.average is None else f"{panel.average:.2f}"
    items.append(
        tell(
            "{source}: {probability:.2f} with these tasters, {average} with an average panel",
            source=panel.source,
            probability=panel.probability,
            average=average,
        )
    )
    return _section(tell("The panel"), _list(items))


def _words(report: Report) -> str:
    return _section(
        tell("Words to settle with the taster"),
        _list(f"{w.taster}: '{w.words}' {w.question}" for w in report.unmatched_words),
    )


def _method(report: Report, on: str) -> str:
    houses = (
        tell(" with house changes {houses}", houses=joined(report.knowledge.houses))
        if report.knowledge.houses
        else ""
    )
    text = tell(
        "Exact inference over a reviewed graph of faults, compounds and notes: prior odds of each fault times likelihood ratios of its findings, noisy-MAX links with leaks, tasters as rates with their uncertainty. The ranking number is the probability that a fault happened and a live path runs from it to a note reported. A ranking is not proof. Knowledge {version}, sha256 {sha256}{houses}; rules by {rule_engine}; printed {on}.",
        version=report.knowledge.version,
        sha256=report.knowledge.sha256,
        houses=houses,
        rule_engine=report.knowledge.rule_engine,
        on=on,
    )
    return _section(tell("How it was computed"), f'<p class="small">{_t(text)}</p>')
