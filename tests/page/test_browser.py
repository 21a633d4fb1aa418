"""The three journeys in a real browser, on a phone and on a desk; axe-core (Deque, MPL-2.0, from npm) looks for barriers.

Needs Chromium and the package axe-core: `npm install axe-core`, then TRACER_AXE=node_modules/axe-core/axe.min.js.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

api = pytest.importorskip("playwright.sync_api")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
AXE = Path(os.environ.get("TRACER_AXE", "node_modules/axe-core/axe.min.js"))
pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here"),
]
SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 900}}


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    """The real command, serving a casebook of its own."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    folder = tmp_path_factory.mktemp("page")
    env = {
        **os.environ,
        "TRACER_CASEBOOK": str(folder / "casebook.sqlite"),
        "TRACER_CACHE_DIR": str(folder / "cache"),
    }
    served = subprocess.Popen(
        [sys.executable, "-m", "tracer", "page", "--port", str(port)],
        env=env,
        stdout=subprocess.PIPE,
        text=True,
    )
    told = served.stdout.readline()
    found = re.search(r"http://127\.0\.0\.1:\d+", told)
    assert found, told
    for _ in range(100):
        try:
            urllib.request.urlopen(found[0], timeout=2).close()
            break
        except OSError:
            time.sleep(0.1)
    yield found[0]
    served.terminate()
    served.wait(10)


@pytest.fixture(scope="module")
def chromium():
    flags = "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update --disable-sync"
    with api.sync_playwright() as play:
        started = play.chromium.launch(executable_path=CHROMIUM, args=flags.split())
        yield started
        started.close()


@pytest.fixture
def opened(chromium):
    """Makes a device of a size; afterwards none of its pages may have failed in script or been blocked."""
    contexts, wrong = [], []

    def device(size, scheme="light", **more):
        context = chromium.new_context(
            viewport=SIZES[size], color_scheme=scheme, **{"locale": "en-GB", **more}
        )
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: wrong.append(str(error)))
        page.on(
            "console",
            lambda said: (
                wrong.append(said.text)
                if said.type == "error" and not re.search("ERR_|403|409", said.text)
                else None
            ),
        )
        return page

    yield device
    for context in contexts:
        context.close()
    assert not wrong


def sees(page):
    """Nothing that axe finds, nothing wider than the window, no word cut in a button."""
    cut = page.evaluate(
        "[...document.querySelectorAll('button, .button, th, .badge')].filter(e => e.offsetParent && e.scrollWidth > e.clientWidth + 1)"
        ".map(e => e.textContent)"
    )
    assert not cut, f"{page.url} cuts {cut}"
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"
    if not AXE.is_file():
        pytest.skip(f"axe-core is not at {AXE}; the page was not looked at for barriers")
    # evaluate runs outside of the page's own policy, which lets no foreign script in.
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate(
        "axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']})"
    )
    barriers = [
        (one["id"], one["help"], [node["html"][:160] for node in one["nodes"]][:3])
        for one in found["violations"]
    ]
    assert not barriers, (page.url, barriers)


def example(page, address, name):
    page.goto(f"{address}/lots")
    page.click("details.apart > summary")
    page.select_option("[name=name]", name)
    page.click("form[action='/lots/example'] button")
    page.wait_for_url(re.compile(r"/lot/\d+(\?already=1)?$"))
    return page.url.partition("?")[0]


def table(leader, address, lot):
    """A table opened by its leader, and its code."""
    leader.goto(f"{address}/table/new")
    leader.fill("[name=lot]", lot)
    leader.click("main button")
    return leader, leader.inner_text("#code")


