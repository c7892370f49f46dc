"""The hand-outs of a guide: the guide, field card for a phone and for a wallet, commissioning sheet. HTML and PDF."""

import base64
import tomllib
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.documents.pdf import pdf
from edgestore.drawings.card import card_drawings
from edgestore.drawings.closing import closing_drawings
from edgestore.drawings.parts import Drawing
from edgestore.look import filled
from edgestore.output import write_whole
from edgestore.text import MADE_WITH
from edgestore.training.fitting.commissioning import CHECKS
from edgestore.training.fitting.guide import TYPICAL, WORKS, Guide, belongs, drawings

TEMPLATE = Path(__file__).with_name("template")
PAGE_STYLE = Path(__file__).parents[2] / "documents" / "template" / "page.css"

_FIELD_CARD = tomllib.loads(Path(__file__).with_name("field_card.toml").read_text(encoding="utf-8"))

PAGES = {
    "fitting_guide": ("guide.html.j2", ("page.css", "handout.css")),
    "field_card_phone": ("phone.html.j2", ("phone.css",)),
    "field_card_wallet": ("wallet.html.j2", ("wallet.css",)),
    "commissioning_sheet": ("sheet.html.j2", ("page.css", "handout.css")),
}
"""Template and styles of each hand-out."""

ON_SCREEN = ("field_card_phone",)
"""Hand-outs that are not printed."""

CHECK_SHEET = "commissioning_sheet"
"""The hand-out that there is only for a card that goes in."""


def field_card(guide: Guide) -> dict[str, list[str]]:
    """Give the lines of the wallet card of a guide by part: before, the work, close, prove."""
    return {
        part: [row["text"] for row in _FIELD_CARD[part] if belongs(row, guide.work, guide.has)]
        for part in ("before", guide.work, "close", "prove")
    }


def page(name: str, guide: Guide) -> str:
    """Give a hand-out as HTML that holds everything it shows.

    Parameters
    ----------
    name : str
        One of ``PAGES``.
    guide : Guide
        The fitting guide.

    Returns
    -------
    str
        The page, the same for the same guide.
    """
    template, css = PAGES[name]
    titles = {
        "fitting_guide": f"{guide.question} {guide.title}",
        CHECK_SHEET: "Check after fitting a memory card",
    }
    known = {caution.key for caution in guide.cautions}
    return (
        _environment()
        .get_template(template)
        .render(
            made_with=MADE_WITH,
            title=titles.get(name, f"{WORKS[guide.work]}: field card"),
            css=css,
            typical=TYPICAL,
            guide=guide,
            card=field_card(guide),
            card_drawings=card_drawings(),
            crosswise=next(drawing for drawing in closing_drawings() if drawing.title == "Screws crosswise"),
            checks=CHECKS,
            known=known,
        )
    )


def handouts(guide: Guide, *, with_pdf: bool = True) -> dict[str, bytes]:
    """Give all hand-outs of a guide by file name; the sheet of checks only when a card goes in.

    Parameters
    ----------
    guide : Guide
        The fitting guide.
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
