"""Is this card what its label says: the page as a buyer uses it, in a browser."""

import pytest
from playwright.sync_api import Page, expect

pytestmark = [pytest.mark.browser, pytest.mark.landing]

PATIENCE_MS = 60_000


@pytest.fixture(scope="module")
def page(browser, address):
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        page.goto(address.replace("start.ipynb", "is_this_card_what_its_label_says.ipynb"), wait_until="commit")
        page.locator(".edgestore-panel").first.wait_for()
        yield page


def paste(page: Page, text: str) -> None:
    box = page.locator(".edgestore-panel textarea").first
    box.fill(text)
    box.press("Tab")


def test_registers_are_pasted_told_and_refused_and_the_last_good_answer_stays(page):
    panel, answer = page.locator(".edgestore-panel").first, page.locator(".edgestore-answer").first
    expect(answer).to_contain_text("disagrees with the label")
    paste(page, "CID: 00ad4c5355534430301038942790018a")
    expect(answer).to_contain_text("The registers state no capacity")
    expect(panel).to_contain_text("one byte to the right")
    expect(panel).to_contain_text("10/2024")
    paste(page, "hello <b>12</b> zz")
    expect(panel).to_contain_text("found no register of a card")
    expect(answer).to_contain_text("The registers state no capacity")
    paste(page, "")
    expect(panel).not_to_contain_text("found no register of a card")
    expect(answer).to_have_text(
        "A lot of 200 with 20 bad cards (10\u00a0% or more) passes in 9.9\u00a0% of cases. Of lots from a production"
        " with 1\u00a0% bad, 4.8\u00a0% fail."
    )


def test_more_cards_tried_let_fewer_bad_lots_pass_and_more_than_the_lot_are_refused(page):
    panel, answer = page.locator(".edgestore-panel").first, page.locator(".edgestore-answer").first
    tried = panel.locator(".edgestore-input", has_text="Cards tried").locator("input").first
    tried.fill("60")
    tried.press("Enter")
    # hypergeometric, 20 bad of 200, 60 tried: [C(180,60) + 20 C(180,59)] / C(200,60) = 0.65 %
    expect(answer).to_contain_text("passes in 0.")
    tried.fill("201")
    tried.press("Enter")
    expect(panel).to_contain_text("Not used")
    expect(answer).to_contain_text("A lot of 200")


def test_a_phone_scrolls_down_alone(page):
    page.set_viewport_size({"width": 390, "height": 844})
    page.wait_for_function("document.documentElement.scrollWidth <= 390")
