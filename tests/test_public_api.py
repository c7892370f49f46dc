"""The public names: who changes one breaks somebody's notebook, and changes this file."""

import functools
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

import edgestore
from edgestore import answers, models

NAMES = {
    *("Fault", "InputError", "__version__"),
    *("retention_h", "bitrate_mbit_s_for_retention", "capacity_gb_for_retention", "recorded_fraction"),
    *("endurance_tbw_from_hours", "life_years"),
    *("certainty", "flash_use", "holding", "lasting", "saving", "upkeep", "writing"),
    *("read_cameras", "read_cards", "read_footage", "read_lists", "read_settings"),
    *("Requirements", "Site", "SitePlan", "site_plan", "what_if"),
}
PINNED = {
    "endurance_tbw_from_hours": "(rated_h, rated_mbit_s)",
    "recorded_fraction": "(events_per_h, event_s, pre_roll_s=0.0, post_roll_s=0.0)",
    "retention_h": "(capacity_gb, bitrate_mbit_s, recorded_fraction=1.0, usable_fraction=1.0)",
}


def signature(function) -> str:
    full = inspect.signature(function)
    bare = [parameter.replace(annotation=inspect.Parameter.empty) for parameter in full.parameters.values()]
    return str(full.replace(parameters=bare, return_annotation=inspect.Signature.empty))


def test_the_public_names_are_these_and_no_others():
    assert set(edgestore.__all__) == NAMES


def test_every_public_name_is_importable():
    assert [name for name in sorted(NAMES) if getattr(edgestore, name, None) is None] == []


@pytest.mark.parametrize("name", PINNED)
def test_a_pinned_function_takes_these_arguments(name):
    assert signature(getattr(edgestore, name)) == PINNED[name]


def public_callables() -> dict:
    """Give every public function and class of the models and the answers, and every public method of such a class."""
    found = {}
    for package in (models, answers):
        for info in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            module = importlib.import_module(info.name)
            for name, thing in vars(module).items():
                if getattr(thing, "__module__", "") != module.__name__ or "._" in f"{info.name}.{name}":
                    continue
                if inspect.isfunction(thing) or inspect.isclass(thing):
                    found[f"{module.__name__}.{name}"] = thing
                if inspect.isclass(thing):
                    methods = {part: method for part, method in vars(thing).items() if inspect.isfunction(method)}
                    found |= {
                        f"{module.__name__}.{name}.{part}": functools.partial(method, None)
                        for part, method in methods.items()
                        if not part.startswith("_")
                    }
    return {name: thing for name, thing in found.items() if name.split(".")[-1] not in PINNED}


def positional(thing) -> list[str]:
    """Give the arguments that may be given without their names."""
    parameters = inspect.signature(thing).parameters.values()
    return [p.name for p in parameters if p.kind in (p.POSITIONAL_ONLY, p.POSITIONAL_OR_KEYWORD)]


def test_a_fourth_argument_of_a_model_or_an_answer_is_given_by_its_name():
    assert {name: positional(thing) for name, thing in public_callables().items() if len(positional(thing)) > 3} == {}


def test_the_walk_of_models_and_answers_finds_functions_classes_and_methods():
    assert {
        "edgestore.models.speed.stalls.keeps_up",
        "edgestore.models.life.law.CardLife",
        "edgestore.models.outage.outage.Outages.lost_by_hour_h_per_year",
        "edgestore.answers.hold.holding",
    } <= set(public_callables())


def test_a_fourth_positional_argument_would_be_found():
    assert positional(edgestore.retention_h) == [
        "capacity_gb",
        "bitrate_mbit_s",
        "recorded_fraction",
        "usable_fraction",
    ]


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="'edgestore' has no attribute 'retention'"):
        _ = edgestore.retention


def test_the_version_is_that_of_the_package():
    assert edgestore.__version__ == version("edgestore")


def contents(package) -> set[str]:
    """Give the public functions and classes that the modules of a package define."""
    names = set()
    for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
        module = importlib.import_module(info.name)
        if not info.name.rpartition(".")[2].startswith("_"):
            names |= {
                name
                for name, thing in vars(module).items()
                if getattr(thing, "__module__", "") == module.__name__ and callable(thing) and not name.startswith("_")
            }
    return names


@pytest.mark.parametrize("question", [name for name in models.__all__ if name != "retention"])
def test_the_table_of_contents_of_a_question_holds_all_that_its_modules_define(question):
    package = getattr(models, question)
    assert set(package.__all__) - {"BestInterval"} == contents(package)  # which a private module defines for three
    assert all(hasattr(package, name) for name in package.__all__)


def test_the_page_of_models_names_every_model_and_no_file_that_is_not_there():
    root = Path(edgestore.__file__).parent
    page = (root.parent / "docs" / "models.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:models|inputs|answers|plan)/[a-z_/]*\.py)`", page))
    assert {path for path in named if not (root / path).is_file()} == set()
    assert {path.relative_to(root).as_posix() for path in (root / "models").rglob("[a-z]*.py")} <= named


def test_importing_edgestore_imports_no_widgets_tables_or_plots():
    code = "import sys, edgestore; print(*sorted(sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = run.stdout.split()
    assert "edgestore.models.retention" in loaded
    assert {"ipywidgets", "IPython", "pandas", "matplotlib", "voila"}.isdisjoint(loaded)
