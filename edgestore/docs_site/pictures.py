"""The picture of each public thing of the models: the first of the kinds that its check values allow."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Protocol

from edgestore.docs_site.bars import bars
from edgestore.docs_site.curves import curve
from edgestore.docs_site.digits import digits
from edgestore.docs_site.entries import Entry
from edgestore.docs_site.lines import lines
from edgestore.docs_site.series import series, steps, windows
from edgestore.plain_file import toml_file


class Picture(Protocol):
    """What the site shows of a picture."""

    @property
    def caption(self) -> str:
        """What stands below it."""

    @property
    def alt_text(self) -> str:
        """What the picture shows, in a sentence."""

    def svg(self) -> bytes:
        """The picture; the same bytes each time."""


KINDS: tuple[Callable[[Entry], Picture | None], ...] = (curve, digits, lines, bars, steps, series, windows)


@cache
def picture(entry: Entry) -> Picture | None:
    """Give the picture of an entry.

    Parameters
    ----------
    entry : Entry
        A public thing of the models.

    Returns
    -------
    Picture or None
        None where no check value allows one; :func:`no_picture` says why.
    """
    return next((found for kind in KINDS if (found := kind(entry)) is not None), None)


@cache
def no_picture() -> dict[str, str]:
    """Why functions have no picture, by their names."""
    file = Path(__file__).parent / "no_picture.toml"
    return toml_file(file, file.name, "a TOML file of names and reasons")
