"""The hand-outs of a guide: the guide, its page for a phone, card for a wallet, commissioning sheet. HTML and PDF."""

import base64
import json
import re
import tomllib
import unicodedata
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.documents.pdf import pdf
from edgestore.drawings.parts import Drawing
from edgestore.look import DARK, filled
from edgestore.output import write_whole
from edgestore.text import MADE_WITH
from edgestore.training.fitting.commissioning import CHECKS
from edgestore.training.fitting.guide import TYPICAL, WORKS, Guide, belongs, drawings
from edgestore.training.fitting.language import ENGLISH, say
from edgestore.training.fitting.phone import phone_data
from edgestore.training.fitting.planned import PlannedCamera

TEMPLATE = Path(__file__).with_name("template")
PAGE_STYLE = Path(__file__).parents[2] / "documents" / "template" / "page.css"

_FIELD_CARD = tomllib.loads(Path(__file__).with_name("field_card.toml").read_text(encoding="utf-8"))

PAGES = {
    "fitting_guide": ("guide.html.j2", ("page.css", "handout.css")),
    "field_card_phone": ("phone.html.j2", ()),
    "field_card_wallet": ("wallet.html.j2", ("wallet.css",)),
    "commissioning_sheet": ("sheet.html.j2", ("page.css", "handout.css")),
}
"""Template and styles of each hand-out."""

ON_SCREEN = ("field_card_phone",)
"""Hand-outs that are not printed."""

LONGEST_NAME = 80
"""Letters of a file's name."""

CHECK_SHEET = "commissioning_sheet"
"""The hand-out that there is only for a card that goes in."""


def field_card(guide: Guide) -> dict[str, list[str]]:
    """Give the lines of the wallet card of a guide by part: before, the work, close, prove."""
    return {
        part: [say(row["text"], guide.language) for row in _FIELD_CARD[part] if belongs(row, guide.work, guide.has)]
        for part in ("before", guide.work, "close", "prove")
    }


def page(name: str, guide: Guide) -> str:
    """Give a hand-out as HTML that holds everything it shows.

    Parameters
    ----------
    name : str
        One of ``PAGES``.
    guide : Guide
        The fitting guide, in the language that the page is to have.

    Returns
    -------
    str
        The page, the same for the same guide.
    """
    if name in ON_SCREEN:
        return phone_page(guide.housing, slot=guide.slot, facing=guide.facing, language=guide.language)
    template, css = PAGES[name]
    titles = {
        "fitting_guide": f"{guide.question} {guide.title}",
        CHECK_SHEET: say("Check after fitting a memory card", guide.language),
    }
    work = say(WORKS[guide.work], guide.language)
    known = {caution.key for caution in guide.cautions}
    return (
        _environment()
        .get_template(template)
        .render(
            made_with=MADE_WITH,
            title=titles.get(name, say("{work}: field card", guide.language, work=work)),
            css=css,
            typical=say(TYPICAL, guide.language),
            say=lambda text, **values: say(text, guide.language, **values),
            language=guide.language,
            guide=guide,
            card=field_card(guide),
            checks=CHECKS,
            known=known,
        )
    )


def phone_page(
    housing: str,
    planned: PlannedCamera | None = None,
    *,
    slot: str | None = None,
    facing: str | None = None,
    language: str = ENGLISH,
) -> str:
    """Give the guide as one page for a phone: all three works, one step a screen, with ticks and the record.

    Parameters
    ----------
    housing : str
        Kind of housing.
    planned : PlannedCamera, optional
        A camera of a plan, with its card and its settings.
    slot, facing : str, optional
        Kind of slot and where it faces; the page asks when these are not known.
    language : str
        Language of the page.

    Returns
    -------
    str
        HTML that asks for nothing, not even a server; the same for the same guide and plan.
    """
    data = phone_data(housing, planned, slot=slot, facing=facing, language=language)
    title = data["title"] if planned is None else planned.camera
    # In a script, "</script>" and "<!--" would end the data: no "<" stands in it as such.
    as_json = json.dumps(data, ensure_ascii=False).replace("<", r"\u003c")
    template = _environment().get_template("phone.html.j2")
    return template.render(
        made_with=MADE_WITH,
        title=f"{data['words']['title']}: {title}",
        data=data,
        as_json=Markup(as_json),
        script=Markup((TEMPLATE / "phone.js").read_text(encoding="utf-8")),
        dark_style=Markup(filled((TEMPLATE / "phone_dark.css").read_text(encoding="utf-8"), DARK)),
    )


