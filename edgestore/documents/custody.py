"""The form that goes with footage that is handed over: custody on one page, disposal on the second. HTML and PDF."""

import hashlib
import tomllib
from datetime import datetime
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.documents.pdf import pdf
from edgestore.inputs.exported import Exported, sha256sums
from edgestore.look import filled
from edgestore.output import write_whole
from edgestore.text import MADE_WITH, counted, grouped, short, visible

TEMPLATE = Path(__file__).with_name("template")
FORM = Path(__file__).with_name("custody.toml")
FILE, LIST = "custody.html", "sha256sums.txt"

MOST_SHOWN, LONGEST = 6, 32
"""Files whose digests stand on the form, and letters of their names: more would not stay on one page; the list has
all."""


def custody_form(exported: Exported | None = None, when: datetime | None = None) -> str:
    """The form as one page of HTML that holds everything it shows; every text is escaped.

    Parameters
    ----------
    exported : Exported, optional
        The files that are handed over; their digests stay to be written by hand when left out.
    when : datetime, optional
        When the files were read, UTC; asked for with ``exported``.

    Returns
    -------
    str
        The page, the same for the same files and time.
    """
    environment = Environment(loader=FileSystemLoader(TEMPLATE), autoescape=True, undefined=StrictUndefined)
    style = Markup(filled((TEMPLATE / "page.css").read_text(encoding="utf-8")))  # our own file
    form = tomllib.loads(FORM.read_text(encoding="utf-8"))
    files = exported.files if exported else ()
    listed = sha256sums(exported) if exported else b""
    shown = files if len(files) <= MOST_SHOWN else files[: MOST_SHOWN - 1]
    return environment.get_template("custody.html.j2").render(
        css=style,
        made_with=MADE_WITH,
        form=form,
        exported=exported,
        counted=counted(len(files), "file"),
        size=f"{grouped(str(exported.size_bytes))} bytes" if exported else "",
        when=f"{when:%Y-%m-%d %H:%M} UTC" if when else "",
        links=f"{counted(len(exported.links), 'link')} not followed" if exported and exported.links else "",
        list_name=LIST,
        list_bytes=grouped(str(len(listed))),
        list_sha256=hashlib.sha256(listed).hexdigest(),
        shown=shown,
        more=counted(len(files) - len(shown), "file") if len(files) > len(shown) else "",
        visible=visible,
        grouped=grouped,
        short=short,
        longest=LONGEST,
    )


def write_custody(
    folder: Path, exported: Exported | None = None, when: datetime | None = None, *, with_pdf: bool = True
) -> list[Path]:
    """Write the form into a folder, and the list of digests beside it.

    Parameters
    ----------
    folder : Path
        Where to write; made when it does not exist.
    exported : Exported, optional
        The files that are handed over.
    when : datetime, optional
        When they were read, UTC.
    with_pdf : bool
        Whether to print it as PDF too.

    Returns
    -------
    list of Path
        The form as HTML, as PDF where asked, and the list where there are files.

    Raises
    ------
    InputError
        When the folder cannot be written to, or WeasyPrint is missing.
    """
    page = custody_form(exported, when)
    files = {FILE: page.encode(errors="replace")}
    if with_pdf:
        files["custody.pdf"] = pdf(page)
    if exported:
        files[LIST] = sha256sums(exported)
    return write_whole(folder, files)
