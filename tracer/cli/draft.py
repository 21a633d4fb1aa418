"""The verb draft: a mail, a claim or a phone note -> a lot sheet with proposals beside each sentence."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tracer.cli.trace import AsJson, House
from tracer.wording.language import tell
from tracer.wording.sentence import to_type

if TYPE_CHECKING:
    import datetime

MOST_BYTES = 20_000_000


def draft(
    file: Annotated[
        Path, typer.Argument(help="The message as plain text; - reads standard input.", show_default=False)
    ],
    confirm: Annotated[
        list[str] | None,
        typer.Option("--confirm", metavar="MARK", help="A proposal that is right, as 1a; repeat, or 1a,2b."),
    ] = None,
    take_first: Annotated[
        bool,
        typer.Option("--take-first", help="Confirm each first proposal unread, and mark the sheet so."),
    ] = False,
    language: Annotated[
        str | None, typer.Option("--language", help="Its language; default: its words decide.")
    ] = None,
    by: Annotated[str, typer.Option("--by", help="Who wrote it.")] = "the message",
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DAY", help="When it was written, as 2026-03-20; default: today."),
    ] = None,
    lot: Annotated[
        str | None, typer.Option("--lot", help="Mark of the lot; default: as the message names it.")
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", metavar="FILE", help="Write the sheet here.")] = None,
    house: House = None,
    as_json: AsJson = False,
) -> None:
    """Read a message in plain sentences into a lot sheet: proposals beside each sentence, to be confirmed."""
    import json
    import sys
    from dataclasses import asdict

    from tracer.cli import inputs
    from tracer.issues import InputError, Issue, Place
    from tracer.names import did_you_mean
    from tracer.sentences.draft import draft as drafted
    from tracer.sentences.draft import says, sheet_lines
    from tracer.sentences.mark import mark_of
    from tracer.sentences.reader import SentenceReader
    from tracer.words.kept import vocabulary_of

    text, source = _text(file)
    base = inputs.knowledge(house)
    if language is not None and language not in base.languages:
        remedy = did_you_mean(
            language, base.languages, tell("Choose: {languages}.", languages=to_type(base.languages))
        )
        raise InputError.of(
            "--language", tell("'{language}' is no language known here", language=language), remedy
        )
    written = _day(on)
    reads = SentenceReader(base, vocabulary_of(base)).message(text, language, written)
    if not reads:
        raise InputError.of(
            source, tell("there is no sentence to read"), tell("Give a text with at least one.")
        )
    marks = [mark.strip() for one in confirm or () for mark in one.split(",") if mark.strip()]
    found = tuple(drafted(reads, marks, take_first, base.settings.unread.least))
    known = {offered.mark for one in found for offered in one.offered}
    wrong = [mark for mark in marks if mark not in known]
    if wrong:
        raise InputError(
            Issue(
                Place("--confirm"),
                tell("there is no proposal '{mark}'", mark=mark),
                did_you_mean(mark, known, tell("See the marks with: tracer draft FILE")),
            )
            for mark in wrong
        )
    if as_json:
        print(
            json.dumps(
                [
                    {
                        "number": one.number,
                        "line": one.read.line,
                        "language": one.read.language,
                        "text": one.read.text,
                        "hearsay": one.read.hearsay,
                        "proposals": [
                            {"mark": o.mark, "says": says(base, o.proposal), **asdict(o.proposal)}
                            for o in one.offered
                        ],
                        "confirmed": one.confirmed,
                    }
                    for one in found
                ],
                ensure_ascii=False,
                indent=2,
                default=str,
            )
        )
        return
    mark = lot or mark_of(text, base.languages) or "NEW-LOT"
    lines = sheet_lines(found, base, mark, source, by, written, take_first)
    if out is None:
        for line in lines:
            print(line)
    else:
        inputs.write_lines(out, lines)
    said = sum(bool(one.offered) for one in found)
    taken = sum(len(one.confirmed) for one in found)
    told = tell(
        "{count} sentences; {said} with proposals, {count_2} read only as text; {taken} confirmed",
        count=len(found),
        said=said,
        count_2=len(found) - said,
        taken=taken,
    )
    if take_first:
        told += tell(" unread: read them before anybody acts on it")
    print(told, file=sys.stderr)


def _day(on: str | None) -> datetime.date:
    """The day a message was written. Raises InputError for what is no day."""
    import datetime

    from tracer.issues import InputError

    try:
        return datetime.date.fromisoformat(on) if on else datetime.date.today()
    except ValueError:
        raise InputError.of(
            "--on", tell("'{on}' is no day", on=on), tell("Write year-month-day: 2026-03-20.")
        ) from None


def _text(file: Path) -> tuple[str, str]:
    """The text and what to call it. Raises InputError for what is no text."""
    import sys

    from tracer.issues import InputError

    name = tell("standard input") if str(file) == "-" else str(file)
    try:
        raw = sys.stdin.buffer.read(MOST_BYTES + 1) if str(file) == "-" else _read(file)
    except OSError as error:
        raise InputError.of(
            name,
            tell("cannot be read: {strerror}", strerror=error.strerror),
            tell("Check the name and the permissions."),
        ) from None
    if len(raw) > MOST_BYTES:
        raise InputError.of(
            name,
            tell("the text is larger than {MOST_BYTES:,} bytes", MOST_BYTES=MOST_BYTES),
            tell("Split it."),
        )
    for encoding in ("utf-16" if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig", "cp1252"):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text, name
    raise InputError.of(name, tell("the file is no plain text"), tell("Copy the message into a text file."))


def _read(file: Path) -> bytes:
    with file.open("rb") as opened:
        return opened.read(MOST_BYTES + 1)
