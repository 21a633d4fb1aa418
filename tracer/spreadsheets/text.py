"""The text of a table file: how it is encoded, and the mark that parts its cells."""

from __future__ import annotations

import codecs

from tracer.spreadsheets.limits import TableError
from tracer.wording.sentence import Sentence, say

MARKS = (",", ";", "\t", "|")
_WIDE = {codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}


def encoding_of(raw: bytes, western: bool = False) -> tuple[str, Sentence | None]:
    """The encoding of a text, and what to tell of it: UTF-8, UTF-16, or with `western` as a last resort Windows-1252.

    A logger's figures survive a wrong guess; words do not, so tables of words are never guessed. Raises TableError.

    >>> encoding_of("a,b".encode("utf-16"))[0], encoding_of("a,b".encode("utf-16-be"))[0], encoding_of(b"a,b")[0]
    ('utf-16', 'utf-16-be', 'utf-8-sig')
    """
    found = _WIDE.get(raw[:2])
    if found is None and len(raw) > 3 and raw[0] != 0 and raw[1] == raw[3] == 0:
        found = "utf-16-le"
    if found is None and len(raw) > 3 and raw[1] != 0 and raw[0] == raw[2] == 0:
        found = "utf-16-be"
    try:
        raw.decode(found or "utf-8-sig")
        return found or "utf-8-sig", None
    except UnicodeDecodeError:
        if western and found is None:
            return "cp1252", say("the file is not UTF-8; read as Western European text")
    raise TableError(say("the table is not UTF-8 text"), say("Save it as CSV UTF-8."))


def mark_of(line: str) -> str:
    """The mark that parts the cells of a line: comma, semicolon, tab or bar.

    >>> mark_of("taster;note, as said;cups"), mark_of("taster")
    (';', ',')
    """
    return max(MARKS, key=line.count)
