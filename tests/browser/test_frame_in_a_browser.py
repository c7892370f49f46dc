"""The frame of all panels in a browser: what stays in view, what folds, what is announced, and what the address holds.

One page for all tests, in an order: each leaves it as the next expects it.
"""

import re

import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1280, "height": 900}

LEAST_CONTRAST = 4.5
"""WCAG 2.1, success criterion 1.4.3: text to its ground."""

CONTRASTS = """() => {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\\d.]+/g).map(Number).map((v) => v / 255)
      .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (one) => {
    for (let at = one; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$/.test(colour)) return colour;
    }
    return "rgb(255, 255, 255)";
  };
  const seen = [...document.querySelectorAll(".edgestore-panel *, h1")].filter((one) => one.checkVisibility()
    && !one.disabled && [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim())
    || one.matches("input[type=text], select"));
  return seen.map((one) => {
    const [a, b] = [light(getComputedStyle(one).color), light(ground(one))].sort((x, y) => y - x);
    return (a + 0.05) / (b + 0.05);
  });
}"""


def opened(page: Page, address: str) -> None:
    page.set_default_timeout(PATIENCE_MS)
    page.goto(address.replace("start.ipynb", "how_long_does_the_card_hold.ipynb"))
    page.wait_for_function("window.jupyterapp?.widgetManager?.kernel?.connectionStatus === 'connected'")
    expect(page.locator(".edgestore-answer strong").first).to_be_visible()


@pytest.fixture(scope="module")
def page(browser, address):
    with browser.new_page() as page:
        opened(page, address)
        yield page


def top(page: Page, what: str) -> float:
    return page.locator(what).first.evaluate("(one) => one.getBoundingClientRect().top")


def test_beside_the_controls_the_answer_stays_in_view_while_they_scroll(page):
    fold = page.get_by_role("button", name="More settings")
    expect(fold).to_have_attribute("aria-expanded", "false")
    fold.press("Enter")
    expect(fold).to_have_attribute("aria-expanded", "true")
    box = page.get_by_role("textbox", name=re.compile("Usable part"))
    expect(box).to_be_visible()
    asked, shown = (page.locator(f".edgestore-{name}").first.bounding_box() for name in ("asked", "shown"))
    assert asked["x"] + asked["width"] <= shown["x"]
    fold.evaluate("(one) => scrollTo(0, one.getBoundingClientRect().top + scrollY)")
    assert top(page, ".edgestore-asked") < -50
    assert top(page, ".edgestore-answer") >= 0


def test_the_pinned_picture_slides_under_the_warnings_and_is_not_seen_through_them(page):
    page.set_viewport_size(DESK)
    overlap, ground = page.evaluate("""() => {
      const remarks = document.querySelector(".edgestore-first > .edgestore-remarks");
      const shown = document.querySelector(".edgestore-shown");
      scrollTo(0, remarks.getBoundingClientRect().top + scrollY);
      const overlap = shown.getBoundingClientRect().bottom - remarks.getBoundingClientRect().top;
      scrollTo(0, 0);
      return [overlap, getComputedStyle(remarks).backgroundColor];
    }""")
    assert overlap > 0
    assert ground == page.evaluate("getComputedStyle(document.body).backgroundColor")


def test_on_a_phone_answer_and_picture_are_pinned_to_less_than_half_the_screen_in_letters_of_11_px(page):
    page.set_viewport_size(PHONE)
    picture = page.locator("img.edgestore-picture, .edgestore-picture img").first
    expect(picture).to_have_js_property("naturalWidth", 688)  # the room of 344 px, twice: dots of a phone
    # The smallest letters are 8 pt on 100 px an inch, 11.1 px, as long as a pixel of the room is one of the screen.
    assert picture.bounding_box()["width"] == pytest.approx(344, abs=1)
    page.get_by_role("textbox", name=re.compile("Usable part")).focus()
    shown = page.locator(".edgestore-shown").first.bounding_box()
    assert shown["y"] == pytest.approx(0, abs=1)
    assert shown["height"] <= 0.45 * PHONE["height"] + 1
    focused = page.locator(":focus").bounding_box()
    assert focused["y"] >= shown["y"] + shown["height"]
    page.set_viewport_size(DESK)
    expect(picture).to_have_js_property("naturalWidth", 760)


