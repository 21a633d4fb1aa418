"""Logger files as people have them: every way of writing, and every defect told with its rows."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tracer.issues import Place
from tracer.knowledge.load import load_or_fail
from tracer.lots.logs.columns import propose
from tracer.lots.logs.grid import read_grid
from tracer.lots.logs.log import Columns
from tracer.lots.logs.read import read_log
from tracer.lots.logs.times import formats_of, orders_that_fit
from tracer.lots.read import parse_lot, read_lot
from tracer.spreadsheets.limits import TableError

BASE = load_or_fail()
LIMITS = BASE.settings.physics.logs
START = datetime.datetime(2026, 1, 13, 6)


def hourly(count: int, start: datetime.datetime = START):
    return [start + datetime.timedelta(hours=i) for i in range(count)]


def write(path: Path, text: str, encoding: str = "utf-8") -> Path:
    path.write_bytes(text.encode(encoding))
    return path


def columns(**changes):
    given = {
        "time": ("Time",),
        "channels": {"temperature": "T", "humidity": "RH"},
        "degrees": "C",
        "dates": "year_first",
        "decimal": "point",
        "timezone": None,
        "place_timezone": None,
    }
    return Columns(**{**given, **changes})


def read(path: Path, **changes):
    return read_log(
        read_grid(path),
        columns(**changes),
        LIMITS.possible,
        LIMITS.gap_factor,
        ("drying", "air", path.name),
        Place("lot.yaml"),
    )


PLAIN = "Time,T,RH\n" + "".join(
    f"{t:%Y-%m-%d %H:%M},{20 + i % 5},{60 + i % 7}\n" for i, t in enumerate(hourly(48))
)


def test_a_plain_file_is_read_whole(tmp_path):
    log = read(write(tmp_path / "a.csv", PLAIN))
    assert len(log.at) == 48
    assert log.total == 48
    assert not log.defects
    assert not log.gaps
    assert log.rows[0] == 2
    assert str(log.at[0]) == "2026-01-13T06:00:00"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_encodings_and_separators_do_not_matter(tmp_path, encoding, separator):
    text = PLAIN.replace("T,RH", "T °C,RH", 1).replace(",", separator)
    log = read(write(tmp_path / "a.csv", text, encoding), channels={"temperature": "T °C", "humidity": "RH"})
    assert len(log.at) == 48


def test_lines_of_prose_above_the_headings_are_passed_over(tmp_path):
    log = read(write(tmp_path / "a.csv", "Logger 12\nInterval;60 min\n\n" + PLAIN))
    assert len(log.at) == 48
    assert log.rows[0] == 5


def test_comma_decimals_and_fahrenheit_give_the_same_celsius(tmp_path):
    rows = "".join(
        f"{t:%d.%m.%Y %H:%M};{(20 + i % 5) * 1.8 + 32:.1f};{60 + i % 7},5\n".replace(".0;", ",0;")
        .replace(".4;", ",4;")
        .replace(".8;", ",8;")
        .replace(".6;", ",6;")
        .replace(".2;", ",2;")
        for i, t in enumerate(hourly(24))
    )
    log = read(
        write(tmp_path / "a.csv", "Time;T;RH\n" + rows), degrees="F", decimal="comma", dates="day_first"
    )
    assert log.channels["temperature"][:5] == pytest.approx([20, 21, 22, 23, 24], abs=0.06)
    assert log.channels["humidity"][0] == 60.5


def test_a_workbook_reads_as_its_csv_would(tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Station 4"])
    sheet.append(["Time", "T", "RH"])
    for i, t in enumerate(hourly(30)):
        sheet.append([t, 20.5 + i % 3, 61])
    book.save(tmp_path / "a.xlsx")
    log = read(tmp_path / "a.xlsx")
    assert len(log.at) == 30
    assert log.rows[0] == 3
    assert log.channels["temperature"][1] == 21.5


def test_date_and_time_of_day_may_stand_in_two_columns(tmp_path):
    rows = "".join(f"{t:%m/%d/%Y},{t:%I:%M %p},{20},{60}\n" for t in hourly(30))
    log = read(
        write(tmp_path / "a.csv", "day,clock,T,RH\n" + rows), time=("day", "clock"), dates="month_first"
    )
    assert str(log.at[10]) == "2026-01-13T16:00:00"


def test_the_order_of_day_and_month_is_asked_and_never_guessed(tmp_path):
    rows = "".join(f"0{1 + i // 24}/02/2026 {i % 24:02d}:00,20,60\n" for i in range(72))
    grid = read_grid(write(tmp_path / "a.csv", "Time,T °C,RH\n" + rows))
    proposal = propose(grid.headings, grid.frame)
    assert proposal.dates == ("day_first", "month_first")
    assert any("which is it" in question for question in proposal.questions)
    sure = read_grid(write(tmp_path / "b.csv", "Time,T °C,RH\n" + rows.replace("/02/", "/14/")))
    assert propose(sure.headings, sure.frame).dates == ("month_first",)


def test_unclear_degrees_and_columns_become_questions(tmp_path):
    grid = read_grid(
        write(
            tmp_path / "a.csv",
            "Time,temp in,temp out,RH\n2026-01-13 06:00,20,21,60\n2026-01-13 07:00,20,21,60\n",
        )
    )
    proposal = propose(grid.headings, grid.frame)
    assert proposal.degrees is None
    assert any("several columns look like temperature" in question for question in proposal.questions)
    assert any("C or in F" in question for question in proposal.questions)


def test_every_defect_is_told_with_its_rows_and_the_rest_is_used(tmp_path):
    lines = PLAIN.splitlines()
    lines[5] = lines[5].replace(lines[5].split(",")[1], "err", 1)
    lines[8] = "yesterday,20,60"
    lines[11] = lines[10]
    lines[14] = f"{lines[14].split(',')[0]},400,60"
    lines[17] = lines[17] + ",extra,cells"
    lines[20] = f"{lines[20].split(',')[0]},20,103"
    lines[23], lines[24] = lines[24], lines[23]
    del lines[30:36]
    log = read(write(tmp_path / "a.csv", "\n".join(lines) + "\n"))
    told = {defect.what.split(",")[0].split(";")[0]: defect.rows for defect in log.defects}
    assert told["torn: more cells than headings"] == (18,)
    assert told["no number under 'T'"] == (6,)
    assert told["no time that can be read"] == (9,)
    assert told["the same time again"] == (12,)
    assert told["'T' outside -40 to 150"] == (15,)
    assert told["humidity a little above 100 %"] == (21,)
    assert told["earlier than the row before"] == (25,)
    assert (
        len(log.at) == len(lines) - 1 - 3
    )  # no time, same time, torn: the row with only humidity is still used
    assert [(before, after) for before, after, _ in log.gaps] == [(30, 31)]
    assert (np.diff(log.at) > np.timedelta64(0, "s")).all()


def test_the_share_dropped_and_missing_is_counted(tmp_path):
    lines = PLAIN.splitlines()
    broken = [*lines[:10], *["x,y,z"] * 10, *lines[30:]]
    log = read(write(tmp_path / "a.csv", "\n".join(broken) + "\n"))
    assert log.dropped == pytest.approx(10 / (len(broken) - 1))
    assert log.missing == pytest.approx(20 / 47, abs=0.01)


def test_a_logger_in_another_zone_is_put_on_the_clock_of_the_place(tmp_path):
    log = read(write(tmp_path / "a.csv", PLAIN), timezone="UTC", place_timezone="+03:00")
    assert str(log.at[0]) == "2026-01-13T09:00:00"
    zoned = PLAIN.replace(":00,", ":00Z,")
    assert str(read(write(tmp_path / "b.csv", zoned)).at[0]) == "2026-01-13T06:00:00"


def test_the_hour_that_the_clock_change_repeats_is_told_as_doubtful(tmp_path):
    autumn = hourly(30, datetime.datetime(2026, 10, 24, 20))
    text = "Time,T,RH\n" + "".join(f"{t:%Y-%m-%d %H:%M},20,60\n" for t in autumn)
    log = read(write(tmp_path / "a.csv", text), timezone="Europe/Berlin")
    assert any("clock change" in defect.what for defect in log.defects)


def test_a_sensor_that_never_moves_is_told_but_used(tmp_path):
    text = "Time,T,RH\n" + "".join(f"{t:%Y-%m-%d %H:%M},20,60\n" for t in hourly(100))
    log = read(write(tmp_path / "a.csv", text))
    assert any("the same reading" in defect.what and not defect.dropped for defect in log.defects)
    assert len(log.at) == 100


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"   \n",
        b"\x00\x01\x02\x03",
        b"only one line",
        b"PK\x03\x04 broken zip",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1old",
        b"a;b\n1;2\n",
    ],
)
def test_a_file_that_is_no_log_is_refused_with_a_mend(tmp_path, raw):
    (tmp_path / "a.csv").write_bytes(raw)
    with pytest.raises(TableError) as caught:
        read_grid(tmp_path / "a.csv")
    assert caught.value.remedy


def test_a_workbook_that_unpacks_to_far_too_much_is_refused(tmp_path):
    import zipfile

    pytest.importorskip("openpyxl")
    with zipfile.ZipFile(tmp_path / "bomb.xlsx", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 300_000_000)
    with pytest.raises(TableError, match="unpacks"):
        read_grid(tmp_path / "bomb.xlsx")


SHEET = """
lot: LOG-1
species: arabica
process: washed
cuppings:
  - {on: 2026-03-09, sample: arrival, cups: 5, tasters: [{taster: first, notes: [{note: musty, cups: 3}]}]}
