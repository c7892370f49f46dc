"""Panel on what changes with other settings, with other cards, or with cameras that are set otherwise."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import pandas as pd

from edgestore.figures.what_if import WhatIfFigure
from edgestore.headings import heading
from edgestore.panels import site
from edgestore.panels.controls import Choice, File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel
from edgestore.plan.camera_side import SIDE_ASSUMPTIONS
from edgestore.plan.read import ListFile, read_other
from edgestore.plan.requirements import Requirements
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.plan.what_if import WhatIf, what_if

TABLES = ("both plans", "cameras set otherwise")

WHOLE_SITE = "whole site"
"""Stands in place of a camera where all of them are told of."""


@dataclass(frozen=True)
class Compared:
    """Two plans side by side, and the first of them, whose cameras may be set otherwise; one of two tables is shown."""

    plans: WhatIf
    plan: SitePlan
    shown: str

    @property
    def is_of_cameras(self) -> bool:
        """Whether the table of the cameras is shown."""
        return self.shown == TABLES[1]

    @property
    def sentence(self) -> str:
        """What changes from one plan to the other; beside the table of the cameras, the setting that saves most."""
        return " ".join([self.plans.sentence, *(self.plan.camera_side.sentences[:1] if self.is_of_cameras else ())])

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the comparison and the table rest on."""
        return (*self.plans.assumptions, *(SIDE_ASSUMPTIONS if self.is_of_cameras else ()))

    @property
    def warnings(self) -> tuple[str, ...]:
        """What cannot be compared."""
        return self.plans.warnings

    @property
    def table(self) -> pd.DataFrame:
        """The table that is shown, what differs in words."""
        if self.is_of_cameras:
            return self.plan.camera_side.shown
        compared = self.plans.compared
        is_site, what = compared["camera"] == "", compared["what"].map(heading)
        is_cost = ~is_site & (compared["what"] == "cost")
        what = what.mask(is_cost, f"Cost, {self.unit}").map(lambda words: words[0].upper() + words[1:])
        return compared.assign(camera=compared["camera"].mask(is_site, WHOLE_SITE), what=what)

    @property
    def tables(self) -> Mapping[str, pd.DataFrame]:
        """Both tables, as the plan writes them."""
        return {"compared": self.plans.compared, "camera_side": self.plan.camera_side.table}

    @property
    def amounts(self) -> pd.DataFrame:
        """What the picture compares."""
        return self.plans.amounts

    @property
    def unit(self) -> str:
        """Unit of these."""
        return self.plans.unit


def _answer(
    cameras: ListFile, cards: ListFile, settings: ListFile, other: ListFile, retention_days: float, shown: str
) -> Compared:
    one = site.as_it_is(cameras, cards, settings)
    compared = _other(one, other) if other else one
    if retention_days:
        compared = compared.asking(Requirements(**{**compared.settings.requirements, "retention_days": retention_days}))
    plan = site.planned(cameras, cards, settings)
    return Compared(what_if(plan, site_plan(compared, with_reasons=False)), plan, shown)


def _other(one: Site, other: ListFile) -> Site:
    """Read the other file, once for as long as neither it nor any file of the first site changes."""
    compared, as_read = _read(site.Same(one), other)
    if site.state_of(compared.files) != as_read:
        _read.cache_clear()
        compared, _ = _read(site.Same(one), other)
    return compared


@lru_cache(maxsize=1)
def _read(same: site.Same[Site], other: ListFile) -> tuple[Site, site.State]:
    compared = read_other(same.of, other)
    return compared, site.state_of(compared.files)


PANEL = Panel(
    question="What changes with other settings?",
    inputs=(
        Choice(
            "shown",
            "Table",
            TABLES,
            TABLES[0],
            "What differs between the plans, or what other camera settings would change in the first plan.",
        ),
        Number(
            "retention_days",
            "Wanted footage in the other plan",
            "days",
            0,
            90,
            1,
            0,
            "Unless a group asks otherwise. 0: as the other settings state.",
        ),
        *(spec for spec in site.PANEL.inputs if isinstance(spec, File) and spec.name != "settings"),
        File("settings", "Settings", site.SETTINGS, "TOML or a workbook (data/README.md), or none."),
        File(
            "other",
            "Other settings or cards",
            str(site.DATA / "ferry_terminal" / "site_five_years.toml") if site.OWN is None else "",
            "Settings (TOML, XLSX or ODS) or a card list (CSV, XLSX or ODS) for the same cameras, or none.",
        ),
    ),
    main=("retention_days", "other"),
    answer=_answer,
    figure=WhatIfFigure,
    tables=lambda result: result.tables,
)


def what_if_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
