"""What a row of each list stands for: the rates of a camera, the endurance of a card."""

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import gammaincinv

from edgestore.inputs.beliefs import Beliefs
from edgestore.models.rate.bitrate import MEAN_OVER_CAP_BAND
from edgestore.models.rate.duty import recorded_fraction
from edgestore.models.uncertainty.laws import Z_90
from edgestore.models.wear.endurance import endurance_tbw_from_cycles, endurance_tbw_from_hours
from edgestore.models.wear.mapping import WRITE_AMPLIFICATION_BEST, write_amplification_camera
from edgestore.plan.card_update import LEAST_SIGMA, updated_by_card
from edgestore.plan.evidence import no_evidence
from edgestore.units import H_PER_DAY, H_PER_WEEK, S_PER_H

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

PEAK_OVER_MEAN = 4.4
"""Largest group of pictures over the mean in published traces of fixed cameras (TU Berlin / ASU trace library:
1.3 to 4.4); used when a camera's cap is not known."""


SECOND_CV, HURST = 0.5, 0.8
"""Scatter of one second of footage about the mean of its hour, as standard deviation over mean, and how long busy times
last (published traces of fixed cameras: 0.7 to 1.0; within an hour, our guess)."""

MOST_KNOWN = 1 - 1e-9
"""A fraction of the time that is this near to all of it is all of it."""

TENTHS = (0.1, 0.9)

MEAN_BELIEFS = {"listed": "listed_mean", "measured": "other_hours", "achieved": "full_card"}
"""The belief that decides how well a mean is known, by its basis."""


