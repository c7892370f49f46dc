"""What a proposal says, as data: made from one plan, rendered by the other files of this room."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import pandas as pd

from edgestore.documents.alternatives import PROPOSED, Alternative, alternatives, checked
from edgestore.documents.first_page import FirstPage, first_page
from edgestore.documents.front import FrontPage
from edgestore.documents.language import Language, language
from edgestore.documents.lots import lots
from edgestore.documents.margins import margins
from edgestore.documents.reading import Caution, cautions
from edgestore.documents.specification import specifications
from edgestore.inputs.settings import CardSpecification
from edgestore.plan.changes import SERVICE_ASSUMPTION
from edgestore.plan.rates import is_amplification_unknown
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.visit_calendar import VisitCalendar, visit_calendar
from edgestore.plan.warnings import ASSUMPTIONS, warnings, without_an_assured_card
from edgestore.text import counted, short
from edgestore.verification import own_check_files, read_checks, run
from edgestore.verification.quantities import CHECKABLE

MODELS_OF_A_PLAN = ("acceptance", "bitrate", "classes", "duty", "endurance", "law", "mapping", "plans", "retention")
"""The modules whose outside checks a proposal counts, since a plan rests on them."""

KINDS = ("measured", "described", "logged", "listed", "assumed")
"""What a figure can rest on, from the best."""

KINDS_TOLD = tuple(text for text in ASSUMPTIONS if text.startswith("Measured: "))
"""What the kinds mean: told among the terms."""

NAMES_IN_A_WARNING, IN_A_WARNING = 3, 20
"""Cameras that a warning of page 1 names, and letters of each name."""


@dataclass(frozen=True)
class Assumption:
    """What the plan takes for granted, and the kind of it."""

    kind: str
    text: str


@dataclass(frozen=True)
class OutsideChecks:
    """How many values from outside the library were recomputed just now, by the kind of their source."""

    passed: int
    failed: int
    by_kind: Mapping[str, int]


@dataclass(frozen=True)
class Proposal:
    """What a proposal says.

    Attributes
    ----------
    front : FrontPage
        Title, maker, date.
    plan : SitePlan
        The plan that is proposed.
    asked : CardSpecification
        What is asked of every card besides.
    specifications, margins : DataFrame
        A row a camera: the card asked for, and what would change the choice.
    warnings : tuple of str
        Every warning, the grave ones first.
    assumptions : tuple of Assumption
        What holds for the whole plan; what each camera's figures rest on stands in the plan.
    checks : OutsideChecks
        Counts of the outside checks of the models used.
    caution, cautions : str, mapping of str to tuple of Caution
        What stands above all cautions, and the cautions by heading.
    against : tuple of Alternative
        Other plans of the same cameras to stand beside this one.
    """

    front: FrontPage
    plan: SitePlan
    asked: CardSpecification
    specifications: pd.DataFrame
    margins: pd.DataFrame
    warnings: tuple[str, ...]
    assumptions: tuple[Assumption, ...]
    checks: OutsideChecks
    caution: str
    cautions: Mapping[str, tuple[Caution, ...]]
    against: tuple[Alternative, ...] = ()

    @cached_property
    def names(self) -> frozenset[str]:
        """Texts of the user, which stay as they are in every language, and may hold a term in another meaning."""
        cameras, cards = self.plan.site.cameras, self.plan.site.offered
        columns = (cameras["camera"], cameras["place"], cameras["group"], cameras["visit_group"], cards["card"])
        front = self.front
        service = self.plan.calendar
        cards_now: list[str] = [] if service is None else service["card"].tolist()
        in_warnings = [short(name, IN_A_WARNING) for name in cameras["camera"]]
        own = {front.title, front.organisation, front.author, front.client, front.reference, front.revision}
        return frozenset(name for name in own.union(*columns, cards_now, in_warnings) if name)

    @cached_property
    def language(self) -> Language:
        """The language of the document."""
        return language(self.front.language).knowing(self.names)

    @cached_property
    def visits(self) -> VisitCalendar:
        """The visits at which cards are changed, from the date of the document on, and their bill."""
        return visit_calendar(self.plan.site, self.plan.plan, self.front.date, in_service=self.plan.calendar)

    @cached_property
    def alternatives(self) -> pd.DataFrame:
        """The plan and those that stand beside it, a row each; without any of them nothing."""
        return alternatives(Alternative(PROPOSED, self.plan), self.against, self.front.date)

    @cached_property
    def lots(self) -> pd.DataFrame:
        """The order and its specification, a row a kind of card."""
        return lots(self.plan, self.specifications, self.language)

    @cached_property
    def first_page(self) -> FirstPage:
        """Everything that may stand on page 1."""
        return first_page(self.plan, self.lots, self.visits, self.margins, _ranked(self.plan), self.language)


def proposal(
    plan: SitePlan,
    front: FrontPage,
    asked: CardSpecification | None = None,
    *,
    against: Sequence[Alternative] = (),
) -> Proposal:
    """Make a proposal of a plan.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    front : FrontPage
        Title, maker, date.
    asked : CardSpecification, optional
        Temperature range and warranty asked of every card; nothing when left out.
    against : sequence of Alternative
        Other plans to stand beside this one, up to three.

    Returns
    -------
    Proposal
        What the documents say.
    """
    above_all, by_heading = cautions()
    return Proposal(
        front=front,
        plan=plan,
        asked=asked or CardSpecification(),
        specifications=specifications(plan, language(front.language)),
        margins=margins(plan),
        warnings=plan.warnings_by_weight,
        assumptions=tuple(_assumptions(plan)),
        checks=_checked(),
        caution=above_all,
        cautions=by_heading,
        against=checked(against),
    )


def _ranked(plan: SitePlan) -> tuple[str, ...]:
    """Give all warnings as page 1 tells them, the gravest first: few cameras named, long names cut."""
    names = [short(camera, IN_A_WARNING) for camera in plan.plan["camera"]]
    rows, site = plan.plan.assign(camera=names), replace(plan.site, cameras=plan.site.cameras.assign(camera=names))
    named = warnings(plan.plan, plan.site)
    first = tuple(filter(None, [plan.site.override, plan.beside]))
    left = without_an_assured_card(plan.plan)  # page 1 names these cameras with what would help
    others = [text for text in plan.warnings_by_weight if text not in (*named, *first)]
    shorter = warnings(rows, site, NAMES_IN_A_WARNING)
    told = (text for text, whole in zip(shorter, named, strict=True) if whole not in left)
    return (*first, *told, *others)


def _assumptions(plan: SitePlan) -> list[Assumption]:
    """Give what holds for the whole plan and bears on a figure of the document, and the kind of each."""
    cards = plan.site.offered
    not_here = {SERVICE_ASSUMPTION, *KINDS_TOLD}  # no next change and no number of spares stands in the document
    stated = cards["endurance_tbw"].notna() | cards["rated_h"].notna()
    by_cycles = is_amplification_unknown(cards)
    known = [Assumption("listed", f"Endurance as stated for {counted(int(stated.sum()), 'card')} of {len(cards)}.")]
    if by_cycles.any():
        which = f"{counted(int(by_cycles.sum()), 'card')} of {len(cards)}"
        text = f"Endurance of {which}: from cycles, with a write amplification that follows from the camera."
        known.append(Assumption("assumed", text))
    return [*known, *(Assumption("assumed", text) for text in plan.assumptions if text not in not_here)]


def _model(quantity: str) -> str:
    """Give the name of the module in which a quantity is worked out."""
    return CHECKABLE[quantity].__module__.rpartition(".")[2]


def _checked() -> OutsideChecks:
    """Recompute the outside checks of the models that a plan uses."""
    results = run([check for check in read_checks(own_check_files()) if _model(check.quantity) in MODELS_OF_A_PLAN])
    passed = int(results["passed"].sum())
    by_kind = {str(kind): count for kind, count in results["kind"].value_counts().items()}
    return OutsideChecks(passed, len(results) - passed, by_kind)