def sit(taster, address, code, name):
    """A taster takes a seat."""
    taster.goto(f"{address}/join/{code}")
    taster.fill("[name=taster]", name)
    taster.click("main button")
    taster.wait_for_selector("html[data-words] #words")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_the_cupper_s_journey_from_the_table_to_the_printed_lot(address, opened, size, scheme):
    leader = opened("desk", scheme)
    leader.goto(f"{address}/table/new")
    sees(leader)
    leader.fill("[name=lot]", f"KAR {size} {scheme}")
    leader.select_option("[name=process]", "washed")
    leader.click("main button")
    code = leader.inner_text("#code")
    sees(leader)
    tasters = [opened(size, scheme), opened(size, scheme)]
    for taster, name in zip(tasters, ("Ana", "Bui"), strict=True):
        taster.goto(f"{address}/join/{code}")
        sees(taster)
        taster.fill("[name=taster]", name)
        taster.select_option("[name=language]", "es")
        taster.click("main button")
        taster.wait_for_selector("#words")
    ana, bui = tasters
    ana.fill("#words", "moho")
    ana.wait_for_selector("#found button")
    assert "mouldy" in ana.inner_text("#found").lower()
    sees(ana)
    ana.click("#found button >> nth=0")
    ana.click("[aria-label='Cup 2']")
    ana.click("[aria-label='Cup 4']")
    assert ana.get_attribute("[aria-label='Cup 2']", "aria-pressed") == "true"
    ana.fill("#words", "sin terroso")
    ana.press("#words", "Enter")
    ana.wait_for_selector(".tasted.absent")
    bui.click("main summary")
    bui.click("#usual button >> nth=0")
    bui.wait_for_selector(".tasted")
    bui.click("text=All cups")
    for taster in tasters:
        taster.check("#done")
        api.expect(taster.locator("#state")).to_have_text("Saved")
        sees(taster)
    assert "moho" not in bui.inner_text("body")
    leader.reload()
    assert leader.inner_text("#progress").count("is done") == 2
    leader.click("text=Reveal the notes")
    leader.click("text=Yes: Reveal the notes")
    leader.wait_for_selector("table")
    assert "2, 4 (moho)" in leader.inner_text("table")
    sees(leader)
    leader.click("text=Make the lot sheet")
    leader.wait_for_selector("textarea")
    sees(leader)
    leader.click("text=Keep and trace")
    leader.wait_for_url(re.compile(r"/lot/\d+$"))
    assert "Mouldy" in leader.inner_text(".answer")
    sees(leader)
    leader.click("text=Print view")
    leader.wait_for_url("**/print")
    leader.emulate_media(media="print")
    assert f"Lot KAR {size} {scheme}" in leader.inner_text("h1")
    assert len(leader.pdf()) > 5000
    sees(leader)


@pytest.mark.parametrize("size", SIZES)
def test_nothing_is_lost_when_the_connection_goes_the_page_reloads_or_the_tab_is_closed(
    address, opened, size
):
    leader, code = table(opened("desk"), address, f"AUTO {size}")
    taster = opened(size)
    sit(taster, address, code, "Ana")
    taster.fill("#words", "musty")
    taster.press("#words", "Enter")
    taster.wait_for_selector(".tasted")
    api.expect(taster.locator("#state")).to_have_text("Saved")
    taster.context.set_offline(True)
    taster.click("[aria-label='Cup 3']")
    taster.fill("#words", "phenolic")
    taster.wait_for_selector("#found button")
    taster.press("#words", "Enter")
    api.expect(taster.locator(".tasted")).to_have_count(2)
    api.expect(taster.locator("#state")).to_contain_text("Kept on this device")
    again = taster.context.new_page()
    taster.close()
    taster = again
    taster.context.set_offline(False)
    taster.goto(f"{address}/join/{code}")
    api.expect(taster.locator(".tasted")).to_have_count(2)
    assert taster.get_attribute(".tasted >> nth=0 >> [aria-label='Cup 3']", "aria-pressed") == "true"
    api.expect(taster.locator("#state")).to_have_text("Saved")
    taster.reload()
    api.expect(taster.locator(".tasted")).to_have_count(2)
    taster.click("[aria-label^='Remove'] >> nth=1")
    taster.click("#undo button")
    api.expect(taster.locator(".tasted")).to_have_count(2)
    api.expect(taster.locator("#state")).to_have_text("Saved")
    leader.reload()
    leader.click("text=Reveal the notes")
    leader.click("text=Yes: Reveal the notes")
    assert "3 (musty)" in leader.inner_text("table")
    assert "phenolic" in leader.inner_text("table")