def camera_rates(
    cameras: pd.DataFrame, evidence: pd.DataFrame | None = None, beliefs: Beliefs | None = None
) -> pd.DataFrame:
    """Rates that a camera's row stands for.

    Parameters
    ----------
    cameras : DataFrame
        Camera list.
    evidence : DataFrame, optional
        What the files say that it names (:mod:`edgestore.plan.evidence`); nothing when left out.
    beliefs : Beliefs, optional
        What is taken for known where nothing is; those of a site without settings when left out.

    Returns
    -------
    DataFrame
        Same index. While recording, in Mbit/s: ``low_mbit_s``, ``planned_mbit_s``, ``likely_high_mbit_s`` (which one
        mean in ten exceeds, as one in ten falls below the low), ``high_mbit_s``, ``peak_mbit_s``, ``cap_mbit_s``
        (NaN when not known) and ``lowest_at_cap_mbit_s``, the least mean likely under that cap; the law of the mean
        before it is cut off: ``median_mbit_s``, ``most_mbit_s``, above which no mean is (NaN for no limit known), and
        ``stays_at_cap``, whether what would be above is at the cap;
        ``margin_over_mbit_s``, the rate over which the speed margin is taken. The ``recorded_fraction`` with the
        standard deviation of its logarithm, ``recorded_sigma``; ``update_interval_s``, the median where it is not
        listed, likewise with ``update_interval_sigma``. In words what these rest on: ``mean_basis``, ``peak_basis``,
        ``recorded_basis``, and the three in short, ``rate_basis``.

    Notes
    -----
    Mean: measured, else listed, else set in the encoder, else the cap stands in. Its range: the belief about a mean
    that is listed, up to the cap; none about a constant bit rate that is set; else from the lowest measured share of
    the cap to the cap. A mean that is measured is weighed with what was known before, in the logarithm, by how well
    each is known (:func:`footage_sigma`). A mean above the cap shows that the cap does not hold: then nothing limits
    the range. Peak: the cap described, else listed, or a second of footage above it; without a cap, ``PEAK_OVER_MEAN``
    times the mean. The margin is taken over the peak, but over the mean where the peak is
    only assumed from it: the trade's margin is for the rate set in the camera, and would count such a peak twice.
    Recorded: by the log, else by the formula from the listed events.
    """
    evidence = no_evidence(cameras) if evidence is None else evidence
    beliefs = Beliefs() if beliefs is None else beliefs
    measured, second = evidence["measured_mbit_s"], evidence["measured_peak_mbit_s"]
    described_cap, described_mean = evidence["described_cap_mbit_s"], evidence["described_mean_mbit_s"]
    listed, cap = cameras["mean_mbit_s"], described_cap.fillna(cameras["cap_mbit_s"])
    achieved = evidence["achieved_mbit_s"]
    is_seen = measured.notna() | achieved.notna()
    lowest_share = cameras["scene"].map({scene: low for scene, (low, _) in MEAN_OVER_CAP_BAND.items()}).astype(float)
    about, middle_share = beliefs["listed_mean"], lowest_share.pow(0.5)
    by_list = listed.fillna(described_mean.where(is_seen))
    before = (by_list * about.median).fillna(cap * middle_share).where(by_list.notna() | is_seen)
    before_sigma = pd.Series(-np.log(middle_share) / Z_90).where(by_list.isna(), about.sigma)
    seen_h, hours, days = (evidence[name].to_numpy(float) for name in ("measured_h", "measured_hours", "measured_days"))
    first, first_sigma, second_mean = (np.asarray(of, dtype=np.float64) for of in (before, before_sigma, measured))
    known = updated_mean(first, first_sigma, second_mean, footage_sigma(seen_h, hours, days, beliefs))
    most_held = achieved.where(~(achieved > cap), cap)
    updated = updated_by_card(
        *known, *(np.asarray(of, float) for of in (most_held, evidence["achieved_sigma"], evidence["achieved_at_most"]))
    )
    median, sigma = (pd.Series(of, cameras.index) for of in updated)
    mean = median.fillna(described_mean)
    within = pd.Series(np.exp(Z_90 * sigma)).where(median.notna(), 1.0)  # a mean that is set is a constant bit rate
    planned = mean.fillna(cap)
    most = cap.where(~((planned > cap) | (measured > cap)))
    peak = cap.fillna(second).fillna(planned * PEAK_OVER_MEAN)
    highest = pd.concat([peak, second, planned], axis=1).max(axis=1)
    fraction = evidence["logged_fraction"].fillna(listed_fraction(cameras))
    of_events = recorded_sigma(fraction.to_numpy(float), evidence["logged_events"].to_numpy(float), beliefs)
    interval, unknown = cameras["update_interval_s"].astype(float), beliefs["update_interval"]
    peak_basis = np.select(
        [second.notna() & ~(second <= cap), described_cap.notna(), cap.notna()],
        ["measured", "described", "listed"],
        "assumed",
    )
    rates = pd.DataFrame(
        {
            "low_mbit_s": (mean / within).fillna(cap * lowest_share),
            "planned_mbit_s": planned,
            "likely_high_mbit_s": (mean * within).where(~(mean * within > most), most).fillna(cap),
            "high_mbit_s": most.fillna(mean * within),
            "median_mbit_s": mean.fillna(cap * middle_share),
            "most_mbit_s": most,
            "stays_at_cap": mean.isna(),
            "peak_mbit_s": highest,
            "margin_over_mbit_s": highest.where(peak_basis != "assumed", planned),
            "cap_mbit_s": cap,
            "lowest_at_cap_mbit_s": cap * lowest_share,
            "recorded_fraction": fraction,
            "recorded_sigma": np.where(cameras["recording"] == "motion", of_events, 0.0),
            "update_interval_s": interval.fillna(unknown.median),
            "update_interval_sigma": np.where(interval.isna(), unknown.sigma, 0.0),
            "mean_basis": np.select(
                [achieved.notna(), measured.notna(), cameras["mean_mbit_s"].notna(), described_mean.notna()],
                ["achieved", "measured", "listed", "described"],
                "assumed",
            ),
            "peak_basis": peak_basis,
            "recorded_basis": np.select(
                [cameras["recording"] == "continuous", evidence["logged_fraction"].notna()],
                ["continuous", "logged"],
                "listed",
            ),
        },
        index=cameras.index,
    )
    rates["rate_basis"] = [_basis(*row) for row in rates[["mean_basis", "peak_basis", "recorded_basis"]].to_numpy()]
    return rates


