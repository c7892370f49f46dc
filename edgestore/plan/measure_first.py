"""What to find out before the cards are ordered: how often it would change the order, and what that is worth."""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.efforts import effort_price
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.findings import Found, Part, found, found_of_card, worth_if_known
from edgestore.plan.losses import Losses
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.rates import footage_sigma, recorded_sigma
from edgestore.plan.site import Site
from edgestore.plan.site_plan import LEAST_DOUBTFUL
from edgestore.text import chance, counted, money, short
from edgestore.units import H_PER_DAY, H_PER_WEEK

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ANSWER_FACTOR = 1.3
"""One answer of a maker in ten is off by more than this factor, and one by more the other way (our guess)."""

LOT_CARDS = 5
"""Cards of one kind that are written until they fail in a trial (our choice)."""

WEIBULL_LOG_SIGMA = float(np.pi / np.sqrt(6))
"""Standard deviation of the logarithm of a life by Weibull's law, times its shape."""

BEST = 3
"""So many are told in words."""

NAMED = 5
"""So many of those that are not worth it are named."""

SAME_ORDER = 0.005
"""Where the order changes more seldom, every likely value leads to the same card."""

SAME_WORTH_DIGITS = 6
"""Worths alike to so many digits after the point are equal: beyond them processors do not round alike."""

WORTH_IT, TOO_DEAR = "worth it", "worth less than the effort"
SAME_CARD, NOT_SERVED = "every likely value leads to the same card", "no card of the list can serve the camera"

REASONS = {
    TOO_DEAR: "the effort costs more than it could save",
    SAME_CARD: SAME_CARD,
    NOT_SERVED: NOT_SERVED,
}

IN_MONEY = (
    "What it is worth is told in GB of card capacity, since no cost is counted. To have it in money, state visit_price"
    " in the table [costs] of the settings and a price for each card."
)

NEARLY_ALL = 0.9
"""Where one card is as large a part of all that may be ordered then, it is the only one told."""

COLUMNS = (
    *("subject", "input", "how", "effort", "effort_basis", "chance_order_changes", "order", "likely_order"),
    *("chance_of_likely_order", "expected_saving", "fewer_broken_promises", "worth", "net_worth", "worth_if_known"),
    "verdict",
)

LOT_TRIAL = "lot_trial_price"
BEFORE = " before ordering"

MEAN, EVENTS, ENDURANCE, OUTAGES = "mean rate", "events", "endurance", "outages"


@dataclass(frozen=True)
class MeasureFirst:
    """What may be found out, the most worth first.

    Attributes
    ----------
    table : DataFrame
        ``COLUMNS``: what of which ``subject`` is found out, and ``how``; the ``effort``; the chance that another card
        is ordered then, which is now (``order``), which most likely is then, and the chance of that; what is saved in
        the mean, by how much the chance falls that a promise is broken, and both on one scale (``worth``); that less
        the effort; what knowing it exactly is worth, for a camera that records on events rate and events together; and
        a verdict in words. Amounts are in ``unit``; NaN where no effort can be told in it.
    price : float
        Price of a broken promise, in ``unit``.
    is_stated : bool
        Whether the settings state it.
    unit : str
        Currency, or GB of capacity where no cost is counted.
    worths : DataFrame
        The same before any effort is counted.
    made : Losses
        What is lost with each card, from which all of it follows.
    """

    table: pd.DataFrame
    price: float
    is_stated: bool
    unit: str
    worths: pd.DataFrame
    made: Losses

    @property
    def best(self) -> pd.DataFrame:
        """Of each thing the best way to find it out, where that is worth its effort."""
        return self.ways[self.ways["verdict"] == WORTH_IT]

    @property
    def ways(self) -> pd.DataFrame:
        """Of each thing the best way to find it out."""
        return self.table.drop_duplicates(["subject", "input"])

    @cached_property
    def sentences(self) -> tuple[str, ...]:
        """What to find out first, in words; then what is not worth a visit, and how that was counted."""
        return (*self.foremost, *self.not_worth, self.counted_with, *self.in_money)

    @cached_property
    def foremost(self) -> tuple[str, ...]:
        """What to find out first, in words: the three best, those with the largest net worth."""
        best = [self._told(row) for row in self.best.head(BEST).to_dict("records")]
        return tuple(best) or ("Nothing is worth finding out before the cards are ordered.",)

    @cached_property
    def not_worth(self) -> tuple[str, ...]:
        """What is not worth a visit, a sentence for each reason."""
        told, left = [], self.ways[self.ways["verdict"] != WORTH_IT]
        for verdict, of_verdict in left.groupby("verdict", sort=False):
            things = []
            for what, of_input in of_verdict.groupby("input", sort=False):
                names = [short(name, 40) for name in of_input["subject"]]
                others = f" and {counted(len(names) - NAMED, 'other')}" if len(names) > NAMED else ""
                things.append(f"{what} of {', '.join(names[:NAMED])}{others}")
            told.append(f"Not worth the effort, since {REASONS[str(verdict)]}: {'; '.join(things)}.")
        return tuple(told)

    @property
    def counted_with(self) -> str:
        """How the worth was counted."""
        basis = "as the settings state" if self.is_stated else "the median of what the assured choices pay for a chance"
        efforts = ""
        if (self.table["effort_basis"] == "guess").any():
            efforts = " Efforts that the table [efforts] of the settings does not state are our guesses."
        return f"A broken promise is counted at {self._amount(self.price)}, {basis}.{efforts}"

    @property
    def in_money(self) -> tuple[str, ...]:
        """What to state to have the worth in money; nothing where it is."""
        return (IN_MONEY,) if self.unit == "GB" else ()

    def _told(self, row: Mapping[Hashable, Any]) -> str:
        change = row["chance_order_changes"]
        which = f"{row['likely_order']} is ordered instead of {row['order']}"
        if row["input"] == ENDURANCE:
            which = "some camera gets another card"
        elif row["chance_of_likely_order"] < NEARLY_ALL * change:
            which = f"another card is ordered instead of {row['order']}, most likely {row['likely_order']}"
        saving = row["expected_saving"]
        parts = f"expected saving {self._amount(saving)}"
        if round(saving) < 0:
            parts = f"expected extra cost {self._amount(-saving)}, in return for fewer broken promises"
        worth = f"worth {self._amount(row['worth'])}, counting the broken promises that it avoids"
        effort = "" if np.isnan(row["effort"]) else f", for an effort of {self._amount(row['effort'])}"
        return f"{row['how']}: {worth}{effort}. With a chance of {chance(change)} {which}; {parts}."

    def _amount(self, value: float) -> str:
        return money(value, self.unit)