def test_a_name_that_was_freed_and_taken_again_on_the_device_finds_what_it_had_not_sent(address, opened):
    leader, code = table(opened("desk"), address, "FREED")
    taster = opened("phone")
    sit(taster, address, code, "Ana")
    taster.wait_for_selector("#words")
    taster.context.set_offline(True)
    taster.fill("#words", "musty")
    taster.wait_for_selector("#found button")
    taster.press("#words", "Enter")
    taster.wait_for_selector(".tasted")
    leader.reload()
    leader.click("text=Free the name")
    leader.click("text=Yes: Free the name")
    taster.context.set_offline(False)
    api.expect(taster.locator("#state")).to_contain_text("moved to another device")
    taster.context.clear_cookies()
    sit(taster, address, code, "ana")
    taster.wait_for_selector(".tasted")
    api.expect(taster.locator("#state")).to_have_text("Saved")


@pytest.mark.parametrize("size", SIZES)
def test_a_phone_knows_words_and_what_stops_without_a_connection_in_the_taster_s_language(
    address, opened, size
):
    _, code = table(opened("desk"), address, f"OFFLINE {size}")
    taster = opened(size, locale="es-ES")
    sit(taster, address, code, "Ana")
    taster.wait_for_selector("#words:enabled")
    taster.context.set_offline(True)
    taster.fill("#words", "mohoso en tazas 1 y 2, sin humo")
    taster.press("#words", "Enter")
    api.expect(taster.locator(".tasted")).to_have_count(2)
    assert "Mohoso" in taster.inner_text(".tasted >> nth=0")
    assert taster.get_attribute(".tasted >> nth=0 >> [aria-label='Taza 2']", "aria-pressed") == "true"
    assert taster.get_attribute(".tasted >> nth=0 >> [aria-label='Taza 3']", "aria-pressed") == "false"
    assert taster.locator(".tasted.absent").count() == 1
    taster.fill("#words", "gasolina")
    taster.wait_for_selector("#stop .caution")
    assert taster.get_attribute("#stop span", "lang") == "es"
    assert "no siga catando" in taster.inner_text("#stop")
    taster.set_viewport_size({"width": 390, "height": 470})
    warned, entry = taster.locator("#stop .caution").bounding_box(), taster.locator("#entry").bounding_box()
    assert warned["y"] + warned["height"] <= entry["y"], "the warning stands above what is typed into"
    typed = taster.locator("#words").bounding_box()
    assert typed["y"] + typed["height"] <= 470


@pytest.mark.parametrize("size", SIZES)
def test_a_taster_goes_through_a_flight_after_one_sign_in(address, opened, size):
    leader = opened("phone")
    leader.goto(f"{address}/table/new")
    leader.fill("[name=lot] >> nth=0", f"FL-1 {size}")
    leader.click("main details summary")
    leader.fill("[name=lot] >> nth=1", f"FL-2 {size}")
    sees(leader)
    leader.click("main form > p button")
    code = leader.inner_text("#code")
    taster = opened(size)
    sit(taster, address, code, "Ana")
    for words in ("musty", "phenolic"):
        taster.wait_for_selector("#words:enabled")
        taster.fill("#words", words)
        taster.press("#words", "Enter")
        taster.wait_for_selector(".tasted")
        taster.check("#done")
        if words == "musty":
            sees(taster)
            taster.click("#onward")
            api.expect(taster.locator(".tasted")).to_have_count(0)
    assert taster.locator("#samples button[aria-label$='done']").count() == 2
    api.expect(taster.locator("#state")).to_have_text("Saved")
    leader.reload()
    assert "is done" in leader.inner_text("#progress")
    leader.click("text=Reveal all samples")
    leader.click("text=Yes: Reveal all samples")
    leader.wait_for_selector("#sample-1 table")
    assert "musty" in leader.inner_text("#sample-0")
    assert "phenolic" in leader.inner_text("#sample-1")
    sees(leader)


