"""The document of a proposal on a screen as narrow as a phone's."""

from pathlib import Path

import pytest

from edgestore.__main__ import main

pytestmark = pytest.mark.browser

DATA = Path(__file__).resolve().parents[2] / "data"
NARROW = {"width": 390, "height": 844}

TORN = r"""() => {
    const torn = [], texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
        const text = texts.currentNode;
        if (!text.parentElement.closest("table")) continue;
        for (const found of text.data.matchAll(/\d[\d.\u00a0]*/g)) {
            const range = document.createRange();
            range.setStart(text, found.index);
            range.setEnd(text, found.index + found[0].length);
            if (new Set([...range.getClientRects()].map(box => Math.round(box.top))).size > 1) torn.push(found[0]);
        }
    }
    return torn;
}"""
"""Figures in tables whose digits do not stand on one line."""


@pytest.fixture(scope="module")
def narrow(browser, tmp_path_factory):
    folder = tmp_path_factory.mktemp("proposal") / "pack"
    lists = (str(DATA / "ferry_terminal" / "cameras.csv"), "--cards", str(DATA / "cards.csv"))
    settings = ("--settings", str(DATA / "ferry_terminal" / "site.toml"))
    assert main(["propose", *lists, *settings, "--out", str(folder), "--no-pdf"]) == 0
    page = browser.new_page()
    page.set_viewport_size(NARROW)
    page.goto((folder / "proposal.html").as_uri())
    yield page
    page.close()


def test_no_figure_of_a_table_is_torn_on_a_narrow_screen(narrow):
    assert narrow.evaluate(TORN) == []


def test_the_document_is_no_wider_than_a_narrow_screen(narrow):
    assert narrow.evaluate("document.documentElement.scrollWidth") <= NARROW["width"]
