"""Letters that no font of this machine can print. Reads the font files, and no others."""

import unicodedata
from collections.abc import Iterable
from functools import cache
from pathlib import Path

WITHOUT_A_SHAPE = ("Cc", "Cf", "Zs", "Zl", "Zp", "Mn", "Me")
"""Categories of Unicode whose letters need no shape of their own."""


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