def write_phone_pages(cameras: Sequence[PlannedCamera], folder: Path, *, language: str = ENGLISH) -> list[Path]:
    """Write a page for a phone for each camera of a plan, whole or not at all.

    Parameters
    ----------
    cameras : sequence of PlannedCamera
        The cameras, with cards and settings.
    folder : Path
        Gets a file a camera, named after it.
    language : str
        Language of the pages.

    Returns
    -------
    list of Path
        The files, in the order of the cameras.

    Raises
    ------
    InputError
        When the folder cannot be written.
    """
    names = safe_names([camera.camera for camera in cameras])
    pages = (phone_page(camera.housing, camera, language=language) for camera in cameras)
    return write_whole(folder, {f"{name}.html": page.encode() for name, page in zip(names, pages, strict=True)})


def safe_names(cameras: Sequence[str]) -> list[str]:
    """Give each camera a name that every file system takes, no two alike.

    Examples
    --------
    >>> safe_names(["Quay/north", "quay north", "Höhe 1", "港", "con"])
    ['Quay_north', 'quay_north_2', 'Hohe_1', 'camera', 'camera_con']
    """
    names: list[str] = []
    taken: set[str] = set()
    for camera in cameras:
        letters = unicodedata.normalize("NFKD", camera).encode("ascii", "ignore").decode()
        stem = re.sub(r"[^A-Za-z0-9]+", "_", letters).strip("_")[:LONGEST_NAME] or "camera"
        if re.fullmatch(r"con|prn|aux|nul|(com|lpt)\d", stem, re.IGNORECASE):
            stem = f"camera_{stem}"
        name, number = stem, 1
        while name.lower() in taken:
            number += 1
            name = f"{stem}_{number}"
        taken.add(name.lower())
        names.append(name)
    return names


def handouts(guide: Guide, *, with_pdf: bool = True) -> dict[str, bytes]:
    """Give all hand-outs of a guide by file name; the sheet of checks only when a card goes in.

    Parameters
    ----------
    guide : Guide
        The fitting guide, in the language of the hand-outs.
    with_pdf : bool
        Whether those for print come as PDF too.

    Returns
    -------
    dict of str to bytes
        HTML and PDF.

    Raises
    ------
    InputError
        When a PDF is asked for and WeasyPrint does not run.
    """
    files = {}
    for name in PAGES:
        if name == CHECK_SHEET and guide.work == "remove":
            continue
        html = page(name, guide)
        files[f"{name}.html"] = html.encode()
        if with_pdf and name not in ON_SCREEN:
            files[f"{name}.pdf"] = pdf(html)
    return files


def write_handouts(guide: Guide, folder: Path, *, with_pdf: bool = True) -> list[Path]:
    """Write all hand-outs into a folder, whole or not at all; see :func:`handouts`."""
    return write_whole(folder, handouts(guide, with_pdf=with_pdf))


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    # Our own files; nothing of a user's is in them.
    sheets = (PAGE_STYLE, *TEMPLATE.glob("*.css"))
    styles = {path.name: Markup(filled(path.read_text(encoding="utf-8"))) for path in sheets}
    environment.globals |= {"styles": styles, "figure": _figure, "items": _items, "drawings": drawings}
    return environment


def _figure(drawing: Drawing, number: int | None = None) -> Markup:
    address = f"data:image/svg+xml;base64,{base64.b64encode(drawing.svg()).decode()}"
    title = f"{number}. {drawing.title}" if number else drawing.title
    return Markup('<figure><img src="{}" alt="{}"><figcaption>{}</figcaption></figure>').format(
        address, drawing.alt_text, title
    )


def _items(texts: list[str]) -> Markup:
    return Markup("<ul>{}</ul>").format(Markup("").join(Markup("<li>{}</li>").format(text) for text in texts))
