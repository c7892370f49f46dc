"""What was typed into a box, read: numbers, also with a decimal comma, and paths, also with ``~``; else refused."""

import os
import re
import unicodedata
from pathlib import Path

import numpy as np

from edgestore.bundled import PACKAGE
from edgestore.checks import refuse
from edgestore.inputs.sheet import shown
from edgestore.inputs.site_folder import OWN_SITE

MAX_UPLOAD_BYTES = 250_000_000
"""The largest file that the browser may hand over; beyond, the connection would break. A path has no limit."""

_BLANKS = "[ \u00a0\u2009\u202f]"
_NUMBER = re.compile(rf"[+-]?(\d{{1,3}}({_BLANKS}\d{{3}})+|\d+)?([.,]\d*)?([eE][+-]?\d{{1,3}})?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+", re.ASCII)


def place_to_save(name: str) -> str:
    """Give the place that a page proposes to save to.

    Parameters
    ----------
    name : str
        Name of the file or folder there.

    Returns
    -------
    str
        In the folder of the reader's own site, where the workbook was opened with one; else where the notebook runs,
        but never inside the installed package: then in the reader's home.
    """
    if os.environ.get(OWN_SITE):
        return str(Path(os.environ[OWN_SITE]) / name)
    here = Path.cwd()
    return str((Path.home() / "edgestore" if here.is_relative_to(PACKAGE) else here) / name)


def typed_number(text: str, label: str, unit: str, low: float, high: float) -> float:
    """Read a number that was typed.

    Parameters
    ----------
    text : str
        What was typed: ``7.5``, ``7,5``, ``17 520`` or ``1e4``, with its unit or without.
    label, unit : str
        What the number is, for the message; the unit may be empty.
    low, high : float
        The smallest and the largest number allowed, in ``unit``.

    Returns
    -------
    float
        The number, in ``unit``.

    Raises
    ------
    InputError
        When it is not a number or out of range, or when a comma may mean a decimal or thousands: never clamped.

    Examples
    --------
    >>> typed_number("7,5", "Retention", "days", 0.5, 90), typed_number("12 GB", "Capacity", "GB", 8, 1024)
    (7.5, 12.0)
    """
    typed = text.strip()
    if unit and typed.lower().endswith(unit.lower()):
        typed = typed[: -len(unit)].rstrip()
    allowed = f"a number from {number_text(low)} to {number_text(high)} {unit}".rstrip()
    if _THOUSANDS.fullmatch(typed):
        whole, decimal = typed.replace(",", ""), typed.replace(",", ".", 1)
        either = f"{decimal} or {whole}" if typed.count(",") == 1 else whole
        raise refuse(label, f"{shown(typed)}, in which a comma may mean thousands", allowed, f"Type {either}.")
    if not (_NUMBER.fullmatch(typed) and re.search(r"\d", re.split("[eE]", typed)[0])):
        raise refuse(label, shown(typed) if typed else "an empty box", allowed, "Type digits, for example 7.5 or 7,5.")
    number = float(re.sub(_BLANKS, "", typed).replace(",", "."))
    if not low <= number <= high:
        raise refuse(label, f"{shown(typed)} {unit}".rstrip(), allowed, "Type a number in this range.")
    return number


def number_text(value: float) -> str:
    """Write a number as a box shows it: all its digits, no exponent."""
    return str(np.format_float_positional(value, trim="-"))


def typed_path(text: str, label: str) -> str:
    """Read a path that was typed: ``~`` becomes the home folder; an empty text stays empty."""
    typed = text.strip()
    if any(unicodedata.category(letter) in ("Cc", "Cs") for letter in typed):
        raise refuse(label, f"{typed!a}, with a control character", "a path", "Type the path again.")
    try:
        return str(Path(typed).expanduser()) if typed else ""
    except RuntimeError:
        raise refuse(
            label, shown(typed), "a path", "There is no user of this name here: write the full path of the folder."
        ) from None


def typed_folder(text: str, label: str) -> Path:
    """Read the folder that files are to be saved to; an empty text is refused, so that none is saved by accident."""
    return _typed_place(text, label, "the path of a folder", "Type where to save, for example ~/saved.")


def typed_file(text: str, label: str) -> Path:
    """Read the file that is to be written or read; an empty text is refused."""
    return _typed_place(text, label, "the path of a file", "Type its folder and name, for example ~/saved/log.csv.")


def _typed_place(text: str, label: str, allowed: str, mend: str) -> Path:
    typed = typed_path(text, label)
    if not typed:
        raise refuse(label, "an empty box", allowed, mend)
    return Path(typed).absolute()
