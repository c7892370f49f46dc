"""Panel on what changes with other settings, or with other cards."""

from dataclasses import replace

from edgestore.figures.what_if import WhatIfFigure
from edgestore.panels import site
from edgestore.panels.controls import File, Number
from edgestore.panels.frame import Frame, Panel
from edgestore.plan.read import ListFile, read_other
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan
from edgestore.plan.what_if import WhatIf, what_if


def _answer(cameras: ListFile, cards: ListFile, settings: ListFile, other: ListFile, retention_days: float) -> WhatIf:
    one = site.as_it_is(cameras, cards, settings)
    compared = read_other(one, other) if other else one
    if retention_days:
        compared = compared.asking(Requirements(**{**compared.settings.requirements, "retention_days": retention_days}))
    change = what_if(site.planned(cameras, cards, settings), site_plan(compared))
    return replace(change, table=change.compared)


PANEL = Panel(
    question="What changes with other settings?",
    inputs=(
        Number(
            "retention_days",
            "Wanted footage in the other plan",
            "days",
            0,
            90,
            1,
            0,
            "Where no group asks else. 0: as the other settings state.",
        ),
        *(spec for spec in site.PANEL.inputs if isinstance(spec, File) and spec.name != "settings"),
        File("settings", "Settings", site.SETTINGS, "TOML (data/README.md), or none."),
        File(
            "other",
            "Other settings or cards",
            str(site.DATA / "ferry_terminal" / "site_five_years.toml") if site.OWN is None else "",
            "Settings (TOML) or a card list (CSV) for the same cameras, or none.",
        ),
    ),
    main=("retention_days", "other"),
    answer=_answer,
    figure=WhatIfFigure,
    tables=lambda result: {"compared": result.table},
)


def what_if_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
