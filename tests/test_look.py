"""The look: what can be read, what can be told apart without colour, and that its values stand in one place."""

import io
import itertools
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import edgestore
from edgestore.console import as_shown
from edgestore.figures import style
from edgestore.look import DARK, GROUNDS, LIGHT, STATES, TEXTS, filled, marked, variables
from edgestore.panels.as_html import answer_html
from edgestore.panels.table import table_html
from edgestore.plan import site_plan

PACKAGE = Path(edgestore.__file__).parent
PAGE = PACKAGE / "voila_template/nbconvert/templates/edgestore"
SHEETS = sorted(path for path in PACKAGE.rglob("*.css") if PAGE not in path.parents)
COLOUR = re.compile(r"(?<!&)#(?:[0-9a-fA-F]{8}|[0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b|\b(?:rgb|hsl)a?\(")

LEAST_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3."""

APART = 1.5
"""Least contrast of one state to another, so that grey print separates them (common practice, no source)."""

LEAST_DIFFERENCE = 20.0
"""Least difference of two colours in CIELAB, 1976; 2.3 is just noticeable (Mahy and others 1994, from memory)."""

VISIONS = {
    "full": np.eye(3),
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.01182, 0.04294, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.3039]],
}
"""On linear RGB: Machado, Oliveira and Fernandes, IEEE TVCG 15 (6), 2009, the tables of severity 1.0."""

XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""From linear RGB: IEC 61966-2-1, sRGB."""

each_scheme = pytest.mark.parametrize("scheme", [LIGHT, DARK], ids=["light", "dark"])


def linear(colour):
    parts = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def contrast(one, other):
    """Contrast of two colours by their relative luminance, as WCAG 2.2 defines both."""
    darker, lighter = sorted(float(linear(colour) @ XYZ[1]) for colour in (one, other))
    return (lighter + 0.05) / (darker + 0.05)


def lab(light):
    """CIELAB of linear RGB, by the white of that RGB."""
    x, y, z = np.cbrt(np.clip(XYZ @ light / XYZ.sum(axis=1), 0.008856, None))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def test_the_contrast_is_computed_as_wcag_does():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # (1 + 0.05) / (0 + 0.05)
    # #808080: 128 / 255 = 0.50196; ((0.50196 + 0.055) / 1.055)^2.4 = 0.21586; 1.05 / 0.26586 = 3.949
    assert contrast("#808080", "#ffffff") == pytest.approx(3.949, abs=0.001)


def test_a_colour_difference_is_that_of_cielab():
    assert lab(linear("#ffffff")) == pytest.approx([100, 0, 0], abs=0.01)
    # The red of sRGB: L* 53.24, a* 80.09, b* 67.20 (Lindbloom's calculator, from memory).
    assert lab(linear("#ff0000")) == pytest.approx([53.24, 80.09, 67.20], abs=0.1)


@each_scheme
def test_every_text_can_be_read_on_every_ground(scheme):
    found = {(text, ground): contrast(scheme[text], scheme[ground]) for text in TEXTS for ground in GROUNDS}
    assert {state.colour for state in STATES.values()} <= set(TEXTS)
    assert {pair: value for pair, value in found.items() if value < LEAST_CONTRAST} == {}


@each_scheme
def test_in_grey_each_state_is_lighter_or_darker_than_the_others(scheme):
    for one, other in itertools.combinations(STATES.values(), 2):
        assert contrast(scheme[one.colour], scheme[other.colour]) >= APART, (one, other)


@each_scheme
@pytest.mark.parametrize("vision", VISIONS)
def test_the_states_differ_for_readers_who_see_fewer_colours(scheme, vision):
    colours = [state.colour for state in STATES.values()]
    seen = {name: lab(np.clip(VISIONS[vision] @ linear(scheme[name]), 0, 1)) for name in colours}
    for one, other in itertools.combinations(seen, 2):
        assert np.linalg.norm(seen[one] - seen[other]) >= LEAST_DIFFERENCE, (one, other)


def test_no_two_states_share_a_mark_and_their_words_are_those_of_the_plan():
    for kind in ("mark", "marker", "plain", "colour", "ansi"):
        assert len({getattr(state, kind) for state in STATES.values()}) == 3
    assert tuple(STATES) == tuple(site_plan.STATES)


def test_no_colour_is_written_anywhere_but_in_the_look():
    kinds = (".py", ".css", ".js", ".j2", ".html")
    files = [path for path in PACKAGE.rglob("*") if path.suffix in kinds and path.name != "look.py"]
    assert len(files) > 100
    found = {str(path): COLOUR.findall(path.read_text(encoding="utf-8")) for path in files}
    assert {path: colours for path, colours in found.items() if colours} == {}


