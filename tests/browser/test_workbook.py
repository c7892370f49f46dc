"""What a reader meets who opens the notebooks in a browser and has a keyboard."""

import re
from urllib.parse import unquote, urlsplit

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PICTURE = "img.edgestore-picture, .edgestore-picture img"
BYTES_OF_PICTURE = """async (image) => {
  const bytes = await (await fetch(image.src)).arrayBuffer();
  return String(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
}"""


def handles(opened):
    """Give the handles of the sliders on the page, or skip a notebook that has no panel."""
    if not opened.has_panel:
        pytest.skip(f"{opened.notebook.name} has no panel")
    found = opened.page.locator(".edgestore-input .noUi-handle")
    expect(found).not_to_have_count(0)
    return found


def test_arrow_keys_on_the_first_slider_move_the_number_the_answer_and_the_picture(opened):
    handle = handles(opened).first
    panel = opened.page.locator(".edgestore-panel").first
    number = panel.locator(".edgestore-input", has=opened.page.locator(".noUi-handle")).first.locator("input")
    answer = panel.locator(".edgestore-answer").first
    picture = panel.locator(PICTURE).first
    before = number.input_value(), answer.inner_text(), picture.get_attribute("src")
    picture_before = picture.evaluate(BYTES_OF_PICTURE)
    at_its_end = handle.get_attribute("aria-valuenow") == handle.get_attribute("aria-valuemax")
    handle.press("ArrowLeft" if at_its_end else "ArrowRight")
    expect(number).not_to_have_value(before[0])
    # The answer is rounded, so that one step need not change it, and six may lead back to the words of none: with 6
    # days asked the other settings change as many cards, for as much, as with the days that they state. So each key
    # is answered before the next is pressed, five steps further.
    for _ in range(3):
        expect(panel).not_to_have_class(re.compile("edgestore-waiting"))
        if answer.inner_text() != before[1]:
            break
        handle.press("PageDown" if at_its_end else "PageUp")
    expect(answer).not_to_have_text(before[1])
    expect(picture).not_to_have_attribute("src", before[2])
    assert picture.evaluate(BYTES_OF_PICTURE) != picture_before


def test_every_slider_says_its_own_name_and_a_rounded_value(opened):
    found = handles(opened).all()
    names = [handle.get_attribute("aria-label") for handle in found]
    values = [handle.get_attribute("aria-valuetext") for handle in found]
    assert all(names)
    assert len(set(names)) == len(names)
    assert [value for value in values if not value or re.search(r"\.\d{5}", value)] == []


def test_the_picture_is_described_by_the_answer(opened):
    handles(opened)
    panel = opened.page.locator(".edgestore-panel").first
    answer = panel.locator(".edgestore-answer").first
    # Both are read in one go, and again until they agree: a panel may still answer the keys of the test before.
    opened.page.wait_for_function(
        r"([picture, answer]) => answer.innerText && picture.alt === answer.innerText.replace(/\n/g, ' ')",
        arg=[panel.locator(PICTURE).first.element_handle(), answer.element_handle()],
    )
    expect(answer).to_have_attribute("role", "status")


def test_the_title_of_the_page_is_the_first_heading(opened):
    heading = opened.page.locator("h1").first.inner_text()
    assert opened.page.title() == heading.removesuffix("¶").strip()


def test_the_frozen_copy_of_the_answer_is_not_on_a_served_page(opened):
    for heading in opened.page.get_by_text("The same answer as a table").all():
        expect(heading).to_be_hidden()
    for frozen in opened.page.locator(".celltag_frozen-answer").all():
        expect(frozen).to_be_hidden()


def test_the_frozen_copy_of_the_answer_is_not_printed(opened):
    opened.page.emulate_media(media="print")
    shown = [frozen.is_visible() for frozen in opened.page.locator(".celltag_frozen-answer").all()]
    opened.page.emulate_media(media="screen")
    assert not any(shown)


def test_no_table_on_a_page_is_headed_by_a_name_of_the_program(opened):
    heads = [text for text in opened.page.locator("th").all_inner_texts() if re.search(r"[a-z]_[a-z]", text)]
    assert heads == []


def test_a_narrow_screen_needs_no_scrolling_sideways(opened):
    opened.page.set_viewport_size({"width": 390, "height": 800})
    width = opened.page.evaluate("document.documentElement.scrollWidth")
    opened.page.set_viewport_size({"width": 1280, "height": 900})
    assert width <= 390


def test_on_a_phone_an_answer_in_view_is_not_cut(opened):
    opened.page.set_viewport_size({"width": 390, "height": 844})
    heights = opened.page.locator(".edgestore-answer").evaluate_all(
        "all => all.map((one) => [one.scrollHeight, one.clientHeight])"
    )
    opened.page.set_viewport_size({"width": 1280, "height": 900})
    assert all(needed <= height for needed, height in heights)


@pytest.mark.parametrize("opened", ["what_happened.ipynb"], indirect=True)
def test_on_a_phone_what_to_do_next_is_in_view_beside_the_camera(opened):
    opened.page.set_viewport_size({"width": 390, "height": 844})
    table = opened.page.locator(".edgestore-scroll").first
    row = table.locator("tbody tr").first.locator("td")
    edges = [place.bounding_box() for place in (table, row.nth(0), row.nth(1))]
    heading = table.locator("th").nth(1).inner_text()
    opened.page.set_viewport_size({"width": 1280, "height": 900})
    assert heading.startswith("Next")
    assert edges[1]["x"] == edges[0]["x"]
    assert edges[2]["x"] + edges[2]["width"] <= edges[0]["x"] + edges[0]["width"]


def test_no_outside_host_is_asked(opened):
    assert opened.outside_requests == []


def test_no_error_is_shown_or_logged(opened):
    shown = opened.page.locator("[data-mime-type='application/vnd.jupyter.stderr']").all_inner_texts()
    assert opened.errors + shown == []


@pytest.mark.parametrize("opened", ["start.ipynb"], indirect=True)
def test_the_start_page_links_to_every_other_notebook_and_to_none_that_is_missing(opened):
    links = opened.page.locator("#rendered_cells a").evaluate_all("all => all.map((link) => link.href)")
    paths = [unquote(urlsplit(link).path) for link in links]
    linked = {path.rpartition("/render/")[2] for path in paths if path.endswith(".ipynb")}
    assert linked | {"start.ipynb"} == {path.name for path in opened.notebook.parent.glob("*.ipynb")}


@pytest.mark.parametrize("opened", ["start.ipynb"], indirect=True)
def test_a_click_on_a_link_of_the_start_page_opens_the_notebook(opened):
    opened.page.locator("#rendered_cells a[href$='.ipynb']").first.click()
    expect(opened.page.locator(".edgestore-panel").first).to_be_visible()
