"""The notebooks stay thin, checked and clean; they are found by folder, so that none is forgotten."""

import ast
import itertools
import re
from pathlib import Path

import jinja2
import nbformat
import pytest

import edgestore
from edgestore.inputs.camera_list import CAMERA_COLUMNS
from edgestore.inputs.card_list import CARD_COLUMNS

FOLDER = Path(__file__).parents[1] / "notebooks"
TEMPLATE = Path(edgestore.__file__).parent / "voila_template/nbconvert/templates/edgestore"
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


def test_the_bar_leads_to_every_notebook_by_its_question_and_marks_the_one_that_is_open():
    environment = jinja2.Environment(loader=jinja2.FileSystemLoader(TEMPLATE), autoescape=True)
    bar = environment.from_string('{% from "bar.html.j2" import bar with context %}{{ bar(here) }}')
    for path in NOTEBOOKS:
        shown = bar.render(here=path.stem, resources={"base_url": "/"})
        links = dict(re.findall(r'<a href="(\w+)\.ipynb"[^>]*>([^<]+)</a>', shown))
        questions = {other.stem: nbformat.read(other, 4).cells[0].source.splitlines()[0][2:] for other in NOTEBOOKS}
        assert links == {**questions, "start": "Start"}
        assert re.findall(r'<a href="(\w+)\.ipynb" aria-current="page">', shown) == [path.stem]


def shown_columns(notebook):
    """Give the columns of all tables that are shown: name and what stands in it, row by row."""
    for cell in code_cells(notebook):
        for output in cell.outputs:
            rows = re.findall(r"<tr.*?</tr>", output.get("data", {}).get("text/html", ""), re.DOTALL)
            found = [re.findall(r"<(t[hd])[^>]*>(.*?)</t", row, re.DOTALL) for row in rows]
            names = [text for _, text in found[0]] if found else []
            for row in found[1:]:
                figures = [text for kind, text in row if kind == "td"]
                if figures:
                    yield from zip(names[-len(figures) :], figures, strict=True)


def test_a_table_tells_chances_floored_lives_up_to_ten_years_and_money_whole(notebook):
    for name, shown in shown_columns(notebook):
        figure = float(shown) if re.fullmatch(r"-?[\d.]+|inf|NaN", shown.strip()) else 0.0
        name = name.lower()
        if "chance" in name or "assurance" in name:
            assert not re.search(r"\d\.\d", shown), (name, shown)
        if re.search(r"life \(years|worn out by|changed after|together after", name):
            assert figure <= 10, (name, shown)
        if "cost" in name or "price" in name:
            assert not re.search(r"\d\.\d", shown), (name, shown)


def test_no_table_has_a_name_of_the_program_in_its_head(notebook):
    shown = [output.get("data", {}).get("text/html", "") for cell in code_cells(notebook) for output in cell.outputs]
    heads = re.findall(r"<th[^>]*>(.*?)</th>", "".join(shown), re.DOTALL)
    assert [head for head in heads if re.search(r"[a-z]_[a-z]", head)] == []


def test_no_answer_is_shown_as_a_string_of_python(notebook):
    texts = [output.get("data", {}).get("text/plain", "") for cell in code_cells(notebook) for output in cell.outputs]
    assert [text for text in texts if text.startswith(("'", '"'))] == []


def test_no_prose_names_a_column_of_a_list_as_the_program_does(notebook):
    # Lists to fill in are headed in words, as "Tried cards"; README and CSV have the names of the program.
    columns = {column.name for column in (*CAMERA_COLUMNS, *CARD_COLUMNS)} - {"camera", "card"}
    prose = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    assert not columns.intersection(re.findall("`([a-z_]+)`", prose))
