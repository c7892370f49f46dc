"""What stands on the front of a document: title, organisation, author, date and logo. Opens the logo only."""

import datetime
import io
from dataclasses import dataclass, field
from pathlib import Path

from PIL import Image, ImageFile

from edgestore.checks import InputError, not_opened, refuse
from edgestore.documents.language import ENGLISH, language
from edgestore.documents.theme import Theme, read_theme
from edgestore.inputs.settings import Document
from edgestore.units import BYTES_PER_KIB

LOGO_FORMATS = {"PNG": "image/png", "JPEG": "image/jpeg"}
MOST_LOGO_KIB = 512
MOST_LOGO_PIXELS = 4000

MOST_YEARS = 30
"""No date of a pack lies further ahead of the document's."""

EARLIEST, LATEST = datetime.date(1900, 1, 1), datetime.date(datetime.MAXYEAR - MOST_YEARS - 1, 12, 31)
"""Dates that a document may bear: spreadsheets count days from 1900 on, and calendars end with the year 9999."""

TITLE = "Memory cards for cameras that record on their own"
"""Where the settings state none."""


@dataclass(frozen=True)
class Logo:
    """A picture that was looked at: what kind it is, and its bytes."""

    media_type: str
    content: bytes


@dataclass(frozen=True)
class FrontPage:
    """Who proposes what to whom, and when.

    Parameters
    ----------
    title : str
        Title of the document.
    date : datetime.date
        Date of the document; every date in the pack follows from it, never from the clock.
    organisation, author : str
        Who made it; may be empty.
    logo : Logo, optional
        The organisation's sign.
    client, reference, revision : str
        For whom it is made, the client's reference, and which revision it is; may be empty.
    valid_until : datetime.date, optional
        Last day on which the proposal holds.
    language : str
        Code of the language of the fixed texts.
    theme : Theme
        Colours, fonts and texts of the house.

    Raises
    ------
    InputError
        When the date is not from ``EARLIEST`` to ``LATEST``, or the proposal is no longer valid on it.
    """

    title: str
    date: datetime.date
    organisation: str = ""
    author: str = ""
    logo: Logo | None = None
    client: str = ""
    reference: str = ""
    revision: str = ""
    valid_until: datetime.date | None = None
    language: str = ENGLISH
    theme: Theme = field(default_factory=Theme)

    def __post_init__(self) -> None:
        """Refuse a date from which the dates of the pack could not be counted, or after the last that it is valid."""
        if not EARLIEST <= self.date <= LATEST:
            allowed = f"a date from {EARLIEST} to {LATEST}: the dates of the pack lie up to {MOST_YEARS} years after it"
            raise refuse("[document] date", str(self.date), allowed, "Write the day on which the proposal is made.")
        if self.valid_until is not None and self.valid_until < self.date:
            allowed = f"{self.date}, the date of the document, or later"
            raise refuse("[document] valid_until", str(self.valid_until), allowed, "Correct one of the two.")


def front_page(document: Document, day: datetime.date) -> FrontPage:
    """Give the front page that the settings of a site state.

    Parameters
    ----------
    document : Document
        What they say of the document.
    day : datetime.date
        Its date where they state none.

    Returns
    -------
    FrontPage
        The front page, with its logo read.

    Raises
    ------
    InputError
        When the date, the logo or the theme cannot be used.
    """
    logo = None if document.logo is None else read_logo(document.logo)
    return FrontPage(
        title=document.title or language(document.language).say(TITLE),
        date=document.date or day,
        organisation=document.organisation,
        author=document.author,
        logo=logo,
        client=document.client,
        reference=document.reference,
        revision=document.revision,
        valid_until=document.valid_until,
        language=document.language,
        theme=Theme() if document.theme is None else read_theme(document.theme),
    )


def read_logo(path: Path) -> Logo:
    """Read a logo, and make sure that it is a picture and nothing else.

    Parameters
    ----------
    path : Path
        A PNG or JPEG file of at most ``MOST_LOGO_KIB`` and ``MOST_LOGO_PIXELS`` to a side.

    Returns
    -------
    Logo
        The picture, as it stands in the file.

    Raises
    ------
    InputError
        When the file cannot be read, is too large, or is no such picture.
    """
    allowed = f"a PNG or JPEG picture of at most {MOST_LOGO_KIB} KiB and {MOST_LOGO_PIXELS} pixels a side"
    mend = "Save it smaller, as PNG."
    cut_is_loaded = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False  # WeasyPrint, once imported, has set it for the whole program
    try:
        if path.exists() and not path.is_file():
            raise refuse(str(path), "a folder, a pipe or a device", allowed, mend)
        size = path.stat().st_size
        if size > MOST_LOGO_KIB * BYTES_PER_KIB:
            raise refuse(str(path), f"{size / BYTES_PER_KIB:.0f} KiB", allowed, mend)
        content = path.read_bytes()
        with Image.open(io.BytesIO(content), formats=list(LOGO_FORMATS)) as picture:
            if max(picture.size) > MOST_LOGO_PIXELS:
                raise refuse(str(path), f"{picture.width} by {picture.height} pixels", allowed, mend)
            picture.load()
            return Logo(LOGO_FORMATS[str(picture.format)], content)
    except InputError:
        raise
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        found = not_opened(error) if getattr(error, "strerror", None) else "no such picture"
        raise refuse(str(path), found, allowed, mend) from None
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = cut_is_loaded
