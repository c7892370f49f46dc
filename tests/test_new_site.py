"""A folder for a site of one's own, from making it to its plan."""

import io
import os
import re
import shutil
import tomllib
from pathlib import Path

import openpyxl
import pytest

from edgestore import InputError
from edgestore.__main__ import main
from edgestore.bundled import PACKAGE
from edgestore.inputs.camera_list import CAMERA_COLUMNS, read_cameras
from edgestore.inputs.card_list import CARD_COLUMNS
from edgestore.inputs.settings import TABLES, read_settings
from edgestore.inputs.site_folder import OWN_SITE, own_site, site_folder
from edgestore.new_lists import list_heading
from edgestore.new_settings import blank_settings, settings_workbook
from edgestore.new_site import EXAMPLE, FIRST_SHOWN, write_new_site
from edgestore.panels.typed import place_to_save


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sites") / "harbour"
    write_new_site(folder)
    return folder


def fill(path: Path, **cells: object) -> None:
    """Type a row under the headings of a list, as a reader does."""
    book = openpyxl.load_workbook(path)
    sheet = book.worksheets[0]
    headings = [cell.value for cell in sheet[1]]
    row = sheet.max_row + 1
    for name, value in cells.items():
        sheet.cell(row, headings.index(name.replace("_", " ")) + 1, value)
    book.save(path)


def test_lists_that_are_filled_in_under_their_headings_are_planned_without_further_words(tmp_path, capsys):
    folder = tmp_path / "harbour"
    assert main(["new", str(folder)]) == 0
    assert "README.txt, answers, cameras.xlsx, cards.xlsx, example, settings.xlsx" in capsys.readouterr().out
    assert main(["plan", str(folder)]) == 2
    assert "cameras.xlsx, sheet 'Cameras': found no row under the header" in capsys.readouterr().err
    fill(folder / "cameras.xlsx", Camera="gate", Place="main entrance", **{"Mean (Mbit/s)": 2, "Cap (Mbit/s)": 4})
    fill(
        folder / "cards.xlsx",
        Card="a 512 GB card",
        **{"Capacity (GB)": 512, "Endurance (TBW)": 900, "Speed class": "U3 V30"},
    )
    assert main(["plan", str(folder)]) == 0
    assert "Of 1 camera: ● 1 assured." in capsys.readouterr().out
    assert (folder / "plan" / "plan.csv").is_file()
    assert main(["propose", str(folder), "--no-pdf"]) == 0
    assert (folder / "proposal" / "proposal.html").is_file()


def test_the_example_is_the_demo_and_is_planned_as_it_stands(made, capsys):
    assert main(["plan", str(made / EXAMPLE), "--out", str(made.parent / "plan")]) == 0
    assert "Of 14 cameras: ● 12 assured, × 2 not served." in capsys.readouterr().out


@pytest.mark.parametrize("column", [*CAMERA_COLUMNS, *CARD_COLUMNS], ids=lambda column: column.name)
def test_a_heading_is_read_as_the_name_of_its_column(column):
    header = f"{list_heading(column)},camera\n".encode()
    with pytest.raises(InputError) as raised:  # no row follows; what is told tells whether the heading was known
        read_cameras(header) if column in CAMERA_COLUMNS else _read_cards(header)
    assert not any("not used" in str(fault) for fault in raised.value.faults)
    assert list_heading(column)[0].isupper()


def _read_cards(header: bytes) -> None:
    from edgestore.inputs.card_list import read_cards

    read_cards(header)


