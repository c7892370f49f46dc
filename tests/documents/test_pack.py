"""The pack as a whole, and the command that writes it."""

import csv
import io
import sys
from dataclasses import replace

import pytest
from proposals import DEMO, HOSTILE, demo, hostile, needs_printing

from edgestore import InputError
from edgestore.__main__ import main
from edgestore.documents import pack as packs
from edgestore.documents.front import Logo
from edgestore.documents.pack import pack
from edgestore.documents.page import page

CAMERAS, CARDS, SITE = map(str, DEMO)
FILES = ["beliefs.csv", "dates.ics", "pack.json", "plan.csv", "plan.xlsx", "proposal.html", "proposal.pdf"]


def propose(*words):
    return main(["propose", CAMERAS, "--cards", CARDS, *map(str, words)])


@pytest.mark.pdf
def test_propose_writes_the_pack_and_says_what_to_take_care_of(tmp_path, capsys):
    needs_printing()
    assert propose("--settings", SITE, "--out", tmp_path / "pack") == 0
    assert sorted(path.name for path in (tmp_path / "pack").iterdir()) == FILES
    told = capsys.readouterr().out
    assert "proposal.pdf" in told
    assert "Warning: No card of the list can serve" in told
    assert "Dated 2026-11-25" in told


def test_the_same_input_gives_the_same_bytes_and_replaces_the_former_pack(tmp_path):
    assert propose("--settings", SITE, "--out", tmp_path / "pack", "--no-pdf") == 0
    before = {path.name: path.read_bytes() for path in (tmp_path / "pack").iterdir()}
    assert propose("--settings", SITE, "--out", tmp_path / "pack", "--no-pdf") == 0
    assert {path.name: path.read_bytes() for path in (tmp_path / "pack").iterdir()} == before
    assert "proposal.pdf" not in before


def test_without_settings_the_pack_has_a_title_of_its_own_and_the_date_of_today(tmp_path, capsys):
    assert propose("--out", tmp_path / "pack", "--no-pdf") == 0
    assert "Memory cards for cameras that record on their own" in (tmp_path / "pack" / "proposal.html").read_text()


def test_another_policy_on_kinds_changes_the_proposal(tmp_path):
    for kinds in ("camera", "site"):
        assert propose("--settings", SITE, "--out", tmp_path / kinds, "--no-pdf", "--kinds", kinds) == 0
    assert "a card for each camera" in (tmp_path / "camera" / "proposal.html").read_text()
    assert "1 for 9 cameras (one kind for the site)" in (tmp_path / "site" / "proposal.html").read_text()


def test_a_refusal_writes_nothing(tmp_path, capsys):
    (tmp_path / "site.toml").write_text('[document]\nlogo = "none.png"\n')
    assert propose("--settings", tmp_path / "site.toml", "--out", tmp_path / "pack") == 2
    assert "none.png: found No such file" in capsys.readouterr().err
    assert not (tmp_path / "pack").exists()
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("mine")
    assert propose("--out", tmp_path / "mine", "--no-pdf") == 2
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_without_the_libraries_of_the_extra_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "edgestore.documents.workbook", None)
    with pytest.raises(InputError, match=r"Install the extra: pip install 'edgestore\[proposal\]'"):
        pack(demo(), with_pdf=False)


def test_every_name_is_in_the_csv_and_none_begins_a_formula():
    text = pack(hostile(), with_pdf=False).files["plan.csv"].decode()
    names = [row["camera"] for row in csv.DictReader(io.StringIO(text))]
    assert [name.removeprefix("'") if name[1:2] in "=+-@" else name for name in names] == HOSTILE
    assert not [name for name in names if name[0] in "=+-@"]


def test_file_names_are_those_of_the_program_alone():
    assert set(pack(hostile(), with_pdf=False).files) == {
        "beliefs.csv",
        "dates.ics",
        "plan.csv",
        "plan.xlsx",
        "proposal.html",
    }


def test_letters_that_no_font_has_are_told(monkeypatch):
    monkeypatch.setattr(packs, "pdf", lambda _: b"")  # that such a letter is printed as a box stands in test_pdf.py
    plan = replace(demo().plan, plan=demo().plan.plan.assign(place="\U0010fffe"))
    notes = pack(replace(demo(), plan=plan, specifications=demo().specifications.assign(place="\U0010fffe"))).notes
    assert len(notes) == 1
    assert "U+10FFFE" in notes[0]


def test_a_logo_stands_in_the_page_itself():
    html = page(replace(demo(), front=replace(demo().front, logo=Logo("image/png", b"bytes"))))
    assert '<img class="logo" src="data:image/png;base64,Ynl0ZXM=" alt="Invented Harbour Works">' in html
