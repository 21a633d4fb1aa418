"""`python -m tests.reading` prints how words and sentences are read, on the open lists and on those kept out."""

from __future__ import annotations

from tests.reading import sentences, words
from tracer.findings.gathered import listener
from tracer.knowledge.load import load_or_fail

PARTS = {"open while the tool was worked on": "", "kept out": "_kept"}


def main() -> None:
    """Print both tables for both parts."""
    base = load_or_fail()
    ready = listener(base)
    least = base.settings.cautions.perhaps
    for told, ending in PARTS.items():
        print(f"\nwords, {told}")
        print(
            words.table([words.judge(one, ready.vocabulary, least) for one in words.lines(f"words{ending}")])
        )
        print(f"\nsentences, {told}")
        print(
            sentences.table(
                [sentences.judge(one, ready.reader) for one in sentences.golds(f"sentences{ending}")]
            )
        )


if __name__ == "__main__":
    main()
