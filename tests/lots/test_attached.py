"""Files beside a sheet are kept with a case, whatever their names look like."""

from __future__ import annotations

from tracer.lots.attached import beside

SHEET = """\
lot: A
# an old one was file: old.csv
history:
  transport:
    logs:
      - {file: 'a,b.csv', where: air}
      - file: tank 2.csv # the tank
        where: tank
cuppings:
  - table: ok.csv
"""


def test_names_with_commas_blanks_and_remarks_are_kept_and_a_comment_names_nothing(tmp_path):
    (tmp_path / "lot.yaml").write_text(SHEET)
    for name in ("a,b.csv", "tank 2.csv", "ok.csv", "old.csv"):
        (tmp_path / name).write_text(name)
    assert set(beside(tmp_path / "lot.yaml")) == {"a,b.csv", "tank 2.csv", "ok.csv"}


def test_nothing_outside_the_folder_is_kept(tmp_path):
    (tmp_path / "in").mkdir()
    (tmp_path / "secret.csv").write_text("x")
    (tmp_path / "in" / "lot.yaml").write_text("lot: A\ncuppings:\n  - table: ../secret.csv\n")
    assert beside(tmp_path / "in" / "lot.yaml") == {}


def test_a_file_whose_name_is_a_number_is_kept_with_its_sheet(tmp_path):
    (tmp_path / "lot.yaml").write_text(
        "lot: A\ngreen: {grading: {weight: 300 g, table: 7}}\n", encoding="utf-8"
    )
    (tmp_path / "7").write_text("defect,count\nfull black,2\n", encoding="utf-8")
    assert list(beside(tmp_path / "lot.yaml")) == ["7"]
