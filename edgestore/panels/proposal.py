"""Panel on what goes into the proposal: the choices, the document as it stands, and the pack written to a folder."""

import asyncio
import datetime
from base64 import b64encode
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from edgestore.checks import InputError
from edgestore.documents.content import Proposal, proposal
from edgestore.documents.front import front_page
from edgestore.documents.pack import HTML, Pack, pack
from edgestore.documents.page import page
from edgestore.figures.site import SiteFigure
from edgestore.inputs.settings import Settings, read_settings
from edgestore.models.speed import TRADE_MARGIN
from edgestore.panels.frame import Choice, File, Frame, Number, Panel, table_html
from edgestore.panels.site import DATA, _lists
from edgestore.planning.kinds import POLICIES
from edgestore.planning.lists import ListFile
from edgestore.planning.requirements import Requirements
from edgestore.planning.site import SitePlan

PAUSE_S = 0.4
"""The document is made when no control has moved for so long: it takes longer than a redraw may."""

IN_THE_DOCUMENT = "Reasons, assumptions and what to take care of stand in the document below."

LARGEST_LINK_BYTES = 2_000_000
"""A larger document is not put into a link: browsers cut long addresses."""


def _settings(settings: ListFile) -> Settings:
    if isinstance(settings, tuple):
        return read_settings(settings[1], settings[0])
    return read_settings(settings) if settings else Settings()


def _answer(
    cameras: ListFile,
    cards: ListFile,
    settings: ListFile,
    retention_days: float,
    life_years: float,
    speed_margin: float,
    retention_days_max: float,
    kinds: str,
) -> SitePlan:
    asked = Requirements(retention_days, life_years, speed_margin, retention_days_max or None)
    return replace(_lists(cameras, cards), settings=_settings(settings)).plan(asked, kinds)


PANEL = Panel(
    question="What do I put in the proposal?",
    inputs=(
        Number("retention_days", "Wanted footage", "days", 0.5, 90, 0.5, 7, "Where neither camera nor group asks."),
        Number("life_years", "Wanted life", "years", 0.5, 15, 0.5, 3, "How long until the cards are to be changed."),
        Number(
            "speed_margin",
            "Wanted speed margin",
            "",
            1,
            20,
            0.5,
            TRADE_MARGIN,
            "Card's promised rate over the camera's peak; ten is the trade's rule (common practice, no source).",
        ),
        Number("retention_days_max", "Most footage allowed", "days", 0, 180, 1, 0, "By policy or law; 0 is no limit."),
        Choice("kinds", "One kind of card for each", POLICIES, POLICIES[0], "Fewer kinds are easier to keep in stock."),
        File(
            "cameras",
            "Camera list",
            str(DATA / "ferry_terminal" / "cameras.csv"),
            "CSV; columns: data/README.md. A list that names other files is given by its path.",
        ),
        File("cards", "Cards on offer", str(DATA / "cards.csv"), "CSV; columns: data/README.md."),
        File(
            "settings",
            "Settings of the site",
            str(DATA / "ferry_terminal" / "site.toml"),
            "TOML: groups, prices, title, maker, logo; keys: data/README.md. May be empty.",
        ),
    ),
    answer=_answer,
    figure=SiteFigure,
)


class ProposalFrame(Frame):
    """The frame of all panels, and in it the document, a link that saves it, and a button that writes the pack.

    Attributes
    ----------
    document : HTML
        The document in a frame of its own, in which nothing runs.
    link : HTML
        The same to download.
    """

    children: Any

    def __init__(self) -> None:
        self.document, self.link = widgets.HTML(), widgets.HTML()
        self._waiting: asyncio.TimerHandle | None = None
        super().__init__(PANEL)
        self.folder.value = str(Path.cwd() / "proposal")
        self.save.description = "Write the pack"
        answer, *rest = self.children
        self.children = (answer, self.document, self.link, *rest)

    def _show(self) -> None:
        super()._show()
        if isinstance(self.result, SitePlan):
            self.remarks.value = f"<p>{IN_THE_DOCUMENT}</p>"
            self.table.value = table_html(self.result.table.drop(columns=["reason", "against_cap"]))
        is_first = self._waiting is None
        if self._waiting:
            self._waiting.cancel()
        try:
            self._waiting = asyncio.get_running_loop().call_later(0 if is_first else PAUSE_S, self._show_document)
        except RuntimeError:  # nothing runs that could call later
            self._show_document()

    def _show_document(self) -> None:
        self.document.value = self.link.value = ""
        if self.result is None:
            return
        try:
            html = page(self._proposal())
        except InputError as error:  # the logo
            self.link.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        self.document.value = (
            f'<iframe title="The document" sandbox="" srcdoc="{escape(html)}"'
            ' style="width: 100%; height: 75vh; border: 1px solid #8a8a8a; box-sizing: border-box"></iframe>'
        )
        if len(html) <= LARGEST_LINK_BYTES:
            address = f"data:text/html;base64,{b64encode(html.encode()).decode()}"
            self.link.value = f'<p><a download="{HTML}" href="{address}">Download the document as HTML</a></p>'

    def _proposal(self) -> Proposal:
        assert isinstance(self.result, SitePlan)
        settings = _settings(self.controls["settings"].value)
        return proposal(self.result, front_page(settings.document, datetime.date.today()), settings.card_specification)

    def _save(self) -> None:
        if self.result is None:
            return
        try:
            made = self._pack()
            written = made.write(Path(self.folder.value))
        except InputError as error:
            self.saved.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        notes = "".join(f"<p>{escape(text)}</p>" for text in made.notes)
        self.saved.value = f'<p role="status">Written {escape(", ".join(map(str, written)))}</p>{notes}'

    def _pack(self) -> Pack:
        """Make the pack; without the PDF, and saying so, where this machine cannot print."""
        says = self._proposal()
        try:
            return pack(says)
        except InputError as error:
            made = pack(says, with_pdf=False)
            return replace(made, notes=(f"Without the PDF. {error}", *made.notes))


def proposal_panel() -> ProposalFrame:
    """Give the panel, live."""
    return ProposalFrame()
