"""Samples of output in the documents. `python -m tests.house_rules.samples` writes their lines anew as the program prints them now."""

from __future__ import annotations

import difflib
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.command import run
from tracer.lots.attached import beside, example_path

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = tuple(
    ROOT / name
    for name in (
        "README.md",
        "tracer/cli/README.md",
        "tests/cases/README.md",
        "tests/calibration/README.md",
        "tests/bench/README.md",
    )
)
"""What tells users how to use it and what to expect."""
SAMPLES = {
    r"# Drafted from mail.txt": ("draft", "mail.txt", "--on", "2026-03-20"),
    r"Lot SVK-31 ": ("trace", "--example", "container_damp"),
    r"Lot QRL-3: what to ask": ("ask", "--example", "quarrelling_tasters"),
    r"What logs and readings show": ("history", "--example", "log_sea_passage"),
}
SLACK = 0.021
_FIGURE = re.compile(r"\d\.\d+")
SCORE = "29 faults, 4 null cases"
"""What the block with the scores on published cases holds."""


def prepare_desk(folder: Path) -> dict[str, str]:
    """Put the files that the documents speak of into a folder, and name an empty casebook; the surroundings to run with."""
    sheet = example_path("container_damp")
    shutil.copy(sheet, folder / "lot.yaml")
    for name, content in beside(sheet).items():
        (folder / name).write_bytes(content)
    (folder / "lots.jsonl").write_text(
        '{"lot": "A", "cuppings": [{"cups": 5, "tasters": [{"taster": "x", "notes": ["musty"]}]}]}\n'
    )
    rows = [
        f"L{n},{taster},{'yes' if (n + place) % 3 else 'no'}"
        for n in range(12)
        for place, taster in enumerate(("a", "b", "c"))
    ]
    (folder / "reports.csv").write_text("\n".join(["lot,taster,found", *rows]))
    (folder / "mail.txt").write_text(
        "The cherries fermented 36 hours in the tank.\nNobody covered it. The moon was full.\n"
    )
    (folder / "series.csv").write_text("taster,1,2,4,8\nAna,0,1,1,1\nBui,0,0,1,1\n")
    return {"TRACER_CASEBOOK": str(folder / "book.sqlite")}


def answer(folder: Path) -> None:
    """Fill in what the tasters of the sets in a folder found: musty, in every cup."""
    for sheet in folder.glob("*/answers.csv"):
        sheet.write_text(sheet.read_text(encoding="utf-8").replace(",,,", ",musty,,"), encoding="utf-8")


def blocks(text: str) -> list[list[str]]:
    """Indented blocks of a text, without their indent."""
    found = re.findall(r"(?:^    [^\n]*\n|^ {0,3}\n(?=    ))+", text, re.MULTILINE)
    return [[line[4:].rstrip() for line in block.splitlines()] for block in found]


def without_hash(text: str) -> str:
    """Text with the marks of the knowledge's content blotted out."""
    return re.sub(r"\b[0-9a-f]{8}\b", "HASH", text)


def printed(start: str, folder: Path, surroundings: dict[str, str]) -> list[str]:
    """Lines that the command of one sample prints."""
    text = run(*SAMPLES[start], cwd=folder, COLUMNS="110", **surroundings).stdout
    return [line.rstrip() for line in text.splitlines()]


def score() -> list[str]:
    """Lines that the score on published cases prints."""
    done = subprocess.run([sys.executable, "-m", "tests.cases"], capture_output=True, text=True, cwd=ROOT)
    return [line.strip() for line in done.stdout.splitlines()]


def alike(told: str, printed: str) -> bool:
    """The same line, but for the mark of the knowledge and two hundredths in a figure."""
    told, printed = without_hash(told), without_hash(printed)
    if _FIGURE.sub("0", told) != _FIGURE.sub("0", printed):
        return False
    pairs = zip(_FIGURE.findall(told), _FIGURE.findall(printed), strict=True)
    return all(abs(float(one) - float(other)) <= SLACK for one, other in pairs)


def missing(block: list[str], lines: list[str]) -> str | None:
    """The first line of a sample that is not printed, or not in this order."""
    place = 0
    for line in block:
        if not line or line == "...":
            continue
        at = next((at for at in range(place, len(lines)) if alike(line, lines[at])), None)
        if at is None:
            return line
        place = at + 1
    return None


def anew(block: list[str], lines: list[str]) -> list[str]:
    """A sample with each line as it is printed now: the likest one behind the line before."""
    made, place = [], 0
    for line in block:
        if line and line != "...":
            near = difflib.get_close_matches(line, lines[place:], 1, 0.6)
            if near:
                place = lines.index(near[0], place) + 1
                line = near[0]
        made.append(line)
    return made


def main() -> None:
    """Write the documents anew and say what has changed."""
    with tempfile.TemporaryDirectory() as named:
        surroundings = prepare_desk(Path(named))
        for path in DOCUMENTS:
            _renew(path, Path(named), surroundings)


def _renew(path: Path, desk: Path, surroundings: dict[str, str]) -> None:
    text = path.read_text(encoding="utf-8")
    for block in blocks(text):
        start = next((one for one in SAMPLES if any(re.match(one, line) for line in block)), None)
        if start:
            lines = printed(start, desk, surroundings)
        elif any(SCORE in line for line in block):
            lines = score()
        else:
            continue
        indents = [line[: len(line) - len(line.lstrip())] if not start else "" for line in block]
        new = anew([line.strip() if not start else line for line in block], lines)
        for old, line, indent in zip(block, new, indents, strict=True):
            if old != indent + line:
                print(f"- {old}\n+ {indent + line}")
                text = text.replace(f"    {old}\n", f"    {indent + line}\n", 1)
    path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
