"""What a reader meets when a number is only typed, and when kernel or server have gone.

The tests of a page stand in an order: the kernel is killed after all that want it, the server last of all.
"""

import time
from pathlib import Path

import psutil
import pytest
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_MS = 60_000

ANSWER, WAITING = ".edgestore-answer", ".edgestore-panel.edgestore-waiting"
REFUSAL = ".edgestore-refusal .widget-html-content"


@pytest.fixture(scope="module")
def page(browser, server):
    """Open one notebook for all tests, one after the other: a page takes some ten seconds of CPU."""
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        page.goto(server[1].replace("start.ipynb", "how_long_does_the_card_hold.ipynb"))
        expect(page.locator(f".edgestore-panel {ANSWER} strong").first).to_be_visible()
        page.wait_for_function("window.jupyterapp?.widgetManager?.kernel?.connectionStatus === 'connected'")
        yield page


def kernels(process: psutil.Process) -> list[psutil.Process]:
    """Give the kernels: children of the process that they are forked from, or of the server where nothing can fork."""
    every = process.children(recursive=True)
    found = [one for one in every if one.ppid() != process.pid or "ipykernel_launcher" in one.cmdline()]
    assert found
    return found


def kill_kernel(process: psutil.Process) -> None:
    for one in kernels(process):
        one.kill()


def before_the_answer(page: Page) -> str:
    """Give the words that the style sheet puts before the answer."""
    shown = """(answer) => {
      const style = getComputedStyle(answer, "::before");
      return style.content === "none" || style.height === "0px" ? "" : style.content;
    }"""
    return page.locator(ANSWER).first.evaluate(shown)


def opacity(page: Page) -> float:
    return page.locator(".edgestore-picture").first.evaluate("(one) => Number(getComputedStyle(one).opacity)")


def until(fact, seconds: float = 20) -> bool:
    end = time.monotonic() + seconds
    while not fact() and time.monotonic() < end:
        time.sleep(0.2)
    return fact()


def test_a_number_that_is_only_typed_marks_the_answer_until_enter(page):
    box = page.get_by_role("textbox", name="Wanted, days")
    box.press("End")
    box.press_sequentially("5")
    assert until(lambda: "press Enter" in before_the_answer(page))
    assert opacity(page) < 0.5
    box.press("Enter")
    assert until(lambda: before_the_answer(page) == "")


def test_a_number_out_of_range_is_refused_beside_its_box_and_never_clamped(page):
    box = page.get_by_role("textbox", name="Wanted, days")
    box.fill("1e9")
    box.press("Tab")
    row = page.locator(".edgestore-input", has=box)
    expect(row.locator(".edgestore-refused")).to_contain_text("0.5 to 90 days")
    expect(box).to_have_value("1e9")
    expect(page.locator(REFUSAL)).to_contain_text(
        "Not used: Wanted. What you see is the answer for the last good settings."
    )
    expect(page.get_by_role("button", name="Save tables and pictures")).to_be_disabled()
    box.fill("7")
    box.press("Enter")
    expect(page.locator(f"{ANSWER} strong").first).to_be_visible()
    expect(row.locator(".edgestore-refused")).to_be_hidden()


def test_while_the_kernel_does_not_answer_the_old_answer_is_marked_and_then_it_is_not(server, page):
    process, _ = server
    stopped = kernels(process)
    for one in stopped:
        one.suspend()
    box = page.get_by_role("textbox", name="Wanted, days")
    box.fill("1e9")
    assert until(lambda: "press Enter" in before_the_answer(page))
    box.press("Enter")
    assert until(lambda: "Not yet the answer" in before_the_answer(page))
    assert opacity(page) < 0.5
    for one in stopped:
        one.resume()
    expect(page.locator(WAITING)).to_have_count(0)
    expect(page.locator(REFUSAL)).to_contain_text("the last good settings")
    assert before_the_answer(page) == ""
    box.fill("12")
    box.press("Enter")
    expect(page.locator(REFUSAL)).to_be_empty()
    assert until(lambda: opacity(page) == 1)


def test_a_killed_kernel_is_told_and_after_the_reload_what_was_typed_is_there(server, page):
    process, _ = server
    box = page.get_by_role("textbox", name="Wanted, days")
    box.fill("12,5")
    box.press("Enter")
    page.get_by_role("button", name="More settings").click()
    page.get_by_label("Scene", exact=True).select_option(label="busy")
    kill_kernel(process)
    page.get_by_role("textbox", name="Card's capacity, GB").fill("256")  # typed when nobody reads it
    page.get_by_role("textbox", name="Card's capacity, GB").press("Enter")
    notice = page.get_by_role("alert").filter(has_text="no longer connected")
    expect(notice).to_be_visible()
    expect(notice).to_contain_text("Reload the page")
    assert until(lambda: opacity(page) < 0.5)
    assert until(lambda: "No longer connected" in before_the_answer(page))
    notice.locator("summary").click()
    expect(notice).to_contain_text("Wanted, days: 12,5")
    notice.get_by_role("button", name="Reload the page").click()
    expect(page.get_by_text("What was typed in its panels is put back")).to_be_visible()
    expect(page.get_by_role("textbox", name="Wanted, days")).to_have_value("12,5")
    expect(page.get_by_role("textbox", name="Card's capacity, GB")).to_have_value("256")
    expect(page.get_by_label("Scene", exact=True)).to_have_value("busy")
    expect(page.locator(WAITING)).to_have_count(0)
    assert opacity(page) == 1


def test_a_killed_server_is_told_with_the_command_that_starts_it_and_what_was_typed_is_listed(server, page):
    process, _ = server
    page.get_by_role("textbox", name="Wanted, days").fill("13,5")
    for one in [*process.children(recursive=True), process]:
        one.kill()
    notice = page.get_by_role("alert").filter(has_text="no longer connected")
    expect(notice).to_be_visible()
    expect(notice).to_contain_text("edgestore open")
    expect(notice.get_by_text("Wanted, days: 13,5")).to_be_visible()
    assert until(lambda: opacity(page) < 0.5)
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
