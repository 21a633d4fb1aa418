"""CSV as the program writes it: no cell of it is run as a formula by a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from tracer.names import fold

_FORMULA = ("=", "+", "-", "@")


def safe_cell(text: str) -> str:
    """A cell that a spreadsheet does not run as a formula; signs of full width, which some take for the plain ones, too.

    >>> safe_cell("=1+1"), safe_cell("＝1+1"), safe_cell("musty")
    ("'=1+1", "'＝1+1", 'musty')
    """
    return "'" + text if text[:1] in ("\t", "\r") or fold(text).startswith(_FORMULA) else text


def plain_cell(text: str) -> str:
    """A cell as it was before `safe_cell`.

    >>> plain_cell(safe_cell("-3")), plain_cell("'n'")
    ('-3', "'n'")
    """
    return text[1:] if text.startswith("'") and safe_cell(text[1:]) != text[1:] else text


def csv_line(cells: Iterable[object]) -> str:
    """One line of CSV, without its end."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator="").writerow([safe_cell(str(cell)) for cell in cells])
    return stream.getvalue()
