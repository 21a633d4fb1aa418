"""FIELDS.md and the editor schemas, made from the models of the knowledge.

`python -m tracer.knowledge.docs` writes them into the knowledge folder of a checkout.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from tracer.knowledge.base import KINDS
from tracer.knowledge.settings import Settings
from tracer.knowledge.shipped import knowledge_folder


def fields_text() -> str:
    """FIELDS.md: every kind with its fields, which are needed, and what they mean."""
    parts = [
        "# Fields of the knowledge",
        "",
        "Made from the code by `python -m tracer.knowledge.docs`; do not edit.",
        "",
    ]
    seen: list[type[BaseModel]] = []
    kinds: dict[str, type[BaseModel]] = {**KINDS, "settings": Settings}
    for kind, model in kinds.items():
        parts += [f"## {kind}", "", *_model(model, seen)]
    parts += ["## Parts used above", ""]
    for model in seen:
        parts += [f"### {model.__name__}", "", *_model(model, [])]
    return "\n".join(parts).rstrip() + "\n"


def _model(model: type[BaseModel], seen: list[type[BaseModel]]) -> list[str]:
    lines = [" ".join((model.__doc__ or "").split()), "", "| field | needed | meaning |", "|---|---|---|"]
    for name, field in model.model_fields.items():
        needed = "yes" if field.is_required() else ""
        about = (field.description or "").replace("|", "\\|")
        lines.append(f"| `{field.alias or name}` | {needed} | {about or _type_name(field.annotation)} |")
        for inner in _inner(field.annotation):
            if inner not in seen:
                seen.append(inner)
                seen += [deeper for deeper in _all_inner(inner) if deeper not in seen]
    return [*lines, ""]


def _all_inner(model: type[BaseModel]) -> list[type[BaseModel]]:
    return [inner for field in model.model_fields.values() for inner in _inner(field.annotation)]


def _inner(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for argument in getattr(annotation, "__args__", ()) for found in _inner(argument)]


def _type_name(annotation: Any) -> str:
    return str(getattr(annotation, "__name__", annotation)).replace("typing.", "").replace("|", "or")


def schema_text(kind: str) -> str:
    """JSON schema of a file of one kind: a list of entries."""
    schema = KINDS[kind].model_json_schema(by_alias=True)
    definitions = schema.pop("$defs", {})
    return (
        json.dumps({"type": "array", "items": schema, "$defs": definitions}, indent=1, ensure_ascii=False)
        + "\n"
    )


def write(folder: Path) -> None:
    """Write FIELDS.md and schema/<kind>.json into a knowledge folder."""
    (folder / "FIELDS.md").write_text(fields_text(), encoding="utf-8")
    (folder / "schema").mkdir(exist_ok=True)
    for kind in KINDS:
        (folder / "schema" / f"{kind}.json").write_text(schema_text(kind), encoding="utf-8")


if __name__ == "__main__":
    write(knowledge_folder())
