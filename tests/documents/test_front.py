"""The front page: what the settings state, and a logo that is a picture and nothing else."""

import datetime
import io
from dataclasses import replace

import pytest
from PIL import Image, ImageFile
from proposals import DAY, demo

from edgestore import InputError
from edgestore.documents.front import TITLE, front_page, read_logo
from edgestore.documents.pack import pack
from edgestore.inputs.settings import Document, read_settings


def picture(kind, size=(60, 20)):
    file = io.BytesIO()
    Image.new("RGB", size, "navy").save(file, kind)
    return file.getvalue()


@pytest.mark.parametrize(("kind", "media_type"), [("PNG", "image/png"), ("JPEG", "image/jpeg")])
def test_a_logo_is_taken_as_it_stands_whatever_its_file_is_called(tmp_path, kind, media_type):
    (tmp_path / "logo.txt").write_bytes(picture(kind))
    logo = read_logo(tmp_path / "logo.txt")
    assert (logo.media_type, logo.content) == (media_type, picture(kind))


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>", "no such picture"),
        (picture("GIF"), "no such picture"),
        (picture("PNG")[:60], "no such picture"),
        (b"", "no such picture"),
        (picture("PNG", (4001, 2)), "4001 by 2 pixels"),
        (picture("PNG") + bytes(600_000), "586 KiB"),
    ],
    ids=["svg", "gif", "cut", "empty", "wide", "heavy"],
)
def test_what_is_no_small_png_or_jpeg_is_refused(tmp_path, content, found):
    (tmp_path / "logo.png").write_bytes(content)
    with pytest.raises(InputError, match=rf"logo\.png: found {found}; allowed: a PNG or JPEG picture"):
        read_logo(tmp_path / "logo.png")


def test_a_cut_logo_is_refused_after_a_pdf_was_made_too(tmp_path, monkeypatch):
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)  # as WeasyPrint leaves it
    (tmp_path / "logo.png").write_bytes(picture("PNG", (40, 40))[:80])
    with pytest.raises(InputError, match=r"logo\.png: found no such picture"):
        read_logo(tmp_path / "logo.png")


def test_a_logo_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"logo\.png: found no such file"):
        read_logo(tmp_path / "logo.png")


@pytest.mark.parametrize("day", [datetime.date(9999, 12, 31), datetime.date(9969, 1, 1), datetime.date(1899, 12, 31)])
def test_a_date_from_which_no_date_of_the_pack_could_be_counted_is_refused(day):
    # 30 years of dates after the document, and the calendar ends on 9999-12-31.
    with pytest.raises(InputError, match=rf"\[document\] date: .*{day}.* 1900-01-01 to 9968-12-31"):
        front_page(Document(date=day), DAY)


def test_the_last_date_allowed_leaves_room_for_every_date_of_the_pack():
    last = front_page(Document(date=datetime.date(9968, 12, 31)), DAY)
    files = pack(replace(demo(), front=last), with_pdf=False).files
    assert b"DTSTART" in files["visits.ics"]


@pytest.mark.parametrize("empty", ['""', '"  "'])
def test_an_empty_logo_is_none(empty):
    settings = read_settings(f"[document]\nlogo = {empty}\n".encode())
    assert settings.document.logo is None
    assert front_page(settings.document, DAY).logo is None


def test_settings_go_before_what_stands_for_them():
    front = front_page(Document(), DAY)
    assert (front.title, front.date, front.organisation, front.logo) == (TITLE, DAY, "", None)
    own = datetime.date(2026, 1, 2)
    front = front_page(Document("Cards", "Works", "A. Author", None, own), DAY)
    assert (front.title, front.date, front.organisation, front.author) == ("Cards", own, "Works", "A. Author")
