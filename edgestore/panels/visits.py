"""Panel on the visits at which the cards of a site are changed."""

import datetime

from edgestore.documents.front import front_page
from edgestore.figures.visits import VisitsFigure
from edgestore.panels import site
from edgestore.panels.controls import Choice, File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel
from edgestore.plan.read import ListFile
from edgestore.plan.what_visits import TABLES, WhatVisits, what_visits


def _answer(cameras: ListFile, cards: ListFile, settings: ListFile, shown: str, **numbers: float) -> WhatVisits:
    return what_visits(site.planned(cameras, cards, settings), shown, **numbers)


def _stated(settings: ListFile) -> dict[str, float]:
    """Give the budget that the settings state; 0 where they state none."""
    costs = site.settings_of(settings).costs
    return {"budget_per_year": (costs and costs.budget_per_year) or 0}


def _units(settings: ListFile) -> dict[str, str]:
    return {"budget_per_year": site.currency(settings)}


def _dates(result: WhatVisits) -> dict[str, bytes]:
    """The visits for a calendar program; nothing where the library that writes them is not installed."""
    try:
        from edgestore.documents.diary import diary
    except ImportError:
        return {}
    start = datetime.date.fromisoformat(result.calendar.bill.years["begins"].iloc[0])
    return {"visits.ics": diary(result.calendar, front_page(result.document, start))}


PANEL = Panel(
    question="At which visits are the cards changed?",
    inputs=(
        Choice(
            "shown",
            "Table",
            TABLES,
            TABLES[0],
            "What the table below shows. All visits and all cards in service are saved.",
        ),
        Number(
            "years_ahead",
            "Look ahead",
            "years",
            1,
            50,
            1,
            3,
            "The table and the picture show the visits within this time.",
        ),
        Number(
            "budget_per_year",
            "Budget a year",
            "currency units",
            0,
            5000,
            50,
            0,
            "To replace the cards in service, the riskiest first. Starts as in the settings; 0: no limit.",
        ),
        *(spec for spec in site.PANEL.inputs if isinstance(spec, File) and spec.name != "settings"),
        File(
            "settings",
            "Settings",
            site.SETTINGS,
            "TOML or a workbook: requirements, costs, service log and more (data/README.md).",
        ),
    ),
    main=("years_ahead", "budget_per_year", "shown"),
    answer=_answer,
    figure=VisitsFigure,
    stated=_stated,
    units=_units,
    tables=lambda result: result.tables,
    others=_dates,
)


def visits_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
