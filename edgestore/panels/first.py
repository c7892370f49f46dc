"""Panel on what to find out before the cards are ordered."""

from edgestore.figures.first import FirstFigure
from edgestore.inputs.efforts import EFFORTS, effort_price
from edgestore.inputs.settings import read_settings
from edgestore.panels import site
from edgestore.panels.controls import File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel
from edgestore.plan.read import ListFile
from edgestore.plan.what_first import WhatFirst, what_first


def _stated(settings: ListFile) -> dict[str, float]:
    """Give what each effort takes by the settings, by control: as stated, else so many of their visits as we guess."""
    content, name = (settings[1], settings[0]) if isinstance(settings, tuple) else (settings, "")
    read = read_settings(content, name) if settings else None
    if read is None or read.costs is None:
        return {spec.name: spec.default for spec in PANEL.inputs if isinstance(spec, Number)}
    prices = {effort.name: effort_price(effort.name, read.efforts, read.costs.visit_price) for effort in EFFORTS}
    return {spec.name: prices.get(spec.name, spec.default) for spec in PANEL.inputs if isinstance(spec, Number)}


def _units(settings: ListFile) -> dict[str, str]:
    return {spec.name: site.currency(settings) for spec in PANEL.inputs if isinstance(spec, Number)}


def _answer(cameras: ListFile, cards: ListFile, settings: ListFile, **prices: float) -> WhatFirst:
    return what_first(site.planned(cameras, cards, settings), **prices)


PANEL = Panel(
    question="What should we find out first?",
    inputs=(
        Number(
            "footage_day_price",
            "Effort for a day of footage",
            "currency units",
            0,
            500,
            5,
            30,
            "To fetch it from the camera and measure it; half the price of a visit is our guess.",
        ),
        Number(
            "footage_week_price",
            "Effort for a week of footage",
            "currency units",
            0,
            500,
            5,
            60,
            "The same for a week; the price of a visit is our guess.",
        ),
        Number(
            "event_log_price",
            "Effort for a week of events",
            "currency units",
            0,
            500,
            5,
            30,
            "To fetch the log of a camera that records on events.",
        ),
        Number(
            "ask_maker_price",
            "Effort to ask a maker",
            "currency units",
            0,
            500,
            5,
            30,
            "To learn what share of its cards reaches the rating.",
        ),
        Number(
            "broken_promise_price",
            "Price of a broken promise",
            "currency units",
            0,
            10_000,
            50,
            0,
            "0: as the settings state, or else what the assured choices pay for a chance.",
        ),
        *(spec for spec in site.PANEL.inputs if isinstance(spec, File) and spec.name != "settings"),
        File(
            "settings",
            "Settings",
            site.SETTINGS,
            "TOML or a workbook: requirements, costs and more (data/README.md). The efforts above start from it "
            "and override it.",
        ),
    ),
    main=("footage_day_price", "ask_maker_price", "broken_promise_price"),
    answer=_answer,
    figure=FirstFigure,
    stated=_stated,
    units=_units,
    tables=lambda result: {"measure_first": result.first.table},
)


def first_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
