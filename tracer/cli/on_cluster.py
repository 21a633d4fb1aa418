"""`tracer trace ARCHIVE --cluster`: parts to the workers of a Dask cluster, and how far it is."""

from __future__ import annotations

import sys
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from tracer.knowledge.base import KnowledgeBase
from tracer.wording.language import tell

if TYPE_CHECKING:
    from tracer.casebook.sessions import Kept


def trace_archive(
    path: Path,
    base: KnowledgeBase,
    cluster: str,
    out: Path,
    lots: int,
    without: tuple[str, ...] = (),
    cups: tuple[Kept, ...] = (),
) -> int:
    """Trace an archive on a Dask cluster, or on workers of this machine; the number of lots that could not be read."""
    from rich.console import Console
    from rich.progress import track

    from tracer.batch.cluster import begin, trace_on
    from tracer.issues import InputError
    from tracer.panel.reliability import panels

    try:
        import pyarrow  # noqa: F401
        from distributed import Client, LocalCluster
    except ImportError as error:
        remedy = tell("pip install 'coffee-tracer[cluster]'")
        raise InputError.of(
            "--cluster", tell("a cluster needs one more package: {name}", name=error.name), remedy
        ) from None
    mark = sha256(repr(cups).encode()).hexdigest() if cups else ""
    todo = begin(path, base, out, lots, without, mark)
    if not todo:
        print(tell("every part is in {out} already.", out=out), file=sys.stderr)
        return 0
    local = (
        LocalCluster(int(cluster), threads_per_worker=1, dashboard_address=None)
        if cluster.isdecimal() and len(cluster) < 4
        else None
    )
    try:
        client = Client(local if local is not None else cluster, timeout=20)
    except (OSError, ValueError, TimeoutError) as error:
        remedy = "Give a number of workers, or the scheduler's address as tcp://host:8786."
        raise InputError.of(
            "--cluster",
            tell("no cluster answers at '{cluster}': {error}", cluster=cluster, error=error),
            remedy,
        ) from None
    count = bad = 0
    console = Console(stderr=True)
    try:
        done = trace_on(client, todo, base, out, without, partial(panels, cups))
        for one in track(
            done, "parts", len(todo), console=console, transient=True, disable=not console.is_terminal
        ):
            count, bad = count + one.lots, bad + one.bad
    finally:
        client.close()
        if local is not None:
            local.close()
    print(
        tell(
            "{count:,} lots in {count_2:,} parts in {out}; {bad:,} could not be read",
            count=count,
            count_2=len(todo),
            out=out,
            bad=bad,
        ),
        file=sys.stderr,
    )
    return bad
