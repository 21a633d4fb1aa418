"""A year of minute readings from file to findings: seconds and memory, and growth with the number of rows."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

YEAR = 525_600
_WORK = r"""
import re, sys, time
from pathlib import Path
from tracer.knowledge.load import load_or_fail
from tracer.lots.read import read_lot
from tracer.history.measure import measure
base = load_or_fail()
before = time.perf_counter()
lot, issues = read_lot(Path(sys.argv[1]), base)
read = time.perf_counter()
found = measure(lot, base)
done = time.perf_counter()
assert len(lot.logs[0].at) == int(sys.argv[2]) and len(found.measured) >= 6
peak = int(re.search(r"VmHWM:\s+(\d+)", Path("/proc/self/status").read_text())[1]) / 1024
print(read - before, done - read, peak)
"""
_SHEET = """lot: BENCH
cuppings: []
history:
  destination_storage:
    logs:
      - {file: year.csv, where: air, columns: {time: Date/Time, temperature: T C, humidity: RH}, degrees: C, dates: day_first}
"""


def write_log(folder: Path, rows: int) -> Path:
    """A lot sheet with a log of so many minutes; invented air that swings by day and season."""
    import numpy as np
    import pandas as pd

    minute = np.arange(rows)
    frame = pd.DataFrame(
        {
            "Date/Time": pd.date_range("2025-01-01", periods=rows, freq="min").strftime("%d/%m/%Y %H:%M"),
            "T C": np.round(21 + 4 * np.sin(minute / 229.2) + 3 * np.sin(minute / 83_650), 1),
            "RH": np.round(66 + 8 * np.sin(minute / 229.2 + 2) + 6 * np.sin(minute / 83_650), 1),
        }
    )
    frame.to_csv(folder / "year.csv", index=False)
    (folder / "lot.yaml").write_text(_SHEET, encoding="utf-8")
    return folder / "lot.yaml"


def measure_rows(rows: int) -> tuple[float, float, float]:
    """Seconds to read, seconds to reduce, and the peak of memory in MB, in a new process with everything in it."""
    with tempfile.TemporaryDirectory() as folder:
        sheet = write_log(Path(folder), rows)
        done = subprocess.run(
            [sys.executable, "-c", _WORK, str(sheet), str(rows)], capture_output=True, text=True, check=True
        )
        read, reduced, memory = map(float, done.stdout.split())
        return read, reduced, memory


def main() -> None:
    """Print the table."""
    print("\nA logger file from CSV to findings, a new process each\n")
    print("| rows | read, s | reduce, s | us a row | MB, whole process |\n| --- | --- | --- | --- | --- |")
    for rows in (YEAR // 16, YEAR // 4, YEAR, 2 * YEAR):
        read, reduced, memory = measure_rows(rows)
        each = 1e6 * (read + reduced) / rows
        print(f"| {rows:,} | {read:.2f} | {reduced:.2f} | {each:.2f} | {memory:.0f} |", flush=True)


if __name__ == "__main__":
    main()
