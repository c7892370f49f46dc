"""What a name looks like to a reader: names that only a machine can tell apart, and characters that none may hold."""

import re
import unicodedata

_LOOKS_LATIN = {
    "A": "\u0391\u0410",
    "a": "\u03b1\u0430\u0251",
    "B": "\u0392\u0412",
    "b": "\u042c",
    "C": "\u0421",
    "c": "\u0441",
    "d": "\u0501",
    "E": "\u0395\u0415",
    "e": "\u0435",
    "G": "\u050c",
    "g": "\u0261",
    "H": "\u0397\u041d",
    "h": "\u04bb",
    "i": "\u03b9\u0456\u0131",
    "J": "\u0408",
    "j": "\u0458",
    "K": "\u039a\u041a",
    "l": "I\u0399\u0406\u04c0",
    "M": "\u039c\u041c",
    "N": "\u039d",
    "O": "\u039f\u041e",
    "o": "\u03bf\u03c3\u043e\u0585",
    "P": "\u03a1\u0420",
    "p": "\u03c1\u0440",
    "q": "\u051b",
    "r": "\u0433",
    "S": "\u0405",
    "s": "\u0455",
    "T": "\u03a4\u0422",
    "u": "\u03c5",
    "v": "\u03bd",
    "W": "\u051c",
    "w": "\u051d\u0461",
    "X": "\u03a7\u0425",
    "x": "\u0445",
    "Y": "\u03a5\u0423\u04ae",
    "y": "\u03b3\u0443\u04af",
    "Z": "\u0396",
    "/": "\u2044\u2215",
    "'": "\u2018\u2019\u02bc\u0060\u00b4",
}
"""Greek, Cyrillic, Armenian and three Latin letters, and signs, that look like a sign of ASCII, by that one; capital I
is a small l, and r before n an m (:func:`looks`): Unicode Technical Standard 39, confusables.txt. Digits are left
alone: a gate 0 may stand beside a gate O."""

_LATIN = {ord(letter): latin for latin, letters in _LOOKS_LATIN.items() for letter in letters}

UNSEEN = (
    "[\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u202a-\u202e\u2060-\u206f\u3164"
    "\ufe00-\ufe0f\ufeff\uffa0\U000e0000-\U000e0fff]"
)
"""Characters without width: Default_Ignorable_Code_Point, Unicode Standard, DerivedCoreProperties.txt."""

_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
"""What a terminal obeys and does not show, and what turns the order of a line round: categories Cc, Zl and Zp,
and the property Bidi_Control."""


def looks(name: str) -> tuple[str, str]:
    """Give what a name looks like, letters of one case: as it is written, and with look-alike letters made Latin.

    Parameters
    ----------
    name : str
        Any text.

    Returns
    -------
    tuple of str
        Two names of which either is the same look alike.

    Notes
    -----
    Characters without width are dropped, blanks of any kind and number are one, dashes are one, and letters that
    differ by their width or style are one (NFKD).

    References
    ----------
    Skeletons: Unicode Technical Standard 39, section 4. Forms: Unicode Standard Annex 15.

    Examples
    --------
    >>> looks("Quay  North"), looks("Quay\u200b North")[0]
    (('quay north', 'quay north'), 'quay north')
    """
    if not name.isascii():
        name = unicodedata.normalize("NFKD", re.sub(UNSEEN, "", name)).replace("\u2800", " ").replace("\u2212", "-")
        name = "".join("-" if unicodedata.category(letter) == "Pd" else letter for letter in name)
    name = " ".join(name.split())
    return name.casefold(), name.translate(_LATIN).casefold().replace("rn", "m")


def unlike_letters(name: str, other: str) -> str:
    """Name the letters beyond ASCII, in Unicode's words, that only one of two names has."""
    odd = sorted(letter for letter in {*name} ^ {*other} if not letter.isascii())
    return ", ".join(unicodedata.name(letter, f"U+{ord(letter):04X}") for letter in odd)


def has_control(text: str) -> bool:
    """Tell whether a text holds characters that a terminal obeys, or that turn the order of a line round."""
    return bool(_CONTROL.search(text))


def printable(text: str) -> str:
    r"""Write the characters of a text that a terminal would obey as Python does: ``\x1b`` for escape."""
    return _CONTROL.sub(lambda found: ascii(found[0])[1:-1], text)
