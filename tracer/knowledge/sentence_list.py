"""Whole sentences as people write them, by the phrase they say: what a reader learns from beside the ways."""

from __future__ import annotations

from pydantic import Field

from tracer.knowledge.strength import Entry, Id


class Said(Entry):
    """Sentences that say one phrase."""

    phrase: Id
    said: dict[str, tuple[str, ...]] = Field(
        description="Language -> sentences, each saying this and nothing else."
    )


class SentenceList(Entry):
    """The sentences of one part of the knowledge."""

    id: Id
    sentences: tuple[Said, ...] = Field(description="Phrases with sentences that say them; from memory.")
