"""When each card of a site is due for a change, which the service log moves as cards age, and the spares to keep."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.answers.ages import LEAST_ALIVE, due_years
from edgestore.inputs.settings import Service
from edgestore.models.lots import batch_failures_cv
from edgestore.models.upkeep.spares import MOST_CV, spares_for_separate
from edgestore.plan.service_records import AT_ONCE, without_themselves
from edgestore.plan.site import Site
from edgestore.units import DAYS_PER_YEAR

Array = npt.NDArray[np.float64]

SERVICE_ASSUMPTION = (
    "Planned changes: each card is changed at the age, counted from fitting, of least expected cost, provided "
    "that it still works at that age with the chance asked. Next change of a card in service: the age at which "
    "its chance to work falls below the target; the service log gives its kind and its age, and it is assumed to "
    "have written at today's rate. Spares: failures are assumed to be spread evenly over time; "
    "new cards of a kind are bought in one batch, of which weak ones go together as far as the beliefs say."
)

FOLLOWED = " It is taken as due on the first day."
"""What becomes of a camera in which there is a card of an unknown kind."""

OF_PROMISE = ("chance_retention", "chance_maximum", "chance_speed", "chance_outage", "useful_retention_h")
"""What is told of the promise that a card in service may break on any day; the last two where an outage is asked."""

OF_CARD_IN_SERVICE = ("card", "next_change", "next_change_years", *OF_PROMISE)
"""What the plan tells of the card that is in a camera now."""


def calendar(site: Site, log: pd.DataFrame, given: Mapping[str, Array]) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Give the cards in service by the date on which each is due for a change.

    Parameters
    ----------
    site : Site
        The site; its settings tell the day of the log, and the chance asked.
    log : DataFrame
        Rows of its service log.
    given : mapping
        What each card offered gives each camera, of :class:`edgestore.plan.candidates.Tried`.

    Returns
    -------
    tuple
        A row for each card in service, the soonest first: ``camera``, ``card``, ``fitted``, ``age_years``,
        ``change_when_new``, the date told on the day it was fitted, ``next_change_years``, from the day of the log on,
        ``next_change``, its date, and of ``OF_PROMISE`` what is given, NaN for a card that is not offered. And texts on
        the cards in service of which the lists know nothing.

    Raises
    ------
    InputError
        When the day of the log is not told.
    """
    service = site.settings.service
    now = log[log["removed"].isna()].reset_index(drop=True)
    is_known = site.is_known(now)
    cameras = set(site.cameras["camera"])
    texts = tuple(
        f"The service log has {row.card} in {row.camera}, which the lists do not contain: no date of change is given"
        f" for it.{FOLLOWED if row.camera in cameras else ''}"
        for row in now[~is_known].itertuples()
    )
    texts += tuple(
        f"The service log has {count} cards in service in {camera}: the one that is due first counts. See whether a day"
        " of removal is missing."
        for camera, count in now["camera"].value_counts(sort=False).items()
        if count > 1
    )
    now = now[is_known].reset_index(drop=True)
    age = site.years_in_service(now)
    when_new, further = np.zeros((2, len(age)))
    for card, of_card in now.groupby("card", sort=False):
        (kind,) = site.kinds_of(pd.Series([card]))
        for start in range(0, len(of_card), AT_ONCE):
            some = of_card.iloc[start : start + AT_ONCE]
            survival = without_themselves(kind, site.records_of(str(card), some))
            for due, ages in ((when_new, np.zeros(len(some))), (further, age[some.index])):
                due[some.index] = due_years(survival, ages, service.change_chance)
    fitted = now["fitted"].to_numpy()
    camera, card = (
        pd.Index(listed).get_indexer(pd.Index(now[name]))
        for name, listed in (("camera", site.cameras["camera"]), ("card", site.offered["card"]))
    )
    table = pd.DataFrame(
        {
            "camera": now["camera"].to_numpy(),
            "card": now["card"].to_numpy(),
            "fitted": _dates(fitted, np.zeros(len(age))),
            "age_years": age,
            "change_when_new": _dates(fitted, when_new),
            "next_change_years": further,
            "next_change": _dates(np.full(len(age), np.datetime64(site.as_of)), further),
            **{name: np.where(card >= 0, given[name][camera, card], np.nan) for name in OF_PROMISE if name in given},
        }
    )
    return table.sort_values("next_change_years", kind="stable", ignore_index=True), texts