def recorded_sigma(fraction: Array, events: Array, beliefs: Beliefs) -> Array:
    """How well the fraction of the time that is recorded is known: the standard deviation of its logarithm.

    Parameters
    ----------
    fraction : ndarray
        Fraction of the time recorded, 0 to 1.
    events : ndarray
        Events that a log has counted, of which those in clusters count for fewer; NaN where the list tells them.
    beliefs : Beliefs
        How well listed events are known.

    Returns
    -------
    ndarray
        A plain ratio, from the fractions that are one in ten times less and more.

    Notes
    -----
    Events an hour have a gamma law: of a list, the one with the mean 1 and the variance of the belief's lognormal law
    over what is listed; of a log with n events, shape n. At r times as many events the fraction is ``1 - (1 - f)^r``,
    since recordings overlap.
    """
    of_list = 1 / np.expm1(max(beliefs["listed_events"].sigma, LEAST_SIGMA) ** 2)
    shape = np.maximum(np.where(np.isnan(events), of_list, events), 1.0)
    none_recorded = np.log1p(-np.minimum(fraction, MOST_KNOWN))
    low, high = (-np.expm1(none_recorded * gammaincinv(shape, tenth) / shape) for tenth in TENTHS)
    return np.asarray(np.log(high / low) / (2 * Z_90))


def footage_sigma(seen_h: Array, hours: Array, days: Array, beliefs: Beliefs) -> Array:
    """How well footage tells the mean of a year: the standard deviation of its logarithm.

    Parameters
    ----------
    seen_h : ndarray
        Length of the footage, h.
    hours, days : ndarray
        Hours of the day, 0 to 24, and days of the week, 0 to 7, that it shows; NaN for as many as it is long.
    beliefs : Beliefs
        How much other hours, days and weeks differ.

    Returns
    -------
    ndarray
        A plain ratio.

    Notes
    -----
    Four parts, as squares: other hours of the day, by the part of the day that is not shown; other days of the week
    likewise; other weeks, less the more weeks are shown; and the scatter of seconds within an hour, ``SECOND_CV``
    times seconds^(``HURST`` - 1). With 48 s the first decides, with a week the last two are left.
    """
    seen_h = np.nan_to_num(seen_h)
    days_of_week = H_PER_WEEK / H_PER_DAY
    hours = np.where(np.isnan(hours), np.minimum(seen_h, H_PER_DAY), hours)
    days = np.where(np.isnan(days), np.minimum(seen_h / H_PER_DAY, days_of_week), days)
    within = SECOND_CV * np.maximum(seen_h * S_PER_H, 1.0) ** (HURST - 1)
    parts = (
        (1 - hours / H_PER_DAY) * beliefs["other_hours"].sigma,
        (1 - days / days_of_week) * beliefs["other_days"].sigma,
        beliefs["other_weeks"].sigma / np.sqrt(np.maximum(seen_h / H_PER_WEEK, 1.0)),
        np.sqrt(np.log1p(within**2)),
    )
    return np.asarray(np.sqrt(sum(np.square(part) for part in parts)))


def updated_mean(before: Array, before_sigma: Array, measured: Array, measured_sigma: Array) -> tuple[Array, Array]:
    """Median of the mean rate after it was measured, and the standard deviation of its logarithm.

    Parameters
    ----------
    before, before_sigma : ndarray
        Median before, Mbit/s, and standard deviation of the logarithm; NaN where nothing was known.
    measured, measured_sigma : ndarray
        Mean of the footage, Mbit/s, and how well it tells the true one; NaN where there is none.

    Returns
    -------
    tuple of ndarray
        Both, NaN where nothing is known.

    Notes
    -----
    Normal prior and normal measurement in the logarithm: each counts by one over its variance.
    """
    known = (before, before_sigma), (measured, measured_sigma)
    weights = [np.where(np.isnan(value), 0.0, np.maximum(sigma, LEAST_SIGMA) ** -2.0) for value, sigma in known]
    total = np.where(sum(weights) > 0, sum(weights), np.nan)
    logs = sum(weight * np.nan_to_num(np.log(value)) for weight, (value, _) in zip(weights, known, strict=True))
    return np.exp(logs / total), np.asarray(total**-0.5)


