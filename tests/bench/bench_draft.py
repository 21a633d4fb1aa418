"""How long `tracer draft` takes beside `tracer check`, and how its time grows with the text."""

from __future__ import annotations

import tempfile
from pathlib import Path

from tests.bench.bench_start import cold

SENTENCE = "The parchment was rained on for {} hours on the patio, and the crew covered it late. "


def main() -> None:
    """Print the table as Markdown."""
    print("\nA message read into a sheet, in a new process\n")
    print("| sentences | ms | times `tracer check` of a sheet |\n| --- | --- | --- |")
    with tempfile.TemporaryDirectory() as folder:
        sheet = Path(folder) / "lot.yaml"
        sheet.write_text(
            "lot: B-1\nsaid: [{by: a, language: en, text: The parchment was rained on twice.}]\n"
            "cuppings: [{cups: 5, tasters: [{taster: a, language: en, notes: [musty]}]}]\n",
            encoding="utf-8",
        )
        usual = cold(["check", str(sheet)], folder)
        for size in (100, 200, 400, 800):
            message = Path(folder) / "mail.txt"
            message.write_text("".join(SENTENCE.format(n % 40 + 1) for n in range(size)), encoding="utf-8")
            spent = cold(["draft", str(message)], folder)
            print(f"| {size} | {spent:,.0f} | {spent / usual:.2f} |", flush=True)


if __name__ == "__main__":
    main()
