"""`python -m tests.bench` prints every table of speed as Markdown, with the machine; some minutes on two cores."""

from __future__ import annotations

import os
import platform
import re
from pathlib import Path

from tests.bench import bench_draft, bench_first, bench_history, bench_inference, bench_many, bench_start


def machine() -> str:
    """Processor, cores, memory and Python."""
    told = Path("/proc/cpuinfo").read_text() if Path("/proc/cpuinfo").exists() else ""
    found = re.search(r"model name\s*: (.*)", told)
    name = found[1] if found else platform.processor() or platform.machine()
    return f"{name}, {os.cpu_count()} cores, {platform.system()}, Python {platform.python_version()}"


print(f"Measured on {machine()}.")
bench_inference.main()
bench_first.main()
bench_start.main()
bench_draft.main()
bench_many.main()
bench_history.main()
