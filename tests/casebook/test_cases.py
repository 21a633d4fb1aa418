"""Cases through the real command: keep, answer, close, run again, out and in, learn, and find what lots share."""

from __future__ import annotations

import json
import random
import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from tests.command import run
from tracer.casebook import learn as learning
from tracer.casebook.cases import add_received, cases, insert_case, knowledge_of, whole
from tracer.casebook.common import holm, shared_places, upper_tail, with_ancestors
from tracer.casebook.file import MIGRATIONS, opened
from tracer.casebook.keeping import ToKeep, keep
from tracer.casebook.taught import Taught, taught_cases
from tracer.knowledge.load import load, load_or_fail
from tracer.knowledge.scale import raised
from tracer.knowledge.shipped import scenarios_folder
from tracer.knowledge.strength import Strength
from tracer.lots.read import parse_lot, read_lot
from tracer.precedents.shipped import readings
from tracer.tracing import prepare, trace

BASE = load_or_fail()
READY = prepare(BASE)


def sheet(lot: str, note: str = "musty", more: str = "") -> str:
    return (
        f"lot: {lot}\nspecies: arabica\nprocess: washed\n"
        f"cuppings: [{{on: 2026-03-09, sample: warehouse, cups: 5, tasters: [{{taster: a, notes: [{{note: {note}, cups: 4}}]}}]}}]\n{more}"
    )


def kept_lot(path: Path, text: str) -> int:
    lot, issues = parse_lot(text, "lot.yaml", BASE)
    assert lot is not None, issues
    return keep(path, ToKeep(text, {}, lot, trace(lot, BASE, READY)), BASE, "me").case


def test_a_case_from_keeping_to_closing(tmp_path):
    kept = run("trace", "--example", "log_sea_passage", "--keep", "--by", "lead")
    assert kept.returncode == 0
    assert "kept as case 1" in kept.stderr
    wrong = run("answer", "1", "test_smell_green=mouldy", "--by", "buyer")
    assert wrong.returncode == 1
    assert "must (must or mould)" in wrong.stderr or "Did you mean" in wrong.stderr
    answered = run("answer", "1", "test_smell_green=nothing", "--by", "buyer", "--json")
    assert answered.returncode == 0, answered.stderr
    assert json.loads(answered.stdout)["moved"]
    closed = run(
        "close",
        "1",
        "--fault",
        "container_condensation",
        "--how",
        "laboratory",
        "--by",
        "QA",
        "--note",
        "stains and logger",
    )
    assert closed.returncode == 0
    shown = run("cases", "show", "1").stdout
    assert "test_smell_green" in shown
    assert "container_condensation, by laboratory" in shown
    assert "logs/passage_winter.csv" in shown
    listed = json.loads(run("cases", "--json").stdout)
    assert [(one["lot"], one["closed"], one["how"]) for one in listed] == [
        ("TRN-08", "container_condensation", "laboratory")
    ]


