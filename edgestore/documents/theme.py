"""The style of a house: its colours, letters and own texts, from one TOML file. Opens that file and its fonts only."""

import base64
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.names import printable
from edgestore.inputs.tables import Column
from edgestore.inputs.toml_table import read_table
from edgestore.look import LEAST_CONTRAST, LIGHT, least_contrast
from edgestore.plain_file import MOST_TOML_BYTES, plain_file, toml_file

THEME_KEYS = (
    Column("accent", "text", "colour of the title, of lines and links, as #rrggbb"),
    Column("ink", "text", "colour of texts, as #rrggbb"),
    Column("font", "text", "font file (TTF, OTF) of all texts; its path counts from the folder of this file"),
    Column("font_bold", "text", "the same for bold texts; without one they are made from the other"),
    Column("closing", "text", "text at the end of the document"),
    Column("validity", "text", "note below the page to sign, on how long the proposal holds and on which terms"),
)
COLOURS, FONTS = ("accent", "ink"), {"font": "normal", "font_bold": "bold"}
FORM = "a theme as TOML"
COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
FONT_FORM = "a font as TTF or OTF of at most 4 MiB"
MOST_FONT_BYTES = 4 * 2**20
FONT_STARTS = (b"\0\1\0\0", b"OTTO", b"true")
"""What font files of one face begin with (OpenType 1.9, table directory)."""


@dataclass(frozen=True)
class Theme:
    """The style of a house.

    Attributes
    ----------
    colours : mapping of str to str
        Colours on paper by name, as ``look.LIGHT`` with those of the house.
    fonts : mapping of str to bytes
        Font files by weight, ``normal`` and ``bold``; the program's own where there is none.
    closing, validity : str
        Texts of the house; may be empty.
    """

    colours: Mapping[str, str] = field(default_factory=lambda: LIGHT)
    fonts: Mapping[str, bytes] = field(default_factory=dict)
    closing: str = ""
    validity: str = ""

    @property
    def faces(self) -> str:
        """The fonts as rules of a stylesheet."""
        rules = [
            f"@font-face {{ font-family: house; font-weight: {weight};"
            f" src: url(data:font/otf;base64,{base64.b64encode(content).decode()}) }}"
            for weight, content in self.fonts.items()
        ]
        return "\n".join([*rules, "body { font-family: house, page, sans-serif }"]) if rules else ""


def read_theme(path: Path) -> Theme:
    """Read the style of a house.

    Parameters
    ----------
    path : Path
        A TOML file with keys of ``THEME_KEYS``.

    Returns
    -------
    Theme
        The style.

    Raises
    ------
    InputError
        With every fault: a key that is not known, what is no colour or font, a colour with too little contrast.

    Notes
    -----
    A colour is refused when a text in it has a contrast below 4.5 to white or to a ground of tables.
    """
    name = printable(path.name)
    content = plain_file(path, printable(str(path)), MOST_TOML_BYTES, FORM, "Give the path of the theme.")
    faults: list[Fault] = []
    values = read_table(toml_file(content, name, FORM, "Write texts in quotes."), THEME_KEYS, name, faults)
    colours = {key: values[key] for key in COLOURS if values.get(key)}
    for key, colour in colours.items():
        faults += _colour_faults(f"{name}, {key}", colour)
    fonts = {}
    for key, weight in FONTS.items():
        if values.get(key):
            try:
                fonts[weight] = _font(path.absolute().parent / values[key])
            except InputError as error:
                faults += error.faults
    if faults:
        raise InputError(faults)
    return Theme({**LIGHT, **colours}, fonts, values.get("closing", ""), values.get("validity", ""))


def _colour_faults(where: str, colour: str) -> list[Fault]:
    if not COLOUR.fullmatch(colour):
        return [Fault(where, printable(colour), "a colour as #rrggbb", "Write # and six digits, 0 to 9 and a to f.")]
    least, ground = least_contrast(colour)
    if least >= LEAST_CONTRAST:
        return []
    found = f"{colour}, with a contrast of {int(10 * least) / 10:g} to 1 on {ground} ({LIGHT[ground]})"
    allowed = f"a contrast of {LEAST_CONTRAST:g} to 1 or more on every ground of the document"
    return [Fault(where, found, allowed, "Take a darker colour.")]


def _font(path: Path) -> bytes:
    content = plain_file(path, printable(str(path)), MOST_FONT_BYTES, FONT_FORM, "Give the path of a font file.")
    if not content.startswith(FONT_STARTS):
        raise refuse(printable(str(path)), "another kind of file", FONT_FORM, "Give a font of one face.")
    return content