@pytest.mark.parametrize("size", SIZES)
def test_a_note_nobody_should_taste_stops_the_taster_at_once(address, opened, size):
    leader, code = table(opened("desk"), address, "STOP")
    taster = opened(size, "dark")
    sit(taster, address, code, "Ana")
    taster.fill("#words", "gasolina")
    taster.press("#words", "Enter")
    taster.wait_for_selector("#stop .caution")
    assert "STOP TASTING" in taster.inner_text("#stop")
    assert taster.is_visible("#stop .caution")
    sees(taster)
    other = opened(size)
    sit(other, address, code, "Bui")
    other.wait_for_selector("#stop .caution")
    assert "Somebody at this table" in other.inner_text("#stop")
    assert "gasolina" not in other.inner_text("body")
    leader.set_viewport_size(SIZES["phone"])
    leader.reload()
    assert "STOP TASTING" in leader.inner_text("#stop")
    api.expect(leader.locator("#stop .caution")).to_be_in_viewport(ratio=1)


@pytest.mark.parametrize("size", SIZES)
def test_the_buyer_s_journey_from_the_answer_to_the_letter_and_the_printed_page(address, opened, size):
    page = opened(size, "dark" if size == "phone" else "light")
    url = example(page, address, "container_damp")
    first = page.inner_text("main")[:600]
    assert "HOLD THE LOT" in first
    for word in ("What", "Where", "How sure", "What next"):
        assert word in page.inner_text(".answer")
    sees(page)
    page.click("#part-causes > summary")
    page.click(
        "svg.causes a.fault >> nth=0" if size == "desk" else ".branches a[href^='#why-fault'] >> nth=0"
    )
    page.wait_for_selector(".whys > section:target")
    assert re.search(r"source (0\.\d|1\.0)", page.inner_text(".whys > section:target"))
    page.goto(url)
    before = page.inner_text(".chain")
    page.click("a.live >> nth=0")
    page.wait_for_selector(".supposed")
    assert "nothing is kept" in page.inner_text(".supposed")
    assert page.inner_text(".chain") != before
    sees(page)
    page.click("text=As it stands")
    page.wait_for_selector(".supposed", state="detached")
    assert page.inner_text(".chain") == before
    page.click("text=Record an answer received >> nth=0")
    page.select_option(".asks [name=answer] >> nth=0", index=1)
    page.fill(".asks [name=by] >> nth=0", "QA")
    page.click(".asks button >> nth=0")
    page.wait_for_selector("text=Answer kept")
    sees(page)
    page.click(".supposed.kept button")
    page.wait_for_selector("text=taken back")
    sees(page)
    page.click("a.button:has-text('Letter')")
    page.fill("[name=by]", "2026-12-20")
    page.click("text=Write it")
    assert "2026-12-20" in page.input_value("#letter")
    page.click("#copy")
    api.expect(page.locator("#copied")).to_have_text("Copied")
    sees(page)
    page.goto(f"{url}/known")
    page.click("summary >> nth=2")
    sees(page)
    page.goto(f"{url}/why/container_condensation")
    sees(page)
    page.goto(f"{url}/print")
    sees(page)
    page.emulate_media(media="print")
    assert len(page.pdf()) > 5000