history:
  transport:
    logs:
      - {file: a.csv, where: air%s}
"""


def sheet(tmp_path: Path, more: str):
    write(tmp_path / "a.csv", PLAIN)
    write(tmp_path / "lot.yaml", SHEET % more)
    return read_lot(tmp_path / "lot.yaml", BASE)


def test_a_log_counts_only_once_its_columns_are_confirmed_and_the_proposal_can_be_pasted(tmp_path):
    lot, issues = sheet(tmp_path, "")
    assert lot is not None
    assert lot.logs == ()
    [told] = [issue for issue in issues if "not confirmed" in issue.message]
    assert 'columns: {time: "Time", temperature: "T", humidity: "RH"}' in told.remedy
    pasted = (
        told.remedy.split("put it under the log: ")[1]
        .split(" Decide:")[0]
        .replace("degrees: C or F", "degrees: C")
    )
    lot, issues = sheet(tmp_path, ", " + pasted)
    assert lot is not None, issues
    assert len(lot.logs) == 1
    assert len(lot.logs[0].at) == 48


def test_mistakes_in_the_columns_are_told_all_at_once_with_their_place(tmp_path):
    lot, issues = sheet(
        tmp_path, ", columns: {time: Tiem, temperature: T, humidty: RH}, dates: dayfirst, timezone: Mars/Base"
    )
    assert lot is None
    told = "\n".join(map(str, issues))
    assert "no column 'Tiem'" in told
    assert "Did you mean 'Time'?" in told
    assert "no field 'humidty'" in told
    assert "is no time zone" in told
    assert "does not say its degrees" in told
    assert "not one of the choices" in told


@pytest.mark.parametrize("name", ["../a.csv", "/etc/passwd", "missing.csv"])
def test_a_log_is_a_file_beside_the_sheet_and_nothing_else(tmp_path, name):
    write(tmp_path / "lot.yaml", (SHEET % "").replace("a.csv", name))
    lot, issues = read_lot(tmp_path / "lot.yaml", BASE)
    assert lot is None
    assert any(issue.level == "error" for issue in issues)


def test_readings_need_a_possible_amount_and_their_method_is_asked_for():
    text = SHEET.split("history")[0] + (
        "history:\n  drying:\n    readings:\n      - {on: 2026-01-02, moisture: 120 %}\n      - {on: 2026-01-03, aw: 1.4}\n"
        "      - {on: someday, moisture: 12 %, method: meter}\n      - {on: 2026-01-04, moisture: 12 %}\n      - {on: 2026-01-05}\n"
    )
    lot, issues = parse_lot(text, "lot.yaml", BASE)
    told = "\n".join(map(str, issues))
    assert lot is None
    assert "moisture 120 % cannot be" in told
    assert "water activity 1.4 cannot be" in told
    assert "'someday' is no day or time" in told
    assert "does not name its method" in told
    assert "needs moisture or aw" in told


@given(
    st.datetimes(datetime.datetime(1990, 1, 1), datetime.datetime(2060, 1, 1)),
    st.sampled_from(["year_first", "day_first", "month_first"]),
)
def test_every_time_can_be_read_in_the_order_it_was_written(time, order):
    written = {
        "year_first": f"{time:%Y-%m-%d %H:%M:%S}",
        "day_first": f"{time:%d/%m/%Y %H:%M}",
        "month_first": f"{time:%m/%d/%Y %I:%M %p}",
    }[order]
    shape = formats_of(written, order)
    assert shape is not None
    assert datetime.datetime.strptime(written, shape) == (
        time.replace(microsecond=0) if order == "year_first" else time.replace(second=0, microsecond=0)
    )
    assert order in orders_that_fit([written])


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400))
def test_no_bytes_whatever_give_a_traceback(tmp_path_factory, raw):
    path = tmp_path_factory.mktemp("raw") / "a.csv"
    path.write_bytes(b"Time,T,RH\n2026-01-01 00:00,1,2\n" + raw)
    try:
        log = read(path)
    except TableError:
        return
    assert len(log.at) <= log.total + 1


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak of memory is read from /proc")
def test_a_year_of_minutes_is_read_and_reduced_in_little_memory():
    # The aims are 2 s and 400 MB on two cores; `python -m tests.bench` prints both.
    from tests.bench.bench_history import YEAR, measure_rows

    *_, memory = measure_rows(YEAR)
    assert memory < 400
