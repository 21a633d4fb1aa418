"""The printable page: its frame and its parts. Everything that came from a sheet is shown as text only; nothing is fetched from anywhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from tracer.names import printable
from tracer.wording.language import language, tell

STYLE = (
    ":root{color-scheme:light dark}body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}"
    "h1{font-size:1.5rem}h2{font-size:1.15rem;margin-top:2rem;border-bottom:1px solid #999}table{border-collapse:collapse;width:100%}"
    "th,td{text-align:left;padding:.3rem .6rem;border-bottom:1px solid #ccc;vertical-align:top}.num{text-align:right;white-space:nowrap}body{overflow-wrap:anywhere}"
    ".hold{border:3px solid #8a5a00;padding:.6rem 1rem;margin:1rem 0}.stop{border:3px solid #8a1c1c;padding:.6rem 1rem;margin:1rem 0}"
    ".first td{padding:.2rem .6rem}.first th{width:8rem}svg{max-width:100%;height:auto;background:#fff}.small{font-size:.85rem}"
    ".bar{width:min(12rem,15vw);height:.8rem;background:none;vertical-align:middle}.bar rect{fill:#1f5f8b}"
    "@media print{body{margin:0;max-width:none}h2{break-after:avoid}section{break-inside:avoid}}"
)


def document(title: str, body: str) -> str:
    """A whole page in the reader's language."""
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    return (
        f'<!doctype html>\n<html lang="{language()}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}"><title>{shown(title)}</title><style>{STYLE}</style></head>'
        f"<body><main>{body}</main></body></html>\n"
    )


def shown(text: object) -> str:
    """Text as text alone, whatever stands in it."""
    return escape(printable(str(text)))


def section(title: str, body: str) -> str:
    """A part with its title; nothing where the body is empty."""
    return f"<section><h2>{shown(title)}</h2>{body}</section>" if body else ""


def items(found: Iterable[object]) -> str:
    """A list."""
    lines = "".join(f"<li>{shown(item)}</li>" for item in found)
    return f"<ul>{lines}</ul>" if lines else ""


def table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Cells are HTML already."""
    head = "".join(f'<th scope="col">{shown(one)}</th>' for one in map(tell, headings))
    body = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" if body else ""
