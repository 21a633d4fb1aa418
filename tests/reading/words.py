"""How well everyday lines are read: stop words, off-notes, and harmless lines, by language."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from tracer.words.reading import Reading, read_words
from tracer.words.vocabulary import Vocabulary

FOLDER = Path(__file__).parent
LANGUAGES = ("en", "es", "pt", "fr", "de", "it", "id", "vi", "ja", "am")


@dataclass(frozen=True)
class Line:
    """A line, and every off-note that a fair judge would accept; none for a harmless one."""

    language: str
    kind: str
    text: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Judged:
    """What became of a line."""

    line: Line
    found: bool
    """A right note is named, or among those asked."""
    wrong: tuple[str, ...]
    """Notes named without a question that nobody would accept."""
    stop: bool
    """A stop note is named or asked."""
    asked: bool
    readings: tuple[Reading, ...]


def lines(part: str) -> Iterator[Line]:
    """The lines of `words` (open) or `words_kept` (kept out)."""
    for language in LANGUAGES:
        path = FOLDER / part / f"{language}.yaml"
        data: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8")) if path.exists() else {}
        for text in data.get("harmless") or ():
            yield Line(language, "harmless", str(text), ())
        for kind in ("stops", "off_notes"):
            for one in data.get(kind) or ():
                yield Line(language, kind, str(one["line"]), tuple(one["notes"]))


def judge(line: Line, vocabulary: Vocabulary, least: float) -> Judged:
    """Read a line as its taster's language has it; `least` is the share from which an open word stops."""
    readings = read_words(line.text, vocabulary, (line.language,))
    heard = [one for one in readings if one.state != "absent"]
    named = [one.descriptor for one in heard if one.descriptor]
    perhaps = [name for one in heard if not one.descriptor for name in one.candidates]
    return Judged(
        line,
        any(name in line.notes for name in (*named, *perhaps)),
        tuple(name for name in named if name not in line.notes),
        any(one.share_of(vocabulary.stops) >= least for one in heard),
        bool(perhaps),
        readings,
    )


def table(judged: list[Judged]) -> str:
    """Shares by language: stops found, off-notes found, wrong besides, harmless misread, asked, and read as a stop."""
    rows = ["        stops   off-notes  wrong   harmless  asked  as a stop"]
    for language in (*LANGUAGES, "all"):
        of = [one for one in judged if language in (one.line.language, "all")]

        def share(kind: str, hit: Any, of: list[Judged] = of) -> str:
            chosen = [one for one in of if one.line.kind == kind]
            return f"{sum(map(hit, chosen)) / len(chosen):7.1%}" if chosen else "      -"

        rows.append(
            f"  {language:4}"
            f"{share('stops', lambda one: one.stop)}"
            f"  {share('off_notes', lambda one: one.found)}"
            f"  {share('off_notes', lambda one: bool(one.wrong))}"
            f"  {share('harmless', lambda one: bool(one.wrong))}"
            f"  {share('harmless', lambda one: one.asked)}"
            f"  {share('harmless', lambda one: one.stop)}"
        )
    return "\n".join(rows)
