"""The sheet on which a tester measures the write amplification of a spare card: one page of HTML, for print."""

import tomllib
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.look import filled
from edgestore.output import write_whole
from edgestore.text import MADE_WITH

TEMPLATE = Path(__file__).with_name("template")
SHEET = Path(__file__).with_name("write_amplification.toml")
FILE = "write_amplification.html"


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
        The sheet.

    Raises
    ------
    InputError
        When the folder cannot be written to.
    """
    return write_whole(folder, {FILE: amplification_sheet().encode()})
