"""Large tables kept in one file, of which only the pages are read that are asked for.

The first line is JSON and says where each page of each table begins; a page is JSON of the few dozen entries whose key falls
there. A lookup so costs a page, whatever the size of the table. A file that is missing or damaged is None, and made again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Generic, TypeVar
from zlib import crc32

from tracer.whole_file import appearing

V = TypeVar("V")
ENTRIES = 24
"""Entries of a page, about."""


class Paged(Mapping[Any, V], Generic[V]):
    """One table of such a file; `read` makes its values of what JSON holds."""

    def __init__(self, body: bytes, count: int, ends: list[int], read: Callable[[Any], V]) -> None:
        self.body, self.count, self.ends, self.read = body, count, ends, read
        self.pages: dict[int, dict[str, Any]] = {}
        self.found: dict[Any, V] = {}

    def __getitem__(self, key: Any) -> V:
        if key not in self.found:
            self.found[key] = self.read(self._page(_place(key, len(self.ends) - 1))[str(key)])
        return self.found[key]

    def __contains__(self, key: object) -> bool:
        return str(key) in self._page(_place(key, len(self.ends) - 1))

    def __iter__(self) -> Iterator[str]:
        for place in range(len(self.ends) - 1):
            yield from self._page(place)

    def __len__(self) -> int:
        return self.count

    def _page(self, place: int) -> dict[str, Any]:
        if place not in self.pages:
            self.pages[place] = json.loads(self.body[self.ends[place] : self.ends[place + 1]])
        return self.pages[place]


def _place(key: object, pages: int) -> int:
    return crc32(str(key).encode()) % pages


def write_pages(path: Path, tables: Mapping[str, Mapping[Any, Any]]) -> None:
    """Keep tables of what JSON holds; where that is not possible, they are made again next time."""
    index: dict[str, Any] = {}
    body: list[bytes] = []
    end = 0
    for name, table in tables.items():
        pages: list[dict[str, Any]] = [{} for _ in range(1 + len(table) // ENTRIES)]
        for key, value in table.items():
            pages[_place(key, len(pages))][str(key)] = value
        ends = [end]
        for page in pages:
            body.append(json.dumps(page, ensure_ascii=False, separators=(",", ":")).encode())
            end += len(body[-1])
            ends.append(end)
        index[name] = [len(table), ends]
    whole = b"".join(body)
    first = json.dumps({"sum": crc32(whole), "tables": index}, separators=(",", ":")).encode()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with appearing(path, 0o600) as part:
            part.write_bytes(first + b"\n" + whole)
    except OSError:
        return


def read_pages(
    path: Path, read: Mapping[str, Callable[[Any], Any]] | None = None
) -> dict[str, Paged[Any]] | None:
    """The tables of a file by name, or None where it is missing or damaged."""
    try:
        first, _, body = path.read_bytes().partition(b"\n")
        told = json.loads(first)
        if told["sum"] != crc32(body):
            return None
        makes = read or {}
        return {
            name: Paged(body, count, ends, makes.get(name, _as_is))
            for name, (count, ends) in told["tables"].items()
        }
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _as_is(value: Any) -> Any:
    return value
