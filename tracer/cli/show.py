"""The verb `show`: browse a note, compound, fault or stage both ways."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tracer.cli.trace import AsJson, House
from tracer.wording.language import tell
from tracer.wording.sentence import to_type


def show(
    term: Annotated[
        str, typer.Argument(help="A note in any language, a compound, CAS number, fault or stage.")
    ],
    house: House = None,
    as_json: AsJson = False,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="FILE", help="Write a picture of the chains to this file.")
    ] = None,
) -> None:
    """Browse the cause chains: note to compound to fault to stage, and back."""
    import json
    from dataclasses import asdict

    from tracer.causes.browse import browse, find_term, near_term
    from tracer.cli import inputs
    from tracer.cli.screen import console
    from tracer.issues import InputError
    from tracer.render.tree import tree

    base = inputs.knowledge(house)
    found = find_term(base, term)
    if found is None:
        near = near_term(base, term)
        remedy = (
            tell("Did you mean '{near}'?", near=near)
            if near
            else tell("Try a stage: {stages}.", stages=to_type(base.stages))
        )
        raise InputError.of("TERM", tell("'{term}' names nothing in the knowledge base", term=term), remedy)
    if svg is not None:
        _write_picture(svg, base, found[1])
        print(tell("picture written to {svg}", svg=svg))
        return
    branch = browse(base, *found)
    if as_json:
        print(json.dumps(asdict(tell(branch)), ensure_ascii=False, indent=2))
    else:
        console().print(tree(branch))


def _write_picture(path: Path, base: object, identity: str) -> None:
    from tracer.causes.graph import cause_graph
    from tracer.cli.inputs import write_text
    from tracer.knowledge.base import KnowledgeBase
    from tracer.render.picture import chain_picture

    assert isinstance(base, KnowledgeBase)
    write_text(path, chain_picture(base, cause_graph(base), identity))