def test_the_sheet_tells_what_each_column_means_and_offers_the_words_of_a_choice(made):
    sheet = openpyxl.load_workbook(made / "cameras.xlsx").worksheets[0]
    headings = {cell.value: cell for cell in sheet[1]}
    assert len(headings) == len(CAMERA_COLUMNS)
    assert [*headings][: len(FIRST_SHOWN)][:4] == ["Camera", "Place", "Mean (Mbit/s)", "Cap (Mbit/s)"]
    assert "what the camera sees" in headings["Scene"].comment.text
    assert "must be filled in" in headings["Camera"].comment.text
    offered = {rule.formula1 for rule in sheet.data_validations.dataValidation if rule.type == "list"}
    assert '"quiet,busy,noisy night,unknown"' in offered
    assert '"yes,no"' in offered
    bounds = [(r.formula1, r.formula2) for r in sheet.data_validations.dataValidation if r.type == "decimal"]
    assert ("0", "200") in bounds  # a rate, as data/README.md says: above 0 to 200 Mbit/s


def test_the_settings_ask_what_is_asked_by_default_and_name_every_key():
    text = blank_settings()
    assert read_settings(text.encode()).requirements == {
        "retention_days": 7,
        "life_years": 3,
        "speed_margin": 10,
        "assurance": 0.9,
    }
    named = {line.lstrip("# ").partition(" =")[0] for line in text.splitlines() if " =" in line}
    assert named >= {key.name for keys in TABLES.values() for key in keys}
    stated = text.replace("# [costs]", "[costs]").replace("# visit_price =", "visit_price = 60")
    stated = stated.replace("# visit_with_lift_price =", "visit_with_lift_price = 260")
    assert tomllib.loads(stated)["costs"] == {"visit_price": 60, "visit_with_lift_price": 260}


def test_every_default_of_the_settings_to_fill_in_is_read_as_it_stands():
    lines = blank_settings().splitlines()
    bare = "\n".join(line.removeprefix("# ") for line in lines if re.match(r"# (\[[a-z_]+\]$|\w+ = \S)", line))
    asked = "[costs]\nvisit_price = 60\nvisit_with_lift_price = 260\n"
    outage = '[outage]\nrecorder_mtbf_h = 8760\nrepair_law = "exponential"\nrepair_mean_h = 24\n'
    stated = bare.replace("[costs]\n", asked).replace("[outage]\n", outage)
    assert "listed_mean = [0.769, 1.3]" in stated
    assert "maps_by_page = 0.333" in stated
    assert "visit_price, our guess" not in stated
    assert read_settings(stated.encode()).beliefs["update_interval"].low == pytest.approx(1)


def test_settings_to_fill_in_say_the_same_as_a_workbook_and_as_toml():
    sheet = openpyxl.load_workbook(io.BytesIO(settings_workbook())).worksheets[0]
    rows = [dict(zip((cell.value for cell in sheet[1]), values, strict=True)) for values in sheet.values][1:]
    assert read_settings(settings_workbook()) == read_settings(blank_settings().encode())
    keys = [key for table in TABLES.values() for key in table]
    assert [row["Meaning"].lower() for row in rows] == [key.help.lower() for key in keys]
    assert [row["Unit"] or "" for row in rows] == [key.unit for key in keys]
    offered = {rule.formula1: str(rule.sqref) for rule in sheet.data_validations.dataValidation if rule.type == "list"}
    law = 2 + [key.name for key in keys].index("repair_law")
    assert offered['"exponential,lognormal,working hours"'] == f"D{law}"


def test_settings_of_a_folder_stand_in_a_workbook_or_in_toml_and_not_in_both(made, tmp_path, capsys):
    folder = tmp_path / "yard"
    shutil.copytree(made / EXAMPLE, folder)
    assert site_folder(folder).settings == folder / "site.toml"
    (folder / "settings.xlsx").write_bytes(settings_workbook())
    assert main(["plan", str(folder)]) == 2
    told = capsys.readouterr().err
    assert "found settings in settings.xlsx and in site.toml; allowed: one of them" in told
    assert "Delete site.toml if settings.xlsx is the one you fill in; else delete settings.xlsx." in told


