"""An archive on a cluster says the same as on one machine, survives a worker that is killed, and goes on where it stopped."""

from __future__ import annotations

import csv
import json
import os
import signal

import pytest

from tests.bench.bench_many import archive
from tests.command import run
from tracer.batch.archive import pieces, read_piece
from tracer.batch.cluster import PLAN, begin, cut, part_file, pieces_of, trace_on, trace_part
from tracer.batch.many import brief, flat
from tracer.issues import InputError
from tracer.knowledge.cache import as_data

pq = pytest.importorskip("pyarrow.parquet")
pa = pytest.importorskip("pyarrow")
distributed = pytest.importorskip("distributed")


def rows_of(folder):
    found = [row for file in sorted(folder.glob("part-*.parquet")) for row in pq.read_table(file).to_pylist()]
    return [{name: value for name, value in row.items() if name not in ("file",)} for row in found]


def alone(path, base, ready):
    """The same lots in this process, with the numbers of their rows."""
    source = list(pieces(path, base))
    read = [read_piece(piece, base) for piece in source]
    lots = [lot for lot, _ in read if lot is not None]
    briefs = iter(brief(lots, base, ready))
    return [
        {"line": line, **flat(next(briefs) if lot is not None else None, issues)}
        for (_, line, _), (lot, issues) in zip(source, read, strict=True)
    ]


def as_csv(path, lots):
    """Rows with quoted cells, line ends in them, and a bad one."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["lot", "process", "notes", "not_found", "cups", "moisture_now"])
        for number in range(lots):
            notes = ["musty; phenolic", "potato", 'slight "raw, pea"', "fermented\nsour", ""][number % 5]
            writer.writerow([f"L-{number}", "washed", notes, "smoky", 5, "999 %" if number == 3 else ""])


@pytest.fixture(scope="module")
def lots(tmp_path_factory):
    path = tmp_path_factory.mktemp("lots") / "lots.jsonl"
    archive(path, 120)
    with path.open("a", encoding="utf-8") as file:
        file.write("this is no lot\n")
    return path


@pytest.mark.parametrize("each", [1, 7, 1000])
def test_a_cut_archive_holds_every_row_once_and_in_order(base, tmp_path, each):
    path = tmp_path / "lots.csv"
    as_csv(path, 40)
    whole = [(line, content) for _, line, content in pieces(path, base)]
    parts = cut(path, each)
    assert [(line, content) for part in parts for _, line, content in pieces_of(part, base)] == whole


def test_parquet_says_what_csv_says(base, ready, tmp_path):
    path = tmp_path / "lots.csv"
    as_csv(path, 20)
    with path.open(encoding="utf-8", newline="") as file:
        table = pa.Table.from_pylist(list(csv.DictReader(file)))
    pq.write_table(table, tmp_path / "lots.parquet", row_group_size=6)
    one, other = alone(path, base, ready), alone(tmp_path / "lots.parquet", base, ready)
    assert [{**row, "line": 0} for row in one] == [{**row, "line": 0} for row in other]
    assert sum(row["error"] is not None for row in one) == 1
    assert len(cut(tmp_path / "lots.parquet", 6)) == 4
    sheets = pa.Table.from_pylist(
        [
            {
                "sheet": json.dumps(
                    {"lot": "A", "cuppings": [{"cups": 5, "tasters": [{"taster": "x", "notes": ["musty"]}]}]}
                )
            }
        ]
    )
    pq.write_table(sheets, tmp_path / "sheets.parquet")
    (found,) = alone(tmp_path / "sheets.parquet", base, ready)
    assert found["notes"] == "Musty"


@pytest.mark.slow
def test_two_workers_one_of_them_killed_in_mid_run_say_what_one_process_says(base, ready, lots, tmp_path):
    out = tmp_path / "out"
    todo = begin(lots, base, out, 10)
    assert len(todo) == 13
    with (
        distributed.LocalCluster(2, threads_per_worker=1, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        killed = 0
        for done in trace_on(client, todo, base, out):
            assert done.lots
            if killed < 1:
                os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)
                killed += 1
    assert killed == 1
    assert rows_of(out) == alone(lots, base, ready)
    assert not list(out.glob("*.part"))
    assert begin(lots, base, out, 10) == []


@pytest.mark.slow
def test_a_run_broken_off_goes_on_where_it_stopped_by_the_real_command(base, ready, lots, tmp_path):
    out = tmp_path / "out"
    done = run("trace", str(lots), "--cluster", "2", "--out", str(out), "--part", "20")
    assert done.returncode == 1  # one line is no lot
    assert "121 lots in 7 parts" in done.stderr
    for number in (2, 5):
        part_file(out, number).unlink()
    again = run("trace", str(lots), "--cluster", "2", "--out", str(out), "--part", "20")
    assert "40 lots in 2 parts" in again.stderr
    assert rows_of(out) == alone(lots, base, ready)
    other = run("trace", str(lots), "--cluster", "2", "--out", str(out), "--part", "60")
    assert other.returncode == 1
    assert "another archive" in other.stderr


def test_a_part_is_written_whole_or_not_at_all(base, lots, tmp_path, monkeypatch):
    out = tmp_path / "out"
    todo = begin(lots, base, out, 30)
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError("no room")))
    with pytest.raises(OSError, match="no room"):
        trace_part(todo[0], as_data(base), str(out))
    assert not part_file(out, 0).exists()
    assert {one.number for one in begin(lots, base, out, 30)} == {one.number for one in todo}


def test_what_cannot_be_traced_is_told_before_any_worker_starts(base, tmp_path):
    (tmp_path / "lots.csv").write_text("lott,notes\nA,musty\n")
    with pytest.raises(InputError, match="'lott' is no field"):
        begin(tmp_path / "lots.csv", base, tmp_path / "out", 10)
    (tmp_path / "bad.parquet").write_bytes(b"PAR1 nothing")
    done = run("trace", str(tmp_path / "bad.parquet"))
    assert done.returncode == 1
    assert "no Parquet file" in done.stderr
    assert "Traceback" not in done.stderr
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "other.txt").write_text("x")
    (tmp_path / "ok.csv").write_text("lot,notes\nA,musty\n")
    with pytest.raises(InputError, match="something else"):
        begin(tmp_path / "ok.csv", base, tmp_path / "full", 10)
    assert not (tmp_path / "full" / PLAN).exists()
    none = run(
        "trace", str(tmp_path / "ok.csv"), "--cluster", "tcp://127.0.0.1:9", "--out", str(tmp_path / "o2")
    )
    assert none.returncode == 1
    assert "no cluster answers" in none.stderr
