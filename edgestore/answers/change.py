"""When to change the cards: the cheapest age, one visit for all, spares, and the size that is cheapest in the end."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.answers.certainty import GUESSED_LIFE, STATED
from edgestore.models.life.law import CardLife
from edgestore.models.upkeep.group import best_group_years
from edgestore.models.upkeep.horizon import cheapest_card, cost_for_horizon
from edgestore.models.upkeep.renewal import MOST_LIVES
from edgestore.models.upkeep.replacement import best_change_years, cost_per_year_for_change
from edgestore.models.upkeep.spares import chance_spares_last, spares_for_confidence
from edgestore.text import counted, life, number, percent, span, whole
from edgestore.units import DAYS_PER_YEAR, PERCENT_PER_ONE

Array = npt.NDArray[np.float64]

AGES_YEARS = np.geomspace(0.3, 30, 91)
"""Change ages along the axis of the picture."""

REACHED = ("on foot or by ladder", "with lifting gear")
"""How the cameras are reached."""

SIZES = np.array([0.5, 1, 2, 4, 8])
"""Sizes compared, times the card's own."""

SIZE_WORDS = ("half the size", "this size", "twice the size", "4 times the size", "8 times the size")

MEASURES: dict[str, Callable[..., str]] = {"change_years": life, "cost_per_year": whole, "cost_over_horizon": whole}
"""What is told of each way, and how a figure of it is written."""

OWN = 1
"""Place of the card's own size in ``SIZES``."""

SUREST = 0.999
"""Confidence up to which the picture shows spares."""

_EVER_YEARS = 1e3
"""Age by which no card is left: stands in for never."""

