"""Whatever is written says by which release: a number can be traced to what computed it.

That the document says it on every page stands in ``tests/documents/test_pdf.py``, where the document is printed.
"""

import io
import json
import tomllib
from importlib.metadata import version
from pathlib import Path
from types import SimpleNamespace

import openpyxl
import pandas as pd
import pytest
from icalendar import Calendar
from proposals import demo

import edgestore
from edgestore.__main__ import main
from edgestore.documents.diary import diary
from edgestore.documents.workbook import workbook
from edgestore.figures.moving import MovingFigure
from edgestore.panels.panel import Panel
from edgestore.training.exercises.sheets import sheet_files
from edgestore.training.fitting.guide import guide
from edgestore.training.fitting.handouts import handouts

ROOT = Path(__file__).parents[1]
DATA = ROOT / "data"
MADE_WITH = f"edgestore {version('edgestore')}"
TABLE = pd.DataFrame({"camera": ["gate"], "retention_h": [35.6]})

PANEL = Panel("How long?", inputs=(), main=(), answer=SimpleNamespace, figure=MovingFigure)


def test_the_version_is_that_of_the_project_file():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert edgestore.__version__ == project["version"] == version("edgestore")


def test_the_command_says_its_version(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["--version"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == f"{MADE_WITH}\n"


def test_the_package_says_that_it_has_types():
    assert (Path(edgestore.__file__).parent / "py.typed").read_bytes() == b""


def test_the_spreadsheet_says_it_in_its_properties():
    book = openpyxl.load_workbook(io.BytesIO(workbook(demo())), read_only=True)
    assert book.properties.description == f"Made with {MADE_WITH}"


def test_the_dates_say_it_as_their_product():
    assert Calendar.from_ical(diary(demo().visits, demo().front))["prodid"] == f"-//edgestore//{MADE_WITH}//EN"


def test_a_folder_of_plan_tables_says_it_in_its_record(tmp_path):
    cameras, cards = DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv"
    assert main(["plan", str(cameras), "--cards", str(cards), "--out", str(tmp_path / "plan")]) == 0
    assert json.loads((tmp_path / "plan" / "pack.json").read_text())["version"] == edgestore.__version__


def test_a_table_that_is_written_by_itself_says_it_in_its_last_column(tmp_path):
    clip = next((DATA / "ferry_terminal" / "footage" / "waiting_room").glob("*.mp4"))
    assert main(["measure", str(clip), "--csv", str(tmp_path / "measured.csv")]) == 0
    measured = pd.read_csv(tmp_path / "measured.csv")
    files = {**sheet_files({"Seeds": ("A note.", TABLE)}), **PANEL.files(SimpleNamespace(table=TABLE), ())}
    for table in (measured, *(pd.read_csv(io.BytesIO(files[name])) for name in files if name.endswith(".csv"))):
        assert table.columns[-1] == "made_with"
        assert table["made_with"].tolist() == [MADE_WITH]
    assert f"Made with {MADE_WITH}." in files["seeds.html"].decode()


def test_every_hand_out_says_it():
    made = handouts(guide("other"), with_pdf=False)
    assert len(made) == 4
    assert all(f'<meta name="generator" content="{MADE_WITH}">' in html.decode() for html in made.values())
