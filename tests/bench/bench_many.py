"""Many lots in one command: lots a second, and growth from 1 to 100,000."""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.yamlfile import parse_yaml


def archive(path: Path, lots: int) -> None:
    """Invented lots: the golden ones with other counts and some of their history missing."""
    generator = random.Random(1)
    golden = [
        parse_yaml(p.read_text(encoding="utf-8"), "x").data
        for p in sorted((scenarios_folder() / "golden").glob("*.yaml"))
    ]
    with path.open("w", encoding="utf-8") as file:
        for number in range(lots):
            lot = json.loads(json.dumps(generator.choice(golden), default=str))
            lot["lot"] = f"L-{number}"
            for cupping in lot.get("cuppings", []):
                for tasting in cupping.get("tasters", []):
                    for note in tasting.get("notes", []):
                        if isinstance(note, dict) and isinstance(note.get("cups"), int):
                            note["cups"] = generator.randint(1, cupping.get("cups") or 5)
            for records in lot.get("history", {}).values():
                for name in [n for n in records if generator.random() < 0.15]:
                    del records[name]
            file.write(json.dumps(lot, ensure_ascii=False) + "\n")


def main() -> None:
    """Print the table; the start of the program is measured with one lot and taken off."""
    print("\nMany lots in one command, all cores; the start, measured with one lot, is taken off\n")
    print("| lots | seconds | lots a second |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        path, out = Path(folder) / "lots.jsonl", Path(folder) / "out.jsonl"
        start = 0.0
        for lots in (1, 1, 100, 1_000, 10_000, 100_000):
            archive(path, lots)
            before = time.perf_counter()
            words = [sys.executable, "-m", "tracer", "trace", str(path), "--out", str(out)]
            subprocess.run(words, check=True, capture_output=True)
            taken = time.perf_counter() - before
            if lots == 1:
                start = taken  # the second run; the first may compile
                continue
            print(f"| {lots:,} | {taken - start:,.2f} | {lots / (taken - start):,.0f} |", flush=True)


if __name__ == "__main__":
    main()
