"""The panel of the proposal: the document follows the choices, and the pack is written or refused."""

import re
import sys
from base64 import b64decode
from html import unescape
from pathlib import Path

import pytest

from edgestore import InputError
from edgestore.documents import pack as packs
from edgestore.panels.proposal import proposal_panel

pytestmark = pytest.mark.usefixtures("two_cameras")


@pytest.fixture(scope="module")
def untouched(two_cameras):
    """Give a panel as it opens, to all tests that only look."""
    return proposal_panel()


@pytest.fixture
def panel(tmp_path):
    made = proposal_panel()  # nothing runs that could call later, so that each change is shown at once
    made.folder.value = str(tmp_path / "pack")
    return made


def shown(panel):
    return unescape(re.search(r'srcdoc="(.*?)"', panel.document.value, flags=re.DOTALL)[1])


def test_the_document_follows_the_choices(panel):
    before = shown(panel), panel.sentence.value, panel.picture.value
    panel.controls["retention_days"].value = 12
    assert shown(panel) != before[0]
    assert panel.sentence.value != before[1]
    assert panel.picture.value != before[2]
    panel.controls["kinds"].value = "site"
    assert "one kind for the site" in shown(panel)


def test_an_alternative_stands_beside_the_plan_and_one_that_cannot_be_read_is_told(panel):
    assert 'id="alternatives"' not in shown(panel)
    other = Path(panel.controls["cards"].value).name
    panel.controls["against"].value = panel.controls["cards"].value
    section = shown(panel).partition('id="alternatives"')[2].partition("</section>")[0]
    assert "this proposal" in section
    assert other in section
    panel.controls["against"].value = "none.toml"
    assert "none.toml" in panel.link.value
    assert panel.document.value == ""


def test_nothing_runs_in_the_document_that_is_shown(untouched):
    assert 'sandbox=""' in untouched.document.value
    assert "<script" not in shown(untouched)


def test_the_download_is_the_document_that_is_shown(untouched):
    address = re.search(r'href="data:text/html;base64,(.*?)"', untouched.link.value)[1]
    assert b64decode(address).decode() == shown(untouched)


def test_a_refused_choice_leaves_the_last_good_document_and_nothing_to_take_along(panel):
    before = shown(panel)
    panel.controls["cards"].value = "none.csv"
    assert shown(panel) == before
    assert "the last good settings" in panel.refusal.value
    assert panel.link.value == ""
    panel._save()
    assert panel.saved.value == ""


def test_the_button_writes_the_pack_and_refuses_a_folder_of_the_users(panel, tmp_path, monkeypatch):
    monkeypatch.setattr(packs, "pdf", str.encode)  # the printing itself stands in tests/documents
    panel.save.click()
    assert "Written" in panel.saved.value
    assert (tmp_path / "pack" / "plan.xlsx").is_file()
    assert (tmp_path / "pack" / "proposal.pdf").read_bytes() == (tmp_path / "pack" / "proposal.html").read_bytes()
    (tmp_path / "pack" / "letter.txt").write_text("mine")
    panel.save.click()
    assert "files that edgestore did not write (letter.txt)" in panel.saved.value


def test_a_missing_extra_is_found_when_the_panel_opens_with_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    made = proposal_panel()
    assert 'role="alert"' in made.saved.value
    assert "xlsxwriter" in made.saved.value
    assert "pip install &#x27;edgestore[proposal]&#x27;" in made.saved.value
    assert made.save.disabled
    made.controls["retention_days"].value = 12
    assert made.save.disabled
    assert "<h2" in shown(made)  # the document itself needs no library of the extra


def test_without_weasyprint_alone_the_panel_says_on_opening_that_there_will_be_no_pdf(monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    made = proposal_panel()
    assert "without its PDF" in made.saved.value
    assert not made.save.disabled


def test_with_the_extra_the_panel_opens_without_a_word_about_it(untouched):
    assert untouched.saved.value == ""


def test_where_nothing_prints_the_pack_is_written_without_the_pdf_and_says_so(panel, tmp_path, monkeypatch):
    def no_printer(_):
        raise InputError([])

    monkeypatch.setattr(packs, "pdf", no_printer)
    panel.save.click()
    assert "Without the PDF." in panel.saved.value
    assert not (tmp_path / "pack" / "proposal.pdf").exists()
    assert (tmp_path / "pack" / "proposal.html").is_file()
