"""What a reader meets who names a file, or hands one over: settings, a list, and a clip that is too large.

These run after the tests of the same pages in test_workbook.py, whose numbers they move.
"""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from edgestore.panels.typed import MAX_UPLOAD_BYTES

pytestmark = pytest.mark.browser

ROOT = Path(__file__).resolve().parents[2]

site = pytest.mark.parametrize("opened", ["which_card_for_each_camera.ipynb"], indirect=True)
writes = pytest.mark.parametrize("opened", ["what_does_this_camera_write.ipynb"], indirect=True)


def ready(opened):
    expect(opened.page.locator(".edgestore-panel .edgestore-answer strong").first).to_be_visible()
    opened.page.wait_for_function("window.jupyterapp?.widgetManager?.kernel?.connectionStatus === 'connected'")
    for fold in opened.page.get_by_role("button", name="Lists and settings").all():
        if fold.get_attribute("aria-expanded") == "false":
            fold.click()
    return opened.page


@site
def test_a_settings_file_starts_the_sliders_and_an_override_is_named(opened):
    page = ready(opened)
    page.get_by_role("textbox", name="Settings", exact=True).fill("")
    page.get_by_role("textbox", name="Settings", exact=True).press("Enter")
    expect(page.get_by_role("textbox", name="Wanted footage, days")).to_have_value("7")
    page.get_by_role("textbox", name="Settings", exact=True).fill(str(ROOT / "data" / "ferry_terminal" / "site.toml"))
    page.get_by_role("textbox", name="Settings", exact=True).press("Enter")
    expect(page.get_by_role("textbox", name="Wanted footage, days")).to_have_value("4")
    expect(page.locator(".edgestore-remarks").first).not_to_contain_text("Set otherwise")
    page.locator(".edgestore-input", has=page.get_by_role("textbox", name="Wanted footage")).locator(
        ".noUi-handle"
    ).press("ArrowRight")
    expect(page.locator(".edgestore-remarks").first).to_contain_text("retention wanted 4.5 days (the file: 4 days)")


@site
def test_a_small_file_is_still_handed_over(opened):
    page = ready(opened)
    page.get_by_role("textbox", name="Settings", exact=True).fill(
        ""
    )  # those of the demo name cameras that this list has not
    page.get_by_role("textbox", name="Settings", exact=True).press("Enter")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Choose a file").first.click()
    chooser.value.set_files({"name": "mine.csv", "mimeType": "text/csv", "buffer": b"camera,cap_mbit_s\nMy gate,2\n"})
    expect(page.locator(".edgestore-table").first).to_contain_text("My gate")


@writes
def test_a_clip_above_the_limit_is_refused_by_its_size_with_what_to_do(opened, tmp_path: Path):
    page = ready(opened)
    large = tmp_path / "night.mp4"
    with large.open("wb") as file:
        file.truncate(MAX_UPLOAD_BYTES + 1)
    sent = []
    page.on("websocket", lambda socket: sent.append(socket))
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Choose a file").click()
    chooser.value.set_files(large)
    told = page.get_by_role("alert").filter(has_text="night.mp4")
    expect(told).to_contain_text("at most 250 MB")
    expect(told).to_contain_text("edgestore measure")
    expect(page.get_by_role("button", name="Choose a file")).to_have_text(re.compile(r"\(0\)"))
