"""A notebook in JupyterLab, where the same panel works as on the served page."""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator

import nbformat
import pytest
from playwright.sync_api import BrowserContext, expect

from edgestore.figures import style
from edgestore.figures.moving import PX_PER_INCH
from tests.browser.conftest import NOTEBOOKS, PATIENCE_MS

pytestmark = [pytest.mark.browser, pytest.mark.slow]

NOTEBOOK = "how_long_does_the_card_hold.ipynb"
TWO_PICTURES = "two_pictures.ipynb"
SERVE = """
import sys
from pathlib import Path
from edgestore import warm_kernel
from edgestore.serving import serve
warm_kernel.WARMED = ()  # one panel is opened
serve(Path(sys.argv[1]), browser=False, lab=True)
"""


@pytest.fixture(scope="module")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve a copy, since JupyterLab saves what it runs: the address of the notebook."""
    folder, own = tmp_path_factory.mktemp("notebooks"), tmp_path_factory.mktemp("lab")
    for name in (NOTEBOOK, "start.ipynb"):
        shutil.copyfile(NOTEBOOKS / name, folder / name)
    cell = nbformat.v4.new_code_cell("from edgestore.panels.site import site_panel\n\nsite_panel()")
    kernel = {"kernelspec": {"name": "python3", "display_name": "Python 3 (ipykernel)"}}
    nbformat.write(nbformat.v4.new_notebook(cells=[cell], metadata=kernel), folder / TWO_PICTURES)
    env = {**os.environ, "JUPYTER_CONFIG_DIR": str(own), "JUPYTERLAB_WORKSPACES_DIR": str(own)}
    command = [sys.executable, "-c", SERVE, str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=env) as server:
        try:
            printed = re.search(r"http\S+", server.stdout.readline())
            assert printed, "the server ended before it printed its address"
            yield printed[0].replace("start.ipynb", NOTEBOOK)
        finally:
            server.terminate()


def test_in_jupyterlab_a_slider_moves_the_answer_and_the_picture_and_nobody_outside_is_asked(
    browser: BrowserContext, lab: str
):
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        asked: list[str] = []
        page.on("request", lambda sent: asked.append(sent.url))
        page.goto(lab, wait_until="commit")
        page.get_by_text(re.compile(r"Python 3 \(ipykernel\) \| Idle")).wait_for()
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        answer, picture = (
            page.locator(".edgestore-answer"),
            page.locator("img.edgestore-picture, .edgestore-picture img"),
        )
        expect(answer).to_contain_text("Holds")
        said, shown = answer.inner_text(), picture.get_attribute("src")
        page.locator(".noUi-handle").first.press("ArrowRight")
        expect(answer).not_to_have_text(said)
        expect(picture).not_to_have_attribute("src", shown)
        border = page.locator(".edgestore-table td").first.evaluate("cell => getComputedStyle(cell).borderBottomStyle")
        assert border == "solid"  # the panel brings its looks along
        table = page.locator("table.edgestore-rows")
        cells = table.locator("tbody tr:not(.edgestore-why) td:first-child")
        listed = cells.all_inner_texts()
        table.locator(".edgestore-sort").first.press("Enter")
        table.locator(".edgestore-sort").first.press("Enter")  # and the script of the table
        assert cells.all_inner_texts() == sorted(listed, key=str.lower, reverse=True) != listed
        shown = page.locator(".edgestore-shown")
        assert shown.evaluate("place => getComputedStyle(place).position") == "sticky"
        light = picture.get_attribute("src")
        page.evaluate("document.body.dataset.jpThemeLight = 'false'")  # what the dark theme sets
        expect(page.locator(".edgestore-panel.edgestore-dark")).to_have_count(1)
        expect(picture).not_to_have_attribute("src", light)
        assert {url for url in asked if not re.match(r"http://127\.0\.0\.1|data:|blob:", url)} == set()
        page.close(run_before_unload=False)


def test_in_jupyterlab_no_picture_beside_another_is_made_smaller_so_that_its_letters_stay_legible(
    browser: BrowserContext, lab: str
):
    # Drawn with 100 dots an inch, its letters of 9 points, a 72nd of an inch each, are 12.5 px high where not scaled.
    assert style.BODY_PT * PX_PER_INCH / 72 >= 11
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        page.set_viewport_size({"width": 1280, "height": 800})
        page.goto(re.sub("lab/tree/[^?]*", f"lab/workspaces/two/tree/{TWO_PICTURES}", lab), wait_until="commit")
        page.get_by_text(re.compile(r"ipykernel\) \| Idle")).wait_for()
        page.get_by_role("menuitem", name="Run", exact=True).click()
        page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        for picture in (page.locator("img.edgestore-picture").nth(at) for at in (0, 1)):
            expect(picture).to_have_js_property("complete", value=True)
            picture.scroll_into_view_if_needed()
            page.wait_for_function("at => at.naturalWidth > 0 && at.clientWidth > 0", arg=picture.element_handle())
            drawn, shown = picture.evaluate("picture => [picture.naturalWidth, picture.clientWidth]")
            assert shown >= drawn
        page.close(run_before_unload=False)


def test_the_help_menu_of_jupyterlab_leads_to_the_site_of_docs(browser: BrowserContext, lab: str):
    with browser.new_page() as page:
        page.set_default_timeout(PATIENCE_MS)
        page.goto(lab, wait_until="commit")
        page.locator(".jp-Notebook").first.wait_for()
        page.wait_for_load_state("networkidle")  # what is still loading makes the menus anew, and shuts them
        page.get_by_role("menuitem", name="Help", exact=True).click()
        with page.context.expect_page() as opened:
            page.get_by_role("menuitem", name="How it is worked out").click()
        opened.value.get_by_role("heading", name="How it is worked out", level=1).wait_for()
        opened.value.close()
        page.close(run_before_unload=False)
