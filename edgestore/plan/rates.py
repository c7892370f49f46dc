"""What a row of each list stands for: the rates of a camera, the endurance of a card."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.rate.bitrate import MEAN_OVER_CAP_BAND
from edgestore.models.rate.duty import recorded_fraction
from edgestore.models.wear.amplification import WRITE_AMPLIFICATION_BEST, write_amplification_camera
from edgestore.models.wear.endurance import endurance_tbw_from_cycles, endurance_tbw_from_hours
from edgestore.plan.evidence import no_evidence

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

PEAK_OVER_MEAN = 4.4
"""Largest group of pictures over the mean in published traces of fixed cameras (TU Berlin / ASU trace library:
1.3 to 4.4); used when a camera's cap is not known."""


MEAN_SPREAD = 1.3
"""A mean that is known is exceeded by this factor once in ten times, and missed by it likewise (our guess)."""


def camera_rates(cameras: pd.DataFrame, evidence: pd.DataFrame | None = None) -> pd.DataFrame:
    """Rates that a camera's row stands for.

    Parameters
    ----------
    cameras : DataFrame
        Camera list.
    evidence : DataFrame, optional
        What the files say that it names (:mod:`edgestore.plan.evidence`); nothing when left out.

    Returns
    -------
    DataFrame
        Same index. While recording, in Mbit/s: ``low_mbit_s``, ``planned_mbit_s``, ``likely_high_mbit_s`` (which one
        mean in ten exceeds, as one in ten falls below the low), ``high_mbit_s``, ``peak_mbit_s``, ``cap_mbit_s``
        (NaN when not known) and ``lowest_at_cap_mbit_s``, the least mean likely under that cap; the law of the mean
        before it is cut off: ``median_mbit_s``, ``most_mbit_s``, above which no mean is (NaN for no limit known), and
        ``stays_at_cap``, whether what would be above is at the cap;
        ``margin_over_mbit_s``, the rate over which the speed margin is taken. The ``recorded_fraction``, and
        ``update_interval_s``. In words what these rest on: ``mean_basis``, ``peak_basis``, ``recorded_basis``, and
        the three in short, ``rate_basis``.

    Notes
    -----
    Mean: measured, else listed, else set in the encoder, else the cap stands in. Its range: ``MEAN_SPREAD`` about a
    mean that is measured or listed, up to the cap; none about a constant bit rate that is set; else from the lowest
    measured share of the cap to the cap. A mean above the cap shows that the cap does not hold: then nothing limits
    the range. Peak: the cap described, else listed, or a second of footage above it; without
    a cap, ``PEAK_OVER_MEAN`` times the mean. The margin is taken over the peak, but over the mean where the peak is
    only assumed from it: the trade's margin is for the rate set in the camera, and would count such a peak twice.
    Recorded: by the log, else by the formula from the listed events.
    """
    evidence = no_evidence(cameras) if evidence is None else evidence
    measured, second = evidence["measured_mbit_s"], evidence["measured_peak_mbit_s"]
    described_cap, described_mean = evidence["described_cap_mbit_s"], evidence["described_mean_mbit_s"]
    known = measured.fillna(cameras["mean_mbit_s"])
    mean = known.fillna(described_mean)
    within = np.where(known.notna(), MEAN_SPREAD, 1.0)  # a mean that is set is a constant bit rate
    cap = described_cap.fillna(cameras["cap_mbit_s"])
    planned = mean.fillna(cap)
    most = cap.where(~(planned > cap))
    peak = cap.fillna(second).fillna(planned * PEAK_OVER_MEAN)
    highest = pd.concat([peak, second, planned], axis=1).max(axis=1)
    peak_basis = np.select(
        [second.notna() & ~(second <= cap), described_cap.notna(), cap.notna()],
        ["measured", "described", "listed"],
        "assumed",
    )
    lowest_share = cameras["scene"].map({scene: low for scene, (low, _) in MEAN_OVER_CAP_BAND.items()}).astype(float)
    rates = pd.DataFrame(
        {
            "low_mbit_s": (mean / within).fillna(cap * lowest_share),
            "planned_mbit_s": planned,
            "likely_high_mbit_s": np.fmin(mean * within, most).fillna(cap),
            "high_mbit_s": most.fillna(mean * within),
            "median_mbit_s": mean.fillna(np.sqrt(lowest_share) * cap),
            "most_mbit_s": most,
            "stays_at_cap": mean.isna(),
            "peak_mbit_s": highest,
            "margin_over_mbit_s": highest.where(peak_basis != "assumed", planned),
            "cap_mbit_s": cap,
            "lowest_at_cap_mbit_s": cap * lowest_share,
            "recorded_fraction": evidence["logged_fraction"].fillna(listed_fraction(cameras)),
            "update_interval_s": cameras["update_interval_s"],
            "mean_basis": np.select(
                [measured.notna(), cameras["mean_mbit_s"].notna(), described_mean.notna()],
                ["measured", "listed", "described"],
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
