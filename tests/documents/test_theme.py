"""The style of a house: what it states is shown everywhere, and what cannot be read on paper is refused."""

import datetime
import io
import re
import zipfile
from dataclasses import replace
from pathlib import Path

import matplotlib as mpl
import pytest
from proposals import DAY, demo, once

from edgestore import InputError
from edgestore.documents.front import front_page
from edgestore.documents.page import page
from edgestore.documents.theme import Theme, read_theme
from edgestore.documents.workbook import workbook
from edgestore.inputs.settings import Document, read_settings
from edgestore.look import LIGHT

UNTIL = datetime.date(2027, 2, 28)


def themed(tmp_path, text):
    file = tmp_path / "theme.toml"
    file.write_text(text, encoding="utf-8")
    return read_theme(file)


def styled(**changed):
    return replace(demo(), front=replace(demo().front, **changed))


def identified():
    return styled(client="Invented Ferries", reference="T-14", revision="B", valid_until=UNTIL)


def test_client_reference_revision_and_validity_stand_in_the_head_the_running_head_and_the_properties():
    html = once(page, identified())
    head = html.partition("</header>")[0]
    for text in ("Invented Ferries", "T-14", "2027-02-28"):
        assert text in head.partition("<h1>")[2]
    assert re.search(r'class="running"[^>]*>[^<]*, T-14, revision B</p>', html)
    assert {'name="client"', 'name="reference"', 'name="revision"', 'name="valid-until"'} <= set(
        re.findall(r'name="[\w-]+"', html)
    )
    assert "This proposal is valid until 2027-02-28." in html


def test_what_is_not_stated_takes_no_place():
    html = once(page, demo())
    assert html.count('class="maker"') == 1
    assert "Valid until" not in html


def test_the_spreadsheet_bears_them_in_its_properties_and_on_its_first_sheet():
    with zipfile.ZipFile(io.BytesIO(workbook(identified()))) as file:
        own = file.read("docProps/custom.xml").decode()
        texts = file.read("xl/sharedStrings.xml").decode()
    for name, value in (("Client", "Invented Ferries"), ("Reference", "T-14"), ("Revision", "B")):
        assert re.search(rf'name="{name}"><vt:lpwstr>{value}<', own)
    assert 'name="Valid until"><vt:filetime>2027-02-28T' in own
    assert "for Invented Ferries, reference T-14, revision B, valid until 2027-02-28" in texts


def test_a_proposal_that_is_no_longer_valid_on_its_date_is_refused():
    with pytest.raises(
        InputError, match="valid_until: found 2024-02-28; allowed: 2024-02-29, the date of the document"
    ):
        front_page(Document(date=DAY, valid_until=datetime.date(2024, 2, 28)), DAY)


def test_the_settings_name_them_and_a_theme_beside_their_file(tmp_path):
    file = tmp_path / "site.toml"
    (tmp_path / "theme.toml").write_text('closing = "Invented."', encoding="utf-8")
    file.write_text(
        '[document]\nclient = "Invented Ferries"\nvalid_until = 2027-02-28\ntheme = "theme.toml"\n', encoding="utf-8"
    )
    front = front_page(read_settings(file).document, DAY)
    assert (front.client, front.valid_until, front.theme.closing) == ("Invented Ferries", UNTIL, "Invented.")


def test_a_colour_too_pale_to_read_is_refused_with_its_contrast(tmp_path):
    # WCAG 2.2: #808080 has a relative luminance of 0.2159, the shaded ground #e7e8ec one of 0.8050:
    # (0.8050 + 0.05) / (0.2159 + 0.05) = 3.2.
    with pytest.raises(InputError, match=r"accent: found #808080, with a contrast of 3\.2 to 1 on shade \(#e7e8ec\)"):
        themed(tmp_path, 'accent = "#808080"')
    with pytest.raises(InputError, match="ink: found #e7e8ec, with a contrast of 1 to 1"):
        themed(tmp_path, 'ink = "#e7e8ec"')


@pytest.mark.parametrize("colour", ["blue", "#12345", "#1234567", "red; } body { display: none"])
def test_what_is_no_colour_is_refused(tmp_path, colour):
    with pytest.raises(InputError, match="allowed: a colour as #rrggbb"):
        themed(tmp_path, f'accent = "{colour}"')


def test_an_unknown_key_and_a_file_that_is_no_font_are_told_together(tmp_path):
    (tmp_path / "x.ttf").write_bytes(b"no font")
    with pytest.raises(InputError) as told:
        themed(tmp_path, 'acent = "#000000"\nfont = "x.ttf"')
    assert len(told.value.faults) == 2


def test_colours_fonts_and_texts_of_the_house_are_in_the_page(tmp_path):
    font = Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSerif.ttf"
    (tmp_path / "own.ttf").write_bytes(font.read_bytes())
    theme = themed(tmp_path, 'accent = "#1c4f82"\nfont = "own.ttf"\nclosing = "<b>Ours</b>"\nvalidity = "Net prices."')
    html = page(styled(theme=theme))
    style = html[html.index("<style>") : html.index("</style>")]
    assert "h1 { font-size: 19pt; margin: 0 0 2mm; color: #1c4f82; }" in style
    assert LIGHT["accent"] not in style
    assert "@font-face { font-family: house; font-weight: normal; src: url(data:font/otf;base64," in style
    assert "&lt;b&gt;Ours&lt;/b&gt;" in html
    assert "Net prices." in html


def test_without_a_theme_the_document_looks_as_the_program_does():
    assert Theme() == Theme(LIGHT, {}, "", "")
