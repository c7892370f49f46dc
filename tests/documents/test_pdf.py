"""The printed document: all of it there, on numbered pages, fetched from nowhere, the same bytes each time."""

import io
import itertools
import re
import sys
from dataclasses import replace
from functools import cache
from importlib.metadata import version

import pypdf
import pytest
from PIL import Image
from proposals import HOSTILE, RIGHT_TO_LEFT, crowded, demo, hostile, needs_printing, once, without_pdf

from edgestore import InputError
from edgestore.documents.fonts import without_a_font
from edgestore.documents.front import read_logo
from edgestore.documents.page import page
from edgestore.documents.pdf import pdf

pytestmark = pytest.mark.pdf


@cache
def printed(made):
    """Print a proposal once for all tests; it takes some ten seconds of CPU."""
    needs_printing()
    return pdf(once(page, made()))


def texts(document):
    return [text.extract_text() for text in pypdf.PdfReader(io.BytesIO(document)).pages]


@cache
def pages(made):
    return texts(printed(made))


def packed(text):
    """Leave out white space: a printed line breaks where it must."""
    return "".join(text.split())


def test_every_camera_is_printed():
    text = packed("".join(pages(demo)))
    assert all(packed(camera) in text for camera in demo().plan.plan["camera"])


def test_every_page_says_its_number_and_their_count():
    printed = pages(demo)
    for number, text in enumerate(printed, start=1):
        assert f"Page {number} of {len(printed)}" in text


def test_page_1_is_one_page_whatever_title_logo_and_lists_and_the_contents_follow(tmp_path):
    # Of the site with the longest lists, with a title of five lines beside a logo, the document is printed as far as
    # its contents; so it is with a short title, which leaves room for more of each list.
    Image.new("RGB", (400, 200)).save(tmp_path / "logo.png")
    front = crowded().front
    long = replace(front, title="A title that goes on and on over the quay and the harbour " * 3)
    with_logo = replace(long, logo=read_logo(tmp_path / "logo.png"))
    fronts = front, with_logo, replace(front, title="Harbour")
    crowds = [texts(pdf(page(replace(crowded(), front=one)).partition("</nav>")[0]))[:2] for one in fronts]
    for first, second in (pages(demo)[:2], pages(hostile)[:2], *crowds):
        assert "Recommendation" in first
        assert "come before any work." in first
        assert second.startswith("Contents")
    assert all(re.search(r"and \d+ more lots, see section 1", first) for first, _ in crowds)


@pytest.mark.parametrize("has_identity", [False, True])
def test_page_1_is_one_page_in_german_too(has_identity):
    # Of the demo with its service log the German page 1 went over to the next page, with client and reference too.
    for made in (demo(), crowded()):
        front = replace(made.front, language="de")
        if has_identity:
            front = replace(front, client="An invented client of the harbour", reference="R-1", revision="A")
        first, second = texts(pdf(page(replace(made, front=front)).partition("</nav>")[0]))[:2]
        assert "Empfehlung" in first
        assert "Vor jeder Arbeit Abschnitt" in first
        assert second.startswith("Inhalt")


def test_the_contents_name_the_page_of_each_section():
    for made in (demo, hostile):
        contents = re.findall(r"^([A-Z].+?)(?: \.)+ +(\d+)$", pages(made)[1], flags=re.MULTILINE)
        assert len(contents) == 12
        for section, (title, number) in enumerate(contents, start=1):
            assert f"{section} {title}" in " ".join(pages(made)[int(number) - 1].split())


def test_no_section_title_stands_last_on_a_page():
    for made in (demo, hostile):
        for text in pages(made):
            lines = [line for line in text.splitlines() if line.strip() and "Page" not in line]
            assert not re.fullmatch(r"\d+ [A-Z].*", lines[-1])


def test_hostile_names_are_printed_whole_but_for_the_order_of_letters_read_from_the_right():
    text = packed("".join(pages(hostile)))
    for name in HOSTILE:
        if name != RIGHT_TO_LEFT:
            assert packed(name) in text


def test_every_letter_has_a_glyph():
    # A letter without one is mapped to no Unicode value, or to glyph 0, in the fonts of the file.
    needs_printing()
    assert without_a_font(once(page, demo())) == []
    assert "\ufffd" not in "".join(pages(demo))
    assert "\x00" not in "".join(pages(demo))


def test_letters_without_a_font_are_named():
    # U+1F6A7 and U+10FFFF: no font has the latter, a noncharacter.
    assert without_a_font("gate Ωж \N{ARABIC LETTER BEH}") == []
    assert without_a_font("gate \U0010fffe") == ["\U0010fffe"]


