"""What an answer takes where nothing is said is what its page opens with: each states it by itself."""

import importlib
import inspect
import pkgutil

import pytest

from edgestore import panels

NAMES = [f"{panels.__name__}.{module.name}" for module in pkgutil.iter_modules(panels.__path__)]
FOUND = [vars(importlib.import_module(name)).get("PANEL") for name in NAMES]
PANELS = {
    panel.answer.__name__: panel for panel in FOUND if panel and panel.answer.__module__.startswith("edgestore.answers")
}


def test_the_pages_of_most_answers_are_found():
    assert {"holding", "saving", "upkeep", "exporting", "flash_use", "label_check"} <= set(PANELS)


@pytest.mark.parametrize("name", PANELS)
def test_where_nothing_is_said_an_answer_is_that_of_the_page_as_it_opens(name):
    panel = PANELS[name]
    taken = {parameter.name: parameter.default for parameter in inspect.signature(panel.answer).parameters.values()}
    assert {control.name: control.default for control in panel.inputs} == pytest.approx(taken)
    assert panel.answer().sentence