@pytest.mark.parametrize("size", SIZES)
def test_a_mail_becomes_a_lot_that_is_found_again(address, opened, size):
    page = opened(size, "dark" if size == "desk" else "light")
    page.goto(f"{address}/lots/new")
    sees(page)
    page.fill("[name=lot] >> nth=0", f"MAIL-{size}")
    page.fill("[name=exporter]", "Puerto Hondo Coffees")
    page.fill(
        "[name=message]", "The container arrived with wet walls. We cupped 5 cups and found mould in 3 cups."
    )
    page.click("main form button >> nth=0")
    page.wait_for_selector(".sentences")
    assert page.locator("[name=mark]:checked").count() == 0
    sees(page)
    page.check("label:has-text('Mouldy'):visible >> [name=mark] >> nth=0")
    page.click("text=Keep and trace")
    page.wait_for_selector(".answer")
    assert "Mouldy" in page.inner_text(".answer")
    page.goto(f"{address}/lots?state=open")
    page.fill("[name=q]", f"puerto mail-{size}")
    page.press("[name=q]", "Enter")
    page.wait_for_selector(f"text=MAIL-{size}")
    assert page.locator(".lots > li").count() == 1
    sees(page)


@pytest.mark.parametrize("size", SIZES)
def test_the_trainer_s_journey_from_the_chain_to_the_printed_card(address, opened, size):
    page = opened(size)
    page.goto(f"{address}/")
    sees(page)
    page.goto(f"{address}/chains")
    page.fill("[name=term]", "moho")
    page.press("[name=term]", "Enter")
    page.wait_for_url(re.compile("term=moho"))
    assert "may mean" in page.inner_text("main")
    sees(page)
    page.goto(f"{address}/chains?term=musty")
    if size == "phone":
        page.click(".menu summary")
        page.click(".menu >> text=Cause chains")
        page.click("text=Harvest >> nth=0")
    else:
        page.click("svg a >> nth=0")
    page.wait_for_url(re.compile("term=harvest"))
    assert page.inner_text("h2 >> nth=0") == "Harvest"
    sees(page)
    page.goto(f"{address}/card?note=potato")
    assert "BEFORE YOU BEGIN" in page.inner_text("main")
    sees(page)
    assert len(page.pdf()) > 5000
    page.goto(f"{address}/card?note=petrol")
    assert "no reference is prepared" in page.inner_text("main")
    sees(page)
    page.goto(f"{address}/drill")
    page.fill("[name=person]", f"Ana {size}")
    page.click("text=Begin")
    page.click(".choices button >> nth=0")
    page.wait_for_selector(".told")
    assert "of 1 right today" in page.inner_text("main")
    sees(page)
    page.goto(f"{address}/panel")
    sees(page)


@pytest.mark.parametrize("width", [390, 320])
def test_tables_stand_as_rows_on_a_phone_and_no_word_or_figure_is_broken(address, opened, width):
    page = opened("phone")
    url = example(page, address, "container_damp")
    page.set_viewport_size({"width": width, "height": 844})
    for place in (f"{url}/print", url, f"{address}/season"):
        page.goto(place)
        page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true; })")
        sees(page)
        narrow = page.evaluate(
            """[...document.querySelectorAll('main td, main tbody th')].filter(cell => cell.offsetParent && cell.textContent.trim()).filter(cell => {
              const words = document.createRange(), text = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
              while (text.nextNode()) {
                for (const word of text.currentNode.data.matchAll(/[\\p{L}\\p{N}.,+-]+/gu)) {
                  if (word[0].includes("-") || word[0].length > 24) continue;
                  words.setStart(text.currentNode, word.index); words.setEnd(text.currentNode, word.index + word[0].length);
                  if (new Set([...words.getClientRects()].map(line => Math.round(line.top))).size > 1) return true;
                }
              }
              return false;
            }).map(cell => cell.textContent)"""
        )
        assert not narrow, place


def test_paper_breaks_no_range_over_two_lines_and_stays_at_three_sheets(address, opened):
    page = opened("desk")
    page.goto(f"{example(page, address, 'container_damp')}/print")
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 688, "height": 1000})
    high = page.evaluate(
        """[...document.querySelectorAll('td.num')].filter(cell => cell.offsetParent).filter(cell => {
          const figure = document.createRange();
          figure.selectNodeContents(cell.firstChild);
          return new Set([...figure.getClientRects()].map(line => Math.round(line.top))).size > 1;
        }).map(cell => cell.textContent)"""
    )
    assert not high
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf())) <= 3


