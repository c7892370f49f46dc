"""Letters of the user's texts: those that nobody sees are shown, and long texts are cut."""

import unicodedata

SHOWN = "\N{REPLACEMENT CHARACTER}"

MISLEADING = {*range(0x202A, 0x202F), *range(0x2066, 0x206A)}
"""Signs that turn the direction of the text around them."""


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