def test_a_colour_in_a_stylesheet_would_be_found():
    assert len(COLOUR.findall("a { color: #0a0b0c; border: 1px solid #FFF; background: rgb(0 0 0 / 15%) }")) == 3
    assert COLOUR.findall("<td>&#9744;</td> # a comment") == []


def test_the_pages_name_only_values_that_the_look_gives_them():
    given = set(re.findall(r"--edgestore-[\w-]+", variables()))
    named = set(re.findall(r"var\((--edgestore-[\w-]+)\)", (PAGE / "static/page.css").read_text(encoding="utf-8")))
    assert named - given == set()
    assert {f"--edgestore-{name}" for name in LIGHT if name not in ("band",)} <= named
    assert "{{ 'edgestore' | look }}" in (PAGE / "index.html.j2").read_text(encoding="utf-8")


def test_a_dark_screen_and_not_paper_has_the_dark_colours():
    light, dark = variables().split("@media screen and (prefers-color-scheme: dark)")
    assert all(f"--edgestore-{name}: {colour};" in light for name, colour in LIGHT.items())
    assert all(f"--edgestore-{name}: {colour};" in dark for name, colour in DARK.items())
    assert LIGHT.keys() == DARK.keys()


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
def test_a_document_has_the_colours_of_the_look(sheet):
    css = sheet.read_text(encoding="utf-8")
    assert "var(--edgestore-" in css
    assert "var(" not in re.sub(r"var\(--jp-", "", filled(css))  # JupyterLab's own theme fills in these
    assert set(re.findall(r"#[0-9a-f]{6}", filled(css))) <= set(LIGHT.values())


def test_a_value_that_there_is_not_is_refused():
    with pytest.raises(KeyError, match="inc"):
        filled("a { color: var(--edgestore-inc); }")


def test_pictures_have_the_colours_of_the_look():
    assert [style.of_state(word) for word in STATES] == [LIGHT[state.colour] for state in STATES.values()]
    assert (LIGHT["ink"], LIGHT["accent"]) == (style.INK, style.ACCENT)


def test_only_counted_states_are_marked():
    text = "11 of 14 cameras assured: 1\N{NO-BREAK SPACE}234 assured, 1 doubtful; it is doubtful"
    shown = marked(text, lambda state, words: f"<{state.mark}{words}>")
    assert shown == "11 of 14 cameras assured: <●1\N{NO-BREAK SPACE}234 assured>, <◆1 doubtful>; it is doubtful"


def test_a_page_marks_the_states_in_the_answer_and_in_the_table():
    answer = answer_html("Of 3 cameras: 1 assured, 2 not served. Each is told.")
    assert '<span class="edgestore-state edgestore-not-served">2 not served</span>.</strong> Each is told.' in answer
    table = table_html(pd.DataFrame({"camera": ["assured by <b>name</b>", "gate"], "state": ["assured", "doubtful"]}))
    assert '<td><span class="edgestore-state edgestore-doubtful">doubtful</span></td>' in table
    assert "<td>assured by &lt;b&gt;name" in table


class Terminal(io.TextIOWrapper):
    def __init__(self, encoding="utf-8", is_terminal=True):
        super().__init__(io.BytesIO(), encoding)
        self.isatty = lambda: is_terminal


LINE = "Of 3 cameras: ●\N{NO-BREAK SPACE}1 assured, ×\N{NO-BREAK SPACE}2 not served. A camera named × 2"


def test_a_terminal_shows_the_states_in_its_own_colours_unless_it_is_told_not_to(monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    plain = "Of 3 cameras: ● 1 assured, × 2 not served. A camera named × 2"
    coloured = "Of 3 cameras: \x1b[36m● 1 assured\x1b[0m, \x1b[31m× 2 not served\x1b[0m. A camera named × 2"
    assert as_shown(LINE, Terminal()) == coloured
    assert as_shown(LINE, Terminal(is_terminal=False)) == plain
    monkeypatch.setenv("TERM", "dumb")
    assert as_shown(LINE, Terminal()) == plain
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("NO_COLOR", "1")
    assert as_shown(LINE, Terminal()) == plain
    monkeypatch.setenv("NO_COLOR", "")  # no-color.org: when it is not an empty string
    assert as_shown(LINE, Terminal()) == coloured


def test_a_terminal_without_the_marks_shows_plain_letters():
    assert as_shown(LINE, Terminal("cp1252", is_terminal=False)).startswith(
        "Of 3 cameras: o 1 assured, x 2 not served."
    )
