"""Every page, held against the rules of axe-core, which a screen reader's and a keyboard's users live by."""

from pathlib import Path

import axe_playwright_python
import pytest

from edgestore.look import DARK

pytestmark = pytest.mark.browser

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
RULES = "axe.run({resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'best-practice']})"
SCREENS = {"desk": {"width": 1280, "height": 800}, "phone": {"width": 390, "height": 844}}
GRAVE = ("serious", "critical")
SETTLED = "!document.querySelector('.edgestore-waiting, .edgestore-typing, img:not([alt])')"
"""No answer is pale since the next one is on its way, and every picture has its text."""


def test_axe_has_no_grave_finding(opened):
    opened.page.wait_for_function(SETTLED)
    opened.page.evaluate(AXE)
    found = opened.page.evaluate(RULES)["violations"]
    assert [(rule["id"], rule["nodes"][0]["html"][:200]) for rule in found if rule["impact"] in GRAVE] == []


def test_axe_has_no_grave_finding_of_colours_on_a_dark_screen(opened):
    opened.page.wait_for_function(SETTLED)
    opened.page.evaluate(AXE)
    opened.page.emulate_media(color_scheme="dark")
    ground = opened.page.evaluate("getComputedStyle(document.body).backgroundColor")
    found = opened.page.evaluate("axe.run({resultTypes: ['violations'], runOnly: ['color-contrast']})")["violations"]
    opened.page.emulate_media(color_scheme="light")
    assert ground == f"rgb({', '.join(str(int(DARK['ground'][at : at + 2], 16)) for at in (1, 3, 5))})"
    assert [rule["nodes"][0]["html"][:200] for rule in found] == []


@pytest.mark.parametrize("screen", SCREENS.values(), ids=SCREENS)
def test_the_answer_is_in_the_first_screen(opened, screen):
    if not opened.has_panel:
        return  # there is no answer
    answer = opened.page.locator(".edgestore-answer strong").first
    before = opened.page.viewport_size
    opened.page.set_viewport_size(screen)
    ends = answer.evaluate("(one) => { scrollTo(0, 0); return one.getBoundingClientRect().bottom }")
    opened.page.set_viewport_size(before)
    assert ends <= screen["height"]


def test_axe_finds_a_picture_without_a_text_that_is_put_into_the_page(opened):
    opened.page.evaluate(AXE)
    opened.page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img id=probe src=\"data:,\">')")
    found = opened.page.evaluate("axe.run('#probe')")["violations"]
    opened.page.evaluate("document.querySelector('#probe').remove()")
    assert [rule["id"] for rule in found if rule["impact"] in GRAVE] == ["image-alt"]
