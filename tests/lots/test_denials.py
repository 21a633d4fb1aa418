"""Denials in ten languages: what only looks like one denies nothing, and a plain one stands. From memory, common usage."""

from __future__ import annotations

import pytest

from tracer.knowledge.load import load_or_fail
from tracer.words.kept import vocabulary_of
from tracer.words.reading import read_words

BASE = load_or_fail()
VOCABULARY = vocabulary_of(BASE)
PETROL = {
    "en": "petrol",
    "es": "gasolina",
    "pt": "gasolina",
    "fr": "essence",
    "de": "Benzin",
    "it": "benzina",
    "id": "bau solar",
    "vi": "xăng",
    "ja": "ガソリン臭",
    "am": "ቤንዚን",
}
DENIED = {
    "en": "no {}|no smell of {}|not a trace of {}|without any {}|no {} detected|did not find any {}|free of {}|nobody found {}|no sign of {} today|never any {}",
    "es": "sin {}|no hay {}|no se percibe {}|no se detectó {}|sin rastro de {}|ni pizca de {}|nada de {}|ausencia de {}|ningún olor a {}|no encontramos {}",
    "pt": "sem {}|não há {}|não tem cheiro de {}|não foi detectada {}|nada de {}|nenhum cheiro de {}|ausência de {}|sem sinal de {}|não encontramos {}|não percebi {}",
    "fr": "pas d'{}|sans {}|aucune odeur d'{}|pas de trace d'{}|absence d'{}|aucune trace d'{}|on n'a pas trouvé d'{}|pas d'odeur d'{}|plus d'{}|ni {}",
    "de": "kein {}|ohne {}|kein Geruch nach {}|keine Spur von {}|nicht nach {}|frei von {}|keinerlei {}|nirgends {} gefunden|kein {} feststellbar|weder {}",
    "it": "senza {}|niente {}|nessun odore di {}|non c'è {}|nessuna traccia di {}|non ha odore di {}|assenza di {}|non si sente {}|privo di {}|non abbiamo trovato {}",
    "id": "tidak ada {}|tanpa {}|tidak tercium {}|gak ada {}|tidak ditemukan {}|nggak ada {}|tidak ada tanda {}|bebas dari {}|belum ada {}|bukan {}",
    "vi": "không có mùi {}|không {}|không thấy mùi {}|không phát hiện mùi {}|chẳng có mùi {}|không hề có mùi {}|chưa thấy mùi {}|không ngửi thấy mùi {}|ko có mùi {}|không có dấu hiệu {}",
    "ja": "{}なし|{}はない|{}は感じない|{}は感じられない|{}はありません|{}はしない|{}は検出されない|{}無し|{}は全くない|{}は見つからない",
    "am": "{} የለም|ምንም {} የለም|{} አልተገኘም|{} የለውም|{} አልታየም",
}


def of_petrol(line: str, language: str) -> list[str]:
    return [
        one.state
        for one in read_words(line, VOCABULARY, [language])
        if "petroleum_fuel" in (one.descriptor, *one.candidates)
    ]


@pytest.mark.parametrize("language", PETROL)
def test_an_idiom_that_only_looks_like_a_denial_never_denies_a_stop_word(language):
    word, space = PETROL[language], "" if language == "ja" else " "
    lost = [
        line
        for phrase in BASE.languages[language].not_negation
        for line in (phrase + space + word, word + space + phrase)
        if set(of_petrol(line, language)) <= {"absent"}
    ]
    assert len(BASE.languages[language].not_negation) >= 20
    assert not lost


@pytest.mark.parametrize(
    ("language", "line"),
    [
        (language, form.format(PETROL[language]))
        for language, forms in DENIED.items()
        for form in forms.split("|")
    ],
)
def test_a_plain_denial_of_a_stop_word_is_no_alarm(language, line):
    assert of_petrol(line, language) == ["absent"]


@pytest.mark.parametrize(
    ("language", "line"),
    [
        ("es", "no es fruta sino gasolina"),
        ("pt", "não é fruta e sim gasolina"),
        ("de", "nicht nussig, sondern Benzin"),
        ("de", "nicht Frucht sondern Benzin"),
        ("it", "non frutta ma benzina"),
        ("fr", "pas de fruit mais essence"),
        ("id", "bukan buah melainkan bau solar"),
        ("vi", "không phải mùi cà phê mà là mùi xăng"),
        ("en", "not fruit but petrol"),
    ],
)
def test_not_this_but_that_says_that(language, line):
    assert "present" in of_petrol(line, language)
