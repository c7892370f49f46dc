"""Panel on what a site then did, held against its plan."""

from functools import lru_cache
from pathlib import Path

from edgestore.figures.happened import HappenedFigure
from edgestore.inputs.saved_answers import ANSWERS_FOLDER
from edgestore.panels import site
from edgestore.panels.controls import Choice, File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel
from edgestore.plan.happened_tables import TABLES, table_note
from edgestore.plan.read import ListFile
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.verdicts import BAND, WIDEST_BAND
from edgestore.plan.what_happened import ALL, OF_CAMERAS, WhatHappened, what_happened
from edgestore.units import PERCENT_PER_ONE


def _answer(
    cameras: ListFile, cards: ListFile, settings: ListFile, band: float, of_cameras: str, shown: str
) -> WhatHappened:
    folder = None if isinstance(cameras, tuple) else Path(cameras).parent / ANSWERS_FOLDER
    plan = site.planned(cameras, cards, settings)
    if folder is None or not folder.is_dir():
        return what_happened(plan, None, shown)
    held = _held(site.Same(plan), folder, tuple(site.state_of([folder]).items()))
    return held.within(round(band / PERCENT_PER_ONE, site.DIGITS)).showing(of_cameras=of_cameras, shown=shown)


@lru_cache(maxsize=1)
def _held(same: site.Same[SitePlan], folder: Path, _: tuple[tuple[Path, tuple[int, int]], ...]) -> WhatHappened:
    return what_happened(same.of, folder)


PANEL = Panel(
    question="What happened?",
    inputs=(
        Number(
            "band",
            "Band planned",
            "%",
            50,
            round(PERCENT_PER_ONE * WIDEST_BAND),
            1,
            PERCENT_PER_ONE * BAND,
            "Part of such cameras that should lie within the band; what lies outside is shorter or longer.",
        ),
        Choice("shown", "Table", TABLES, TABLES[0], "What the table below shows. All tables are saved."),
        Choice("of_cameras", "Cameras", OF_CAMERAS, ALL, "Which of them table and picture show."),
        *(spec for spec in site.PANEL.inputs if isinstance(spec, File) and spec.name != "settings"),
        File(
            "settings",
            "Settings",
            site.SETTINGS,
            "TOML or a workbook: what was asked, and the service log. The answers of the cameras are read from the "
            f"folder {ANSWERS_FOLDER} beside the camera list (data/README.md).",
        ),
    ),
    main=("band", "of_cameras", "shown"),
    answer=_answer,
    figure=HappenedFigure,
    tables=lambda result: result.tables,
    note=table_note,
)


def happened_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