@pytest.mark.parametrize(("width", "height"), [(390, 844), (390, 470), (320, 640)])
def test_what_is_typed_stands_whole_and_one_question_with_its_answers_is_in_sight(
    address, opened, width, height
):
    _, code = table(opened("desk"), address, f"TYPED {width} {height}")
    taster = opened("phone", locale="es-ES")
    taster.set_viewport_size({"width": width, "height": height})
    sit(taster, address, code, "Ana")
    taster.wait_for_selector("#words:enabled")
    taster.fill("#words", "mohoso")
    taster.press("#words", "Enter")
    taster.wait_for_selector(".tasted")
    assert not taster.evaluate(
        "[...document.querySelectorAll('.row button')].filter(e => e.scrollWidth > e.clientWidth).length"
    )
    taster.fill("#words", "cuero mojado de caballo en la taza 2 y humo")
    taster.wait_for_selector("#found .open button")
    assert taster.evaluate(
        "(line => line.scrollHeight <= line.clientHeight + 1)(document.querySelector('#words'))"
    )
    assert taster.locator("#found .open").count() == 1
    hidden = taster.evaluate(
        "(box => [...document.querySelectorAll('#found .open button')].filter(e => e.getBoundingClientRect().bottom > box.bottom + 1))"
        "(document.querySelector('#found').getBoundingClientRect()).map(e => e.textContent)"
    )
    assert not hidden
    assert taster.locator("#found").bounding_box()["y"] >= 0


@pytest.mark.parametrize(("width", "height"), [(320, 420), (390, 470)])
@pytest.mark.parametrize(
    ("locale", "words"), [("en-GB", "petrol"), ("es-ES", "gasolina"), ("pt-BR", "gasolina")]
)
def test_with_the_keyboard_up_stop_covers_no_choice_of_a_word_that_is_open(
    address, opened, width, height, locale, words
):
    leader = opened("desk")
    leader.goto(f"{address}/table/new")
    for row, lot in enumerate((f"STOP-{locale}-{width}", "OTHER")):
        leader.fill(f"[name=lot] >> nth={row}", lot)
        if not row:
            leader.click("main details summary")
    leader.click("main form > p button")
    taster = opened("phone", locale=locale)
    sit(taster, address, leader.inner_text("#code"), "Ana")
    taster.set_viewport_size({"width": width, "height": height})
    taster.wait_for_selector("#words:enabled")
    taster.fill("#words", words)
    taster.press("#words", "Enter")
    taster.wait_for_selector("#stop .caution")
    api.expect(taster.locator("#words")).to_have_value("")
    taster.fill("#words", "cuero mojado de caballo en la taza 2 y humo")
    taster.wait_for_selector("#found .open button")
    sees(taster)
    choices = taster.locator("#found button")
    assert choices.count() > 2
    for place in range(choices.count()):
        choices.nth(place).focus()
        choice, warned, typed = (
            taster.locator(name).nth(at).bounding_box()
            for name, at in (("#found button", place), (".strip", 0), ("#words", 0))
        )
        assert choice["y"] >= warned["y"] + warned["height"], "no choice lies under the warning"
        assert choice["y"] + choice["height"] <= typed["y"] + 1, "nor under the line typed into"
        assert typed["y"] + typed["height"] <= height
        heading = taster.locator("#stop strong").bounding_box()
        assert heading["y"] >= 0
        assert heading["y"] + heading["height"] <= warned["y"] + warned["height"]
        seen = taster.evaluate(
            "(button => { const {left, right, top, bottom} = button.getBoundingClientRect();"
            " return document.elementFromPoint((left + right) / 2, (top + bottom) / 2) === button; })(document.activeElement)"
        )
        assert seen, "a finger reaches it"
    question = taster.locator("#found p").bounding_box()
    choices.first.focus()
    assert question["y"] >= taster.locator(".strip").bounding_box()["height"] - 1


