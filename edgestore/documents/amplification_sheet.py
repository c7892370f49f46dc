"""The sheet on which a tester measures the write amplification of a spare card: one page of HTML, for print."""

import tomllib
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.checks import refuse
from edgestore.inputs.amplification_readings import BLANK
from edgestore.look import filled
from edgestore.output import write_whole
from edgestore.text import MADE_WITH

TEMPLATE = Path(__file__).with_name("template")
SHEET = Path(__file__).with_name("write_amplification.toml")
FILE = "write_amplification.html"
READINGS = "write_amplification.toml"
"""The same to type in, which ``edgestore accept --fit`` reads."""


def amplification_sheet() -> str:
    """The sheet as one page of HTML that holds everything it shows."""
    environment = Environment(loader=FileSystemLoader(TEMPLATE), autoescape=True, undefined=StrictUndefined)
    style = Markup(filled((TEMPLATE / "page.css").read_text(encoding="utf-8")))  # our own file
    sheet = tomllib.loads(SHEET.read_text(encoding="utf-8"))
    return environment.get_template("write_amplification.html.j2").render(css=style, made_with=MADE_WITH, sheet=sheet)


def write_amplification_sheet(folder: Path) -> list[Path]:
    """Write the sheet into a folder.

    Parameters
    ----------
    folder : Path
        Where to write; made when it does not exist.

    Returns
    -------
    list of Path
        The sheet to print, and the file to type the readings into.

    Raises
    ------
    InputError
        When the folder cannot be written to, or has readings already.
    """
    if (folder / READINGS).exists():  # readings of weeks are not written over
        mend = "Write to another folder, or move that file."
        raise refuse(READINGS, "a file that is there", "none", mend)
    return write_whole(folder, {FILE: amplification_sheet().encode(), READINGS: BLANK.encode()})
