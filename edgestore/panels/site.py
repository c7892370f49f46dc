"""Panel on which card goes into each camera."""

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Generic, TypeVar

from edgestore.bundled import bundled
from edgestore.figures.assurance import AssuranceFigure
from edgestore.figures.site import SiteFigure
from edgestore.inputs.settings import LEAST_ASSURANCE, MOST_ASSURANCE, Settings, read_settings
from edgestore.inputs.site_folder import own_site
from edgestore.models.speed.classes import TRADE_MARGIN
from edgestore.panels.controls import Choice, File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel
from edgestore.plan.assurance_curve import SiteChances, SiteChoice, site_chances
from edgestore.plan.choice import POLICIES
from edgestore.plan.read import ListFile, read_lists
from edgestore.plan.requirements import Requirements, overridden, who_keeps
from edgestore.plan.saved_beside import with_saved_answers
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.plan.tables import tables
from edgestore.units import PERCENT_PER_ONE

KINDS_IN_WORDS = dict(
    zip(POLICIES, ("the best for each camera", "one for each group", "one for the whole site"), strict=True)
) | {str(most): f"at most {most}" for most in range(2, 9)}

State = dict[Path, tuple[int, int]]

T = TypeVar("T")

DIGITS = 12
"""Digits of an assurance that are kept, so that a percentage and its fraction are the same again."""

DATA = bundled("data")
OWN = own_site()
CAMERAS, CARDS, SETTINGS = (
    (str(DATA / "ferry_terminal" / "cameras.csv"), str(DATA / "cards.csv"), str(DATA / "ferry_terminal" / "site.toml"))
    if OWN is None
    else (str(OWN.cameras), str(OWN.cards), str(OWN.settings or ""))
)
"""The lists and settings from which the panels start: those of the reader's own site, else of the demo."""


def _answer(cameras: ListFile, cards: ListFile, settings: ListFile, kinds: str, **asked: float) -> SitePlan:
    requirements = _requirements(**asked)
    plan = with_saved_answers(site_plan(as_it_is(cameras, cards, settings).asking(requirements), kinds))
    site = plan.site
    if not site.override:
        return plan
    moved = [attribute for attribute, *_ in overridden(requirements, site.settings.requirements)]
    keeping = filter(None, [who_keeps(site.cameras, site.wanted, attribute) for attribute in moved])
    return replace(plan, warnings=(*plan.warnings[:1], *keeping, *plan.warnings[1:]))  # the first is the override


def _choice(cameras: ListFile, cards: ListFile, settings: ListFile, kinds: str, **asked: float) -> SiteChoice:
    requirements = _requirements(**asked)
    return _KEPT.chances(as_it_is(cameras, cards, settings), requirements).at(requirements.assurance, kinds)


def _requirements(retention_days_max: float, assurance: float, **asked: float) -> Requirements:
    share = round(assurance / PERCENT_PER_ONE, DIGITS)
    return Requirements(**asked, retention_days_max=retention_days_max or None, assurance=share)


class _Kept:
    """The chances of the site that was asked for last: they stay for as long as nothing but the assurance moves."""

    _last: SiteChances | None = None

    def chances(self, site: Site, asked: Requirements) -> SiteChances:
        last, asked = self._last, replace(asked, assurance=Requirements.assurance)
        if last is None or last.site.rates is not site.rates or last.site.requirements != asked:
            last = self._last = site_chances(site.asking(asked), last)
        return last


_KEPT = _Kept()


def _stated(settings: ListFile) -> dict[str, float]:
    """Give what the settings ask of every card, by control; where they do not say, what the panel starts with."""
    asked = settings_of(settings).requirements
    if "assurance" in asked:
        asked = {**asked, "assurance": round(PERCENT_PER_ONE * asked["assurance"], DIGITS)}
    return {spec.name: asked.get(spec.name, spec.default) for spec in PANEL.inputs if isinstance(spec, Number)}


def settings_of(settings: ListFile) -> Settings:
    """Give what a settings file states, read once for as long as it does not change; of none nothing."""
    files = [Path(settings)] if isinstance(settings, str) and settings else []
    return _read_settings(settings, tuple(state_of(files).items()))


