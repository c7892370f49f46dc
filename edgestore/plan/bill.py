"""What a site's cards cost year by year: first cards, visits with the cards changed at them, and failures expected."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.plan.promise import ROUNDING
from edgestore.plan.shared_visits import Visit
from edgestore.plan.standing import SiteCards
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]

YEARS = (
    *("year", "begins", "cards", "cards_cost", "visits", "visits_with_lift", "visits_cost", "failures"),
    *("failures_cost", "total"),
)


@dataclass(frozen=True)
class Bill:
    """What the cards of a site cost over the horizon.

    Attributes
    ----------
    years : DataFrame
        ``YEARS``, a row a year from the day on which the calendar begins, the last one as long as the horizon has left:
        cards that are fitted as planned and what they cost with their share of spares; visits for it, those with a
        lift, and the cost of the ways; failures expected between, and what they cost: a card and a visit each; and the
        sum. Costs are NaN where none is counted.
    cameras : DataFrame
        The same by ``camera``: ``planned_cards``, ``planned_cost`` (cards, and an equal part of the way of each visit),
        ``expected_failures`` and ``failures_cost``.
    first_cards : int
        Cards of the first year that are fitted with their cameras, without a visit of their own.
    first_cost : float
        What these cost, currency units.
    """

    years: pd.DataFrame
    cameras: pd.DataFrame
    first_cards: int
    first_cost: float

    @property
    def planned_cost(self) -> float:
        """Cards and visits that are planned, currency units."""
        return float((self.years["cards_cost"] + self.years["visits_cost"]).sum(skipna=False))

    @property
    def failures_cost(self) -> float:
        """Failures that are expected between, currency units."""
        return float(self.years["failures_cost"].sum(skipna=False))

    @property
    def cost(self) -> float:
        """Both, currency units."""
        return self.planned_cost + self.failures_cost


def bill(
    standing: SiteCards, visits: Sequence[Visit], start: np.datetime64, *, horizon_years: float, first_is_a_visit: bool
) -> Bill:
    """Add up what the cards of a site cost, by year and by camera.

    Parameters
    ----------
    standing : SiteCards
        The cards.
    visits : sequence of Visit
        Visits of the site over the horizon, in the order of time, by the numbers of its cameras.
    start : datetime64
        Day on which the calendar begins.
    horizon_years : float
        Time over which is counted, years, above 0.
    first_is_a_visit : bool
        Whether the first card of a camera takes a visit of its own, which stands among the visits then; else it is
        fitted with the camera, on the first day, and no way is counted.

    Returns
    -------
    Bill
        Costs by year and by camera, of the same sum.

    Notes
    -----
    Planned changes keep their dates when a card fails between (block replacement): a failure is one more card and one
    more visit. The choice of the cards counts otherwise: there the clock of a camera starts anew with a failure.
    """
    cards = standing.cards
    count = len(standing.table)
    numbers = np.arange(np.ceil(horizon_years - ROUNDING)).astype(int)
    ends = np.minimum(numbers + 1.0, horizon_years)
    of_year = {name: np.zeros(len(numbers)) for name in YEARS[2:-1]}
    planned_cards, planned_cost = np.zeros((2, count))
    is_first = ~standing.is_in_service & (not first_is_a_visit)
    of_year["cards"][0] += is_first.sum()
    of_year["cards_cost"][0] += cards.card_cost[is_first].sum()
    planned_cards[is_first], planned_cost[is_first] = 1, cards.card_cost[is_first]
    lift = standing.table["lift"].to_numpy(bool)
    for visit in visits:
        now, year = visit.cards, min(int(visit.at_years + ROUNDING), len(numbers) - 1)
        price, way = cards.card_cost[now], float(cards.visit_price[now].max())
        of_year["cards"][year] += len(now)
        of_year["cards_cost"][year] += price.sum()
        of_year["visits"][year] += 1
        of_year["visits_with_lift"][year] += lift[now].any()
        of_year["visits_cost"][year] += way
        planned_cards[now] += 1
        planned_cost[now] += price + way / len(now)
    until = np.array([cards.failures_of([v for v in visits if v.at_years < end], end) for end in ends])
    by_year = np.diff(until, axis=0, prepend=0.0)
    of_year["failures"] = by_year.sum(axis=1)
    of_year["failures_cost"] = by_year @ cards.both
    days = np.round(numbers * DAYS_PER_YEAR).astype("timedelta64[D]")
    years = pd.DataFrame({"year": numbers + 1, "begins": [str(start + day) for day in days], **of_year})
    years = years.astype({"cards": int, "visits": int, "visits_with_lift": int})
    costs = years["cards_cost"] + years["visits_cost"] + years["failures_cost"]
    by_camera = {
        "camera": standing.table["camera"],
        "planned_cards": planned_cards.astype(int),
        "planned_cost": planned_cost,
        "expected_failures": until[-1],
        "failures_cost": until[-1] * cards.both,
    }
    first_cost = float(cards.card_cost[is_first].sum())
    return Bill(years.assign(total=costs)[list(YEARS)], pd.DataFrame(by_camera), int(is_first.sum()), first_cost)
