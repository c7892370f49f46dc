"""The proposal as PDF, through WeasyPrint. It fetches nothing: everything is in the page."""

import hashlib
import logging
from functools import cache
from pathlib import Path
from typing import Any

from edgestore.checks import refuse

MEND = (
    "Install the extra, pip install 'edgestore[proposal]', and the system's libraries, on Debian and Ubuntu:"
    " sudo apt install libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0"
)


def pdf(page: str) -> bytes:
    """Print a page.

    Parameters
    ----------
    page : str
        HTML that holds everything it shows.

    Returns
    -------
    bytes
        The PDF, the same for the same page with the same fonts on the machine.

    Raises
    ------
    InputError
        When WeasyPrint or a library of the system that it needs is not installed, or the page refers to a file or a
        host outside.

    Notes
    -----
    The letters are of DejaVu Sans, which comes with matplotlib; where it lacks one, the fonts of the system are asked.
    """
    try:
        from weasyprint import CSS, HTML
        from weasyprint.text.fonts import FontConfiguration
        from weasyprint.urls import FatalURLFetchingError, URLFetcher
    except (ImportError, OSError) as error:
        found = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise refuse("PDF", f"no WeasyPrint that runs ({found})", "WeasyPrint and Pango", MEND) from None

    logging.getLogger("weasyprint").setLevel(logging.ERROR)
    fonts = FontConfiguration()
    inside = URLFetcher(allowed_protocols=("data",), fail_on_errors=True)
    fonts_alone = URLFetcher(allowed_protocols=("file",), fail_on_errors=True)
    letters = CSS(string=_letters(), font_config=fonts, url_fetcher=fonts_alone)
    try:
        printed: bytes = HTML(string=page, url_fetcher=inside).write_pdf(
            stylesheets=[letters],
            font_config=fonts,
            pdf_identifier=hashlib.sha256(page.encode()).digest()[:16],
            pdf_tags=True,
            pdf_variant="pdf/ua-1",
            custom_metadata=True,
            finisher=_with_scopes,
        )
    except FatalURLFetchingError as error:
        raise refuse("PDF", str(error), "a page that holds everything it shows") from None
    return printed


def _with_scopes(_: Any, made: Any) -> None:
    """Say of each head of a table whether it is that of a column or of a row (PDF 1.7, table 349)."""
    import pydyf  # what WeasyPrint writes with

    by_number: dict[int, Any] = {item.number: item for item in made.objects}

    def above(item: Any) -> Any:
        return by_number[int(item["P"].split()[0])]

    for item in [item for item in by_number.values() if isinstance(item, dict) and item.get("S") == "/TH"]:
        group = above(above(item))
        scope = "/Column" if group.get("S") == "/THead" else "/Row"
        item["A"] = pydyf.Dictionary({**item.get("A", {}), "O": "/Table", "Scope": scope})


@cache
def _letters() -> str:
    """Give the style that has every text in DejaVu Sans."""
    import matplotlib as mpl

    folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
    faces = [
        f"@font-face {{ font-family: page; font-weight: {weight}; src: url({(folder / name).as_uri()}) }}"
        for weight, name in (("normal", "DejaVuSans.ttf"), ("bold", "DejaVuSans-Bold.ttf"))
    ]
    return "\n".join([*faces, "html { font-family: page, sans-serif }", "@page { font-family: page, sans-serif }"])
