"""Every page, held against the rules of axe-core, which a screen reader's and a keyboard's users live by."""

from pathlib import Path

import axe_playwright_python
import pytest

pytestmark = pytest.mark.browser

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
RULES = "axe.run({resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'best-practice']})"
GRAVE = ("serious", "critical")


def test_axe_has_no_grave_finding(opened):
    opened.page.wait_for_function("!document.querySelector('img:not([alt])')")
    opened.page.evaluate(AXE)
    found = opened.page.evaluate(RULES)["violations"]
    assert [(rule["id"], rule["nodes"][0]["html"][:200]) for rule in found if rule["impact"] in GRAVE] == []


def test_axe_finds_a_picture_without_a_text_that_is_put_into_the_page(opened):
    opened.page.evaluate(AXE)
    opened.page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img id=probe src=\"data:,\">')")
    found = opened.page.evaluate("axe.run('#probe')")["violations"]
    opened.page.evaluate("document.querySelector('#probe').remove()")
    assert [rule["id"] for rule in found if rule["impact"] in GRAVE] == ["image-alt"]
