"""The notebooks stay thin, checked and clean; they are found by folder, so that none is forgotten."""

import ast
import itertools
import re
from pathlib import Path

import nbformat
import pytest

FOLDER = Path(__file__).parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))


@pytest.fixture(params=NOTEBOOKS, ids=lambda path: path.stem)
def notebook(request):
    return nbformat.read(request.param, as_version=4)


def code_cells(notebook):
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def tags(cell):
    return set(cell.metadata.get("tags", []))


def test_there_are_notebooks():
    assert "start.ipynb" in {path.name for path in NOTEBOOKS}
    assert len(NOTEBOOKS) >= 4


def test_a_notebook_begins_with_its_question(notebook):
    assert notebook.cells[0].source.startswith("# ")


def test_a_notebook_has_checked_cells_with_outputs(notebook):
    checked = [cell for cell in code_cells(notebook) if "nbval-check-output" in tags(cell)]
    assert checked
    assert all(cell.outputs for cell in checked)


def test_a_notebook_has_no_function_of_its_own(notebook):
    for cell in code_cells(notebook):
        kinds = {type(node) for node in ast.walk(ast.parse(cell.source))}
        assert not kinds & {ast.FunctionDef, ast.Lambda, ast.ClassDef}


def test_a_notebook_is_committed_without_errors_and_without_widget_state(notebook):
    assert "widgets" not in notebook.metadata
    outputs = [output for cell in code_cells(notebook) for output in cell.outputs]
    assert not [output for output in outputs if output.output_type == "error"]
    assert not [output for output in outputs if "application/vnd.jupyter.widget-view+json" in output.get("data", {})]


def test_a_still_picture_stands_before_a_panel(notebook):
    cells = code_cells(notebook)
    for before, cell in itertools.pairwise(cells):
        if "_panel()" in cell.source:
            assert "still" in tags(before)
            assert any("image/png" in output.get("data", {}) for output in before.outputs)


def test_links_between_notebooks_lead_somewhere(notebook):
    texts = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    for link in re.findall(r"\]\(([^)#:]+\.ipynb)\)", texts):
        assert (FOLDER / link).is_file()


def test_the_start_page_leads_to_every_other_notebook():
    start = (FOLDER / "start.ipynb").read_text()
    assert all(path.name in start for path in NOTEBOOKS if path.name != "start.ipynb")