HARDLY = 0.1
"""A planned change that saves a smaller share is told to be hardly worth it (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Upkeep:
    """When to change the cards of a group of cameras alike, as a range with its reason.

    Attributes
    ----------
    wear_life_years : ndarray, shape (3,)
        The shortest wear life, the one in the middle (geometric mean) and the longest.
    cost_curves_per_year : ndarray, shape (3, ages)
        Cost of one camera with each of the three, currency a year, for each of ``AGES_YEARS``.
    best_years, best_cost_per_year, failing_cost_per_year : ndarray, shape (3,)
        The cheapest age for the same three, infinite for never; its cost, and that of cards left until they fail.
    failures : ndarray, shape (3,)
        Failures expected in the lead time, all cards together, when they are changed at the cheapest age.
    spares : ndarray, shape (3,)
        Spares that are enough with the wanted confidence.
    enough : ndarray, shape (3, spares)
        Chance that 0, 1, 2 and so on are enough.
    ways : DataFrame
        One row for each way to keep the cards, then for each other size, kept in the cheaper way: of age, cost a year
        and cost over the horizon the least, the middle and the most; an empty age is left until it fails.
    """

    cards: int
    lead_days: float
    confidence: float
    wear_life_years: Array
    cost_curves_per_year: Array
    best_years: Array
    best_cost_per_year: Array
    failing_cost_per_year: Array
    failures: Array
    spares: Array
    enough: Array
    ways: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def table(self) -> pd.DataFrame:
        """The ways in a few columns to read: the middle, and in brackets the range."""
        columns = {name: [_with_range(write, *ends) for ends in self._ends(name)] for name, write in MEASURES.items()}
        return pd.DataFrame({"way": self.ways["way"], **columns})

    def _ends(self, name: str) -> npt.NDArray[np.float64]:
        return self.ways[[name, f"{name}_low", f"{name}_high"]].to_numpy(float)


def upkeep(
    wear_life_low_years: float = 5.0,
    wear_life_high_years: float = 12.0,
    *,
    wear_shape: float = GUESSED_LIFE["wear_shape"],
    random_percent_year: float = GUESSED_LIFE["random_per_year"] * PERCENT_PER_ONE,
    early_percent: float = GUESSED_LIFE["early_fraction"] * PERCENT_PER_ONE,
    card_price: float = 22.0,
    double_price: float = 1.8,
    reached: str = REACHED[1],
    visit_price: float = 60.0,
    visit_with_lift_price: float = 260.0,
    lost_cost: float = 500.0,
    cards: float = 40,
    horizon_years: float = 10.0,
    lead_days: float = 90.0,
    confidence_percent: float = 95.0,
) -> Upkeep:
    """Tell when to change the cards of cameras alike, with how many spares, and what that costs.

    Parameters
    ----------
    wear_life_low_years, wear_life_high_years : float
        Years until half of all cards are worn out: the ends of what is likely, above 0, low at most high. By the law of
        a stated endurance they are 1 and 2.8 times the time until that is used up.
    wear_shape : float
        Spread of wear-out as a Weibull shape, 0.2 to 100: 1 does not age, more ages.
    random_percent_year : float
        Failures for other reasons than wear, % of cards a year, 0 to 100.
    early_percent : float
        Cards that are weak from the start, %, 0 to 100.
    card_price : float
        Price of one card, currency units, 0 or more.
    double_price : float
        Price of a card of twice the size over this one's, a plain ratio, 1 to 10.
    reached : str
        One of ``REACHED``: it says which of the two prices that follow counts.
    visit_price, visit_with_lift_price : float
        A visit to change a card, currency units, 0 or more; not 0 together with the card's price.
    lost_cost : float
        What the footage lost at a failure is worth, currency units a failure, 0 or more.
    cards : float
        Cameras alike, each with one card, a whole number from 1.
    horizon_years : float
        Time over which costs are counted, years, above 0; at most 100 mean lives and 100 changes.
    lead_days : float
        Time until more cards arrive, days, above 0.
    confidence_percent : float
        Chance that the spares last until then, %, above 0 and at most 99.99.

    Returns
    -------
    Upkeep
        The cheapest age as a range, the curves, the table and the sentence.

    Raises
    ------
    InputError
        When a number is out of range, or the low end of the wear life above its high end.

    Notes
    -----
    The models are :func:`edgestore.models.upkeep.best_change_years`, :func:`edgestore.models.upkeep.best_group_years`,
    :func:`edgestore.models.upkeep.cheapest_card` and :func:`edgestore.models.upkeep.spares_for_confidence`. Failures
    in the lead time: of the cards, each changed at the cheapest age a, ``n lead (1 - R(a)) / (integral of R up to a)``.

    Examples
    --------
    >>> upkeep(lost_cost=0).sentence[:49]
    'Leave each card until it fails: a planned change '
    """
    checks.single(locals())
    lives = _wear_lives(wear_life_low_years, wear_life_high_years)
    random, weak = (
        checks.in_range(name, value, "%", at_least=0, at_most=PERCENT_PER_ONE) / PERCENT_PER_ONE
        for name, value in (("random_percent_year", random_percent_year), ("early_percent", early_percent))
    )
    checks.one_of("reached", reached, REACHED)
    visit = visit_with_lift_price if reached == REACHED[1] else visit_price
    checks.in_range("visit_with_lift_price" if reached == REACHED[1] else "visit_price", visit, "currency", at_least=0)
    checks.in_range("card_price", card_price, "currency", at_least=0)
    checks.in_range("double_price", double_price, at_least=1, at_most=10)
    checks.in_range("lost_cost", lost_cost, "currency", at_least=0)
    checks.whole("cards", cards, "cards", at_least=1)
    checks.in_range("horizon_years", horizon_years, "years", above=0)
    checks.in_range("lead_days", lead_days, "days", above=0)
    confidence = (
        checks.in_range("confidence_percent", confidence_percent, "%", above=0, at_most=99.99) / PERCENT_PER_ONE
    )

    def card(wear_life_years: Array) -> CardLife:
        return CardLife(wear_life_years, wear_shape=wear_shape, random_per_year=random, early_fraction=weak)

    three = card(lives)
    prices = card_price * double_price ** np.log2(SIZES)
    of_size = card(lives[:, None] * SIZES)
    each = best_change_years(of_size, planned_cost=prices + visit, failure_cost=prices + visit + lost_cost)
    best_years, best_cost, never_cost = (
        values[:, OWN] for values in (each.interval_years, each.cost_per_year, each.never_cost_per_year)
    )
    group = best_group_years(
        three, cards, visit_price=visit, card_cost=card_price, failure_cost=card_price + visit + lost_cost
    )
    longest = MOST_LIVES * min(each.interval_years.min(), group.interval_years.min())
    if horizon_years > longest:
        allowed = f"at most {number(longest)} years, {MOST_LIVES} changes"
        raise checks.refuse_value("horizon_years", float(horizon_years), allowed, "Choose a shorter time.", "years")
    sizes = cheapest_card(
        horizon_years,
        of_size,
        card_price=prices,
        visit_price=visit,
        lost_cost_per_day=lost_cost,
        dead_days=1,
        change_years=each.interval_years,
    )
    left, changed = sizes.left_cost[:, OWN], sizes.changed_cost[:, OWN]
    together = cost_for_horizon(
        horizon_years,
        three,
        card_price=card_price,
        visit_price=visit,
        lost_cost_per_day=lost_cost,
        dead_days=1,
        cards=cards,
        policy="group",
        change_years=np.minimum(group.interval_years, horizon_years),
    ).total_cost

    rows = [
        ("left until it fails", np.full(3, np.inf), never_cost, left),
        ("each at its cheapest age", best_years, best_cost, changed),
        (
            "all together on one visit",
            group.interval_years,
            group.cost_per_year / cards,
            np.where(np.isfinite(group.interval_years), together / cards, left),
        ),
        *(
            (word, sizes.change_years[:, at], each.cost_per_year[:, at], sizes.total_cost[:, at])
            for at, word in enumerate(SIZE_WORDS)
            if at != OWN
        ),
    ]
    ways = _ways(rows)
    stays = np.where(np.isfinite(best_years), best_years, _EVER_YEARS)
    failures = cards * lead_days / DAYS_PER_YEAR * (1 - three.survival(stays)) / three.mean_years_until(stays)
    spares = spares_for_confidence(failures, confidence)
    most = int(np.max(spares_for_confidence(failures, max(confidence, SUREST)))) + 1
    return Upkeep(
        cards=int(cards),
        lead_days=lead_days,
        confidence=confidence,
        wear_life_years=lives,
        cost_curves_per_year=cost_per_year_for_change(
            AGES_YEARS,
            card(lives[:, None]),
            planned_cost=card_price + visit,
            failure_cost=card_price + visit + lost_cost,
        ),
        best_years=best_years,
        best_cost_per_year=best_cost,
        failing_cost_per_year=never_cost,
        failures=failures,
        spares=spares,
        enough=chance_spares_last(np.arange(most + 1), failures[:, None]),
        ways=ways,
        sentence=_sentence(best_years, best_cost, never_cost, spares, _beyond(lives, left, changed, horizon_years)),
        assumptions=(
            f"Half of all cards are worn out at the wear life, {STATED.low:g} to {STATED.high:g} times the life until "
            "what is stated is used up; a weak card lives a quarter of a year on average (common practice, no "
            "source). A failure is noticed at once; one that is noticed late costs more footage.",
            "Costs are those of one camera, at today's prices, not discounted; the first card is bought, and its "
            "fitting is part of the installation. An empty age means that the card is left until it fails.",
            "Other sizes: cards of the same kind in the same camera, with a wear life in proportion to size, "
            "each run in the cheaper way.",
            f"Spares: failures are independent of one another; in {counted(lead_days, 'day')} "
            f"{span(failures[2], failures[0])} are expected. Cards for planned changes are ordered beforehand.",
        ),
        warnings=_warnings(ways, sizes.over_horizon, horizon_years),
    )


def _wear_lives(low: float, high: float) -> Array:
    for name, value in (("wear_life_low_years", low), ("wear_life_high_years", high)):
        checks.in_range(name, value, "years", above=0)
    if low > high:
        allowed = f"at most wear_life_high_years, {high:g} years"
        raise checks.refuse_value("wear_life_low_years", float(low), allowed, "Swap the two ends.", "years")
    return np.array([low, np.sqrt(low * high), high])


def _ways(rows: list[tuple[str, Array, Array, Array]]) -> pd.DataFrame:
    """Give a row for each way: of the three wear lives the least, the middle and the most; empty for never."""
    table = pd.DataFrame({"way": [row[0] for row in rows]})
    for at, name in enumerate(MEASURES, 1):
        values = np.array([row[at] for row in rows])
        values = np.where(np.isfinite(values), values, np.nan)
        table[f"{name}_low"], table[name], table[f"{name}_high"] = values.min(axis=1), values[:, 1], values.max(axis=1)
    return table


def _sentence(years: Array, cost: Array, never: Array, spares: Array, beyond: str) -> str:
    kept = (
        f"keep {counted(spares[2], 'spare')}" if spares[0] == spares[2] else f"keep {span(spares[2], spares[0])} spares"
    )
    if not np.isfinite(years).any():
        return (
            "Leave each card until it fails: a planned change saves nothing. That costs "
            f"{_costs(never[2], never[0])} per camera and year; {kept}."
        )
    if np.isfinite(years).all():
        when = f"Change each card after {life(years[0], years[2])} years: its wear life decides."
    else:
        when = f"Change each card after {life(years[0])} years if it wears fast, else leave it until it fails."
    against = f"In the long run that costs {_costs(cost[2], cost[0])} per camera and year"
    return f"{when} {against}, {_amounts(never[2], never[0])} if run to failure{beyond}; {kept}."


def _beyond(lives: Array, left: Array, changed: Array, horizon: float) -> str:
    """Tell that a few years alone may decide otherwise than the long run does: the last change serves beyond them."""
    at = int(np.argmax(changed - left))
    if left[at] >= changed[at] or whole(left[at]) == whole(changed[at]):
        return ""
    return (
        f" (counted within {counted(horizon, 'year')} only, running to failure is cheaper at a wear life of "
        f"{life(lives[at])} years, {whole(left[at])} against {whole(changed[at])}, since the last change serves "
        "beyond that time)"
    )


def _amounts(low: float, high: float) -> str:
    return whole(low) if whole(low) == whole(high) else f"{whole(low)} to {whole(high)}"


def _costs(low: float, high: float) -> str:
    return f"{_amounts(low, high)} currency units"


def _with_range(write: Callable[[float], str], middle: float, low: float, high: float) -> str:
    if np.isnan(low):
        return "" if np.isnan(middle) else "not always"
    likely = write(low) if write(low) == write(high) else f"{write(low)} to {write(high)}"
    return likely if likely == write(middle) else f"{write(middle)} ({likely})"


def _warnings(table: pd.DataFrame, cheapest: npt.NDArray[np.intp], horizon: float) -> tuple[str, ...]:
    ways = table.set_index("way")
    left, each, together = (ways.iloc[at] for at in range(3))
    texts = []
    saved = 1 - each["cost_per_year"] / left["cost_per_year"]
    if 0 < saved < HARDLY:
        texts.append(
            f"A planned change saves {percent(saved)} in the middle of the range, which hardly pays for a visit "
            "of its own."
        )
    if together["cost_per_year"] < each["cost_per_year"] and np.isfinite(together["change_years"]):
        texts.append(
            "Changing all cards on one visit every "
            f"{life(together['change_years_low'], together['change_years_high'])} years costs "
            f"{_costs(together['cost_per_year_low'], together['cost_per_year_high'])} per camera and year, less "
            "than one by one: good cards are thrown away, but the way there is shared."
        )
    words = [SIZE_WORDS[at] for at in np.unique(cheapest) if at != OWN]
    if words:
        low, high = (ways.loc[words, f"cost_over_horizon_{end}"].min() for end in ("low", "high"))
        own = ways.iloc[:2]
        texts.append(
            f"Over {counted(horizon, 'year')}, {' or '.join(words)} costs least: {_costs(low, high)} per "
            "camera, where this size costs "
            f"{_amounts(*(own[f'cost_over_horizon_{end}'].min() for end in ('low', 'high')))}. Check that it "
            "holds enough and that the camera takes it."
        )
    return tuple(texts)
