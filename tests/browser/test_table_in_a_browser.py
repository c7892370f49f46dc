"""The table of an answer in a browser: headings that sort, and rows that open what explains them.

One page for all tests: tables as the panels make them are put into it, as the next answer of a panel would be.
"""

import pandas as pd
import pytest
from playwright.sync_api import Page, expect

from edgestore.panels.table import table_html

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
BLANK = "\N{NO-BREAK SPACE}"

PLAN = pd.DataFrame(
    {
        "camera": ["Lane 10", "Lane 2", "Quay", "Gate"],
        "retention_days": ["17.9 (7.7 to 23.2)", "7.5", "", "more than 10"],
        "reason": [f"Why camera {n}." for n in range(4)],
    }
)


@pytest.fixture(scope="module")
def page(browser, address):
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        page.goto(address.replace("start.ipynb", "how_long_does_the_card_hold.ipynb"))
        expect(page.locator("table[data-dressed]").first).to_be_visible()
        page.evaluate("""() => {
            const place = document.createElement("div");
            place.className = "edgestore-table tried";
            document.querySelector("#rendered_cells > div").prepend(place);
        }""")
        yield page


def put(page: Page, table: pd.DataFrame) -> None:
    page.locator(".tried").evaluate("(place, html) => { place.innerHTML = html; }", table_html(table))
    page.locator(".tried table[data-dressed]").wait_for()


def column(page: Page, at: int) -> list[str]:
    rows = page.locator(".tried tbody tr:not(.edgestore-why)")
    return [text.strip() for text in rows.locator(f"td:nth-child({at + 1})").all_text_contents()]


@pytest.mark.parametrize(
    ("listed", "ascending"),
    [
        (["more than 10", "7.5", "", "9.99", "10"], ["7.5", "9.99", "10", "more than 10", ""]),
        (
            [f"5{BLANK}%", f"<1{BLANK}%", f"94{BLANK}%", f"1{BLANK}%"],
            [f"<1{BLANK}%", f"1{BLANK}%", f"5{BLANK}%", f"94{BLANK}%"],
        ),
        ([f"12{BLANK}345", "999", f"2{BLANK}925", "1e+06"], ["999", f"2{BLANK}925", f"12{BLANK}345", "1e+06"]),
        (["never", "6.75", "", "10"], ["6.75", "10", "never", ""]),
        (["12 more", "3 less", "0", ""], ["3 less", "0", "12 more", ""]),
        (
            ["plain 128 GB", "none", "plain 16 GB", "long-life 32 GB"],
            ["long-life 32 GB", "plain 16 GB", "plain 128 GB", "none"],
        ),
        (["2027-11-30", "2027-01-19", "", "2026-12-31"], ["2026-12-31", "2027-01-19", "2027-11-30", ""]),
        (["Lane 10", "lane 2", "Gate"], ["Gate", "lane 2", "Lane 10"]),
    ],
)
def test_a_heading_sorts_by_what_stands_there_then_the_other_way_and_what_misses_is_last(page, listed, ascending):
    put(page, pd.DataFrame({f"what {listed[0]}": listed}))
    head, sorts = page.locator(".tried th"), page.locator(".tried .edgestore-sort")
    expect(head).to_have_attribute("aria-sort", "none")
    sorts.press("Enter")
    expect(head).to_have_attribute("aria-sort", "ascending")
    assert column(page, 0) == ascending
    sorts.click()
    expect(head).to_have_attribute("aria-sort", "descending")
    missing = [text for text in ascending if text in ("", "none")]
    assert column(page, 0) == [text for text in reversed(ascending) if text not in missing] + missing
    sorts.click()
    expect(head).to_have_attribute("aria-sort", "none")
    assert column(page, 0) == listed


def test_a_row_opens_its_reasons_at_a_click_or_enter_and_closes_them_at_a_second(page):
    put(page, PLAN)
    row, why = page.get_by_role("button", name="Lane 2", exact=True), page.get_by_text("Why camera 1.")
    expect(row).to_have_attribute("aria-expanded", "false")
    expect(why).not_to_be_visible()
    row.press("Enter")
    expect(row).to_have_attribute("aria-expanded", "true")
    expect(why).to_be_visible()
    row.press("Enter")
    expect(why).not_to_be_visible()
    page.locator(".tried tbody tr td", has_text="7.5").first.click()
    expect(why).to_be_visible()
    page.locator(".tried tbody tr td", has_text="7.5").first.click()
    expect(row).to_have_attribute("aria-expanded", "false")
    expect(why).not_to_be_visible()


def test_the_reasons_stay_below_their_row_and_open_when_the_table_is_sorted_and_when_another_comes(page):
    put(page, PLAN)
    page.get_by_role("button", name="Quay", exact=True).click()
    page.get_by_role("button", name="Camera").click()
    assert column(page, 0) == ["Gate", "Lane 2", "Lane 10", "Quay"]
    put(page, PLAN.iloc[::-1])
    assert column(page, 0) == ["Gate", "Lane 2", "Lane 10", "Quay"]
    rows = page.locator(".tried tbody tr").all_text_contents()
    assert [text.split("Why camera ")[1] for text in rows[1::2]] == ["3.", "1.", "0.", "2."]
    expect(page.get_by_text("Why camera 2.")).to_be_visible()
    expect(page.get_by_text("Why camera 1.")).not_to_be_visible()


def test_on_a_phone_a_row_is_high_enough_for_a_thumb_and_its_reasons_are_not_wider_than_the_screen(page):
    page.set_viewport_size({"width": 390, "height": 844})
    put(page, PLAN.assign(reason="A reason of some length. " * 20, **{f"other_{n}": "much" for n in range(8)}))
    place = page.locator(".tried .edgestore-scroll")
    assert place.evaluate("(one) => one.scrollWidth > one.clientWidth")
    row = page.locator(".tried tbody tr").first
    assert row.bounding_box()["height"] >= 44  # WCAG 2.1, success criterion 2.5.5
    row.click(position={"x": 40, "y": 20})
    why = page.locator(".tried .edgestore-why:not([hidden]) details").first.bounding_box()
    assert why["x"] >= 0
    assert why["x"] + why["width"] <= 390
    page.set_viewport_size({"width": 1280, "height": 900})
