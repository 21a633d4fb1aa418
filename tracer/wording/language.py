"""The language of the reader: set once at the front, looked up wherever something is told."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, overload

from tracer.wording.sentence import Own, Sentence, quoted

LANGUAGES = {"en": "English", "es": "español", "pt": "português"}
"""Languages of the screens, each by its own name; English first, since every text is written in it."""
_T = TypeVar("_T")
_TEXTS = Path(__file__).parent / "texts"
_KEPT = re.compile(r"\b(Id|Name|Own|Literal|date|datetime)\b")


@dataclass(frozen=True)
class Speech:
    """A language with everything that can be told in it."""

    language: str = "en"
    known: Callable[[], Mapping[str, str]] = dict
    """English text of the knowledge -> its translation; looked at only where something is told in another language."""

    def of(self, text: str) -> str:
        """A text of the program or of the knowledge in this language; other text as it is.

        Blanks around it stay; a text that begins with a capital is also found by its small letter, and the other way round.
        """
        bare = text.strip()
        if self.language == "en" or not bare:
            return text
        told = self._found(bare)
        if told is None:
            other = (bare[0].lower() if bare[0].isupper() else bare[0].upper()) + bare[1:]
            if (told := self._found(other)) is None:
                return text
            told = (told[0].upper() if bare[0].isupper() else told[0].lower()) + told[1:]
        return text if told == bare else text.replace(bare, told)

    def _found(self, text: str) -> str | None:
        told = own_texts(self.language).get(text)
        return told if told is not None else self.known().get(text)


_ENGLISH = Speech()
_SPEECH: ContextVar[Speech] = ContextVar("speech", default=_ENGLISH)


@contextmanager
def speaking(language: str, known: Callable[[], Mapping[str, str]] = dict) -> Iterator[None]:
    """Within it, everything is told in this language.

    Raises ValueError for a language that the screens do not have.
    """
    if language not in LANGUAGES:
        raise ValueError(f"no screens in '{language}'; there are {', '.join(LANGUAGES)}")
    token = _SPEECH.set(Speech(language, known))
    try:
        yield
    finally:
        _SPEECH.reset(token)


def know(texts: Callable[[str], Mapping[str, str]]) -> None:
    """Take in the translations of the knowledge, given by language, for what is told from here on."""
    spoken = _SPEECH.get()
    if spoken.language != "en":
        _SPEECH.set(replace(spoken, known=cache(lambda: texts(spoken.language))))


def language() -> str:
    """The language that is spoken now."""
    return _SPEECH.get().language


@overload
def tell(said: str, /, **values: Any) -> str: ...
@overload
def tell(said: _T, /, **values: Any) -> _T: ...
def tell(said: Any, /, **values: Any) -> Any:
    """The same in the reader's language: a template with values, a sentence, or data that hold sentences.

    Fields of a dataclass that hold ids and names stay (see `Id` and `Name`), and so do a user's own words (`Own`).

    >>> tell("{cups} of {of} cups", cups=2, of=5)
    '2 of 5 cups'
    """
    if isinstance(said, str) and values:
        said = Sentence(said, values)
    speech = _SPEECH.get()
    return said if speech.language == "en" else _told(said, speech)


def _told(said: Any, speech: Speech) -> Any:
    if isinstance(said, Sentence):
        if not said.values:
            return speech.of(said.template)
        whole = speech.of(str(said))
        if whole != str(said):
            return whole
        template = speech.of(said.template)
        return template.format_map(dict(_values(said, speech)))
    if isinstance(said, Own):
        return said
    if isinstance(said, str):
        return speech.of(said)
    if isinstance(said, (tuple, list)):
        return type(said)(_told(one, speech) for one in said)
    if isinstance(said, dict):
        return {key: _told(value, speech) for key, value in said.items()}
    if is_dataclass(said) and not isinstance(said, type):
        new = {name: _told(getattr(said, name), speech) for name in _spoken(type(said))}
        return replace(said, **new)
    return said


def _values(said: Sentence, speech: Speech) -> Iterator[tuple[str, Any]]:
    """Values of a sentence as they are told; plain text in quotes is somebody's own, or to be typed."""
    own = quoted(said.template)
    for name, value in said.values.items():
        stays = name in own and not isinstance(value, Sentence)
        yield name, value if stays else _told(value, speech)


@cache
def _spoken(kind: type) -> tuple[str, ...]:
    """Fields of a dataclass that may hold something to be told."""
    return tuple(field.name for field in fields(kind) if field.init and not _KEPT.search(str(field.type)))


@cache
def own_texts(language: str) -> Mapping[str, str]:
    """English text of the program -> its translation."""
    return {row["en"]: row[language] for row in rows() if row.get(language)}


def rows() -> Iterator[Mapping[str, str]]:
    """Every text of the program with its translations, as the files hold them."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    for path in sorted(_TEXTS.glob("*.yaml")):
        yield from yaml.load(path.read_text(encoding="utf-8"), loader) or ()


def of_environment(environment: Mapping[str, str]) -> str:
    """The language a system asks for: TRACER_LANGUAGE, LC_ALL, LC_MESSAGES, LANG; English where it is no language of ours.

    >>> of_environment({"LANG": "pt_BR.UTF-8"}), of_environment({"LANG": "C"})
    ('pt', 'en')
    """
    for name in ("TRACER_LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        if wanted := environment.get(name, ""):
            found = re.split(r"[_.@-]", wanted)[0].lower()
            return found if found in LANGUAGES else "en"
    return "en"