def test_every_page_can_be_worked_by_keyboard_and_without_script(address, opened):
    page = opened("desk", java_script_enabled=False)
    url = example(page, address, "container_damp")
    page.goto(f"{address}/")
    page.keyboard.press("Tab")
    assert page.inner_text("css=:focus") == "Skip to the content"
    page.goto(url)
    page.focus("details:has(svg.causes) > summary")
    page.keyboard.press("Enter")
    page.focus("svg.causes a.fault >> nth=0")
    page.keyboard.press("Enter")
    page.wait_for_selector(".whys > section:target")
    page.goto(url)
    page.focus("a.live >> nth=0")
    page.keyboard.press("Enter")
    page.wait_for_selector(".supposed")


def test_a_logger_file_is_chosen_once_looked_at_and_added(address, opened, tmp_path):
    rows = [
        f"2026-01-{1 + hour // 24:02d} {hour % 24:02d}:00,{25 - hour % 9},{60 + hour % 20}"
        for hour in range(300)
    ]
    log = tmp_path / "sea.csv"
    log.write_text("\n".join(["Time,Temp C,RH %", *rows]))
    page = opened("phone")
    url = example(page, address, "container_damp")
    page.goto(f"{url}/log")
    sees(page)
    page.set_input_files("[name=files]", str(log))
    page.click("text=Look at it")
    page.wait_for_selector("[name=stage]")
    sees(page)
    page.select_option("[name=stage]", "transport")
    page.select_option("[name=where]", "air")
    page.select_option("[name=dates]", "year_first")
    assert page.locator("text=Keep and trace").count() == 0, "nothing is kept before it was read"
    page.click("text=Read it")
    page.wait_for_selector("#read svg")
    assert page.input_value("[name=stage]") == "transport"
    sees(page)
    page.click("text=Keep and trace")
    page.wait_for_url(re.compile(r"/lot/\d+$"))
    assert "sea.csv" in page.content()


@pytest.mark.parametrize("size", SIZES)
def test_a_blind_set_is_made_tasted_scored_and_kept(address, opened, size):
    leader = opened(size)
    leader.goto(f"{address}/panel/plan?tasters=Ana+{size},+Bui+{size}&weeks=2")
    sees(leader)
    leader.click("text=Make a blind set >> nth=0")
    leader.wait_for_selector("[name=blanks]")
    for row in range(3):
        leader.select_option(f"[name=note] >> nth={row}", ("musty", "phenolic", "smoky")[row])
    for row in (3, 4):
        leader.select_option(f"[name=note] >> nth={row}", "")
    leader.fill("[name=blanks]", "1")
    leader.fill("[name=repeats]", "1")
    sees(leader)
    leader.click("text=Open the set")
    leader.wait_for_selector("#code")
    code = leader.inner_text("#code")
    leader.click("#key summary")
    held = leader.locator("#key tbody tr").all_inner_texts()
    assert len(held) == 5
    sees(leader)
    tasters = [opened("phone"), opened("phone")]
    orders = []
    for taster, name in zip(tasters, ("Ana", "Bui"), strict=True):
        sit(taster, address, code, f"{name} {size}")
        api.expect(taster.locator("#samples button")).to_have_count(5)
        orders.append(taster.locator("#samples button").all_inner_texts())
        for cup in range(5):
            taster.wait_for_selector("#words:enabled")
            if name == "Ana":
                taster.fill("#words", "musty")
                taster.press("#words", "Enter")
                taster.wait_for_selector(".tasted")
            taster.check("#done")
            if cup < 4:
                taster.click("#onward")
        api.expect(taster.locator("#state")).to_have_text("Saved")
        sees(taster)
    assert orders[0] != orders[1]
    assert sorted(orders[0]) == sorted(orders[1])
    leader.reload()
    leader.click("text=Reveal all samples")
    leader.click("text=Yes: Reveal all samples")
    leader.wait_for_selector("#sample-4 h3")
    sees(leader)
    leader.click("text=Score a session")
    leader.wait_for_selector("text=Keep this session")
    assert "Phenolic was called Musty" in leader.inner_text("main")
    sees(leader)
    leader.click("text=Keep this session")
    leader.wait_for_url("**/panel")
    assert f"Ana {size}" in leader.inner_text("table >> nth=0")
    sees(leader)


