"""Folders of YAML -> KnowledgeBase, with every problem at its file, line and column."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from tracer.issues import InputError, Issue, Place, has_errors
from tracer.knowledge.base import KINDS, Change, KnowledgeBase
from tracer.knowledge.collector import paused
from tracer.knowledge.expected_notes import ExpectedNotes
from tracer.knowledge.kept import read_kept
from tracer.knowledge.practice import Practice
from tracer.knowledge.rule import Rule
from tracer.knowledge.settings import Settings
from tracer.knowledge.shipped import knowledge_folder
from tracer.knowledge.strength import Entry
from tracer.knowledge.yamlfile import Document
from tracer.names import did_you_mean

SETTINGS = "settings.yaml"


@dataclass
class Raw:
    """One entry as read: its data, and the place of each field in it."""

    kind: str
    data: dict[str, Any]
    document: Document
    number: int
    """Which entry of the document it is."""
    house: dict[tuple[str | int, ...], Place] = field(default_factory=dict)
    """Places of the fields that a house changed."""

    @property
    def place(self) -> Place:
        """Where it begins."""
        return self.document.place((self.number,))

    @property
    def id(self) -> str:
        """Its id, or an empty text."""
        return str(self.data.get("id") or self.data.get("code") or "")

    def find(self, path: tuple[str | int, ...]) -> Place:
        """Place of a field, or of its nearest parent."""
        while path:
            found = self.house.get(path) or self.document.exact((self.number, *path))
            if found is not None:
                return found
            path = path[:-1]
        return self.place


class Places(Mapping[str, Place]):
    """Id -> place of its entry, found when somebody asks; of the files only their text is held."""

    def __init__(self, raws: Mapping[str, Raw]) -> None:
        texts: dict[int, Document] = {}
        self.entries: dict[str, tuple[Document, int]] = {}
        for key, raw in raws.items():
            own = raw.document
            document = texts.setdefault(id(own), Document(own.file, text=own.text))
            self.entries[key] = document, raw.number

    def __getitem__(self, key: str) -> Place:
        document, number = self.entries[key]
        return document.place((number, "id"))

    def file_of(self, key: str) -> str:
        """The file of an entry, without looking for its line."""
        return self.entries[key][0].file

    def __iter__(self) -> Iterator[str]:
        return iter(self.entries)

    def __len__(self) -> int:
        return len(self.entries)


def read_folder(folder: Path) -> tuple[list[Raw], Document | None, list[Issue]]:
    """Every raw entry of a knowledge folder, its settings, and the problems found."""
    raws: list[Raw] = []
    issues: list[Issue] = []
    settings: Document | None = None
    for path in knowledge_files(folder):
        kind = path.stem if path.parent == folder else path.relative_to(folder).parts[0]
        document = read_kept(path)
        issues += document.issues
        if path.name == SETTINGS and path.parent == folder:
            settings = document
            continue
        if kind not in KINDS:
            remedy = did_you_mean(kind, KINDS, f"Known kinds: {', '.join(KINDS)}.")
            issues.append(Issue(Place(str(path)), f"'{kind}' is no kind of knowledge", remedy))
            continue
        if document.issues and document.data is None:
            continue
        raws += _entries(kind, document, issues)
    return raws, settings, issues


def knowledge_files(folder: Path) -> list[Path]:
    """The YAML files of a knowledge folder, in a fixed order."""
    return sorted(path for path in folder.rglob("*.yaml") if not path.name.startswith("."))


def _entries(kind: str, document: Document, issues: list[Issue]) -> list[Raw]:
    if document.data is None:
        return []
    if not isinstance(document.data, list):
        issues.append(
            Issue(
                document.place(()),
                "a knowledge file is a list of entries",
                "Start each entry with '- id: ...'.",
            )
        )
        return []
    raws = []
    for index, item in enumerate(document.data):
        if not isinstance(item, dict):
            place = document.place((index,))
            issues.append(Issue(place, "an entry is a map of fields", "Start it with '- id: ...'."))
            continue
        raws.append(Raw(kind, item, document, index))
    return raws


def validate(raw: Raw, issues: list[Issue]) -> Entry | None:
    """The entry of a raw one, or None with its problems added to `issues`."""
    model = KINDS[raw.kind]
    try:
        return model.model_validate(raw.data)
    except ValidationError as error:
        issues += [_explain(raw, model, problem) for problem in error.errors()]
        return None


def _explain(raw: Raw, model: type[Entry], problem: Any) -> Issue:
    where = tuple(part for part in problem["loc"] if part not in ("function-after", "tuple", "str"))
    place = raw.find(where)
    name = str(where[-1]) if where else ""
    kind = model.__name__.lower()
    article = "an" if kind[0] in "aeiou" else "a"
    if problem["type"] == "extra_forbidden":
        remedy = did_you_mean(name, _fields(model), "See FIELDS.md for the fields there are.")
        return Issue(place, f"{article} {kind} has no field '{name}' here", remedy)
    if problem["type"] == "missing":
        return Issue(place, f"the field '{name}' is missing", f"See FIELDS.md for {article} {kind}.")
    message = problem["msg"].removeprefix("Value error, ")
    path = ".".join(str(part) for part in where)
    return Issue(place, f"{path or kind}: {message}", "See FIELDS.md for what is allowed.")


def _fields(model: type[Entry]) -> list[str]:
    names: list[str] = []
    for name, info in model.model_fields.items():
        names.append(info.alias or name)
        for inner in getattr(info.annotation, "__args__", ()) or (info.annotation,):
            if isinstance(inner, type) and issubclass(inner, Entry):
                names += _fields(inner)
    return names


@paused()
def load(folder: Path | None = None, houses: Sequence[Path] = ()) -> tuple[KnowledgeBase | None, list[Issue]]:
    """Load a knowledge folder with house overlays; None where an error stands in the way.

    Only the form of each entry and repeated ids are looked at here; what holds between entries is
    the business of `check`.
    """
    from tracer.knowledge.overlay import apply_house

    folder = folder or knowledge_folder()
    raws, settings_document, issues = read_folder(folder)
    changes: list[Change] = []
    for house in houses:
        raws, more, problems = apply_house(raws, house, changes)
        changes += more
        issues += problems
    entries: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    found: dict[str, Raw] = {}
    for raw in raws:
        entry = validate(raw, issues)
        if entry is None:
            continue
        made = _rules_of(entry)
        taken = next((name for name in (raw.id, *(rule.id for rule in made)) if name in found), None)
        if taken is not None:
            issues.append(
                Issue(
                    raw.find(("id",)),
                    f"the id '{taken}' is taken at {found[taken].find(('id',))}",
                    "Ids are unique over all kinds.",
                )
            )
            continue
        found[raw.id] = raw
        entries[raw.kind][raw.id] = entry
        for rule in made:
            found[rule.id] = raw
            entries["rules"][rule.id] = rule
    settings = _settings(settings_document, folder, issues)
    if settings is None or has_errors(issues):
        return None, issues
    base = KnowledgeBase(
        settings=settings,
        **entries,
        sha256=content_hash([folder, *houses]),
        houses=tuple(str(house) for house in houses),
        changes=tuple(changes),
        places=Places(found),
    )
    return base, issues


def _rules_of(entry: Entry) -> tuple[Rule, ...]:
    """The rules that a row of a table makes."""
    if isinstance(entry, ExpectedNotes):
        return (entry.made(),)
    return tuple(entry.rules()) if isinstance(entry, Practice) else ()


def load_or_fail(folder: Path | None = None, houses: Sequence[Path] = ()) -> KnowledgeBase:
    """Load, or raise InputError with every problem."""
    base, issues = load(folder, houses)
    if base is None:
        raise InputError(issues)
    return base


def _settings(document: Document | None, folder: Path, issues: list[Issue]) -> Settings | None:
    if document is None:
        issues.append(
            Issue(
                Place(str(folder / SETTINGS)), "the settings are missing", "Restore the file settings.yaml."
            )
        )
        return None
    try:
        return Settings.model_validate(document.data)
    except ValidationError as error:
        for problem in error.errors():
            path = tuple(problem["loc"])
            message = problem["msg"].removeprefix("Value error, ")
            issues.append(
                Issue(
                    document.place(path), f"{'.'.join(map(str, path))}: {message}", "See FIELDS.md, settings."
                )
            )
        return None


def content_hash(folders: Sequence[Path]) -> str:
    """SHA-256 over names and bytes of every knowledge file: the identity of the knowledge."""
    digest = hashlib.sha256()
    for folder in folders:
        for path in knowledge_files(folder):
            digest.update(str(path.relative_to(folder)).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()
