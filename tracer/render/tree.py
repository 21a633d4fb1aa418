"""A browsed chain as a tree on the terminal."""

from __future__ import annotations

from rich.text import Text
from rich.tree import Tree

from tracer.causes.browse import Branch
from tracer.names import printable
from tracer.wording.language import tell

_STYLE = {
    "stage": "bold magenta",
    "fault": "bold",
    "compound": "cyan",
    "descriptor": "green",
    "group": "italic",
}


def tree(branch: Branch) -> Tree:
    """A rich tree of a browsed term."""
    branch = tell(branch)
    root = Tree(_line(branch), guide_style="dim")
    _hang(root, branch)
    return root


def _hang(node: Tree, branch: Branch) -> None:
    for child in branch.children:
        _hang(node.add(_line(child)), child)


def _line(branch: Branch) -> Text:
    text = Text(printable(branch.label), style=_STYLE.get(branch.kind, ""))
    if branch.id and branch.kind in ("stage", "fault", "compound", "descriptor", "rule", "enquiry"):
        text.append(f" [{branch.id}]", style="dim")
    if branch.detail:
        text.append(f"  {printable(branch.detail)}", style="not bold not italic default")
    return text
