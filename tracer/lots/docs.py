"""Writes SHEET.md and the editor schema of the lot sheet into the knowledge folder: `python -m tracer.lots.docs`."""

from __future__ import annotations

import json
from pathlib import Path

from tracer.knowledge.load import load_or_fail
from tracer.knowledge.shipped import knowledge_folder
from tracer.lots.sheet import reference_page, schema


def files(folder: Path) -> dict[Path, str]:
    """Path -> text of each document."""
    base = load_or_fail(folder)
    made = json.dumps(schema(base.stages, base.records), ensure_ascii=False, indent=1)
    return {folder / "SHEET.md": reference_page(), folder / "schema" / "lot.json": made + "\n"}


if __name__ == "__main__":
    for path, text in files(knowledge_folder()).items():
        path.write_text(text, encoding="utf-8")