def test_a_letter_without_a_font_is_printed_all_the_same():
    needs_printing()
    html = '<html lang="en"><title>t</title><p>gate \U0010fffe yard</p></html>'
    text = pypdf.PdfReader(io.BytesIO(pdf(html))).pages[0].extract_text().replace("\x00", "")  # as two bytes a letter
    assert text.startswith("gate ")
    assert text.endswith(" yard")


def test_the_document_says_its_release_on_the_screen_and_on_every_page_of_print():
    made_with = f"edgestore {version('edgestore')}"
    html = once(page, demo())
    assert f'<meta name="generator" content="{made_with}">' in html
    assert f"<footer><p>Made with {made_with}.</p></footer>" in html
    assert all(f"Made with {made_with}" in text for text in pages(demo))


def with_picture(address):
    return f'<html lang="en"><title>t</title><p>text <img src="{address}" alt="shown instead"></p></html>'


@pytest.mark.parametrize("address", ["http://127.0.0.1:9/x.png", "https://example.invalid/", "file:///etc/hostname"])
def test_a_page_that_refers_to_a_file_or_a_host_is_refused_before_anything_is_fetched(address):
    needs_printing()
    with pytest.raises(InputError, match=f'"{address}".*a page that holds everything it shows'):
        pdf(with_picture(address))


def test_a_path_that_counts_from_nowhere_is_left_out():
    needs_printing()
    printed = pypdf.PdfReader(io.BytesIO(pdf(with_picture("x.png")))).pages[0]
    assert not printed.images
    assert "shown instead" in printed.extract_text()


def test_the_bytes_are_the_same_in_another_process_with_another_order_of_sets(proposed):
    here = {**once(without_pdf, demo()).files, "proposal.pdf": printed(demo)}
    there = {name: (proposed[0] / name).read_bytes() for name in here}
    assert [name for name, content in here.items() if there[name] != content] == []


def test_without_weasyprint_the_message_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(InputError, match=r"no WeasyPrint that runs.*edgestore\[proposal\].*libpango-1\.0-0"):
        pdf("<p>text</p>")


def test_without_pango_the_message_says_what_to_install(monkeypatch):
    class WithoutPango:
        def __getattr__(self, _):
            raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.setitem(sys.modules, "weasyprint", WithoutPango())
    with pytest.raises(InputError, match=r"cannot load library 'libpango.*libharfbuzz-subset0"):
        pdf("<p>text</p>")


def tags(document):
    """Every element of the tree of tags in its order, with the tags above it."""
    root = pypdf.PdfReader(io.BytesIO(document)).trailer["/Root"]["/StructTreeRoot"]
    found = []

    def walk(item, above):
        item = item.get_object() if hasattr(item, "get_object") else item
        if isinstance(item, list):
            for one in item:
                walk(one, above)
        elif isinstance(item, dict):
            if "/S" in item:
                found.append((str(item["/S"]), item, above))
                above = (*above, str(item["/S"]))
            walk(item.get("/K", []), above)

    walk(root["/K"], ())
    return found


def test_the_tags_of_the_pdf_are_those_that_pdf_ua_asks_by_our_own_reading():
    """Read by us with pypdf, after ISO 14289-1, 7.1 to 7.7: no validator for it that is well kept is in the registries.

    What is read: the document says that it is tagged and PDF/UA-1, its title, that a window shows it, and its language;
    headings begin with one and none goes down by more than one level; each picture has a text; each head of a table
    says whether it is a column's or a row's; items stand in lists. What is not: contrast, and whether the order of
    the tags is that in which one reads, but for the headings, which come as in the page.
    """
    document = printed(demo)
    reader = pypdf.PdfReader(io.BytesIO(document))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    about = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"<pdfuaid:part>1<|pdfuaid:part=.1", about)
    assert demo().front.title in about
    found = tags(document)
    levels = [int(tag[2]) for tag, _, _ in found if re.fullmatch("/H[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    in_page = [int(level) for level in re.findall(r"<h([1-6])", once(page, demo()))]
    assert levels == in_page
    pictures = [item for tag, item, _ in found if tag == "/Figure"]
    assert len(pictures) == 3
    assert all(len(item["/Alt"]) > 60 for item in pictures)
    heads = [(item["/A"]["/Scope"], above) for tag, item, above in found if tag == "/TH"]
    assert {scope for scope, _ in heads} == {"/Column", "/Row"}
    assert all((scope == "/Column") == (above[-2] == "/THead") for scope, above in heads)
    assert all(above[-1] == "/L" for tag, _, above in found if tag == "/LI")
    assert all(above[-1] == "/TR" for tag, _, above in found if tag in ("/TH", "/TD"))
