"""What a phone must know by itself: the words of the list, so that a note is recognised without a connection, and what stops tasting."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from tracer.page.site import Site
from tracer.words.tokens import tokens


def known_offline(site: Site, languages: Iterable[str]) -> dict[str, Any]:
    """Folded phrase -> off-note in some languages; denials; and the phrases of every language that stop tasting.

    A phrase that may mean several notes is not among them: it stays open until there is a connection.
    """
    wanted = tuple(dict.fromkeys(one for one in languages if one in site.base.languages))
    found: dict[str, set[str]] = {}
    for language, phrase, note in _phrases(site):
        if language in wanted:
            found.setdefault(phrase, set()).add(note)
    open_words = {phrase for language, phrase, _ in _ambiguous(site) if language in wanted}
    return {
        "words": {
            phrase: notes.pop()
            for phrase, notes in sorted(found.items())
            if len(notes) == 1 and phrase not in open_words
        },
        "denials": sorted(
            {" ".join(tokens(word)) for one in wanted for word in site.base.languages[one].negation}
        ),
        "stops": sorted(_stops(site)),
    }


def _phrases(site: Site) -> Iterator[tuple[str, str, str]]:
    for note, entry in site.base.descriptors.items():
        for table in (entry.words, entry.misspelt):
            for language, words in table.items():
                yield from ((language, " ".join(tokens(word)), note) for word in words)
    for one in site.base.words.values():
        if one.note is not None:
            yield from ((one.language, " ".join(tokens(word)), one.note) for word in one.words)


def _ambiguous(site: Site) -> Iterator[tuple[str, str, float]]:
    stops = site.ready.vocabulary.stops
    for entry in site.base.ambiguities.values():
        share = sum(share for name, share in dict(entry.readings).items() if name in stops)
        for language, words in entry.words.items():
            yield from ((language, " ".join(tokens(word)), share) for word in words)


def _stops(site: Site) -> set[str]:
    least = site.base.settings.cautions.perhaps
    sure = {phrase for _, phrase, note in _phrases(site) if note in site.ready.vocabulary.stops}
    return sure | {phrase for _, phrase, share in _ambiguous(site) if share >= least}
