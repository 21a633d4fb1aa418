"""Strict YAML that remembers file, line and column of every key and item.

Plain YAML reads `no` as false, `12:30` as 750 and lets a repeated key win silently; this reader
keeps only true and false, plain numbers and ISO dates, refuses repeated keys, aliases and tags,
and bounds size and depth. PyYAML's node composer does the parsing.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from tracer.issues import Issue, Place
from tracer.wording.sentence import say

Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

MAXIMUM_BYTES = 4_000_000
MAXIMUM_DEPTH = 40
SMALL = 100_000
"""Signs of a text whose tree is kept: a lot sheet is asked for many places, a file of the knowledge for hardly any."""

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]{0,15})")
_DECIMAL = re.compile(r"[-+]?[0-9]{1,15}\.[0-9]{1,15}([eE][-+]?[0-9]{1,3})?")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

Path_ = tuple[str | int, ...]


@dataclass
class Document:
    """Data of a YAML file, and what was wrong with it.

    Places are looked up in the composed tree when somebody asks: most files are read without a question about any.
    """

    file: str
    data: Any = None
    whole: Place | None = None
    """Where the data as a whole stand, if not in a file of their own."""
    issues: list[Issue] = field(default_factory=list)
    text: str | None = None
    """The text, composed again when a place is asked for."""
    composed: Any = None

    @property
    def root(self) -> Any:
        """The composed tree."""
        if self.composed is None and self.text is not None:
            self.composed = yaml.compose(self.text, Loader=Loader)
        return self.composed

    def exact(self, path: Path_) -> Place | None:
        """Place of the node at `path`, or None where there is none."""
        if self.root is None:
            return self.whole if not path else None
        node, mark = self.root, self.root.start_mark
        for step in path:
            found = _child(node, step)
            if found is None:
                return None
            node, mark = found
        return Place(self.file, mark.line + 1, mark.column + 1)

    def place(self, path: Path_) -> Place:
        """Place of the node at `path`, or of its nearest parent."""
        while path and self.exact(path) is None:
            path = path[:-1]
        return self.exact(path) or Place(self.file)

    @property
    def places(self) -> dict[Path_, Place]:
        """Every node with its place."""
        return {} if self.root is None else {path: self.place(path) for path in _paths(self.root, ())}


def _child(node: Any, step: str | int) -> tuple[Any, Any] | None:
    """The node one step down, with the mark of its key or of itself."""
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        child = node.value[step]
        return child, child.start_mark
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if isinstance(key, yaml.ScalarNode) and key.value == step:
                return value, key.start_mark
    return None


def _paths(node: Any, path: Path_) -> Iterator[Path_]:
    yield path
    if isinstance(node, yaml.SequenceNode):
        for place, child in enumerate(node.value):
            yield from _paths(child, (*path, place))
    elif isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if isinstance(key, yaml.ScalarNode):
                yield from _paths(value, (*path, str(key.value)))


def read_yaml(path: Path) -> Document:
    """Read one YAML file; problems are in `.issues`, never raised."""
    name = str(path)
    try:
        if path.stat().st_size > MAXIMUM_BYTES:
            return _failed(
                name,
                say("the file is larger than {most:,} bytes", most=MAXIMUM_BYTES),
                say("Split it, or check that it is the right file."),
            )
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        return _failed(name, say("the file is not UTF-8 text"), say("Save it as UTF-8."), Place(name, line))
    except OSError as error:
        return _failed(
            name,
            say("cannot be read: {reason}", reason=error.strerror),
            say("Check the path and the permissions."),
        )
    return parse_yaml(text, name)


def parse_yaml(text: str, file: str) -> Document:
    """Parse YAML text.

    >>> parse_yaml("a: no", "x.yaml").data
    {'a': 'no'}
    """
    document = Document(file)
    if len(text.encode("utf-8", "replace")) > MAXIMUM_BYTES:
        return _failed(
            file, say("the text is larger than {most:,} bytes", most=MAXIMUM_BYTES), say("Split it.")
        )
    try:
        _refuse_depth(text)
        node = yaml.compose(text, Loader=Loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
        problem = error.problem or error.context or say("this is not YAML")
        return _failed(
            file,
            say("not valid YAML: {problem}", problem=problem),
            say("Check the indent, the colons and the quotes just before this place."),
            place,
        )
    except (yaml.YAMLError, RecursionError, _TooDeep) as error:
        reason = (
            say("nested too deep") if not isinstance(error, yaml.YAMLError) else str(error).splitlines()[0]
        )
        return _failed(
            file,
            say("not usable YAML: {reason}", reason=reason),
            say("Check the file; a sheet is text with a few levels of indent."),
        )
    if node is None:
        document.data = None
        return document
    document.data = _build(node, document, set())
    document.text, document.composed = text, node if len(text) <= SMALL else None
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


def _build(node: Any, document: Document, seen: set[int]) -> Any:
    if id(node) in seen:
        _tell(document, node, say("YAML aliases are not used here"), say("Write the value out."))
        return None
    if isinstance(node, yaml.ScalarNode):
        return _scalar(node, document)
    seen.add(id(node))
    if isinstance(node, yaml.SequenceNode):
        return [_build(child, document, seen) for child in node.value]
    result: dict[str, Any] = {}
    for key_node, value_node in node.value:
        if not isinstance(key_node, yaml.ScalarNode):
            _tell(
                document,
                key_node,
                say("a key must be a plain word"),
                say("Put the value on the right of a colon."),
            )
            continue
        key = str(key_node.value)
        if key in result:
            _tell(
                document,
                key_node,
                say("'{key}' stands here twice", key=key),
                say("Keep one, or make it a list."),
            )
            continue
        result[key] = _build(value_node, document, seen)
    return result


def _tell(document: Document, node: Any, message: str, remedy: str) -> None:
    mark = node.start_mark
    document.issues.append(Issue(Place(document.file, mark.line + 1, mark.column + 1), message, remedy))


def _scalar(node: Any, document: Document) -> Any:
    text = node.value
    if node.tag.startswith(("!", "tag:yaml.org,2002:python")):
        _tell(
            document, node, say("the tag '{tag}' is not used here", tag=node.tag), say("Write plain values.")
        )
        return None
    if node.style in ("'", '"', "|", ">"):
        return text
    if text in _WORDS:
        return _WORDS[text]
    if text[:1] not in _BEGINS:
        return text
    if _INTEGER.fullmatch(text):
        return int(text)
    if _DECIMAL.fullmatch(text):
        return float(text)
    if _DATE.fullmatch(text):
        try:
            return datetime.date.fromisoformat(text)
        except ValueError:
            _tell(
                document,
                node,
                say("{day} is not a day of the calendar", day=text),
                say("Write year-month-day."),
            )
            return None
    return text


_WORDS: dict[str, bool | None] = {"": None, "~": None, "null": None, "true": True, "false": False}
_BEGINS = frozenset("0123456789+-")
"""Signs that a number or a day begins with."""


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