@pytest.mark.parametrize("size", SIZES)
def test_a_lot_is_mended_shared_and_counted_in_the_season(address, opened, size):
    page = opened(size, "dark")
    url = example(page, address, "container_damp")
    page.goto(f"{url}/known")
    sees(page)
    page.goto(f"{url}/cupping/2")
    sees(page)
    page.fill("[name='words:0:0']", "like a wet cellar")
    page.click("main form button")
    page.wait_for_url(re.compile(r"/lot/\d+$"))
    page.click("text=Let somebody read this report")
    page.fill("form[action$='/share'] [name=by]", "QA")
    page.click("text=Make a link")
    page.wait_for_selector("#letter")
    sees(page)
    link = page.input_value("#letter")
    other = opened("phone")
    other.goto(link)
    assert "Lot SVK-31" in other.inner_text("h1")
    sees(other)
    page.goto(f"{address}/season")
    sees(page)


def test_eight_phones_at_one_flight_of_six_samples_lose_nothing(address, opened):
    leader = opened("desk")
    leader.goto(f"{address}/table/new")
    leader.fill("[name=lot] >> nth=0", "EIGHT-1")
    leader.click("main details summary")
    for row in range(1, 6):
        leader.fill(f"[name=lot] >> nth={row}", f"EIGHT-{row + 1}")
    leader.click("main form > p button")
    code = leader.inner_text("#code")
    phones = [opened("phone", locale="es-CO" if place % 2 else "en-GB") for place in range(8)]
    for place, phone in enumerate(phones):
        sit(phone, address, code, f"T{place}")
    for sample in range(6):
        for place, phone in enumerate(phones):
            phone.wait_for_selector("#words:enabled")
            phone.fill("#words", "ahumado" if place % 2 else "musty")
            phone.press("#words", "Enter")
            phone.wait_for_selector(".tasted")
            phone.click(f".tasted .row button >> nth={place % 5}")
            phone.check("#done")
            if sample < 5:
                phone.click("#onward")
    for place, phone in enumerate(phones):
        api.expect(phone.locator("#state")).to_have_text("Guardado" if place % 2 else "Saved")
    leader.reload()
    leader.click("text=Reveal all samples")
    leader.click("text=Yes: Reveal all samples")
    leader.wait_for_selector("#sample-5 table")
    for sample in range(6):
        told = leader.inner_text(f"#sample-{sample} table")
        assert all(f"T{place}" in told for place in range(8))
        assert [len(re.findall(rf"{cup} \((?:musty|ahumado)\)", told)) for cup in range(1, 6)] == [
            2,
            2,
            2,
            1,
            1,
        ]


@pytest.mark.parametrize("locale", ["en", "es", "pt"])
@pytest.mark.parametrize("width", [1280, 1024])
def test_pages_and_languages_stand_in_one_row_of_a_desk(opened, address, locale, width):
    page = opened("desk", locale=locale)
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{address}/lots")
    bottoms = page.evaluate(
        "[...document.querySelectorAll('header.top .wide a')].map((one) => one.getBoundingClientRect().bottom)"
    )
    assert max(bottoms) - min(bottoms) < 10


@pytest.mark.parametrize("locale", ["en", "es", "pt"])
def test_the_day_of_a_cupping_to_correct_does_not_break(opened, address, locale):
    page = opened("phone", locale=locale)
    sent = {"form": {"name": "container_damp"}, "headers": {"origin": address}}
    lot = page.request.post(f"{address}/lots/example", **sent).url
    for width in (390, 360, 320):
        page.set_viewport_size({"width": width, "height": 800})
        page.goto(f"{lot.partition('?')[0]}/known")
        days = page.locator("a.button[href*='/cupping/'] .number").all()
        assert days
        assert [
            one.text_content() for one in days if one.evaluate("(day) => day.getClientRects().length") != 1
        ] == []