def listed_fraction(cameras: pd.DataFrame) -> "pd.Series[float]":
    """Fraction of the time recorded by the list alone; NaN where only a log can say it."""
    fraction = pd.Series(1.0, cameras.index)
    moving = cameras["recording"] == "motion"
    fraction[moving] = np.nan
    told = moving & cameras[["events_per_h", "event_s"]].notna().all(axis=1)
    if told.any():
        on_motion = cameras.loc[told, ["events_per_h", "event_s", "pre_roll_s", "post_roll_s"]]
        fraction[told] = recorded_fraction(*(on_motion[name].to_numpy() for name in on_motion))
    return fraction


def _basis(mean: str, peak: str, recorded: str) -> str:
    """Say in short what rates and recording rest on."""
    what = {"measured": "peak measured", "assumed": "cap not known"}.get(peak, f"cap {peak}")
    events = "" if recorded == "continuous" else f", events {recorded}"
    return f"mean {mean}, {what}{events}"


def is_amplification_unknown(cards: pd.DataFrame) -> Flags:
    """Tell which cards state cycles and nothing about what a host may write, so that the camera decides it."""
    stated = cards[["endurance_tbw", "rated_h", "write_amplification_high"]]
    flags: Flags = stated.isna().all(axis=1).to_numpy()
    return flags


def card_flash(cards: pd.DataFrame) -> tuple[Array, Array, Array]:
    """What the flash of each card bears, and the range of flash writes per host write.

    Parameters
    ----------
    cards : DataFrame
        Card list.

    Returns
    -------
    tuple of ndarray, shape (cards,)
        TB written to the flash; lowest and highest write amplification. A stated endurance is in TB written by the
        host: its write amplification is 1. The highest is NaN where the camera decides it.

    Notes
    -----
    A stated TBW is taken first, then a rating in hours, then cycles.
    """
    flash_tbw = cards["endurance_tbw"].to_numpy(float, copy=True)
    lowest, highest = np.ones(len(cards)), np.ones(len(cards))
    by_hours = np.isnan(flash_tbw) & cards["rated_h"].notna().to_numpy()
    if by_hours.any():
        rated = cards.loc[by_hours]
        flash_tbw[by_hours] = endurance_tbw_from_hours(rated["rated_h"].to_numpy(), rated["rated_mbit_s"].to_numpy())
    by_cycles = np.isnan(flash_tbw)
    if by_cycles.any():
        flash = cards.loc[by_cycles]
        flash_tbw[by_cycles] = endurance_tbw_from_cycles(flash["capacity_gb"].to_numpy(), flash["pe_cycles"].to_numpy())
        lowest[by_cycles] = flash["write_amplification_low"].fillna(WRITE_AMPLIFICATION_BEST).to_numpy()
        highest[by_cycles] = flash["write_amplification_high"].to_numpy()
    return flash_tbw, lowest, highest


def card_endurance_tbw(
    cards: pd.DataFrame, bitrate_mbit_s: npt.ArrayLike, update_interval_s: npt.ArrayLike
) -> tuple[Array, Array]:
    """Lowest and highest endurance of each card under a camera, TB written by the host.

    Parameters
    ----------
    cards : DataFrame
        Card list.
    bitrate_mbit_s, update_interval_s : array_like
        Mean rate while recording, Mbit/s, and time between two updates of file tables and index, s. Of shape
        (cameras, 1) for every card under every camera, or (cards,) for each card under its own.

    Returns
    -------
    tuple of ndarray
        Lowest and highest endurance, of the broadcast shape.

    Notes
    -----
    Where a card does not state its write amplification, that lies between ``WRITE_AMPLIFICATION_BEST`` and
    :func:`edgestore.models.wear.write_amplification_camera`.
    """
    flash_tbw, lowest, highest = card_flash(cards)
    by_unit = write_amplification_camera(np.asarray(bitrate_mbit_s), np.asarray(update_interval_s))
    low = flash_tbw / np.where(np.isnan(highest), np.maximum(by_unit, lowest), highest)
    return low, np.broadcast_to(flash_tbw / lowest, low.shape)
