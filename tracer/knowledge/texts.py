"""Every text of the knowledge that a reader sees; what of it wants a translation: `python -m tracer.knowledge.texts`.

python -m tracer.knowledge.texts                print what is not translated, as a file of knowledge/translations/
python -m tracer.knowledge.texts --unused       print translations of what the knowledge no longer says
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from typing import Any

from tracer.knowledge.base import KnowledgeBase
from tracer.wording.language import own_texts
from tracer.wording.sentence import say

SHOWN: Mapping[str, tuple[str, ...]] = {
    "stages": ("label", "definition", "ask_of"),
    "descriptors": ("label", "definition", "group", "not_to_confuse.tell_apart"),
    "ambiguities": ("ask", "innocent"),
    "compounds": (
        "label",
        "chemical_class",
        "odour",
        "in_coffee",
        "origin",
        "roasting_note",
        "handling_note",
        "thresholds.kind",
        "thresholds.matrix",
        "thresholds.note",
    ),
    "records": ("label", "explained", "choices"),
    "faults": ("label", "definition", "green_signs", "confirm", "remedy", "prevention", "caution"),
    "rules": ("label", "because", "then.warns"),
    "enquiries": ("text", "answers", "record", "caution", "ask_of"),
    "materials": ("label",),
    "languages": ("label",),
}
"""Kind -> fields that are shown; an id among them is shown as its words."""
IDS = ("group", "choices", "ask_of")
PLAIN = str(say("Which is meant: {names}?", names="{names}"))
HARMLESS = str(say("Which is meant: {names}, or something harmless?", names="{names}"))
"""The question about a word of several meanings, in a language in which nobody has written it."""


def as_words(name: str) -> str:
    """An id as it is shown: `rainy_season` is "rainy season"."""
    return name.replace("_", " ")


def shown(base: KnowledgeBase) -> Iterator[tuple[str, str]]:
    """Id of its entry (or `settings`) and text of everything shown, in the order of the knowledge; some come more than once."""
    for kind, fields in SHOWN.items():
        for entry in base.kind(kind).values():
            for field in fields:
                for text in _found(entry, field.split(".")):
                    yield entry.id, as_words(text) if field in IDS else text  # type: ignore[attr-defined]
    settings = base.settings
    for path, section in (
        ("stop", settings.cautions),
        ("hold", settings.cautions),
        ("notes.text", settings.cautions),
        ("cautions", settings.contacts),
        ("cautions", settings.panel),
        ("product", settings.physics.isotherm),
    ):
        for text in _found(section, path.split(".")):
            yield "settings", text


def _found(value: Any, path: list[str]) -> Iterator[str]:
    if value is None:
        return
    if isinstance(value, (tuple, list)):
        for one in value:
            yield from _found(one, path)
    elif isinstance(value, Mapping):
        for one in value.values():
            yield from _found(one, path)
    elif path:
        yield from _found(getattr(value, path[0]), path[1:])
    elif isinstance(value, str) and any(letter.isalpha() for letter in value):
        yield value


def missing(base: KnowledgeBase) -> dict[str, str]:
    """Text without translation -> the entry that says it first; questions that are made of their readings left out."""
    have = {text.en for part in base.translations.values() for text in part.texts}
    found: dict[str, str] = {}
    for entry, text in shown(base):
        if text not in have and entry not in base.ambiguities:
            found.setdefault(text, entry)
    return found


def in_language(base: KnowledgeBase, language: str) -> dict[str, str]:
    """English text of the knowledge -> its translation; a question about an open word that has none is made of its readings."""
    told = {english: other for part in base.translations.values() for english, other in part.of(language)}
    own = own_texts(language)
    for entry in base.ambiguities.values():
        if entry.ask in told:
            continue
        labels = [base.descriptors[name].label for name in entry.notes if name in base.descriptors]
        template = HARMLESS if entry.innocent else PLAIN
        if template in own:
            told[entry.ask] = own[template].format(names=", ".join(told.get(one, one) for one in labels))
    return told


def unused(base: KnowledgeBase) -> list[tuple[str, str]]:
    """Part and English of each translation whose text the knowledge does not hold any more."""
    said = {text for _, text in shown(base)}
    return [
        (part.id, text.en)
        for part in base.translations.values()
        for text in part.texts
        if text.en not in said
    ]


def main() -> None:
    """Print what a translator has to do."""
    import yaml

    from tracer.knowledge.load import load_or_fail

    base = load_or_fail()
    if "--unused" in sys.argv:
        print("\n".join(f"{part}: {text}" for part, text in unused(base)))
        return
    rows = [{"en": text, "es": "", "pt": ""} for text in missing(base)]
    print(
        yaml.safe_dump([{"id": "texts_more", "texts": rows}], allow_unicode=True, sort_keys=False, width=110)
    )


if __name__ == "__main__":
    main()