def currency(settings: ListFile) -> str:
    """Name the currency of what a settings file states."""
    costs = settings_of(settings).costs
    return costs.currency if costs else "currency units"


@lru_cache(maxsize=1)
def _read_settings(settings: ListFile, _: tuple[tuple[Path, tuple[int, int]], ...]) -> Settings:
    content, name = (settings[1], settings[0]) if isinstance(settings, tuple) else (settings, "")
    return read_settings(content, name) if settings else Settings()


def as_it_is(cameras: ListFile, cards: ListFile, settings: ListFile) -> Site:
    """Read the lists and the files they name, once for as long as none changes: a slider moves many times over them."""
    site, as_read = _read(cameras, cards, settings)
    if state_of(site.files) != as_read:
        _read.cache_clear()
        site, _ = _read(cameras, cards, settings)
    return site


def planned(cameras: ListFile, cards: ListFile, settings: ListFile) -> SitePlan:
    """Plan the site of these files as its settings ask, once for as long as none changes."""
    return _plan(Same(as_it_is(cameras, cards, settings)))


class Same(Generic[T]):
    """A thing that is the same as itself alone: what is made of it is made once while only other inputs move."""

    def __init__(self, of: T) -> None:
        self.of = of

    def __hash__(self) -> int:
        return id(self.of)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.of is self.of


@lru_cache(maxsize=1)
def _plan(same: Same[Site]) -> SitePlan:
    return site_plan(same.of)


@lru_cache(maxsize=1)
def _read(cameras: ListFile, cards: ListFile, settings: ListFile) -> tuple[Site, State]:
    site = read_lists(cameras, cards, settings or None)
    return site, state_of(site.files)


def state_of(files: Iterable[Path]) -> State:
    """Give when each file last changed, and how large it is; of a folder, all that is in it."""
    every = [inner for path in files for inner in (path, *(path.rglob("*") if path.is_dir() else ()))]
    return {path: (path.stat().st_mtime_ns, path.stat().st_size) for path in every if path.exists()}


PANEL = Panel(
    question="Which card for each camera?",
    inputs=(
        File(
            "cameras",
            "Camera list",
            CAMERAS,
            "CSV, XLSX or ODS; columns: data/README.md. A list that names other files is given by its path.",
        ),
        File("cards", "Cards on offer", CARDS, "CSV, XLSX or ODS; columns: data/README.md."),
        File(
            "settings",
            "Settings",
            SETTINGS,
            "TOML or a workbook, or none: requirements, costs and more (data/README.md). The numbers below start "
            "from it.",
        ),
        Choice(
            "kinds",
            "Kinds of card",
            tuple(KINDS_IN_WORDS),
            POLICIES[0],
            "Fewer kinds are easier to keep in stock, and cost more.",
            words=KINDS_IN_WORDS,
        ),
        Number(
            "retention_days",
            "Wanted footage",
            "days",
            0.5,
            90,
            0.5,
            7,
            "How far back the footage on the cards goes, unless a group asks otherwise.",
        ),
        Number("life_years", "Wanted life", "years", 0.5, 15, 0.5, 3, "Shortest time until the cards are changed."),
        Number(
            "speed_margin",
            "Wanted speed margin",
            "",
            1,
            20,
            0.5,
            TRADE_MARGIN,
            "Card's promised rate over the camera's cap; ten is the trade's rule (common practice, no source).",
        ),
        Number(
            "retention_days_max", "Most footage allowed", "days", 0, 180, 1, 0, "By policy or law; 0 means no limit."
        ),
        Number(
            "assurance",
            "Assurance asked",
            "%",
            PERCENT_PER_ONE * LEAST_ASSURANCE,
            PERCENT_PER_ONE * MOST_ASSURANCE,
            1,
            PERCENT_PER_ONE * Requirements.assurance,
            "Chance that a card keeps all of this together.",
        ),
    ),
    main=("retention_days", "assurance", "kinds"),
    answer=_answer,
    figure=SiteFigure,
    drawn=_choice,
    beside=AssuranceFigure,
    tables=tables,
    stated=_stated,
    own_folder="plan",
)


def site_panel() -> Frame:
    """Give the panel, live."""
    return Frame(PANEL)
