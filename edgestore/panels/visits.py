"""Panel on the visits at which the cards of a site are changed."""

from edgestore.figures.visits import VisitsFigure
from edgestore.panels import site
from edgestore.panels.frame import Choice, File, Frame, Number, Panel
from edgestore.plan.read import ListFile
from edgestore.plan.what_visits import TABLES, WhatVisits, what_visits


def _answer(cameras: ListFile, cards: ListFile, settings: ListFile, shown: str, budget_per_year: float) -> WhatVisits:
    return what_visits(site.planned(cameras, cards, settings), shown, budget_per_year=budget_per_year)


PANEL = Panel(
    question="At which visits are the cards changed?",
    inputs=(
        Choice("shown", "Table", TABLES, TABLES[0], "What stands in the table below; both are saved."),
        Number(
            "budget_per_year",
            "Budget to replace cards in service",
            "currency units a year",
            0,
            5000,
            50,
            0,
            "0: as the settings state, else none. The riskiest go first.",
        ),
        *(spec for spec in site.PANEL.inputs if isinstance(spec, File) and spec.name != "settings"),
        File(
            "settings",
            "Settings",
            str(site.DATA / "ferry_terminal" / "site.toml"),
            "TOML: requirements, costs, service log and more (data/README.md).",
        ),
    ),
    answer=_answer,
    figure=VisitsFigure,
    tables=lambda result: result.tables,
)


def visits_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
