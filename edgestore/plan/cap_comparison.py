"""What knowing a mean changes: the card that the cap alone would have asked for, beside the card chosen."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.plan.site import Site
from edgestore.text import number

Array = npt.NDArray[np.float64]


def rates_at_cap(rates: pd.DataFrame) -> pd.DataFrame:
    """Give the rates as if only the cap were known; where it is not, they stay.

    Parameters
    ----------
    rates : DataFrame
        Rates of :func:`edgestore.plan.rates.camera_rates`.

    Returns
    -------
    DataFrame
        The same, planned at the cap.
    """
    cap = rates["cap_mbit_s"]
    planned = cap.fillna(rates["planned_mbit_s"])
    low = rates["lowest_at_cap_mbit_s"].fillna(rates["low_mbit_s"])
    return rates.assign(
        low_mbit_s=low,
        planned_mbit_s=planned,
        likely_high_mbit_s=planned,
        high_mbit_s=planned,
        median_mbit_s=((low * planned) ** 0.5).where(cap.notna(), rates["median_mbit_s"]),
        most_mbit_s=cap,
        stays_at_cap=cap.notna(),
    )


def compared(
    site: Site, chosen: npt.NDArray[np.intp], at_cap: dict[str, Array], chosen_at_cap: npt.NDArray[np.intp]
) -> pd.DataFrame:
    """Compare the plan with the one by the caps.

    Parameters
    ----------
    site : Site
        The site.
    chosen, chosen_at_cap : ndarray, shape (cameras,)
        Number of the card chosen, and of the one chosen by the cap; -1 where none serves.
    at_cap : dict of ndarray, shape (cameras, cards)
        What each card gives each camera at the cap.

    Returns
    -------
    DataFrame
        ``mean_over_cap``; ``card_at_cap`` and ``capacity_gb_at_cap``, the card by the cap; ``retention_days_at_cap``
        and ``life_years_at_cap``, what the chosen card gives at the cap; ``against_cap``, all in a sentence. Where a
        mean or a cap is not known, or the mean is not below the cap, the sentence says so and the others are empty.
    """
    rates, cards = site.rates, site.offered
    mean, cap = rates["planned_mbit_s"].to_numpy(), rates["cap_mbit_s"].to_numpy()
    is_known = (rates["mean_basis"] != "assumed").to_numpy()
    differs = is_known & (mean < cap)
    names = np.where(chosen_at_cap >= 0, cards["card"].to_numpy(object)[chosen_at_cap], "none")
    served, served_at_cap = differs & (chosen >= 0), differs & (chosen_at_cap >= 0)
    rows = np.arange(len(chosen))
    texts = [
        f"{_of(basis, measured, low)} of {number(high)} Mbit/s: holds {number(high / low)} times as long as the cap"
        f" says; {_by_cap(name, is_same)}"
        if is_below
        else _no_difference(is_mean, high)
        for basis, measured, low, high, name, is_same, is_below, is_mean in zip(
            rates["mean_basis"],
            site.evidence["measured_mbit_s"],
            mean,
            cap,
            names,
            chosen == chosen_at_cap,
            differs,
            is_known,
            strict=True,
        )
    ]
    return pd.DataFrame(
        {
            "mean_over_cap": np.where(differs, mean / cap, np.nan),
            "card_at_cap": np.where(differs, names, ""),
            "capacity_gb_at_cap": np.where(served_at_cap, cards["capacity_gb"].to_numpy()[chosen_at_cap], np.nan),
            "retention_days_at_cap": np.where(served, at_cap["retention_days"][rows, chosen], np.nan),
            "life_years_at_cap": np.where(served, at_cap["life_years"][rows, chosen], np.nan),
            "against_cap": texts,
        }
    )


def _of(basis: str, measured: float, mean: float) -> str:
    """Say what is known of a mean; of one that is measured also what is planned with, since footage is a sample."""
    if basis == "measured" and number(measured) != number(mean):
        return f"measured {number(measured)}, taken as {number(mean)}"
    return f"{basis} {number(mean)}"


def _by_cap(name: str, is_same: bool) -> str:
    if name == "none":
        return "if only the cap were known, no card of the list would be assured"
    return f"if only the cap were known, the plan would choose {'the same card' if is_same else name}"


def _no_difference(is_known: bool, cap: float) -> str:
    if not is_known:
        return "no mean is known: days and life are computed at the cap"
    return "no cap is known" if np.isnan(cap) else "the mean is at the cap"
