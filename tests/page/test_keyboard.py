"""A desk worked by keyboard alone: Tab, Shift+Tab, Enter, space, arrows and letters; focus is always seen and goes as the eye does."""

from __future__ import annotations

import re

import pytest

from tests.page.test_browser import address, chromium, opened, pytestmark, sees  # noqa: F401

SIDEWAYS = 60
"""px that a stop may stand above the one before it: labels of two lines in one row of a form."""
FOCUS = """() => {
  const one = document.activeElement, box = one.getBoundingClientRect(), style = getComputedStyle(one);
  const inside = Boolean(one.closest("main"));
  return {
    name: one.name || one.id || "", text: (one.getAttribute("aria-label") || one.textContent).trim().replace(/\\s+/g, " "), inside, top: box.top + scrollY,
    ringed: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    seen: box.width > 0 && box.height > 0 && box.bottom > 0 && box.top < innerHeight && box.left >= 0 && box.right <= innerWidth,
  };
}"""


class Hands:
    """Somebody without a mouse."""

    def __init__(self, page):
        self.page = page

    def press(self, *keys):
        for key in keys:
            self.page.keyboard.press(key)

    def begin(self):
        """The first Tab of a page leads past its navigation."""
        self.press("Tab")
        assert self.page.evaluate(FOCUS)["text"] == "Skip to the content"
        self.press("Enter")

    def to(self, wanted, most, key="Tab"):
        """On to the field or control of that name or text, in so many presses at most; every stop is in sight and none goes back up."""
        before = None
        for pressed in range(1, most + 1):
            self.press(key)
            now = self.page.evaluate(FOCUS)
            assert now["ringed"], f"nothing shows that {now} has the focus"
            assert now["seen"], f"{now} has the focus out of sight"
            if before and before["inside"] and now["inside"] and key == "Tab":
                assert now["top"] >= before["top"] - SIDEWAYS, f"{before} leads back up to {now}"
            if wanted in (now["name"], now["text"]):
                return pressed
            before = now
        raise AssertionError(f"{wanted} is not reached in {most} presses; at {before}")

    def fill(self, field, text, most=6):
        self.to(field, most)
        self.page.keyboard.type(text)

    def choose(self, field, label, most=6):
        """As a list is used: letters until the wanted line is chosen."""
        self.to(field, most)
        self.page.keyboard.type(label)
        chosen = self.page.evaluate("document.activeElement.selectedOptions[0].textContent")
        assert chosen.startswith(label), chosen


@pytest.fixture
def hands(opened):  # noqa: F811
    return Hands(opened("desk", reduced_motion="reduce"))


def lot_made(hands, address, name):  # noqa: F811
    """A lot made in forms by keyboard alone."""
    page = hands.page
    page.goto(f"{address}/lots")
    hands.begin()
    hands.to("New lot", 4)
    hands.press("Enter")
    page.wait_for_url("**/lots/new")
    hands.begin()
    hands.fill("lot", name, 3)
    hands.fill("exporter", "Puerto Hondo Coffees")
    hands.choose("process", "washed")
    hands.fill("taster", "Ana")
    hands.fill("cups", "5", 7)
    hands.fill("note", "musty")
    hands.fill("note_cups", "3")
    hands.choose("note_strength", "strong")
    hands.press("Shift+Tab")
    assert page.evaluate(FOCUS)["name"] == "note_cups", "and back as one came"
    hands.press("Enter")
    page.wait_for_url(re.compile(r"/lot/\d+$"))
    assert "Musty" in page.inner_text(".answer")
    return page.url


