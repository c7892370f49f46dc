"""What an installer meets who opens the page on fitting a card, with a keyboard or on a phone."""

import re
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import expect

from edgestore.inputs.service_log import read_service_log
from edgestore.training.fitting.commissioning import CHECKS
from edgestore.training.fitting.guide import guide
from edgestore.training.fitting.handouts import ON_SCREEN, PAGES, page

pytestmark = pytest.mark.browser

NAME = "how_do_i_fit_the_card.ipynb"
fitting = pytest.mark.parametrize("opened", [NAME], indirect=True)

CONTRASTS = """() => {
  const channels = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((c) => c / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
    .reduce((sum, c, at) => sum + c * [0.2126, 0.7152, 0.0722][at], 0);
  const ground = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const colour = channels(getComputedStyle(e).backgroundColor);
      if (colour.length === 3 || colour[3] > 0) return colour;
    }
    return [255, 255, 255];
  };
  return [...document.querySelectorAll("body *")]
    .filter((e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()))
    .map((e) => [light(channels(getComputedStyle(e).color)), light(ground(e))].sort((a, b) => b - a))
    .map(([bright, dark]) => (bright + 0.05) / (dark + 0.05));
}"""


def ready(opened):
    expect(opened.page.get_by_role("button", name="Enter in the service log")).to_be_visible()
    return opened.page


def tab_to(page, target):
    """Press Tab until a control has the focus, as somebody without a mouse does."""
    for _ in range(200):
        page.keyboard.press("Tab")
        if target.evaluate("(element) => element === document.activeElement"):
            return
    pytest.fail("Tab does not reach it")


@fitting
def test_every_control_has_a_name(opened):
    page = ready(opened)
    nameless = page.locator("#rendered_cells :is(input, select, button):visible").evaluate_all(
        "all => all.filter((e) => !(e.labels?.length && [...e.labels].some((l) => l.textContent.trim()))"
        " && !e.textContent.trim() && !e.getAttribute('aria-label')).map((e) => e.outerHTML)"
    )
    assert nameless == []
    for name in ("Work", "Housing", "Slot", "The slot faces", "Camera", "Serial number of the card", "Card taken out"):
        expect(page.get_by_label(name, exact=True)).to_have_count(1)
    expect(page.get_by_role("checkbox")).to_have_count(len(CHECKS))


@fitting
def test_the_keyboard_alone_chooses_and_walks_through_the_steps(opened):
    page = ready(opened)
    step = page.locator(".edgestore-answer")
    page.locator("h1").first.click()
    housing = page.get_by_label("Housing", exact=True)
    tab_to(page, housing)
    page.keyboard.press("ArrowDown")
    expect(page.locator("#rendered_cells")).to_contain_text("Dome with a captive cover")
    expect(step).to_contain_text("Step 1 of")
    onward = page.get_by_role("button", name="Next step")
    tab_to(page, onward)
    page.keyboard.press("Enter")
    expect(step).to_contain_text("Step 2 of")
    pictures = page.locator("figure img")
    expect(pictures).to_have_count(2)
    assert all(re.search(r"\w+ \w+", picture.get_attribute("alt")) for picture in pictures.all())
    page.keyboard.press("Enter")
    expect(step).to_contain_text("Step 3 of")
    expect(step).to_have_attribute("role", "status")


@fitting
def test_the_keyboard_alone_enters_a_card_in_the_log(opened, tmp_path):
    page = ready(opened)
    log = tmp_path / "log.csv"
    page.locator("h1").first.click()
    typed = {"Camera": "Quay", "Card, by its name in the card list": "plain", "Serial number of the card": "A-1"}
    for label, words in typed.items():
        tab_to(page, page.get_by_label(label, exact=True))
        page.keyboard.type(words)
    for box in page.get_by_role("checkbox").all():
        tab_to(page, box)
        page.keyboard.press("Space")
    tab_to(page, page.get_by_label("Service log", exact=True))
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(str(log))
    enter = page.get_by_role("button", name="Enter in the service log")
    tab_to(page, enter)
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").filter(has_text="Written:")).to_be_visible()
    assert read_service_log(log, date.today()).rows["camera"].tolist() == ["Quay"]
    expect(page.get_by_label("Serial number of the card", exact=True)).to_have_value("")
    page.keyboard.press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("not ticked")


@fitting
def test_the_page_fits_a_phone_and_asks_no_outside_host(opened):
    page = ready(opened)
    page.set_viewport_size({"width": 390, "height": 844})
    width = page.evaluate("document.documentElement.scrollWidth")
    page.set_viewport_size({"width": 1280, "height": 900})
    assert width <= 390
    assert opened.outside_requests == []
    assert opened.errors == []


@pytest.mark.parametrize("name", PAGES)
def test_a_hand_out_fits_a_phone_asks_for_nothing_and_has_contrast(browser, tmp_path, name):
    file = Path(tmp_path / f"{name}.html")
    file.write_text(page(name, guide("dome", "push-to-lock", "down")), encoding="utf-8")
    with browser.new_page() as opened:
        opened.set_viewport_size({"width": 390, "height": 844})
        asked = []
        opened.on("request", lambda sent: asked.append(sent.url))
        opened.goto(file.as_uri())
        if name in ON_SCREEN:  # one thing a screen: the one with the tools
            opened.get_by_role("button", name="Begin").click()
            opened.get_by_role("button", name="Fit a first card").click()
        assert opened.evaluate("document.documentElement.scrollWidth") <= 390
        assert [address for address in asked if not address.startswith(("file:", "data:"))] == []
        assert opened.locator("img").evaluate_all("all => all.every((image) => image.naturalWidth > 0)")
        contrasts = opened.evaluate(CONTRASTS)
        assert len(contrasts) > 10
        assert min(contrasts) >= 4.5
