"""The pack as a whole, and the command that writes it."""

import csv
import io
import re
import shutil
import sys
from dataclasses import replace
from datetime import date

import pytest
from proposals import DEMO, HOSTILE, demo, hostile, once, without_pdf

from edgestore import InputError
from edgestore.__main__ import main
from edgestore.documents import pack as packs
from edgestore.documents.front import Logo
from edgestore.documents.pack import pack
from edgestore.documents.page import page

CAMERAS, CARDS, SITE = map(str, DEMO)
FILES = [
    "README.txt",
    "beliefs.csv",
    "input_cameras.csv",
    "input_cards.csv",
    "input_encoder_1.xml",
    "input_encoder_2.sdp",
    "input_event_log_1.csv",
    "input_service_log.csv",
    "input_settings.toml",
    "inputs.json",
    "pack.json",
    "plan.csv",
    "plan.xlsx",
    "proposal.html",
    "proposal.pdf",
    "replacements.csv",
    "specification.csv",
    "untested_card.csv",
    "visits.ics",
]
OF_THE_DEMO = {"proposal.pdf", *(name for name in FILES if "encoder" in name or "_log" in name), "replacements.csv"}
"""What a small site has not."""


def propose(cameras, *words):
    return main(["propose", str(cameras), "--cards", CARDS, *map(str, words)])


def held(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture
def small(tmp_path):
    """Give a list of one camera, where it does not matter which site is planned."""
    cameras = tmp_path / "cameras.csv"
    cameras.write_text("camera,mean_mbit_s\nGate,2\n")
    return cameras


@pytest.mark.pdf
@pytest.mark.landing
def test_propose_writes_the_pack_and_says_what_to_take_care_of(proposed):
    folder, told = proposed
    assert sorted(path.name for path in folder.iterdir()) == FILES
    assert "proposal.pdf" in told
    assert "Warning: No card of the list can serve" in told
    assert "Dated 2026-11-25" in told


@pytest.mark.pdf
@pytest.mark.landing
def test_a_pack_replaces_the_former_one_and_the_same_input_gives_the_same_bytes(proposed, small, tmp_path):
    # That the demo's are the same in another process stands in test_pdf.py.
    (tmp_path / "site.toml").write_text("[document]\ndate = 2024-02-29\n")
    shutil.copytree(proposed[0], tmp_path / "pack")
    packs = []
    for _ in range(2):
        assert propose(small, "--settings", tmp_path / "site.toml", "--out", tmp_path / "pack", "--no-pdf") == 0
        packs.append(held(tmp_path / "pack"))
    assert set(FILES) - set(packs[0]) == OF_THE_DEMO
    assert packs[0] == packs[1]


def test_without_settings_the_pack_has_a_title_of_its_own_and_the_date_of_today(small, tmp_path):
    today = {str(date.today())}
    assert propose(small, "--out", tmp_path / "pack", "--no-pdf") == 0
    today.add(str(date.today()))  # it may be midnight
    html = (tmp_path / "pack" / "proposal.html").read_text()
    assert "Memory cards for cameras that record on their own" in html
    assert set(re.findall(r"20\d\d-\d\d-\d\d", html)) & today


def test_another_policy_on_kinds_changes_the_proposal(tmp_path):
    (tmp_path / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s,slot_bus\nGate,1,1,sdr104\nQuay,4,4,sdr104\n")
    told = {}
    for words in ((), ("--kinds", "site")):
        assert propose(tmp_path / "cameras.csv", "--out", tmp_path / "pack", "--no-pdf", *words) == 0
        told[words] = (tmp_path / "pack" / "proposal.html").read_text()
    assert "a card for each camera" in told[()]  # the policy without the option
    assert "one kind for the site" in told["--kinds", "site"]
    assert "one kind for the site" not in told[()]


def test_a_refusal_writes_nothing(small, tmp_path, capsys):
    (tmp_path / "site.toml").write_text('[document]\nlogo = "none.png"\n')
    assert propose(small, "--settings", tmp_path / "site.toml", "--out", tmp_path / "pack") == 2
    assert "none.png: found no such file" in capsys.readouterr().err
    assert not (tmp_path / "pack").exists()
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter.txt").write_text("mine")
    assert propose(small, "--out", tmp_path / "mine", "--no-pdf") == 2
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["letter.txt"]


def test_without_the_libraries_of_the_extra_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "edgestore.documents.workbook", None)
    with pytest.raises(InputError, match=r"Install the extra: pip install 'edgestore\[proposal\]'"):
        pack(demo(), with_pdf=False)


def test_a_missing_library_is_told_before_the_cards_are_chosen(small, tmp_path, monkeypatch, capsys):
    """It took 55 s until it was told: the plan was worked out first."""
    monkeypatch.setattr("edgestore.documents.pack.missing_libraries", lambda: ("icalendar", "weasyprint"))
    monkeypatch.setattr("edgestore.plan.site_plan.site_plan", None)
    assert propose(small, "--out", tmp_path / "pack") == 2
    assert "found no icalendar; " in capsys.readouterr().err


def test_every_name_is_in_the_csv_and_none_begins_a_formula():
    text = once(without_pdf, hostile()).files["plan.csv"].decode()
    names = [row["camera"] for row in csv.DictReader(io.StringIO(text))]
    assert [name.removeprefix("'") if name[1:2] in "=+-@" else name for name in names] == HOSTILE
    assert not [name for name in names if name[0] in "=+-@"]


def test_file_names_are_those_of_the_program_alone():
    assert set(once(without_pdf, hostile()).files) == {*FILES} - {"pack.json", *OF_THE_DEMO}


def test_letters_that_no_font_has_are_told(monkeypatch):
    monkeypatch.setattr(packs, "pdf", lambda _: b"")  # that such a letter is printed as a box stands in test_pdf.py
    plan = replace(demo().plan, plan=demo().plan.plan.assign(place="\U0010fffe"))
    notes = pack(replace(demo(), plan=plan, specifications=demo().specifications.assign(place="\U0010fffe"))).notes
    assert len(notes) == 1
    assert "U+10FFFE" in notes[0]


def test_a_logo_stands_in_the_page_itself():
    html = page(replace(demo(), front=replace(demo().front, logo=Logo("image/png", b"bytes"))))
    assert '<img class="logo" src="data:image/png;base64,Ynl0ZXM=" alt="Invented Harbour Works">' in html
