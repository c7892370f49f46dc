"""The custody form: its fields, digests and cautions, the record of disposal, and the command that writes it."""

import hashlib
import html
import re
from datetime import UTC, datetime

import pytest

from edgestore.__main__ import main
from edgestore.documents.custody import FILE, LIST, MOST_SHOWN, custody_form
from edgestore.inputs.exported import read_exported

WHEN = datetime(2026, 3, 15, 14, 10, tzinfo=UTC)

REV_1_SECTION_4_8 = """Manufacturer; Model; Serial number; Media or property number; Media type; Media source;
Confidentiality before; Sanitization description; Method used; Tool used, with version; Verification method;
Confidentiality after; Destination afterwards; Data backed up; Position or title; Date; Location;
Phone or other contact; Signature; Sanitization; Verification"""
"""What NIST SP 800-88 Rev. 1, section 4.8, lists for a certificate of media disposition, in our words."""


def words(page):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page[page.index("<main>") :])).split())


def folder_of(tmp_path, names):
    folder = tmp_path / "export"
    folder.mkdir()
    for name in names:
        (folder / name).write_bytes(name.encode())
    return folder


def test_the_form_asks_for_who_when_what_and_the_clock():
    asked = words(custody_form())
    for field in (
        *("Camera, its serial number", "Card: serial number", "Housing: seal", "Offset of the clock", "how measured"),
        *("Time span from", "Time span to", "Taken by", "Taken when", "Received from", "From: name, signature"),
        *("To: name, signature", "Reader write-protected by", "Key handed over how", "Scene covered meanwhile by"),
        *("SHA-256", "no legal advice", "personal data", "Work at height", "power off before a card comes out"),
    ):
        assert field in asked, field


def test_the_record_of_disposal_has_what_the_standard_lists():
    told = words(custody_form())
    record = told[told.index("Record of disposal") :]
    assert [field for field in map(str.strip, REV_1_SECTION_4_8.split(";")) if field not in record] == []


def test_every_digest_of_few_files_and_that_of_the_list_stand_on_the_form(tmp_path):
    exported = read_exported(folder_of(tmp_path, ["clip_1.mp4", "clip_2.mp4"]))
    page = custody_form(exported, WHEN)
    for name in ("clip_1.mp4", "clip_2.mp4"):
        assert hashlib.sha256(name.encode()).hexdigest() in page
    listed = "".join(f"{hashlib.sha256(n.encode()).hexdigest()}  {n}\n" for n in ("clip_1.mp4", "clip_2.mp4"))
    assert hashlib.sha256(listed.encode()).hexdigest() in page
    assert "2 files in the folder export, 20 bytes, read on 2026-03-15 14:10 UTC" in words(page)


def test_many_files_are_counted_and_names_are_escaped(tmp_path):
    names = ["<b>bold</b>.mp4".replace("/", "-"), *(f"clip_{number:02d}.mp4" for number in range(MOST_SHOWN + 3))]
    page = custody_form(read_exported(folder_of(tmp_path, names)), WHEN)
    assert "<b>bold" not in page
    assert "&lt;b&gt;bold" in page
    # MOST_SHOWN + 4 files, of which MOST_SHOWN - 1 are shown.
    assert "And 5 files in that list." in words(page)
    assert page.count('class="digest">') - 1 == MOST_SHOWN  # the list among them, the heading not
    assert re.findall(r"(?:src|href)=", page) == []


def test_the_command_writes_form_and_list_and_leaves_the_folder_alone(tmp_path, capsys):
    folder = folder_of(tmp_path, ["clip.mp4"])
    (folder / "link").symlink_to("clip.mp4")
    assert main(["custody", str(folder), "--out", str(tmp_path / "form"), "--no-pdf"]) == 0
    assert sorted(path.name for path in (tmp_path / "form").iterdir()) == [FILE, LIST]
    assert sorted(path.name for path in folder.iterdir()) == ["clip.mp4", "link"]
    said = " ".join(capsys.readouterr().out.split())
    assert "1 file read, and nothing written to the folder." in said
    assert "Warning: link is a link, which was not followed" in said


def test_a_file_without_content_is_named_on_the_terminal(tmp_path, capsys):
    folder = folder_of(tmp_path, ["clip.mp4"])
    (folder / "cut.mp4").touch()
    assert main(["custody", str(folder), "--out", str(tmp_path / "form"), "--no-pdf"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Warning: cut.mp4 is empty" in said
    assert "clip.mp4 is empty" not in said


def test_without_a_folder_it_writes_a_form_to_fill_in(tmp_path):
    assert main(["custody", "--out", str(tmp_path), "--no-pdf"]) == 0
    assert [path.name for path in tmp_path.iterdir()] == [FILE]


@pytest.mark.parametrize("inside", [".", "form", "deep/form", "../export/form"])
def test_nothing_is_written_beside_what_is_handed_over(inside, tmp_path, capsys):
    folder = folder_of(tmp_path, ["clip.mp4"])
    assert main(["custody", str(folder), "--out", str(folder / inside), "--no-pdf"]) == 2
    assert "--out: found" in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["clip.mp4"]


@pytest.mark.landing
@pytest.mark.parametrize("names", [[], ["clip.mp4"], [f"{'W' * 120}_{number}.mp4" for number in range(40)]])
def test_custody_prints_on_one_page_and_disposal_on_a_second(names, tmp_path):
    weasyprint = pytest.importorskip("weasyprint")
    exported = read_exported(folder_of(tmp_path, names)) if names else None
    document = weasyprint.HTML(string=custody_form(exported, WHEN)).render()
    assert len(document.pages) == 2
