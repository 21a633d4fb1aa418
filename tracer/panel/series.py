"""Small tables of a trainer: an ascending series, and reports on shared lots."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from tracer.issues import Issue, Place
from tracer.names import fold, printable
from tracer.numbers import finite
from tracer.panel.pooling import dawid_skene, enough
from tracer.spreadsheets.rows import Rows, table_file
from tracer.wording.sentence import say

YES, NO = ("1", "yes", "right", "si", "sim", "oui", "x", "+"), ("0", "no", "wrong", "nao", "non", "-", "")
SHARE_PRIOR = (3.0, 1.5)
ROW_PRIOR = ((9.0, 2.0), (3.0, 8.0))
"""Pseudo-counts (mode; 1 is flat) of share absent, present, and of rows absent, present: they keep the labels in place."""
Table = tuple[list[str], list[str], dict[tuple[str, str], bool]]


def _cells(path: Path) -> tuple[Rows, list[Issue]]:
    rows, issues = table_file(path)
    if len(rows) < 2 and not issues:
        empty = Issue(Place(str(path)), say("the table is empty"), say("Its first row names the columns."))
        return [], [empty]
    return rows, issues


def read_series(path: Path) -> tuple[tuple[tuple[float, ...], dict[str, list[bool]]] | None, list[Issue]]:
    """Concentrations and each taster's answers, right or wrong."""
    rows, issues = _cells(path)
    if not rows:
        return None, issues
    levels: list[float] = []
    for column, cell in enumerate(rows[0][1][1:], 2):
        try:
            levels.append(finite(cell))
        except ValueError:
            issues.append(
                Issue(
                    Place(str(path), 1, column),
                    say("'{cell}' is no concentration", cell=printable(cell)),
                    say("Write digits only; the unit is yours."),
                )
            )
    if not issues and (len(levels) < 2 or any(b <= a for a, b in pairwise(levels)) or levels[0] <= 0):
        issues.append(
            Issue(
                Place(str(path)), say("concentrations must rise from above 0"), say("Put the weakest first.")
            )
        )
    answers: dict[str, list[bool]] = {}
    for number, row in rows[1:]:
        folded = [fold(cell) for cell in row[1:]]
        if len(folded) != len(levels):
            issues.append(
                Issue(
                    Place(str(path), number),
                    say(
                        "{count} answers for {count_2} concentrations", count=len(folded), count_2=len(levels)
                    ),
                    say("One answer each."),
                )
            )
        elif any(cell not in (*YES, *NO) for cell in folded):
            issues.append(
                Issue(
                    Place(str(path), number),
                    say("an answer is neither right nor wrong"),
                    say("Write 1 or 0."),
                )
            )
        elif row[0] in answers:
            issues.append(
                Issue(
                    Place(str(path), number),
                    say("{row} stands twice", row=printable(row[0])),
                    say("One row a taster."),
                )
            )
        else:
            answers[row[0]] = [cell in YES for cell in folded]
    return (None if issues else (tuple(levels), answers)), issues


def read_reports(path: Path) -> tuple[Table | None, list[Issue]]:
    """Lots, tasters, and who found the note in which lot."""
    rows, issues = _cells(path)
    if not rows:
        return None, issues
    names = [fold(cell) for cell in rows[0][1]]
    missing = [name for name in ("lot", "taster", "found") if name not in names]
    if missing:
        return None, [
            Issue(
                Place(str(path)),
                say("there is no column '{missing}'", missing=missing[0]),
                say("Columns: lot, taster, found."),
            )
        ]
    found: dict[tuple[str, str], bool] = {}
    for number, row in rows[1:]:
        record = dict(zip(names, row, strict=False))
        word = fold(record.get("found", ""))
        if word not in (*YES, *NO):
            issues.append(
                Issue(
                    Place(str(path), number),
                    say("'{word}' is neither yes nor no", word=printable(word)),
                    say("Write yes or no."),
                )
            )
        elif (record["lot"], record["taster"]) in found:
            issues.append(
                Issue(
                    Place(str(path), number),
                    say("this taster has this lot already"),
                    say("One row a lot and taster."),
                )
            )
        else:
            found[record["lot"], record["taster"]] = word in YES
    lots, tasters = list(dict.fromkeys(k[0] for k in found)), list(dict.fromkeys(k[1] for k in found))
    return (None if issues else (lots, tasters, found)), issues


def reliability_lines(table: Table) -> dict[str, Any]:
    """Sensitivity and false alarms of each taster, or why nothing is estimated."""
    lots, tasters, found = table
    votes = np.zeros((len(lots), len(tasters), 2))
    for (lot, taster), yes in found.items():
        votes[lots.index(lot), tasters.index(taster), int(yes)] = 1
    because = enough(votes)
    if because:
        return {
            "estimated": False,
            "lines": [
                say(
                    "Not estimated: {because}. Use blind sets with known references instead.", because=because
                )
            ],
        }
    fit = dawid_skene(votes, SHARE_PRIOR, np.tile(np.array(ROW_PRIOR), (len(tasters), 1, 1)))
    rows = [
        {"taster": name, "finds": float(fit.confusion[i, 1, 1]), "makes_up": float(fit.confusion[i, 0, 1])}
        for i, name in enumerate(tasters)
    ]
    lines = [
        say(
            "{r}: finds {r_2:.2f} of what is there, makes up {r_3:.2f} of what is not",
            r=printable(str(r["taster"])),
            r_2=r["finds"],
            r_3=r["makes_up"],
        )
        for r in rows
    ]
    lines.append(
        say(
            "share of lots with the note: {shares:.2f}. Tasters who talked before writing count as nearly one.",
            shares=fit.shares[1],
        )
    )
    return {"estimated": True, "share": float(fit.shares[1]), "tasters": rows, "lines": lines}