def test_lists_as_csv_are_made_on_request(tmp_path):
    write_new_site(tmp_path / "site", as_csv=True)
    first = (tmp_path / "site" / "cameras.csv").read_text().split(",")
    assert first[:2] == ["camera", "place"]
    assert not list((tmp_path / "site").glob("*.xlsx"))
    assert site_folder(tmp_path / "site").settings == tmp_path / "site" / "site.toml"


def test_the_next_command_names_the_folder_that_was_made(tmp_path, capsys):
    assert main(["new", str(tmp_path / "tram depot"), "--csv"]) == 0
    assert f"edgestore plan '{tmp_path / 'tram depot'}'" in " ".join(capsys.readouterr().out.split())


def test_nothing_is_ever_written_over(tmp_path, capsys):
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "notes.txt").write_text("mine")
    assert main(["new", str(tmp_path / "site")]) == 2
    assert "or a folder that is not empty; allowed: a new or empty folder" in capsys.readouterr().err
    assert [path.name for path in tmp_path.rglob("*")] == ["site", "notes.txt"]
    (tmp_path / "empty").mkdir()
    assert main(["new", str(tmp_path / "empty")]) == 0


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="whoever is root may write anywhere")
def test_a_place_that_may_not_be_written_to_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(InputError, match="a folder to write"):
        write_new_site(tmp_path / "site")


def test_a_folder_without_a_list_or_with_two_is_refused(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text("camera,cap_mbit_s\ngate,4\n")
    (tmp_path / "cameras.ods").write_text("")
    assert main(["plan", str(tmp_path)]) == 2
    told = capsys.readouterr().err
    assert "found 2 lists: cameras.ods, cameras.csv; allowed: one of cameras.xlsx, cameras.ods or cameras.csv" in told
    assert "found no list of the cards; allowed: one of cards.xlsx" in told


def test_a_folder_without_a_card_list_takes_one_from_elsewhere(made, tmp_path):
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "cameras.csv").write_text("camera,cap_mbit_s\ngate,4\n")
    assert main(["plan", str(folder), "--cards", str(made / EXAMPLE / "cards.csv")]) == 0
    assert (folder / "plan" / "plan.csv").is_file()


def test_sites_may_share_a_card_list_in_the_folder_above_and_one_of_their_own_comes_first(tmp_path):
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "cameras.csv").write_text("camera,cap_mbit_s\ngate,4\n")
    (tmp_path / "cards.csv").write_text("")
    assert site_folder(folder).cards == tmp_path / "cards.csv"
    (folder / "cards.xlsx").write_text("")
    assert site_folder(folder).cards == folder / "cards.xlsx"


def test_a_camera_list_alone_needs_the_cards_and_a_place_to_write(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text("camera,cap_mbit_s\ngate,4\n")
    assert main(["plan", str(tmp_path / "cameras.csv")]) == 2
    told = capsys.readouterr().err
    assert "--cards: found nothing" in told
    assert "--out: found nothing" in told


def test_the_pages_start_from_the_site_that_the_workbook_was_opened_with(made, tmp_path, monkeypatch):
    monkeypatch.delenv(OWN_SITE, raising=False)
    assert own_site() is None
    monkeypatch.setenv(OWN_SITE, str(made))
    assert own_site() == site_folder(made)
    assert site_folder(made).settings == made / "settings.xlsx"
    monkeypatch.setenv(OWN_SITE, str(tmp_path))  # the lists are gone since
    assert own_site() is None


def test_a_page_saves_to_the_own_site_else_where_it_runs_and_never_into_the_package(made, tmp_path, monkeypatch):
    monkeypatch.setenv(OWN_SITE, str(made))
    assert place_to_save("plan") == str(made / "plan")
    monkeypatch.delenv(OWN_SITE)
    monkeypatch.chdir(tmp_path)
    assert place_to_save("plan") == str(tmp_path / "plan")
    monkeypatch.chdir(PACKAGE / "panels")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert place_to_save("plan") == str(tmp_path / "edgestore" / "plan")
