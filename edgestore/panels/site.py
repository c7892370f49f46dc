"""Panel on which card goes into each camera."""

from functools import lru_cache
from pathlib import Path

from edgestore.figures.site import SiteFigure
from edgestore.models.speed import TRADE_MARGIN
from edgestore.panels.frame import File, Frame, Number, Panel
from edgestore.planning.lists import ListFile, SiteLists, read_lists
from edgestore.planning.requirements import Requirements
from edgestore.planning.site import SitePlan

DATA = Path(__file__).parents[2] / "data"
"""The demo lists, in a checkout."""


def _answer(
    cameras: ListFile,
    cards: ListFile,
    retention_days: float,
    life_years: float,
    speed_margin: float,
    retention_days_max: float,
) -> SitePlan:
    most = retention_days_max or None
    wanted = Requirements(retention_days, life_years, speed_margin, most)
    return _lists(cameras, cards, _changed(cameras), _changed(cards)).plan(wanted)


@lru_cache(maxsize=2)
def _lists(cameras: ListFile, cards: ListFile, *changed: float) -> SiteLists:
    """Read the lists, once for as long as their files do not change: a slider moves many times over one list."""
    return read_lists(cameras, cards)


def _changed(source: ListFile) -> float:
    """Give the time of a file's last change; 0 for one that is not there, or not a file."""
    path = None if isinstance(source, tuple) else Path(source)
    return path.stat().st_mtime if path and path.is_file() else 0.0


PANEL = Panel(
    question="Which card for each camera?",
    inputs=(
        File("cameras", "Camera list", str(DATA / "ferry_terminal" / "cameras.csv"), "CSV; columns: data/README.md."),
        File("cards", "Cards on offer", str(DATA / "cards.csv"), "CSV; columns: data/README.md."),
        Number("retention_days", "Wanted footage", "days", 0.5, 90, 0.5, 7, "How far back every card should go."),
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
    ),
    answer=_answer,
    figure=SiteFigure,
    tables=lambda plan: {"plan": plan.plan, "candidates": plan.candidates},
)


def site_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