def measure_first(site: Site, made: Losses) -> MeasureFirst:
    """Tell what to find out before the cards of a site are ordered.

    Parameters
    ----------
    site : Site
        The site.
    made : Losses
        What is lost with each card in each camera, of :func:`edgestore.plan.losses.losses`.

    Returns
    -------
    MeasureFirst
        Everything that may be found out, the most worth first.

    Notes
    -----
    Of each camera a day and a week of footage, and a week of its events where it records on them; of each kind of
    card what its maker says, and a trial of a lot; of the recorder its outages, on which no choice of a card depends.
    Each camera is taken by itself, with a card of its own. A finding never changes the age at which a card is changed.
    """
    return weighed(site, pd.concat(_rows(site, made), ignore_index=True), made)


def weighed(site: Site, worths: pd.DataFrame, made: Losses) -> MeasureFirst:
    """Weigh what was found to be worth something against the efforts of a site.

    Parameters
    ----------
    site : Site
        The site.
    worths : DataFrame
        What each way is worth, and the key of its effort.
    made : Losses
        What is lost with each card in each camera.

    Returns
    -------
    MeasureFirst
        The most worth first.
    """
    efforts, basis = _efforts(site, worths)
    rows = worths.assign(effort=efforts, effort_basis=basis, net_worth=worths["worth"] - efforts)
    gain = rows["net_worth"].fillna(rows["worth"])
    is_same = rows["chance_order_changes"] < SAME_ORDER
    is_served = made.kept.mean(axis=1).max(axis=1) >= LEAST_DOUBTFUL
    is_left_out = rows["subject"].isin(site.cameras["camera"][~is_served]) & rows["input"].isin([MEAN, EVENTS])
    rows["verdict"] = np.select([is_same & is_left_out, is_same, gain > 0], [NOT_SERVED, SAME_CARD, WORTH_IT], TOO_DEAR)
    rows["order"] = rows["order"].mask(rows["verdict"] == NOT_SERVED, "")
    most_first = np.lexsort((-rows["worth"].round(SAME_WORTH_DIGITS), -gain.round(SAME_WORTH_DIGITS)))
    rows = rows.iloc[most_first].reset_index(drop=True)
    unit = "GB" if site.costs is None else site.costs.currency
    return MeasureFirst(
        rows[list(COLUMNS)],
        price=made.site_price,
        is_stated=made.stated_price is not None,
        unit=unit,
        worths=worths,
        made=made,
    )


def is_worth_measuring(site: Site, made: Losses) -> Flags:
    """Whether a day or a week of footage of each camera is worth its effort, as :func:`measure_first` has it."""
    law = RateLaw.of(*site.rates[OF_WRITTEN].to_numpy(float).T)
    footage = pd.concat(_of_footage(site, made, law)).assign(price_of_cards=0.0)
    return np.asarray(site.cameras["camera"].isin(weighed(site, footage, made).best["subject"]))


