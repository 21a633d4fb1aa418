"""Strict YAML that remembers file, line and column of every key and item.

Plain YAML reads `no` as false, `12:30` as 750 and lets a repeated key win silently; this reader
keeps only true and false, plain numbers and ISO dates, refuses repeated keys, aliases and tags,
and bounds size and depth. PyYAML's node composer does the parsing.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from tracer.issues import Issue, Place

Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

MAXIMUM_BYTES = 4_000_000
MAXIMUM_DEPTH = 40

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]{0,15})")
_DECIMAL = re.compile(r"[-+]?[0-9]{1,15}\.[0-9]{1,15}([eE][-+]?[0-9]{1,3})?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

Path_ = tuple[str | int, ...]


@dataclass
class Document:
    """Data of a YAML file with the place of every node, and what was wrong with it."""

    file: str
    data: Any = None
    places: dict[Path_, Place] = field(default_factory=dict)
    issues: list[Issue] = field(default_factory=list)

    def place(self, path: Path_) -> Place:
        """Place of the node at `path`, or of its nearest parent."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path, Place(self.file))


def read_yaml(path: Path) -> Document:
    """Read one YAML file; problems are in `.issues`, never raised."""
    name = str(path)
    try:
        if path.stat().st_size > MAXIMUM_BYTES:
            return _failed(
                name,
                f"the file is larger than {MAXIMUM_BYTES:,} bytes",
                "Split it, or check that it is the right file.",
            )
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        return _failed(name, "the file is not UTF-8 text", "Save it as UTF-8.", Place(name, line))
    except OSError as error:
        return _failed(name, f"cannot be read: {error.strerror}", "Check the path and the permissions.")
    return parse_yaml(text, name)


def parse_yaml(text: str, file: str) -> Document:
    """Parse YAML text.

    >>> parse_yaml("a: no", "x.yaml").data
    {'a': 'no'}
    """
    document = Document(file)
    if len(text.encode("utf-8", "replace")) > MAXIMUM_BYTES:
        return _failed(file, f"the text is larger than {MAXIMUM_BYTES:,} bytes", "Split it.")
    try:
        _refuse_depth(text)
        node = yaml.compose(text, Loader=Loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
        problem = error.problem or error.context or "this is not YAML"
        return _failed(
            file,
            f"not valid YAML: {problem}",
            "Check the indent, the colons and the quotes just before this place.",
            place,
        )
    except (yaml.YAMLError, RecursionError, _TooDeep) as error:
        reason = "nested too deep" if not isinstance(error, yaml.YAMLError) else str(error).splitlines()[0]
        return _failed(
            file, f"not usable YAML: {reason}", "Check the file; a sheet is text with a few levels of indent."
        )
    if node is None:
        document.data = None
        return document
    document.data = _build(node, (), document, {}, 0)
    return document


_INDENT = re.compile(r"^[ ?:-]+", re.MULTILINE)
_BRACKET = re.compile(r"[\[\]{}]")


class _TooDeep(Exception):
    pass


def _refuse_depth(text: str) -> None:
    if _deepest(text) <= MAXIMUM_DEPTH:
        return
    depth = 0
    for event in yaml.parse(text, Loader=Loader):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > MAXIMUM_DEPTH:
                raise _TooDeep
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1


def _deepest(text: str) -> int:
    """About how deep the text nests: its widest indent, with the dashes there, and its brackets.

    A nest that quoted brackets hide from this ends in composing, which goes no deeper than Python does.
    """
    indent = max((len(match[0]) for match in _INDENT.finditer(text)), default=0)
    depth = most = 0
    for match in _BRACKET.finditer(text):
        depth = depth + 1 if match[0] in "[{" else max(0, depth - 1)
        most = max(most, depth)
    return indent + 1 + most


def _failed(file: str, message: str, remedy: str, place: Place | None = None) -> Document:
    document = Document(file)
    document.issues.append(Issue(place or Place(file), message, remedy))
    return document


def _build(node: Any, path: Path_, document: Document, seen: dict[int, bool], depth: int) -> Any:
    place = Place(document.file, node.start_mark.line + 1, node.start_mark.column + 1)
    document.places.setdefault(path, place)
    if id(node) in seen:
        document.issues.append(Issue(place, "YAML aliases are not used here", "Write the value out."))
        return None
    if isinstance(node, yaml.ScalarNode):
        return _scalar(node, place, document)
    seen[id(node)] = True
    if isinstance(node, yaml.SequenceNode):
        return [
            _build(child, (*path, index), document, seen, depth + 1) for index, child in enumerate(node.value)
        ]
    result: dict[str, Any] = {}
    for key_node, value_node in node.value:
        key_place = Place(document.file, key_node.start_mark.line + 1, key_node.start_mark.column + 1)
        if not isinstance(key_node, yaml.ScalarNode):
            document.issues.append(
                Issue(key_place, "a key must be a plain word", "Put the value on the right of a colon.")
            )
            continue
        key = str(key_node.value)
        if key in result:
            document.issues.append(
                Issue(key_place, f"'{key}' stands here twice", "Keep one, or make it a list.")
            )
            continue
        document.places[(*path, key)] = key_place
        result[key] = _build(value_node, (*path, key), document, seen, depth + 1)
    return result


def _scalar(node: Any, place: Place, document: Document) -> Any:
    text = node.value
    if node.tag.startswith("!") or node.tag.startswith("tag:yaml.org,2002:python"):
        document.issues.append(Issue(place, f"the tag '{node.tag}' is not used here", "Write plain values."))
        return None
    if node.style in ("'", '"', "|", ">"):
        return text
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if _INTEGER.fullmatch(text):
        return int(text)
    if _DECIMAL.fullmatch(text):
        return float(text)
    if _DATE.fullmatch(text):
        try:
            return datetime.date.fromisoformat(text)
        except ValueError:
            document.issues.append(
                Issue(place, f"{text} is not a day of the calendar", "Write year-month-day.")
            )
            return None
    return text


def with_days(data: Any) -> Any:
    """Plain data with texts that are days, and no more, as days: what the YAML reader does by itself."""
    if isinstance(data, dict):
        return {key: with_days(value) for key, value in data.items()}
    if isinstance(data, list):
        return [with_days(value) for value in data]
    if isinstance(data, str) and _DATE.fullmatch(data):
        try:
            return datetime.date.fromisoformat(data)
        except ValueError:
            return data
    return data
