"""The custody form: its fields, digests and cautions, the record of disposal, and the command that writes it."""

import hashlib
import html
import json
import os
import re
import shutil
import subprocess
import tomllib
import unicodedata
from datetime import UTC, datetime
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.extract import extract_from_file

from edgestore.__main__ import main
from edgestore.documents import custody
from edgestore.documents.custody import FILE, FORM, LIST, LONGEST, MOST_NOTICED, MOST_SHOWN, custody_form, noticed
from edgestore.documents.language import language
from edgestore.inputs.exported import Exported, ExportedFile, read_exported
from edgestore.text import MADE_WITH, SHOWN

HOUSE = Path(__file__).parents[2]
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


def with_odd_names(tmp_path):
    """A folder with umlauts, blanks, an empty file, five folders deep, a link, a name that is no UTF-8, no file."""
    folder = tmp_path / "Export Süd"
    deep = folder / "a" / "b" / "c" / "d" / "e"
    deep.mkdir(parents=True)
    (folder / "camera 3").mkdir()
    for name in ("Tor Süd, Überführung.mp4", "clip 1.mp4", "a/b/c/d/e/deep.mp4", os.fsdecode(b"\xff.mp4")):
        (folder / name).write_bytes(os.fsencode(name))
    (folder / "empty.mp4").touch()
    (folder / "link.mp4").symlink_to("clip 1.mp4")
    return folder


NOTICED = [
    "empty.mp4 is empty: was it exported whole?",
    "link.mp4 is a link to clip 1.mp4, which was not followed: export what it leads to.",
    "The folder camera 3 has no file in it: was it exported whole?",
    f"{SHOWN}.mp4 has characters in its name that cannot be printed; sha256sums.txt has it byte for byte.",
]