def test_a_case_runs_again_as_it_was_with_its_files_and_its_knowledge(tmp_path):
    path = tmp_path / "book.sqlite"
    source = scenarios_folder() / "log_hot_dryer.yaml"
    lot, _ = read_lot(source, BASE)
    assert lot
    report = trace(lot, BASE, READY)
    from tracer.casebook.again import trace_again

    files = {"logs/dryer_hot.csv": (scenarios_folder() / "logs" / "dryer_hot.csv").read_bytes()}
    number = keep(path, ToKeep(source.read_text(encoding="utf-8"), files, lot, report), BASE, "").case
    old = knowledge_of(path, whole(path, number).knowledge)
    assert old is not None
    assert old.sha256 == BASE.sha256
    again = trace_again(whole(path, number), old)
    assert again.sources == report.sources
    assert again.history.measured == report.history.measured


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("answer", "9", "ask_bed_log=slow", "--by", "x"), "no case 9 is kept"),
        (("answer", "1", "ask_bedlog=slow", "--by", "x"), "Did you mean 'ask_bed_log'?"),
        (("close", "9", "--fault", "rewetting", "--how", "record", "--by", "x"), "no case 9 is kept"),
        (("close", "1", "--fault", "rewettin", "--how", "guess", "--by", " "), "Did you mean 'rewetting'?"),
        (("cases", "show", "5"), "no case 5 is kept"),
        (("cases", "common", "--source", "nothing"), "is no fault"),
        (("cases", "import", "missing.jsonl"), "cannot be read"),
        (("cases", "backup", "x.sqlite"), "there is no casebook to copy"),
        (("trace", "--example", "jute_oil", "--keep", "--by", "x", "--replaces", "7"), "no case 7 is kept"),
        (("trace", "--example", "jute_oil", "--keep"), "somebody must stand for it"),
    ],
)
def test_bad_input_is_answered_with_a_mend(words, told, tmp_path):
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 1
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_a_book_goes_out_and_in_whole_and_a_back_up_restores(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    for name in ("A", "B", "C"):
        kept_lot(path, sheet(name))
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    assert run("close", "2", "--fault", "none", "--how", "experiment", "--by", "x").returncode == 0
    out = tmp_path / "book.jsonl"
    assert run("cases", "export", str(out)).returncode == 0
    other = tmp_path / "other.sqlite"
    assert run("cases", "import", str(out), "--casebook", str(other)).returncode == 0
    assert cases(other) == cases(path)
    assert whole(other, 2) == whole(path, 2)
    again = run("cases", "import", str(out), "--casebook", str(other))
    assert again.returncode == 1
    assert "not empty" in again.stderr
    lines = out.read_text(encoding="utf-8").splitlines()
    (tmp_path / "torn.jsonl").write_text("\n".join([*lines[:3], lines[3][:40]]), encoding="utf-8")
    torn = run("cases", "import", str(tmp_path / "torn.jsonl"), "--casebook", str(tmp_path / "new.sqlite"))
    assert torn.returncode == 1
    assert ":4:1: error" in torn.stderr
    assert cases(tmp_path / "new.sqlite") == ()
    copy = tmp_path / "copy.sqlite"
    assert run("cases", "backup", str(copy)).returncode == 0
    path.unlink()
    copy.rename(path)
    assert len(cases(path)) == 3


def test_a_book_of_the_first_schema_is_brought_up_with_all_it_holds(tmp_path):
    path = tmp_path / "old.sqlite"
    with sqlite3.connect(path) as book:
        book.executescript(MIGRATIONS[0])
        book.execute(
            "INSERT INTO session VALUES (1, '2026-01-01', 'old', 'blind', '', '', NULL, 'k', '2026-01-01')"
        )
        book.execute("INSERT INTO served VALUES (1, 1, 'Ana', '101', 's', '[]', '[]', NULL, 0)")
        book.execute(f"PRAGMA application_id = {0x54524352}")
        book.execute("PRAGMA user_version = 1")
    from tracer.casebook.sessions import sessions

    assert [one.name for one in sessions(path)] == ["old"]
    kept_lot(path, sheet("N"))
    assert len(cases(path)) == 1
    with sqlite3.connect(path) as book:
        assert book.execute("PRAGMA user_version").fetchone()[0] == len(MIGRATIONS)


def test_a_kept_file_cannot_lie_outside_its_folder(tmp_path):
    from tracer.casebook.again import lot_of
    from tracer.issues import InputError

    path = tmp_path / "book.sqlite"
    lot, _ = parse_lot(sheet("X"), "x", BASE)
    assert lot
    number = keep(
        path, ToKeep(sheet("X"), {"../../evil.csv": b"x"}, lot, trace(lot, BASE, READY)), BASE, ""
    ).case
    with pytest.raises(InputError, match="outside its folder"):
        lot_of(whole(path, number), BASE)


# Learning


def taught(lot: str, fault: str | None, more: str = "") -> Taught:
    found, issues = parse_lot(sheet(lot, more=more), "x", BASE)
    assert found, issues
    return Taught(0, found, fault)


def test_what_is_confirmed_often_becomes_likelier_by_its_counts():
    rows = [taught(f"L{i}", "destination_damp") for i in range(12)] + [
        taught(f"M{i}", None) for i in range(8)
    ]
    found = learning.learn(rows, BASE, foresee=False)
    prior = next(one for one in found.figures if one.kind == "prior" and one.about == "destination_damp")
    weight = BASE.settings.learning.prior_weight
    factor = BASE.settings.suspicion.ratio.best
    assert raised(prior.after, factor) == pytest.approx(
        (raised(prior.before, factor) * weight + 12) / (weight + 20)
    )  # conjugate update of a Beta law, among the lots that somebody wanted traced
    never = next(one for one in found.figures if one.kind == "prior" and one.about == "rewetting")
    assert never.after < never.before
    link = next(
        one for one in found.figures if one.kind == "link" and one.about.startswith("destination_damp")
    )
    assert 0 < link.low < link.after < link.high < 1


def test_a_link_that_was_counted_weighs_as_many_cases_as_were_counted_and_another_by_its_basis():
    settings = BASE.settings
    counted = Strength(count="18/100", basis="study")
    assert learning.link_weight(counted, settings) == 100
    weights = [
        learning.link_weight(Strength(band="often", basis=basis), settings)
        for basis in ("study", "statement", "judgement")
    ]
    assert weights == sorted(weights, reverse=True)
    assert len(set(weights)) == 3
    assert learning.link_weight(Strength(unknown=True), settings) == weights[-1]


def test_a_lot_cupped_clean_counts_as_a_sound_one_without_being_closed(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    clean = "lot: {name}\ncuppings: [{{cups: 5, tasters: [{{taster: a, notes: [], checked_all: yes}}]}}]\n"
    for number in range(4):
        kept_lot(path, clean.format(name=f"C{number}"))
    kept_lot(path, sheet("L"))
    kept_lot(path, "lot: E\n")
    from tracer.casebook.cases import close, whole

    close(path, 5, "destination_damp", "laboratory", "QA", "")
    wholes = [whole(path, number) for number in range(1, 7)]
    taught, *_ = taught_cases(wholes, BASE)
    assert [(one.case, one.fault, one.closed) for one in taught] == [
        *((number, None, False) for number in range(1, 5)),
        (5, "destination_damp", True),
    ]
    prior = next(
        one for one in learning.learn(taught, BASE).figures if (one.kind, one.fault) == ("prior", "rewetting")
    )
    weight = BASE.settings.learning.prior_weight
    factor = BASE.settings.suspicion.ratio.best
    clean = prior.before * weight / (weight + 4)
    closed = raised(clean, factor) * (weight + 4) / (weight + 5)
    assert raised(prior.after, factor) == pytest.approx(closed), "four of all lots, and one of the suspected"
    shown = run("cases", "learn")
    assert "1 closed cases and 4 lots cupped clean teach" in shown.stdout


def test_a_case_cupped_as_routine_counts_among_all_lots_and_not_among_the_suspected():
    routine = [
        taught(f"L{i}", "rewetting" if i < 2 else None, "bench: {cupped_for: routine}\n") for i in range(6)
    ]
    figures = learning.learn(routine, BASE, foresee=False).figures
    prior = next(one for one in figures if (one.kind, one.fault) == ("prior", "rewetting"))
    weight = BASE.settings.learning.prior_weight
    assert prior.after == pytest.approx((prior.before * weight + 2) / (weight + 6))


def test_learning_foresees_a_casebook_of_one_kind_better_and_says_so():
    rows = [taught(f"L{i}", "destination_damp") for i in range(25)]
    found = learning.learn(rows, BASE)
    assert found.loss_after is not None
    assert found.loss_before is not None
    assert found.loss_after < found.loss_before


def test_learning_that_hurts_is_visible():
    # Fifteen of one kind in a row teach the wrong thing about the one that follows.
    rows = [taught(f"L{i}", "destination_damp") for i in range(15)]
    rival = next(s.fault for s in trace(rows[0].lot, BASE, READY).sources if s.fault != "destination_damp")
    rows.append(taught("M", rival))
    seen = learning.presences(rows, BASE, READY)
    own = learning.apply(learning._figures(rows[:15], seen[:15], BASE), BASE)
    shipped, learned = learning._loss(rows[15], BASE, READY), learning._loss(rows[15], own, prepare(own))
    assert learned > shipped
    from tracer.render.cases import learned_screen

    worse = learning.Learned((), 16, 0, 0, 0, 1.0, 1.2)
    assert "NOT better foreseen" in str(learned_screen(worse).renderables[1])


def test_a_group_learns_only_what_it_has_more_of_than_the_whole():
    rows = [taught(f"U{i}", "destination_damp", "origin: Uplands\n") for i in range(10)]
    rows += [taught(f"V{i}", "rewetting", "origin: Valley\n") for i in range(10)]
    found = learning.learn(rows, BASE, foresee=False)
    ratios = {one.about: one for one in found.figures if one.kind == "group"}
    up = ratios["destination_damp where origin is uplands"]
    assert 1 < up.after <= BASE.settings.learning.most_ratio
    assert "rewetting where origin is uplands" not in ratios
    few = learning.learn(rows[:3] + rows[10:], BASE, foresee=False)
    assert not any("uplands" in one.about for one in few.figures if one.kind == "group")


def test_belief_teaches_nothing_and_nothing_changes_unless_accepted(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    for i in range(8):
        kept_lot(path, sheet(f"L{i}", more="origin: Uplands\n"))
    from tracer.casebook.cases import close

    for i in range(1, 8):
        close(path, i, "destination_damp", "laboratory", "QA", "")
    close(path, 8, "rewetting", "belief", "QA", "")
    shown = run("cases", "learn")
    assert shown.returncode == 0, shown.stderr
    assert "7 closed cases teach; 1 closed by belief teach nothing" in shown.stdout
    assert "Mean log loss" in shown.stdout
    assert "Nothing has changed" in shown.stdout
    refused = run("cases", "learn", "--accept", str(tmp_path / "house"))
    assert refused.returncode == 1
    accepted = run("cases", "learn", "--accept", str(tmp_path / "house"), "--by", "QA")
    assert accepted.returncode == 0, accepted.stderr
    base, issues = load(houses=[tmp_path / "house"])
    assert base is not None, issues
    assert base.faults["destination_damp"].prior.basis == "casebook"
    assert base.faults["destination_damp"].prior.of == "all_lots"
    assert any(change.by == "QA" for change in base.changes)
    lot, _ = parse_lot(sheet("NEW"), "x", BASE)
    assert lot
    before = {line.fault: line for line in trace(lot, BASE, READY, keep="destination_damp").sources}[
        "destination_damp"
    ]
    after = {line.fault: line for line in trace(lot, base, keep="destination_damp").sources}[
        "destination_damp"
    ]
    assert after.probability > before.probability
    own = [case for case in base.precedents.values() if case.id.startswith("learned.closed_")]
    assert len(own) == 7
    assert {case.truth.stage for case in own} == {BASE.faults["destination_damp"].stage}
    assert all(readings(base)[case.id] for case in own)
    assert any(line.case.startswith("learned.closed_") for line in trace(lot, base).alike)


# What lots share


def test_the_exact_test_equals_scipy_and_a_worked_example():
    stats = pytest.importorskip("scipy.stats")
    # Fisher's tea tasting, The Design of Experiments (1935): 3 of 4 right, p = 17/70.
    assert upper_tail(3, 4, 4, 8) == pytest.approx(17 / 70)
    generator = random.Random(5)
    for _ in range(200):
        every = generator.randint(2, 60)
        sick, here = generator.randint(1, every), generator.randint(1, every)
        both = generator.randint(max(0, sick + here - every), min(sick, here))
        table = [[both, sick - both], [here - both, every - sick - here + both]]
        assert upper_tail(both, sick, here, every) == pytest.approx(
            stats.fisher_exact(table, alternative="greater")[1], abs=1e-9
        )


def test_the_food_of_a_textbook_outbreak_is_found():
    # Oswego church supper, 1940 (Gross 1976, Public Health Reports; the CDC training case; counts from memory): of 75 people 46 fell ill;
    # vanilla ice cream was eaten by 54, 43 of them ill; baked ham by 46, 29 of them ill; cakes by 40, 27 ill.
    people = [f"p{i}" for i in range(75)]
    ill = set(people[:46])
    eaten: dict[str, set[tuple[str, str]]] = {person: set() for person in people}

    def served(food: str, sick: int, well: int) -> None:
        for person in [*people[:sick], *people[46 : 46 + well]]:
            eaten[person].add(("table", food))

    served("vanilla ice cream", 43, 11)
    served("baked ham", 29, 17)
    served("cakes", 27, 13)
    found = shared_places(eaten, frozenset(ill))
    assert found[0].node == "vanilla ice cream"
    assert found[0].corrected < 1e-6
    assert all(one.corrected > 0.05 for one in found[1:])


def test_holm_equals_statsmodels():
    multitest = pytest.importorskip("statsmodels.stats.multitest")
    values = [0.001, 0.04, 0.03, 0.8, 0.2]
    assert holm(values) == pytest.approx(list(multitest.multipletests(values, method="holm")[1]))


def test_places_of_a_blend_are_those_of_its_parts():
    passages = {
        "A": {("harvest", "farm 1")},
        "B": {("harvest", "farm 2")},
        "AB": {("transport", "box")},
        "AB2": set(),
    }
    found = with_ancestors(passages, [("A", "AB"), ("B", "AB"), ("AB", "AB2")])
    assert found["AB2"] == {("harvest", "farm 1"), ("harvest", "farm 2"), ("transport", "box")}
    assert found["A"] == {("harvest", "farm 1")}


def test_a_shared_store_is_pointed_out_and_its_other_lots_are_to_be_cupped(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    for i in range(30):
        bad = i < 6
        note = "musty" if bad else "potato"
        store = "Store 7" if bad or i == 6 else f"Store {i % 3}"
        kept_lot(
            path, sheet(f"L{i}", note, f"custody: {{origin_storage: '{store}', transport: box {i % 5}}}\n")
        )
    source = cases(path)[0].source
    assert source
    done = run("cases", "common", "--source", source)
    assert done.returncode == 0, done.stderr
    assert "! " in done.stdout
    assert "Store 7" in done.stdout
    assert "cup them: L6" in done.stdout
    found = json.loads(run("cases", "common", "--source", source, "--json").stdout)
    assert found[0]["node"] == "Store 7"
    assert found[0]["corrected"] < 0.001


@pytest.mark.slow
def test_a_hundred_thousand_cases_are_answered(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    lot, _ = parse_lot(sheet("L0", more="custody: {origin_storage: Store 1}\n"), "x", BASE)
    assert lot
    report = trace(lot, BASE, READY)
    with opened(path, write=True) as book:
        first = insert_case(book, "lot: L0\n", {}, lot, report, BASE, "")
        columns = [row[1] for row in book.execute("PRAGMA table_info(lot_case)")][1:]
        row = list(
            book.execute(f"SELECT {', '.join(columns)} FROM lot_case WHERE id = ?", (first,)).fetchone()
        )
        row[columns.index("report")] = "{}"
        at = columns.index("lot")
        rows = (tuple([*row[:at], f"L{i}", *row[at + 1 :]]) for i in range(1, 100_000))
        book.executemany(
            f"INSERT INTO lot_case ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})", rows
        )
        book.execute(
            "INSERT INTO passage (lot_case, stage, node) SELECT id, 'origin_storage', 'Store ' || (id % 400) FROM lot_case"
        )
        book.execute(
            "INSERT INTO passage (lot_case, stage, node) SELECT id, 'transport', 'box ' || (id % 9000) FROM lot_case"
        )
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    for words in (("cases",), ("cases", "common", "--stage", "drying"), ("cases", "--lot", "L777")):
        done = run(*words)
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("origin", ["Uplands", "Ethiopia, Sidama", "Hill district, Rwanda"])
def test_what_a_group_taught_is_read_by_the_next_lot_of_that_group(origin):
    from tracer.findings.facts import known_values

    rows = [taught(f"U{i}", "destination_damp", f"origin: '{origin}'\n") for i in range(10)]
    rows += [taught(f"V{i}", "rewetting", "origin: Valley\n") for i in range(10)]
    figures = [one for one in learning.learn(rows, BASE, foresee=False).figures if one.kind == "group"]
    own = learning.apply(figures, BASE)
    assert (
        known_values(own.rules.values(), "origin") > known_values(BASE.rules.values(), "origin")
        or "Rwanda" in origin
        or "Ethiopia" in origin
    )
    report = trace(rows[0].lot, own)
    assert any(finding.rule.startswith("learned.destination_damp_origin") for finding in report.findings)


def test_an_answer_says_what_it_takes_the_place_of_and_that_the_case_is_closed(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    kept_lot(path, sheet("A"))
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    first = run("answer", "1", "test_smell_green=must", "--by", "buyer")
    assert "takes the place" not in first.stdout
    second = run("answer", "1", "test_smell_green=smoke", "--by", "buyer")
    assert "It takes the place of the answer of" in second.stdout
    assert "by buyer: must or mould." in second.stdout
    assert run("close", "1", "--fault", "none", "--how", "record", "--by", "QA").returncode == 0
    third = run("answer", "1", "test_smell_green=nothing", "--by", "buyer")
    assert "The case was closed on" in third.stdout
    assert "by QA with none; that stands" in third.stdout
    assert (
        len(json.loads(run("answer", "1", "test_smell_green=must", "--by", "x", "--json").stdout)["met"]) == 2
    )


@pytest.mark.parametrize(
    ("said", "language", "kept"),
    [
        ("test_smell_green=must or mould", "en", "must"),
        ("test_smell_green = Must or Mould", "en", "must"),
        ("test_smell_green=moho o encierro", "es", "must"),
        ("ask_surface=bare soil", "en", "soil"),
        ("ask_surface=bare_soil", "en", "soil"),
    ],
)
def test_an_answer_is_taken_as_it_is_printed_and_as_the_sheet_writes_it(
    tmp_path, monkeypatch, said, language, kept
):
    path = tmp_path / "book.sqlite"
    kept_lot(path, sheet("A"))
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    done = run("--language", language, "answer", "1", said, "--by", "buyer")
    assert done.returncode == 0, done.stderr
    assert whole(path, 1).received[-1].answer == kept


def test_a_list_without_cases_says_whether_none_is_kept_or_none_is_like_what_was_asked_for(
    tmp_path, monkeypatch
):
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    assert "No case is kept here" in run("cases", "--exporter", "beta").stdout
    for name in ("A", "B"):
        kept_lot(path, sheet(name, more="exporter: Exporter Beta\n"))
    told = run("cases", "--exporter", "beta").stdout
    assert "None of the 2 cases has: exporter beta." in told
    assert "exporter, as kept: Exporter Beta." in told
    assert "No case is kept" not in told


def test_where_no_lot_is_affected_it_is_said_and_nobody_is_sent_to_fill_in_custody(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    kept_lot(path, sheet("A"))
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    told = " ".join(run("cases", "common", "--source", "smoke_drying").stdout.split())
    assert "custody" not in told


def test_a_list_of_cases_names_no_source_that_the_verdict_does_not_support(tmp_path, monkeypatch):
    path = tmp_path / "book.sqlite"
    kept_lot(path, sheet("A"))
    monkeypatch.setenv("TRACER_CASEBOOK", str(path))
    assert run("trace", "--example", "container_damp", "--keep", "--by", "QA").returncode == 0
    weak, sure = json.loads(run("cases", "--json").stdout)
    assert (weak["verdict"], sure["verdict"]) == ("insufficient_evidence", "source_supported")
    *_, one, other = run("cases").stdout.splitlines()
    assert "none supported" in one
    assert weak["source"] not in one
    assert f"{sure['source']}  {sure['probability']:.2f}" in other


def test_a_list_of_cases_has_the_verdict_after_the_last_answer(tmp_path):
    path = tmp_path / "book.sqlite"
    kept_lot(path, sheet("A"))
    lot, _ = parse_lot(sheet("A"), "lot.yaml", BASE)
    assert lot
    report = trace(lot, BASE, READY)
    assert cases(path)[0].verdict == report.verdict
    for verdict in ("several_sources", "source_supported"):
        after = replace(report, verdict=verdict)
        add_received(path, 1, "test_preshipment", "both", "x", "", after)
        assert cases(path)[0].verdict == whole(path, 1).case.verdict == verdict
