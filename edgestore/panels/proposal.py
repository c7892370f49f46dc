"""Panel on what goes into the proposal: the choices, the document as it stands, and the pack written to a folder."""

import asyncio
import datetime
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from edgestore.checks import InputError
from edgestore.documents.alternatives import Alternative
from edgestore.documents.content import Proposal, proposal
from edgestore.documents.front import front_page
from edgestore.documents.pack import HTML, MEND, Pack, missing_libraries, pack
from edgestore.documents.page import page
from edgestore.panels import site
from edgestore.panels.controls import File
from edgestore.panels.frame import OLD, Frame
from edgestore.panels.shared import shared
from edgestore.panels.table import table_html
from edgestore.panels.typed import place_to_save, typed_folder
from edgestore.plan.read import ListFile, read_other
from edgestore.plan.site_plan import SitePlan, site_plan

WRITTEN_SOON = '<p role="status">The document is being written; it appears here in a few seconds.</p>'

IN_THE_DOCUMENT = "The document below has the reasons, the assumptions and what to watch out for."

LARGEST_LINK_BYTES = 2_000_000
"""A larger document is not put into a link: browsers cut long addresses."""


def _plan(against: ListFile, **choices: Any) -> SitePlan:
    """The plan of the site; what stands beside it does not change it."""
    plan = site.PANEL.answer(**choices)
    assert isinstance(plan, SitePlan)
    return plan


def _choice(against: ListFile, **choices: Any) -> Any:
    """What of it is drawn first."""
    assert site.PANEL.drawn is not None
    return site.PANEL.drawn(**choices)


PANEL = replace(
    site.PANEL,
    question="What do I put in the proposal?",
    inputs=(
        *(
            replace(spec, default=site.SETTINGS) if isinstance(spec, File) and spec.name == "settings" else spec
            for spec in site.PANEL.inputs
        ),
        File("against", "Alternative", "", "Other settings, or another card list, to compare with the plan, or none."),
    ),
    answer=_plan,
    drawn=_choice,
)
"""The choices are those of the plan, and what stands beside it."""


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
        # To write it takes seconds, in which nothing else is answered: it is written when its place is shown.
        self.document, self.link = shared(widgets.HTML, _view_count=0), shared(widgets.HTML)
        self.document.observe(self._shown, "_view_count")
        self._against: ListFile = ""
        self._waiting: asyncio.TimerHandle | None = None
        self._missing = missing_libraries()
        super().__init__(PANEL)
        self.folder.value = place_to_save("proposal")
        self.save.description = "Write the pack"
        self.saved.value = self._cannot_write()
        answer, *rest = self.children
        self.children = (answer, self.document, self.link, *rest)

    def _cannot_write(self) -> str:
        """Say which library the pack or its PDF lacks, and how to get it; nothing where none is missing."""
        if not self._missing:
            return ""
        what = (
            "The pack is written without its PDF" if self._missing == ("weasyprint",) else "The pack cannot be written"
        )
        text = (
            f"{what}: {', '.join(self._missing)} not installed on this computer. {MEND}, in the environment from which"
            " this workbook was started, then start it again."
        )
        return f'<p role="alert">{escape(text)}</p>'

    def _draw_first(self, values: Mapping[str, Any]) -> None:
        if self._waiting:
            self._waiting.cancel()
        super()._draw_first(values)
        self.document.add_class(OLD)  # until the document of this answer is there

    def _answer(self, values: Mapping[str, Any]) -> None:
        self._against = values["against"]
        super()._answer(values)
        assert isinstance(self.result, SitePlan)
        said = (*filter(None, [self.result.site.override]), IN_THE_DOCUMENT)
        self.remarks.value = "".join(f"<p>{escape(text)}</p>" for text in said)
        self.table.value = table_html(self.result.table.drop(columns=["reason", "against_cap"]))
        if not {"xlsxwriter", "icalendar"}.isdisjoint(self._missing):
            self.save.disabled = True
        try:
            loop = asyncio.get_running_loop()
            self.document.value = self.document.value or WRITTEN_SOON
            if self.document._view_count:
                self._waiting = loop.call_later(0, self._show_document)
        except RuntimeError:  # nothing runs that could call later
            self._show_document()

    def _blank(self, why: str) -> None:
        super()._blank(why)
        self.document.value = self.link.value = ""
        self.document.remove_class(OLD)

    def _show_last_good(self) -> bool:
        has_answer = super()._show_last_good()
        self.link.value = ""  # what is taken along is the document of the settings that stand there
        self.document.remove_class(OLD)
        return has_answer

    def _shown(self, change: Mapping[str, Any]) -> None:
        if change["new"] and self.document.value == WRITTEN_SOON:
            self._waiting = asyncio.get_running_loop().call_later(0, self._show_document)

    def _show_document(self) -> None:
        if self.result is None:
            return
        self.document.value = self.link.value = ""
        self.document.remove_class(OLD)
        try:
            html = page(self._proposal())
        except InputError as error:  # the logo, or the alternative
            self.link.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        except Exception as error:
            self._fail(error)
            return
        self.document.value = (
            f'<iframe title="The document" sandbox="" srcdoc="{escape(html)}"'
            ' style="width: 100%; height: 75vh; border: 1px solid; box-sizing: border-box"></iframe>'
        )
        if len(html) <= LARGEST_LINK_BYTES:
            address = f"data:text/html;base64,{b64encode(html.encode()).decode()}"
            self.link.value = f'<p><a download="{HTML}" href="{address}">Download the document as HTML</a></p>'

    def _proposal(self) -> Proposal:
        assert isinstance(self.result, SitePlan)
        settings = self.result.site.settings
        front = front_page(settings.document, datetime.date.today())
        return proposal(self.result, front, settings.card_specification, against=self._alternatives(self.result))

    def _alternatives(self, plan: SitePlan) -> list[Alternative]:
        """Plan the site with the other settings or cards, where a file of them is given."""
        if not self._against:
            return []
        name = self._against[0] if isinstance(self._against, tuple) else Path(self._against).name
        other = read_other(plan.site, self._against)
        return [Alternative(name, site_plan(other, plan.kinds, with_reasons=False))]

    def _save(self) -> None:
        if self.result is None:
            return
        try:
            folder = typed_folder(self.folder.value, self.folder.description)
            made = self._pack()
            written = made.write(folder)
        except InputError as error:
            self.saved.value = f'<p role="alert">{escape(str(error))}</p>'
            return
        except Exception as error:
            self._fail(error)
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