def test_the_form_asks_for_who_when_what_and_the_clock():
    asked = words(custody_form())
    for field in (
        *("Camera, its serial number", "Card: serial number", "Housing: seal", "Offset of the clock", "how measured"),
        *("Case or incident", "Exhibit number", "Digests worked out by", "On which machine", "date, time, zone"),
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
    assert f"2 files in the folder export, 20 bytes, read by {MADE_WITH}" in words(page)
    assert "until 2026-03-15 14:10 UTC, by the clock of the machine. All digests (SHA-256, FIPS 180-4)" in words(page)


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
    assert "1 file read, and nothing written to the folder." in " ".join(capsys.readouterr().out.split())


def check(command, folder):
    """Run a command of a shell in a folder: how it ends, and the names that it confirms."""
    done = subprocess.run(["sh", "-c", command], cwd=folder, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout.splitlines()


@pytest.mark.skipif(not shutil.which("sha256sum"), reason="no sha256sum: apt install coreutils")
def test_the_command_on_the_form_checks_the_files_where_the_form_says_and_notices_a_change(tmp_path, monkeypatch):
    folder_of(tmp_path, ["clip 1.mp4", "clip_2.mp4"])
    monkeypatch.chdir(tmp_path)
    assert main(["custody", "export", "--out", "kept/form", "--no-pdf"]) == 0
    form = Path("kept/form", FILE).read_text(encoding="utf-8")
    assert "put that list beside the folder; then, inside the folder: sha256sum" in words(form)
    (command,) = re.findall(r"<code>(sha256sum .+?)</code>", form)
    shutil.copy(Path("kept/form", LIST), tmp_path)
    assert check(command, tmp_path / "export") == (0, ["clip 1.mp4: OK", "clip_2.mp4: OK"])
    (tmp_path / "export" / "clip 1.mp4").write_bytes(b"other")
    assert check(command, tmp_path / "export") == (1, ["clip 1.mp4: FAILED", "clip_2.mp4: OK"])


@pytest.mark.skipif(not shutil.which("sha256sum"), reason="no sha256sum: apt install coreutils")
@pytest.mark.parametrize("is_relative", [True, False])
def test_the_command_on_the_page_checks_the_files_where_the_form_was_written(tmp_path, monkeypatch, is_relative):
    notebook = json.loads((HOUSE / "notebooks" / "how_do_i_get_the_footage_off.ipynb").read_text(encoding="utf-8"))
    text = "".join(line for cell in notebook["cells"] for line in cell["source"])
    (command,) = re.findall(r"> `(.*sha256sum --check.*)`", text)
    folder_of(tmp_path, ["clip.mp4"])
    monkeypatch.chdir(tmp_path)
    folder, form = ("export", "form") if is_relative else (str(tmp_path / "export"), str(tmp_path / "form"))
    assert main(["custody", folder, "--out", form, "--no-pdf"]) == 0
    assert check(command.replace("FOLDER", folder).replace("FORM", form), tmp_path) == (0, ["clip.mp4: OK"])


def test_all_that_was_noticed_is_on_the_form_and_on_the_terminal(tmp_path, capsys):
    folder = with_odd_names(tmp_path)
    assert noticed(read_exported(folder)) == NOTICED
    assert main(["custody", str(folder), "--out", str(tmp_path / "form"), "--no-pdf"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    form = words((tmp_path / "form" / FILE).read_text(encoding="utf-8"))
    assert len(NOTICED) > MOST_NOTICED
    first, last = form.split("All that was noticed while reading the exported files")
    for text in NOTICED:
        assert f"Warning: {text}" in said
        assert text in last
    assert [text for text in NOTICED if text in first] == NOTICED[:MOST_NOTICED]
    assert "All 4 of these are at the end of this form." in first


def test_a_form_of_plain_files_says_what_was_looked_for_and_not_found(tmp_path):
    page = words(custody_form(read_exported(folder_of(tmp_path, ["clip.mp4"])), WHEN))
    assert "no empty file, no link, no empty folder, no name that cannot be printed" in page
    assert "All that was noticed" not in page


@pytest.mark.parametrize(
    "pair", [("gate.mp4", "Gate.mp4"), tuple(unicodedata.normalize(form, "Tür.mp4") for form in ("NFC", "NFD"))]
)
def test_names_that_some_systems_take_for_one_are_noticed(pair):
    files = tuple(ExportedFile(name=name, size_bytes=1, sha256="") for name in pair)
    assert [text for text in noticed(Exported(folder=Path(), files=files)) if "look alike" in text]


def test_long_names_on_the_form_keep_the_end_that_tells_them_apart(tmp_path):
    names = [f"{'long' * 20}_{number}.mp4" for number in range(3)]
    page = words(custody_form(read_exported(folder_of(tmp_path, names)), WHEN))
    shown = re.findall(r"long\S*…\S*", page)
    assert len(set(shown)) == 3
    assert {len(name) for name in shown} == {LONGEST}


def test_who_ran_it_and_where_is_as_told_and_else_a_line_to_fill_in(tmp_path, monkeypatch):
    monkeypatch.setenv("USER", "login-of-this-machine")
    monkeypatch.setenv("HOSTNAME", "name-of-this-machine")
    told = ["--by", "A. Example", "--machine", "desk 4, clock +2 s", "--no-pdf"]
    assert main(["custody", "--out", str(tmp_path / "told"), *told]) == 0
    assert main(["custody", "--out", str(tmp_path / "blank"), "--no-pdf"]) == 0
    told, blank = ((tmp_path / folder / FILE).read_text(encoding="utf-8") for folder in ("told", "blank"))
    assert '<td class="blank">A. Example</td>' in told
    assert '<td class="blank">desk 4, clock +2 s</td>' in told
    asked = 'ran the program)</span></th><td class="blank"></td>'
    assert asked in blank
    assert asked not in told
    assert "of-this-machine" not in told + blank
    assert os.uname().nodename not in words(blank).split()


@pytest.mark.parametrize("option", ["--by", "--machine"])
@pytest.mark.parametrize("text", ["two\nlines", "w" * 101, "\x1b[31m"])
def test_who_and_where_are_one_printable_line(option, text, tmp_path, capsys):
    assert main(["custody", "--out", str(tmp_path / "form"), option, text, "--no-pdf"]) == 2
    assert option in capsys.readouterr().err
    assert not (tmp_path / "form").exists()


def test_each_page_says_its_number_the_version_and_the_list_that_it_belongs_to(tmp_path):
    # In plain CSS, which a browser prints too: Chromium knows neither string-set nor string().
    exported = read_exported(folder_of(tmp_path, ["clip.mp4"]))
    page = custody_form(exported, WHEN, language=language("de"))
    digest = hashlib.sha256(f"{hashlib.sha256(b'clip.mp4').hexdigest()}  clip.mp4\n".encode()).hexdigest()
    assert f'@bottom-left {{ content: "{MADE_WITH}; {LIST} {digest[:16]}…"; }}' in page
    assert '@bottom-right { content: "Seite " counter(page) " von " counter(pages); }' in page


def texts_of(value):
    """Texts of the form's file, but for the names of what is filled in."""
    if isinstance(value, str):
        return {value} - {""}
    parts = value if isinstance(value, list) else [part for key, part in value.items() if key != "given"]
    return set().union(*(texts_of(part) for part in parts if not isinstance(part, int)))


def test_every_text_of_the_form_has_its_german_and_the_page_keeps_its_fields(tmp_path):
    german, calls = language("de"), {"say": None, "many": (1, 2)}
    template = custody.TEMPLATE / "custody.html.j2"
    texts = texts_of(tomllib.loads(FORM.read_text(encoding="utf-8")))
    for kind, file in (("jinja2.ext:babel_extract", template), ("python", Path(custody.__file__))):
        texts |= {text for _, text, _, _ in extract_from_file(kind, file, calls) if isinstance(text, str)}
    assert len(texts) > 100
    same = {"Bytes", "clear / purge / destroy"}  # in both languages
    assert [text for text in texts - same if german.say(text) == text] == []
    braces = {text: {name for _, name, _, _ in Formatter().parse(text) if name} for text in texts}
    assert [
        text for text in texts if {n for _, n, _, _ in Formatter().parse(german.say(text)) if n} != braces[text]
    ] == []
    exported = read_exported(with_odd_names(tmp_path))
    forms = [custody_form(exported, WHEN, language=language(code)) for code in ("en", "de")]
    assert [form.count("<td") for form in forms] == [forms[0].count("<td")] * 2
    assert '<html lang="de"' in forms[1]


@pytest.mark.parametrize("name", [FILE, "custody.pdf", LIST])
def test_a_form_that_may_have_been_signed_is_not_written_over(name, tmp_path, capsys):
    folder, form = folder_of(tmp_path, ["clip.mp4"]), tmp_path / "form"
    form.mkdir()
    (form / name).write_text("of the export before")
    assert main(["custody", str(folder), "--out", str(form), "--no-pdf"]) == 2
    assert "a file that is there" in capsys.readouterr().err
    assert [(path.name, path.read_text()) for path in form.iterdir()] == [(name, "of the export before")]


def test_another_language_is_refused(tmp_path, capsys):
    assert main(["custody", "--out", str(tmp_path / "form"), "--language", "fr", "--no-pdf"]) == 2
    assert "--language" in capsys.readouterr().err


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
@pytest.mark.parametrize("code", ["en", "de"])
@pytest.mark.parametrize("names", [[], ["clip.mp4"], [f"{'W' * 120}_{number}.mp4" for number in range(40)]])
def test_custody_prints_on_one_page_and_disposal_on_a_second(names, code, tmp_path):
    weasyprint = pytest.importorskip("weasyprint")
    exported = read_exported(folder_of(tmp_path, names)) if names else None
    page = custody_form(exported, WHEN, by="W" * 30, machine="m " * 50, language=language(code))
    assert len(weasyprint.HTML(string=page).render().pages) == 2


@pytest.mark.landing
@pytest.mark.parametrize("code", ["en", "de"])
def test_with_much_noticed_custody_still_prints_on_one_page_and_all_of_it_on_the_third(code, tmp_path):
    weasyprint = pytest.importorskip("weasyprint")
    names = [f"{'W' * 100}_{number}.mp4" for number in range(40)]
    folder = folder_of(tmp_path, names)
    for number in range(9):
        (folder / f"{'M' * 90}_{number}").symlink_to(names[0])
    page = custody_form(read_exported(folder), WHEN, by="A. Example", machine="desk 4", language=language(code))
    document = weasyprint.HTML(string=page).render()
    assert len(document.pages) == 3


def test_the_table_of_disposal_says_first_that_what_may_be_evidence_is_kept():
    rows = tomllib.loads(FORM.read_text(encoding="utf-8"))["disposal"]["rows"]
    assert rows[0][:2] == ["may be evidence, or is in dispute", "keep it"]
