"""The plain table of the terminal: no lines, dim heads, figures to the right."""

from __future__ import annotations

from rich.table import Table

from tracer.wording.language import tell


def columns(*heads: str, title: str = "") -> Table:
    """A table with heads and title as they are told in the reader's language."""
    figures = {tell("probability"), tell("bits"), tell("per cost")}
    table = Table(
        title=tell(title) or None,
        title_justify="left",
        title_style="bold",
        box=None,
        pad_edge=False,
        padding=(0, 2, 0, 0),
    )
    for head in map(tell, heads):
        table.add_column(head, justify="right" if head in figures else "left", header_style="dim")
    return table
