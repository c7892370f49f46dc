"""Letters of the user's texts: which no file may hold, and which no font of this machine has."""

import unicodedata
from collections.abc import Iterable
from functools import cache
from pathlib import Path

SHOWN = "\N{REPLACEMENT CHARACTER}"

MISLEADING = {*range(0x202A, 0x202F), *range(0x2066, 0x206A)}
"""Signs that turn the direction of the text around them."""

WITHOUT_A_SHAPE = ("Cc", "Cf", "Zs", "Zl", "Zp", "Mn", "Me")
"""Categories of Unicode whose letters need no shape of their own."""


def visible(text: str) -> str:
    r"""Show what would not be seen, or would mislead, as a replacement character.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The same without control characters (but for line ends and tabs), halves of letters, and signs that turn the
        direction of the text around them.

    Examples
    --------
    >>> visible("gate\x00 1")
    'gate� 1'
    """
    return "".join(SHOWN if _is_unseen(letter) else letter for letter in text)


def _is_unseen(letter: str) -> bool:
    return (unicodedata.category(letter) in ("Cc", "Cs") and letter not in "\n\t") or ord(letter) in MISLEADING


def short(text: str, letters: int) -> str:
    """Cut a text to so many letters.

    Examples
    --------
    >>> short("mooring lines", 8)
    'mooring…'
    """
    return text if len(text) <= letters else f"{text[: letters - 1]}…"


def without_a_font(text: str) -> list[str]:
    """Give the letters of a text that no font of this machine can print, in order.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    list of str
        Those letters, each once; DejaVu Sans, which comes with matplotlib, is asked first, then the system's fonts.
    """
    import matplotlib as mpl
    from matplotlib.font_manager import findSystemFonts

    missing = {ord(letter) for letter in text if unicodedata.category(letter) not in WITHOUT_A_SHAPE}
    missing -= _letters_of(Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf")
    fonts: Iterable[str] = findSystemFonts() if missing else ()
    for font in fonts:
        missing -= _letters_of(Path(font))
        if not missing:
            break
    return [chr(letter) for letter in sorted(missing)]


@cache
def _letters_of(font: Path) -> frozenset[int]:
    from fontTools.ttLib import TTFont, TTLibError

    try:
        with TTFont(font, lazy=True, fontNumber=0) as opened:
            return frozenset(opened.getBestCmap() or ())
    except (OSError, TTLibError, KeyError):
        return frozenset()
