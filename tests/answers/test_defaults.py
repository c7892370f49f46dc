"""What an answer takes where nothing is said is what its page opens with: each states it by itself."""

import importlib
import inspect
import pkgutil

import pytest

from edgestore import panels
from edgestore.answers.certainty import certainty
from edgestore.answers.life import lasting
from edgestore.panels import certainty as certainty_page
from edgestore.panels import life as life_page

NAMES = [f"{panels.__name__}.{module.name}" for module in pkgutil.iter_modules(panels.__path__)]
FOUND = [vars(importlib.import_module(name)).get("PANEL") for name in NAMES]
PANELS = {
    panel.answer.__name__: panel for panel in FOUND if panel and panel.answer.__module__.startswith("edgestore.answers")
}


def taken_by(answer):
    """The number or word of each argument where nothing is said."""
    return {name: argument.default for name, argument in inspect.signature(answer).parameters.items()}


def opened_with(panel):
    """The number or word at which each control stands at first."""
    return {control.name: control.default for control in panel.inputs}


def test_the_pages_of_most_answers_are_found():
    assert {"holding", "saving", "upkeep", "exporting", "flash_use", "label_check"} <= set(PANELS)


@pytest.mark.parametrize("name", PANELS)
def test_where_nothing_is_said_an_answer_is_that_of_the_page_as_it_opens(name):
    panel = PANELS[name]
    assert opened_with(panel) == pytest.approx(taken_by(panel.answer))
    assert panel.answer().sentence


@pytest.mark.parametrize(("answer", "panel"), [(lasting, life_page.PANEL), (certainty, certainty_page.PANEL)])
def test_where_the_page_asks_in_a_way_of_its_own_what_both_state_is_the_same(answer, panel):
    # The answer works out from the camera what it states as None.
    shown = opened_with(panel)
    stated = {name: one for name, one in taken_by(answer).items() if name in shown and isinstance(one, float | str)}
    assert len(stated) > 8
    assert {name: shown[name] for name in stated} == pytest.approx(stated)
    assert answer().sentence
