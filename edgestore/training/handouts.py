"""The hand-outs: fitting guide, field card for a phone and for a wallet, commissioning sheet. HTML and PDF."""

import base64
import tomllib
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.documents.pdf import pdf
from edgestore.figures.fitting_card import card_drawings
from edgestore.figures.fitting_closing import closing_drawings
from edgestore.figures.fitting_parts import Drawing
from edgestore.output import write_whole
from edgestore.training.cautions import CAUTIONS, cautions_for
from edgestore.training.commissioning import CHECKS
from edgestore.training.fitting import TYPICAL, Guide, drawings

TEMPLATE = Path(__file__).with_name("template")
PAGE_STYLE = Path(__file__).parents[1] / "documents" / "template" / "page.css"

FIELD_CARD: dict[str, list[str]] = tomllib.loads(
    Path(__file__).with_name("field_card.toml").read_text(encoding="utf-8")
)

PAGES = {
    "fitting_guide": ("guide.html.j2", ("page.css", "handout.css")),
    "field_card_phone": ("phone.html.j2", ("phone.css",)),
    "field_card_wallet": ("wallet.html.j2", ("wallet.css",)),
    "commissioning_sheet": ("sheet.html.j2", ("page.css", "handout.css")),
}
"""Template and styles of each hand-out."""

ON_SCREEN = ("field_card_phone",)
"""Hand-outs that are not printed."""


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
        "fitting_guide": f"How do I fit the card? {guide.title}",
        "field_card_phone": "Fitting a memory card",
        "field_card_wallet": "Fitting a memory card",
        "commissioning_sheet": "Check after fitting a memory card",
    }
    return (
        _environment()
        .get_template(template)
        .render(
            title=titles[name],
            css=css,
            typical=TYPICAL,
            guide=guide,
            card=FIELD_CARD,
            card_drawings=card_drawings(),
            crosswise=next(drawing for drawing in closing_drawings() if drawing.title == "Screws crosswise"),
            cautions=CAUTIONS.values(),
            checks=CHECKS,
            check_cautions=cautions_for(key for check in CHECKS for key in check.cautions),
        )
    )


def handouts(guide: Guide, *, with_pdf: bool = True) -> dict[str, bytes]:
    """Give all hand-outs by file name.

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
    styles = {path.name: Markup(path.read_text(encoding="utf-8")) for path in (PAGE_STYLE, *TEMPLATE.glob("*.css"))}
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