def test_a_lot_is_made_mended_and_answered_for(hands, address):  # noqa: F811
    page = hands.page
    url = lot_made(hands, address, "KEYS-1")
    hands.begin()
    hands.to("What is known of the lot", 4)
    hands.press("Enter")
    page.wait_for_url("**/known")
    hands.begin()
    hands.press("Tab", "Tab")
    assert page.evaluate(FOCUS)["text"].startswith("Correct the cupping")
    hands.press("Enter")
    page.wait_for_url("**/cupping/1")
    hands.begin()
    hands.fill("words:0:1", "smoky", 16)
    hands.fill("by", "QA", 12)
    hands.press("Enter")
    page.wait_for_url(re.compile(r"/lot/\d+$"))
    assert page.url != url
    assert "Smoky" in page.inner_text(".answer")
    sees(page)
    hands.begin()
    hands.to("Record an answer received", 12)
    hands.press("Space")
    hands.to("answer", 1)
    hands.press("ArrowDown")
    chosen = page.evaluate("document.activeElement.selectedOptions[0].textContent")
    hands.fill("by", "QA", 1)
    hands.press("Enter")
    page.wait_for_url("**?answered=1")
    assert chosen in page.inner_text(".supposed.kept")
    hands.begin()
    hands.to("Take this answer back", 5)
    hands.press("Enter")
    page.wait_for_selector("text=taken back")
    sees(page)


def test_a_changed_lot_is_said_to_be_a_correction(hands, address):  # noqa: F811
    page = hands.page
    lot_made(hands, address, "KEYS-2")
    page.goto(f"{address}/lots/new")
    hands.begin()
    hands.fill("lot", "KEYS-2", 3)
    hands.fill("note", "smoky", 16)
    hands.press("Enter")
    page.wait_for_selector(".choosing")
    assert "Lot KEYS-2 is kept" in page.inner_text("main")
    sees(page)
    hands.begin()
    hands.press("Tab", "Tab")
    assert page.evaluate(FOCUS)["text"].startswith("It corrects case")
    hands.press("Enter")
    page.wait_for_url(re.compile(r"/lot/\d+$"))
    assert "Smoky" in page.inner_text(".answer")


def test_a_blind_set_is_made_revealed_kept_and_taken_out(hands, address, opened):  # noqa: F811
    page = hands.page
    page.goto(f"{address}/panel")
    hands.begin()
    hands.to("Make a blind set", 2)
    hands.press("Enter")
    page.wait_for_url("**/panel/set")
    hands.begin()
    hands.choose("note", "Musty", 2)
    hands.choose("note", "Smoky", 3)
    hands.fill("name", "Keys", 22)
    hands.press("Enter")
    page.wait_for_selector("#code")
    table, code = page.url, page.inner_text("#code")
    sees(page)
    taster = Hands(opened("desk", reduced_motion="reduce"))
    taster.page.goto(f"{address}/join/{code}")
    taster.begin()
    taster.fill("taster", "Ana", 2)
    taster.press("Enter")
    taster.page.wait_for_selector("#words:enabled")
    taster.page.wait_for_selector("#samples button")
    taster.press("Tab")
    assert taster.page.evaluate(FOCUS)["text"] == "Skip to the content"
    taster.press("Enter")
    samples = taster.page.locator("#samples button").count()
    taster.to("words", samples + 8, "Tab")
    taster.page.keyboard.type("musty")
    taster.press("Enter")
    taster.page.wait_for_selector(".tasted")
    page.goto(table)
    hands.begin()
    hands.to("Reveal all samples", 12)
    hands.press("Enter")
    hands.to("Yes: Reveal all samples", 1)
    hands.press("Enter")
    page.wait_for_selector("#sample-0 h3")
    sees(page)
    hands.begin()
    hands.to("Score a session", 20)
    hands.press("Enter")
    page.wait_for_url("**/score")
    hands.begin()
    hands.to("Keep this session", 4)
    hands.press("Enter")
    page.wait_for_url("**/panel")
    hands.begin()
    hands.to("Take this session out", 24)
    hands.press("Enter")
    hands.fill("by", "QA", 1)
    hands.fill("why", "the kettle was dirty", 1)
    hands.press("Enter")
    page.wait_for_selector("text=no longer counts")
    sees(page)
