"""What is made of the knowledge and takes long to make, kept as JSON under the user's cache folder.

A file that is missing, old, damaged or cannot be written is never an error: what it held is made again.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import os
from pathlib import Path
from typing import Any

from tracer import __version__
from tracer.knowledge.yamlfile import MAXIMUM_BYTES, Document, read_yaml
from tracer.whole_file import appearing

FORMAT = 13
DAY = "$day"
"""Key under which a day stands in JSON."""


def cache_folder() -> Path:
    """Where compiled knowledge is kept."""
    from platformdirs import user_cache_dir

    return Path(os.environ.get("TRACER_CACHE_DIR") or user_cache_dir("tracer", appauthor=False))


def kept_at(what: str, digest: str, ending: str = "json") -> Path:
    """File under the cache folder for something made from the knowledge with this content hash."""
    return cache_folder() / f"{what}-{__version__}-{FORMAT}-{digest[:32]}.{ending}"


def read_json(path: Path, days: bool = False) -> dict[str, Any] | None:
    """A kept file, or None where it is missing or damaged; `days` for one that may hold days."""
    try:
        data = json.loads(path.read_bytes(), object_hook=_from_json if days else None)
    except (OSError, ValueError):
        return None
    return data if isinstance(data, dict) else None


def write_json(path: Path, data: dict[str, Any]) -> None:
    """Keep something; where that is not possible, it is made again next time."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), default=_as_json)
        with appearing(path, 0o600) as part:
            part.write_text(text, encoding="utf-8")
    except OSError:
        return


def read_kept(path: Path) -> Document:
    """A YAML file; what it holds is kept for as long as its text stays the same, since reading it takes most of the time."""
    try:
        raw = path.read_bytes() if path.stat().st_size <= MAXIMUM_BYTES else b""
    except OSError:
        raw = b""
    if not raw:
        return read_yaml(path)
    digest = hashlib.sha256(raw).hexdigest()
    kept = kept_at("file", hashlib.sha256(str(path.resolve()).encode("utf-8", "replace")).hexdigest())
    found = read_json(kept, days=True)
    if found is not None and found.get("sha256") == digest:
        return Document(str(path), found["data"], text=raw.decode("utf-8-sig"))
    document = read_yaml(path)
    if not document.issues:
        write_json(kept, {"sha256": digest, "data": document.data})
    return document


def _as_json(value: object) -> object:
    if isinstance(value, datetime.date):
        return {DAY: value.isoformat()}
    raise TypeError(f"{type(value).__name__} is nothing that YAML holds")


def _from_json(item: dict[str, Any]) -> object:
    return datetime.date.fromisoformat(item[DAY]) if item.keys() == {DAY} else item