def _efforts(site: Site, worths: pd.DataFrame) -> tuple[Array, npt.NDArray[np.object_]]:
    """Price of each effort with the cards that it takes, and whether it is stated; NaN where no cost is counted."""
    keys = worths["effort_key"]
    if site.costs is None:
        return np.full(len(keys), np.nan), np.full(len(keys), "not counted", object)
    stated, visit_price = site.settings.efforts, site.costs.visit_price
    prices = {key: effort_price(key, stated, visit_price) for key in keys.unique()}
    return (
        (keys.map(prices) + worths["price_of_cards"].fillna(0.0)).to_numpy(float),
        np.where(keys.isin(list(stated)), "stated", "guess").astype(object),
    )


def _rows(site: Site, made: Losses) -> Iterator[pd.DataFrame]:
    """Every way to find something out, of all cameras or cards at once."""
    beliefs, cameras = site.settings.beliefs, site.cameras
    law = RateLaw.of(*site.rates[OF_WRITTEN].to_numpy(float).T)
    yield from _of_footage(site, made, law)
    if (is_moving := law.recorded_sigma > 0).any():
        per_h = (site.evidence["logged_events"] / site.evidence["logged_h"]).fillna(cameras["events_per_h"])
        fraction = site.rates["recorded_fraction"].to_numpy(float)
        of_log = recorded_sigma(fraction, per_h.fillna(0.0).to_numpy(float) * H_PER_WEEK, beliefs)
        rows = _of_cameras(site, found(made, Part.recorded(law), of_log), made).assign(
            input=EVENTS,
            how=_how("Count the events of {} for a week", cameras["camera"]),
            effort_key="event_log_price",
        )
        yield rows[is_moving]
    yield from _of_cards(site, made)
    if any(site.outages):
        zero = [name for name in COLUMNS if name.startswith(("chance", "expected", "fewer", "worth"))]
        yield pd.DataFrame({name: [0.0] for name in zero}).assign(
            subject="the recorder",
            input=OUTAGES,
            how=f"Count the outages of the recorder{BEFORE}",
            order="",
            likely_order="",
            effort_key="recorder_log_price",
        )


def _of_footage(site: Site, made: Losses, law: RateLaw) -> Iterator[pd.DataFrame]:
    """What a day and a week of footage of each camera are worth."""
    hours, cameras, rate = np.array([H_PER_DAY, H_PER_WEEK]), site.cameras["camera"], Part.mean_rate(law)
    errors = footage_sigma(hours, np.full(2, H_PER_DAY), hours / H_PER_DAY, site.settings.beliefs)
    for error, how, key in zip(errors, ("a day", "a week"), ("footage_day_price", "footage_week_price"), strict=True):
        yield _of_cameras(site, found(made, rate, np.full(len(cameras), error)), made).assign(
            input=MEAN, how=_how(f"Measure {{}} for {how}", cameras), effort_key=key
        )


def _of_cameras(site: Site, told: Found, made: Losses) -> pd.DataFrame:
    """What was told of measurements of each camera, as rows."""
    names = site.offered["card"].to_numpy(object)
    return pd.DataFrame(
        {
            "subject": site.cameras["camera"],
            "chance_order_changes": told.chance_of_change,
            "order": np.where(made.is_possible.any(axis=1), names[made.order], ""),
            "likely_order": np.where(told.chance_of_likely > 0, names[told.likely], ""),
            "chance_of_likely_order": told.chance_of_likely,
            "expected_saving": told.saving,
            "fewer_broken_promises": told.fewer_broken,
            "worth": told.worth,
            "worth_if_known": worth_if_known(made),
        }
    )


def _of_cards(site: Site, made: Losses) -> Iterator[pd.DataFrame]:
    """What asking the maker of each card is worth, and trying a lot of it."""
    cards = site.offered["card"]
    price = site.offered["price"].fillna(0.0).to_numpy(float)
    known = [found_of_card(made, card, 0.0)[0] for card in range(len(cards))]
    shape = site.settings.beliefs["wear_shape"].median
    answer, asking = np.log(ANSWER_FACTOR) / Z_90, "Ask the maker of {} what share of its cards reaches the rating"
    lot, writing = WEIBULL_LOG_SIGMA / shape / np.sqrt(LOT_CARDS), f"Write {LOT_CARDS} cards of {{}} until they fail"
    ways = ((answer, asking, "ask_maker_price"), (lot, writing, LOT_TRIAL))
    for sigma, how, key in ways:
        told = [found_of_card(made, card, float(sigma)) for card in range(len(cards))]
        names = ("worth", "chance_order_changes", "expected_saving", "fewer_broken_promises")
        rows = pd.DataFrame(told, columns=list(names)).assign(
            subject=cards.to_numpy(object),
            input=ENDURANCE,
            how=_how(how, cards),
            order="",
            likely_order="",
            chance_of_likely_order=np.nan,
            worth_if_known=known,
            effort_key=key,
        )
        yield rows.assign(price_of_cards=LOT_CARDS * price) if key == LOT_TRIAL else rows


def _how(words: str, subjects: "pd.Series[str]") -> list[str]:
    return [f"{words.format(short(subject, 60))}{BEFORE}" for subject in subjects]
