"""Where a part of the sheet stands, and what is wrong there."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from tracer.issues import Issue, Level, Place
from tracer.knowledge.yamlfile import Document
from tracer.names import did_you_mean, printable
from tracer.wording.sentence import say, to_type

Form = TypeVar("Form", bound=BaseModel)


class Spot:
    """A path into a document; `spot / "cuppings" / 0` goes down."""

    def __init__(self, document: Document, issues: list[Issue], path: tuple[str | int, ...] = ()) -> None:
        self.document, self.issues, self.path = document, issues, path

    def __truediv__(self, name: str | int) -> Spot:
        return Spot(self.document, self.issues, (*self.path, name))

    @property
    def place(self) -> Place:
        """File, line and column."""
        return self.document.place(self.path)

    def problem(self, message: str, remedy: str, level: Level = "error") -> None:
        """Note a problem here."""
        self.issues.append(Issue(self.place, printable(message), printable(remedy), level))

    def item(self, data: object, index: int) -> Spot:
        """The place of an item of a list, or of the single value that stands for one."""
        return self / index if isinstance(data, list) else self


NAMES = {
    "SheetForm": say("a lot sheet"),
    "CuppingForm": say("a cupping"),
    "TasterForm": say("a taster's sheet"),
    "NoteForm": say("a note"),
    "ControlForm": say("a control"),
    "BesideForm": say("another coffee of the table"),
    "ClockForm": say("a clock"),
    "PatternForm": say("a pattern"),
    "ComparisonForm": say("a comparison"),
    "ContactForm": say("a contact"),
    "LaboratoryForm": say("a laboratory result"),
    "SaidForm": say("something said"),
    "LogForm": say("a log"),
    "ReadingForm": say("a reading"),
    "BedForm": say("a day of the bed log"),
    "ScenarioForm": say("a scenario"),
    "ExpectForm": "expect",
    "DraftedForm": "drafted",
}
"""What a part of the sheet is called in an error."""


ROUNDS = 4
"""How often what is wrong is taken out: a value may be wrong in two ways."""


def validate(model: type[Form], data: Any, spot: Spot) -> Form | None:
    """The form of some data, or None with every problem noted at its place."""
    try:
        return model.model_validate(data)
    except ValidationError as error:
        for problem in error.errors(include_url=False):
            _tell(model, problem, spot)
        return None


def validate_rest(model: type[Form], data: Any) -> Form | None:
    """The form of what is left of data when all that is wrong is taken out, so that the rest can be looked at too."""
    left = copy.deepcopy(data)
    for _ in range(ROUNDS):
        try:
            return model.model_validate(left)
        except ValidationError as error:
            if not all([_take_out(left, problem["loc"]) for problem in error.errors(include_url=False)]):
                return None
    return None


def _take_out(data: Any, where: Sequence[str | int]) -> bool:
    """Take out what stands at a path, or the nearest thing above it; an item of a list leaves an empty one."""
    holder, last = None, None
    for name in where:
        inside = isinstance(data, dict) and name in data
        inside = inside or (isinstance(data, list) and isinstance(name, int) and name < len(data))
        if inside:
            holder, last = data, name
            data = data[name]
    if holder is None:
        return False
    if isinstance(holder, dict):
        del holder[last]
    else:
        holder[last] = {} if isinstance(data, dict) and data else None
    return True


def _cut_at_a_comma(name: str) -> str | None:
    """The mend of what YAML cut in two: 2,4,6-trichloroanisole between braces without quotes."""
    if not name[:1].isdigit():
        return None
    return say("Is it part of a name with commas? Put the whole name in quotes: '2,4,6-trichloroanisole'.")


def _tell(model: type[BaseModel], found: Any, spot: Spot) -> None:
    where = tuple(found["loc"])
    at = Spot(spot.document, spot.issues, (*spot.path, *where))
    if found["type"] == "sheet":
        at.problem(found["ctx"]["message"], found["ctx"]["remedy"])
    elif found["type"] == "extra_forbidden":
        inner = form_at(model, where[:-1])
        fields = fields_of(inner)
        name = str(where[-1])
        called = NAMES.get(inner.__name__, say("this part"))
        at.problem(
            say("{called} has no field '{name}'", called=called, name=name),
            _cut_at_a_comma(name)
            or did_you_mean(name, fields, say("Fields: {fields}.", fields=to_type(fields))),
        )
    elif found["type"] in ("model_type", "model_attributes_type", "dataclass_type"):
        called = NAMES.get(form_at(model, where).__name__, say("this part"))
        at.problem(
            say("{called} must be fields, each 'name: value'", called=called),
            say("See a blank one with: tracer sheet"),
        )
    else:
        at.problem(str(found["msg"]), say("See what is allowed with: tracer sheet --fields"))


def fields_of(model: type[BaseModel]) -> list[str]:
    """Names of a form's fields as they stand on the sheet."""
    return [info.alias or name for name, info in model.model_fields.items()]


def form_at(model: type[BaseModel], where: Sequence[str | int]) -> type[BaseModel]:
    """The form at a path of another."""
    for name in where:
        if isinstance(name, int):
            continue
        info = next((info for key, info in model.model_fields.items() if name in (key, info.alias)), None)
        inner = form_in(info.annotation) if info is not None else None
        if inner is None:
            return model
        model = inner
    return model


def form_in(annotation: Any) -> type[BaseModel] | None:
    """The form inside a type, such as in a list of it."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = form_in(inner)
        if found is not None:
            return found
    origin = getattr(annotation, "__origin__", None)
    return form_in(origin) if origin is not None and origin is not annotation else None
