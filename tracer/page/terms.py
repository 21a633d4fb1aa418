"""What a word on the page may name: an off-note, compound, fault or stage, by its name in the reader's language, a part of it, or nearly."""

from __future__ import annotations

from rapidfuzz import fuzz, process

from tracer.causes.browse import find_term
from tracer.names import fold
from tracer.page.render import note_name
from tracer.page.site import Site
from tracer.words.reading import read_words

KINDS = ("descriptors", "faults", "compounds", "stages")
Term = tuple[str, str, str]
"""Kind, id and name in the reader's language."""
MOST, NEAR = 8, 72
"""Most that are offered; how alike of 100 a misspelt name must be."""


def every_term(site: Site, language: str) -> tuple[Term, ...]:
    """Everything with a chain, by name."""
    known, found = site.known(language), []
    for kind in KINDS:
        for name, entry in site.base.kind(kind).items():
            label = str(getattr(entry, "label", name))
            told = note_name(site, language, name) if kind == "descriptors" else known.get(label, label)
            found.append((kind, name, told))
    return tuple(sorted(found, key=lambda one: fold(one[2])))


def meant(site: Site, language: str, term: str) -> tuple[Term, ...]:
    """What a term names, the likeliest first; one alone where it is plain.

    Its exact name, else the names that hold every word of it, else what a taster means by it, else names spelt nearly so.
    """
    wanted, terms = fold(term), every_term(site, language)
    exact = find_term(site.base, term)
    by_id = {(kind, name): (kind, name, label) for kind, name, label in terms}
    named = [by_id[exact]] if exact else [one for one in terms if fold(one[2]) == wanted]
    if named:
        return tuple(named[:1])
    words = wanted.replace("_", " ").split()
    holding = [
        one for one in terms if all(word in f"{fold(one[2])} {one[1].replace('_', ' ')}" for word in words)
    ]
    if holding:
        return tuple(sorted(holding, key=lambda one: len(one[2])))[:MOST]
    readings = read_words(term, site.ready.vocabulary)
    notes = [
        name
        for one in readings
        for name in ([one.descriptor] if one.descriptor else [*one.candidates, *one.suggestions])
    ]
    if notes:
        return tuple(by_id["descriptors", name] for name in dict.fromkeys(notes))[:MOST]
    names = {place: fold(one[2]) for place, one in enumerate(terms)}
    near = process.extract(wanted, names, scorer=fuzz.WRatio, score_cutoff=NEAR, limit=MOST)
    return tuple(terms[place] for _, _, place in near)