def failures_in_service(site: Site, now: pd.DataFrame, *, after_years: float, years: Array) -> Array:
    """Failures expected of cards in service.

    Parameters
    ----------
    site : Site
        The site.
    now : DataFrame
        Rows of :func:`calendar`.
    after_years : float
        When counting begins, years after the day of the log; the cards are taken to work then.
    years : ndarray, shape (ages,)
        Times from then on, years, 0 or more.

    Returns
    -------
    ndarray, shape (cards, ages)
        ``-ln`` of the chance that each works so much later, by the law of its next change.
    """
    log = now.assign(
        fitted=pd.to_datetime(now["fitted"]), removed=pd.Series(pd.NaT, index=now.index), why=""
    ).reset_index(drop=True)
    age = np.maximum(now["age_years"].to_numpy(float) + after_years, 0.0)
    works = np.ones((len(now), len(years)))
    for card, of_card in log.groupby("card", sort=False):
        (kind,) = site.kinds_of(pd.Series([card]))
        for start in range(0, len(of_card), AT_ONCE):
            some = of_card.iloc[start : start + AT_ONCE]
            survival, of_some = without_themselves(kind, site.records_of(str(card), some)), age[some.index]
            alive = np.array([survival(of_some + time) for time in years]).T
            works[some.index] = alive / np.maximum(survival(of_some), LEAST_ALIVE)[:, None]
    return np.asarray(-np.log(np.clip(works, LEAST_ALIVE, 1.0)))


def failures_in_lead_time(change_years: "pd.Series[float]", service: Service) -> "pd.Series[float]":
    """Failures expected of each card in service until ordered cards arrive.

    Until its change a card lasts with a chance of p: ``-ln p`` failures in that time, and in the lead time its share of
    these; a card that is due within the lead time is counted as if due at its end.
    """
    lead_years = service.lead_days / DAYS_PER_YEAR
    return float(-np.log(service.change_chance) * lead_years) / change_years.clip(lower=lead_years)


def spare_cards(card: "pd.Series[str]", failures: "pd.Series[float]", service: Service) -> pd.DataFrame:
    """Spares to keep of each kind of card, so that they last until more arrive.

    Parameters
    ----------
    card : Series
        Kind of the card in each camera.
    failures : Series
        Failures expected of it until ordered cards arrive, a count.
    service : Service
        Lead time, and chances.

    Returns
    -------
    DataFrame
        A row for each kind: ``card``, ``cameras``, ``failures`` expected in the lead time, and ``spares``. All kinds
        are enough together with the confidence asked.
    """
    of_kind = failures.groupby(card, sort=False)
    table = pd.DataFrame({"cameras": of_kind.size(), "failures": of_kind.sum()}).rename_axis("card").reset_index()
    spares = spares_for_separate(table["failures"].to_numpy(), service.spares_confidence) if len(table) else []
    return table.assign(spares=np.asarray(spares, dtype=int))


def planned_spares(site: Site, served: pd.DataFrame) -> pd.DataFrame:
    """Spares to keep of each kind that is planned, which is bought in one batch.

    Parameters
    ----------
    site : Site
        The site; its beliefs tell how far the weak cards of a batch go together.
    served : DataFrame
        Rows of a plan that have a card.

    Returns
    -------
    DataFrame
        As :func:`spare_cards`, with ``spares_in_2_batches``: what is enough where each kind is bought in two batches
        of equal size.

    Notes
    -----
    Of the failures of a year, weak cards make the weak share of the cards that are fitted in it, changed ones and
    failed ones. That part differs from batch to batch (:func:`edgestore.models.lots.batch_failures_cv`), which makes
    the number of failures negative binomial. The correlation is a guess, and saves no spare: there are never fewer than
    independent cards need.
    """
    service, failures = site.settings.service, served["failures_per_year"]
    lead_years = service.lead_days / DAYS_PER_YEAR
    table = spare_cards(served["card"], failures * lead_years, service)
    if table.empty:
        return table.assign(spares_in_2_batches=table["spares"])
    weak = np.array([kind.mean_weak_fraction for kind in site.kinds_of(table["card"])])
    fitted = (failures + 1 / served["change_years"]).groupby(served["card"], sort=False).sum().to_numpy() * lead_years
    mean = table["failures"].to_numpy()
    part = np.minimum(weak * fitted / np.maximum(mean, LEAST_ALIVE), 1.0)
    together = site.settings.beliefs["batch_correlation"].median

    def enough(batches: int) -> npt.NDArray[np.intp]:
        cv = np.minimum(batch_failures_cv(weak, together, weak_part=part, batches=batches), MOST_CV)
        spares = spares_for_separate(mean, service.spares_confidence, cv)
        return np.asarray(np.maximum(table["spares"].to_numpy(), spares), dtype=np.intp)

    return table.assign(spares=enough(1), spares_in_2_batches=enough(2))


def _dates(start: npt.NDArray[np.datetime64], years: Array) -> list[str]:
    """Write the days that lie so many years after others."""
    days = np.round(years * DAYS_PER_YEAR).astype("timedelta64[D]")
    return [str(day) for day in start.astype("datetime64[D]") + days]
