"""The page tells the whole case in the language of the browser: report, reasons, errors and the printed page."""

from __future__ import annotations

import re

from tests.page.conftest import example

SPANISH = {"accept-language": "es-CO,es;q=0.9"}


def text_of(answer):
    assert answer.status_code == 200
    return re.sub(r"<[^>]+>", " ", answer.text)


def test_a_case_is_told_in_the_language_of_the_browser(browser):
    leader = browser()
    number = example(leader)
    told = text_of(leader.get(f"/lot/{number}", headers=SPANISH))
    assert "un origen sustentado" in told
    assert "mojado por condensación en el contenedor" in told
    assert "RETENGA EL LOTE" in told.upper()
    for english in ("one source supported", "wetted by container sweat", "hold the lot", "none of these"):
        assert english not in told.lower()


def test_the_same_case_is_english_for_the_next_reader(browser):
    leader = browser()
    number = example(leader)
    leader.get(f"/lot/{number}", headers=SPANISH)
    assert "one source supported" in text_of(leader.get(f"/lot/{number}", headers={"accept-language": "en"}))


def test_why_and_the_printed_page_are_told_in_it_too(browser):
    leader = browser()
    number = example(leader)
    why = text_of(leader.get(f"/lot/{number}/why/container_condensation", headers=SPANISH))
    assert "mojado por condensación en el contenedor" in why
    printed = leader.get(f"/lot/{number}/print", headers={"accept-language": "pt-BR"})
    assert '<html lang="pt">' in printed.text
    assert "uma origem sustentada" in printed.text


def test_an_error_is_told_in_it_and_names_the_field_not_an_option(browser):
    leader = browser()
    number = example(leader)
    answer = leader.post(
        f"/lot/{number}/close",
        data={"fault": "no_such", "how": "record", "by": "", "note": ""},
        headers=SPANISH,
    )
    assert answer.status_code == 422
    assert "no es un fallo" in answer.text
    assert "--fault" not in answer.text


def test_an_error_of_a_question_or_a_case_that_is_not_there_shows_no_line_of_a_file(browser):
    leader = browser()
    number = example(leader)
    wrong = {"question": "ask_nothing", "answer": "yes", "by": "QA"}
    for answer in (
        leader.post(f"/lot/{number}/answer", data=wrong),
        leader.get("/lot/99"),
        leader.get("/nowhere"),
    ):
        assert answer.status_code in (404, 422)
        assert ":1:1" not in answer.text, answer.text