def test_the_answer_is_a_polite_live_region(page):
    answer = page.locator(".edgestore-answer").first
    expect(answer).to_have_attribute("role", "status")
    expect(answer).to_have_attribute("aria-live", "polite")


def test_a_refused_number_is_invalid_for_a_screen_reader_which_is_told_why_once_and_the_last_good_answer_stays(page):
    answer = page.locator(".edgestore-answer").first.inner_text()
    box = page.get_by_role("textbox", name="Wanted, days")
    box.fill("1e9")
    box.press("Enter")
    expect(box).to_have_attribute("aria-invalid", "true")
    expect(page.locator(f"#{box.get_attribute('aria-describedby')}")).to_contain_text("0.5 to 90 days")
    expect(page.get_by_role("alert")).to_have_count(1)
    expect(page.locator(".edgestore-refusal")).to_contain_text("the answer for the last good settings")
    expect(page.locator("img.edgestore-picture, .edgestore-picture img").first).to_be_visible()
    expect(page.locator(".edgestore-answer").first).to_have_text(answer)
    expect(page.locator(".edgestore-last-good .edgestore-picture").first).to_have_css("filter", "grayscale(1)")
    assert min(page.evaluate(CONTRASTS)) >= LEAST_CONTRAST  # grey, and still to be read
    page.get_by_role("button", name="Undo").click()
    expect(box).to_have_value("7")
    expect(box).not_to_have_attribute("aria-invalid", "true")
    expect(page.locator(".edgestore-last-good")).to_have_count(0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_words_can_be_read_on_a_light_and_on_a_dark_system(page, scheme):
    page.emulate_media(color_scheme=scheme)
    contrasts = page.evaluate(CONTRASTS)
    assert len(contrasts) > 20
    assert min(contrasts) >= LEAST_CONTRAST


def test_what_a_reader_unfolds_stays_so_when_the_answer_changes(page):
    fold = page.locator(".edgestore-remarks details", has_text="Assumptions").first
    fold.locator("summary").press("Enter")
    expect(fold).to_have_attribute("open", "")
    before = page.locator(".edgestore-answer").first.inner_text()
    page.get_by_role("slider", name="Cap of the encoder, Mbit/s").press("ArrowRight")
    expect(page.locator(".edgestore-answer").first).not_to_have_text(before)
    expect(fold).to_have_attribute("open", "")


def test_the_address_drops_the_token_a_reload_needs_none_and_without_cookie_and_token_nobody_comes_in(page, browser):
    page.wait_for_url(lambda url: "token" not in url)
    page.reload()
    expect(page.locator(".edgestore-answer strong").first).to_be_visible()
    page.wait_for_function("window.jupyterapp?.widgetManager?.kernel?.connectionStatus === 'connected'")
    stranger = browser.browser.new_context()
    other = stranger.new_page()
    other.goto(page.url)
    assert "/login" in other.url
    assert other.locator("#rendered_cells").count() == 0
    stranger.close()


def test_the_address_holds_the_settings_and_opens_with_them(page, address, browser):
    box = page.get_by_role("textbox", name="Wanted, days")
    box.fill("12,5")
    box.press("Enter")
    page.wait_for_url(re.compile(r"[?&]wanted_days=12\.5|&wanted_days=12\.5"))
    answer = page.locator(".edgestore-answer").first.inner_text()
    with browser.new_page() as other:
        opened(other, page.url)
        expect(other.get_by_role("textbox", name="Wanted, days")).to_have_value("12.5")
        expect(other.locator(".edgestore-answer").first).to_have_text(answer)
    page.get_by_role("button", name="Reset").click()
    expect(box).to_have_value("7")
    page.wait_for_url(lambda url: "wanted_days" not in url)
