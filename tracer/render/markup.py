"""The printable page: its frame and its parts. Everything that came from a sheet is shown as text only; nothing is fetched from anywhere."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from tracer.names import printable
from tracer.wording.language import language, tell
from tracer.wording.sentence import Sentence

STYLE = (
    ":root{color-scheme:light dark}a{color:#1f5f8b}@media (prefers-color-scheme:dark){a{color:#9ccbee}}html,body{background:Canvas;color:CanvasText}body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}"
    "h1{font-size:1.5rem}h2{font-size:1.15rem;margin-top:2rem;border-bottom:1px solid #999}table{border-collapse:collapse;width:100%}"
    "th,td{text-align:left;padding:.3rem .6rem;border-bottom:1px solid #ccc;vertical-align:top;overflow-wrap:break-word}thead th{white-space:nowrap}"
    ".num{white-space:nowrap}h1,p,li{overflow-wrap:anywhere}"
    ".hold{border:3px solid #8a5a00;padding:.6rem 1rem;margin:1rem 0}.stop{border:3px solid #8a1c1c;padding:.6rem 1rem;margin:1rem 0}"
    ".first td{padding:.2rem .6rem}.first th{width:8rem}svg{max-width:100%;height:auto;background:#fff}.small{font-size:.85rem}"
    ".bar{width:min(12rem,15vw);height:.8rem;background:none;vertical-align:middle}.bar rect{fill:#1f5f8b}"
    ".paper>thead{display:none}.paper>*>tr>td{padding:0;border:0}.bar-above a,.bar-above button{font:inherit;margin-right:1rem;padding:.5rem 1rem}"
    "@media screen and (max-width:45rem){.paper{table-layout:fixed}td,th{overflow-wrap:anywhere}thead th{white-space:normal}}"
    "@page{size:A4;margin:14mm 14mm 12mm}@media print{table.asked>tbody>tr:nth-child(n+4){display:none}svg{max-height:62mm}:root{color-scheme:light}body{margin:0;padding:0;max-width:none;font-size:9pt;line-height:1.3}"
    ".paper>thead{display:table-header-group}.paper>thead td{font-size:8pt;color:#444;padding-bottom:2mm}.bar-above,.screen{display:none}"
    "h1{font-size:14pt;margin:0}h2{font-size:10.5pt;margin:3.5mm 0 1mm;break-after:avoid}p,ul{margin:1mm 0}th,td{padding:.4mm 2mm .4mm 0}"
    "tr,li,.hold,.stop,svg{break-inside:avoid}.small{font-size:8pt}.hold,.stop{padding:1mm 3mm;margin:2mm 0;border-width:2px}}"
)

POLICY = "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">"
"""Nothing in the page runs or is fetched, wherever the file is opened."""


def document(title: str, body: str) -> str:
    """A whole page in the reader's language."""
    return (
        f'<!doctype html>\n<html lang="{language()}"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        f"{POLICY}<title>{shown(title)}</title><style>{STYLE}</style></head>"
        f"<body><main>{body}</main></body></html>\n"
    )


def shown(text: object) -> str:
    """Text as text alone, whatever stands in it."""
    return escape(printable(str(tell(text) if isinstance(text, Sentence) else text)))


def section(title: str, body: str, printed: bool = True) -> str:
    """A part with its title; nothing where the body is empty. One that is not printed is for the screen alone, so that paper stays at two or three pages."""
    kind = "" if printed else ' class="screen"'
    return f"<section{kind}><h2>{shown(title)}</h2>{body}</section>" if body else ""


def items(found: Iterable[object]) -> str:
    """A list."""
    lines = "".join(f"<li>{shown(item)}</li>" for item in found)
    return f"<ul>{lines}</ul>" if lines else ""


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], kind: str = "") -> str:
    """Cells are HTML already."""
    head = "".join(f'<th scope="col">{shown(one)}</th>' for one in map(tell, headings))
    body = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    named = f' class="{kind}"' if kind else ""
    return f"<table{named}><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" if body else ""
