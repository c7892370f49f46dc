"""What the cards of a site turned out to hold, against what was planned, and what that teaches of each camera."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from scipy.special import ndtri

from edgestore.answers.achieved import Achieved, achieved
from edgestore.inputs.clocks import clock_of
from edgestore.inputs.saved_answers import OnCard, SavedAnswers
from edgestore.inputs.service_log import FAILED
from edgestore.models.retention import bitrate_mbit_s_for_retention, retention_h
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_life import known_before
from edgestore.plan.evidence import described
from edgestore.plan.rates import footage_sigma
from edgestore.plan.site import Site
from edgestore.text import counted, number, percent, span
from edgestore.units import DAYS_PER_YEAR, H_PER_DAY, H_PER_WEEK

AS_PLANNED, SHORTER, LONGER = "as planned", "shorter", "longer"
NOT_FULL, GAPS, CANNOT_TELL = "not yet full", "gaps", "cannot tell"
VERDICTS = (AS_PLANNED, SHORTER, LONGER, GAPS, NOT_FULL, CANNOT_TELL)
"""What is said of a camera."""

MOST_GAPS = 0.01
"""A camera that records without a break may miss this part of the time (our choice)."""

LEAST_HISTORY_H = H_PER_DAY
"""A shorter history does not tell the fraction recorded."""

BAND = 0.8
"""Part of the cameras that should lie within what is planned, where nothing else is asked."""

EARLY = 0.9
"""A card that fails at an age which such a share was to outlive has failed early."""


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the card in one camera holds, against the plan; times in h, rates in Mbit/s.

    Attributes
    ----------
    row : int
        Number of the camera in the list.
    camera, card, fitted : str
        The camera, the kind of its card, and the day on which that was fitted; empty where the log has none.
    saved : str
        Day of the answers.
    planned_h : tuple of float
        Retention planned with that card: middle, and the ends of the band.
    achieved : Achieved or None
        What the card holds; None where that cannot be told.
    follows_mbit_s, follows_sigma : float
        Mean while recording that follows, and standard deviation of its logarithm; NaN where none does.
    verdict : str
        One of ``VERDICTS``.
    why : tuple of str
        Reasons, the most telling first.
    described : dict
        What saved settings of the encoder say, by column of the evidence.
    """

    row: int
    camera: str
    saved: str
    card: str = ""
    fitted: str = ""
    planned_h: tuple[float, float, float] = (np.nan, np.nan, np.nan)
    achieved: Achieved | None = None
    follows_mbit_s: float = np.nan
    follows_sigma: float = np.nan
    verdict: str = CANNOT_TELL
    why: tuple[str, ...] = ()
    described: dict[str, float]

    @property
    def is_wrong(self) -> bool:
        """Whether the plan was wrong about the camera, in what it holds or in why."""
        return self.verdict in (SHORTER, LONGER, GAPS) or (self.achieved is not None and bool(self.why))


def held_by_cameras(site: Site, answers: SavedAnswers, band: float = BAND) -> list[Held]:
    """What the card of each camera that answered holds, against the plan.

    Parameters
    ----------
    site : Site
        The site as it was planned.
    answers : SavedAnswers
        What its cameras said.
    band : float
        Part of such cameras that should lie within the retention planned, 0 to 1.

    Returns
    -------
    list of Held
        In the order of the camera list.

    Raises
    ------
    InputError
        When saved encoder settings do not have the streams that the camera list names.

    Notes
    -----
    The mean that follows from a full card is its usable capacity over the hours recorded of those it holds: by the
    history; without one all hours of a camera that records without a break, and the planned fraction of another, of
    which the doubt is counted. How well it tells the mean of a year: as footage of that length does
    (:func:`edgestore.plan.rates.footage_sigma`), and how well the capacity is known. What a card holds that is not yet
    full is less than it will hold, so that the mean is at most what follows.
    """
    return [
        _held(site, row, answers.by_camera[camera], band)
        for row, camera in enumerate(site.cameras["camera"])
        if camera in answers.by_camera
    ]


def learnt_site(site: Site, held: list[Held]) -> Site:
    """The site with what its cards turned out to hold among its evidence.

    Parameters
    ----------
    site : Site
        The site as it was planned.
    held : list of Held
        Of :func:`held_by_cameras`.

    Returns
    -------
    Site
        The same with other evidence; the service log has taught it of cards already.
    """
    evidence = site.evidence.copy()
    for of in held:
        for name, value in {**of.described, **_learnt(site, of)}.items():
            evidence.loc[evidence.index[of.row], name] = value
    return replace(site, evidence=evidence)


def failed_early(site: Site) -> dict[str, str]:
    """Cameras of which a card failed early by what is known of any card without the log, and when, in words."""
    if site.log is None:
        return {}
    failed = site.log[site.is_known(site.log) & (site.log["why"] == FAILED).to_numpy()]
    before, told = known_before(site.settings.beliefs), dict[str, str]()
    for card, log in failed.groupby("card", sort=False):
        records = site.records_of(str(card), log)
        works = before.survival(records.wear_life_years[None], records.years)[0]
        is_early = np.einsum("cn,nc->c", records.chance, works) > EARLY
        for row, years in zip(log[is_early].itertuples(), records.years[is_early], strict=True):
            days = counted(round(years * DAYS_PER_YEAR), "day")
            told[str(row.camera)] = f"a {card} card failed early: after {days}, in {row.removed:%Y}"
    return told


def _held(site: Site, row: int, said: OnCard, band: float) -> Held:
    """What one camera's card holds."""
    camera, settings = site.cameras.iloc[row], dict[str, float]()
    for file in said.encoders:
        settings |= described(file, camera["encoder_streams"], is_listed=True)[0]
    blank = Held(row=row, camera=said.camera, saved=str(said.saved), described=settings)
    on_day = _card_on(site, said)
    if on_day is None:
        return replace(blank, why=("the service log has no card in it on that day",))
    fitted, name = on_day
    blank = replace(blank, card=name, fitted=f"{fitted:%Y-%m-%d}")
    of_kind = site.cards[site.cards["card"] == name]
    if of_kind.empty:
        return replace(blank, why=(f"the card list has no {name}",))
    if said.span is None:
        return replace(blank, why=("there is no footage on the card",))
    rate, card = site.rates.iloc[row], of_kind.iloc[0]
    most_h = float(site.most_days_deleted[row]) * H_PER_DAY
    clock = clock_of(camera["time_zone"] or "UTC")
    found = achieved(said, fitted, camera["recording"], zone=clock, most_h=most_h)
    planned = _planned_h(site, rate, card, most_h=most_h, band=band)
    if found.is_older or found.hours <= 0:
        why = "footage is older than the card: see the day of fitting, and the clock of the camera"
        return replace(blank, planned_h=planned, why=(why if found.is_older else "the footage has no length",))
    follows, sigma = _follows(site, rate, card, found)
    known = replace(blank, planned_h=planned, achieved=found, follows_mbit_s=follows, follows_sigma=sigma)
    verdict = _verdict(known, camera["recording"])
    return replace(
        known, verdict=verdict, why=tuple(_why(known, verdict, rate, site.settings.beliefs["full_card"].sigma))
    )


def _card_on(site: Site, said: OnCard) -> tuple[pd.Timestamp, str] | None:
    """Day of fitting and kind of the card that was in a camera on the day of its answers; the last of several."""
    if site.log is None:
        return None
    day, log = pd.Timestamp(said.saved), site.log[site.log["camera"] == said.camera]
    log = log[(log["fitted"] <= day) & ~(log["removed"] <= day)].sort_values("fitted", kind="stable")
    return None if log.empty else (log["fitted"].iloc[-1], str(log["card"].iloc[-1]))


def _planned_h(
    site: Site, rate: "pd.Series[Any]", card: "pd.Series[Any]", *, most_h: float, band: float
) -> tuple[float, float, float]:
    """Retention planned, and the ends of the band; parts of the doubt add up as squares."""
    beliefs, score = site.settings.beliefs, float(ndtri((1 + band) / 2))
    middle = float(
        retention_h(
            card["capacity_gb"],
            rate["planned_mbit_s"],
            recorded_fraction=rate["recorded_fraction"],
            usable_fraction=card["usable_fraction"],
        )
    )
    others = score * np.sqrt(
        rate["recorded_sigma"] ** 2 + beliefs["full_card"].sigma ** 2 + beliefs["other_weeks"].sigma ** 2
    )
    # The rates tell the ends of eight in ten; none is above the cap.
    planned, wider = np.log(rate["planned_mbit_s"]), score / Z_90
    more, less = (abs(np.log(rate[name]) - planned) * wider for name in ("low_mbit_s", "likely_high_mbit_s"))
    less = np.fmin(less, np.log(rate["most_mbit_s"]) - planned)
    ends = middle * np.exp(-np.hypot(less, others)), middle * np.exp(np.hypot(more, others))
    middle, low, high = (float(min(hours, most_h)) for hours in (middle, *ends))
    return middle, low, high


def _follows(site: Site, rate: "pd.Series[Any]", card: "pd.Series[Any]", found: Achieved) -> tuple[float, float]:
    """Mean while recording that follows from what a card holds, and the standard deviation of its logarithm."""
    beliefs, has_history = site.settings.beliefs, found.recorded_h == found.recorded_h
    recorded_h = found.recorded_h if has_history else found.hours * rate["recorded_fraction"]
    if recorded_h <= 0:
        return np.nan, np.nan
    follows = bitrate_mbit_s_for_retention(recorded_h, card["capacity_gb"], usable_fraction=card["usable_fraction"])
    days = min(found.hours, H_PER_WEEK) / H_PER_DAY
    length, hours_seen, days_seen = (np.array([of]) for of in (recorded_h, min(found.hours, H_PER_DAY), days))
    of_footage = footage_sigma(length, hours_seen, days_seen, beliefs)[0]
    of_fraction = 0.0 if has_history else rate["recorded_sigma"]
    return float(follows), float(np.sqrt(of_footage**2 + of_fraction**2 + beliefs["full_card"].sigma ** 2))


def _verdict(held: Held, recording: str) -> str:
    found = held.achieved
    assert found is not None
    _, low, high = held.planned_h
    if found.stopped is not None or (recording == "continuous" and found.missed > MOST_GAPS):
        return GAPS
    if found.is_deleted:
        return AS_PLANNED
    if found.hours > high:
        return LONGER
    if not found.is_full:
        return NOT_FULL
    return SHORTER if found.hours < low else AS_PLANNED


def _why(held: Held, verdict: str, rate: "pd.Series[Any]", cap_sigma: float) -> Iterator[str]:
    """Reasons why a camera's card holds what it does."""
    found = held.achieved
    assert found is not None
    if found.stopped is not None:
        yield f"nothing recorded since {found.stopped:%Y-%m-%d}"
    if found.gaps:
        gaps, recorded = counted(len(found.gaps), "gap"), percent(found.recorded_h / found.hours)
        yield f"{gaps}, the longest of {number(found.longest_gap_h)} h; recorded {recorded} of the time"
    fraction, planned_fraction = found.recorded_h / found.hours, rate["recorded_fraction"]
    if rate["recorded_sigma"] and abs(np.log(fraction / planned_fraction)) > Z_90 * rate["recorded_sigma"]:
        yield f"records {percent(fraction)} of the time, planned {percent(planned_fraction)}"
    is_product = rate["recorded_sigma"] and fraction != fraction
    what = "rate or recorded part" if is_product else "rate"
    follows, cap = held.follows_mbit_s, held.described.get("described_cap_mbit_s", rate["cap_mbit_s"])
    off = np.exp(Z_90 * held.follows_sigma)
    low, high, planned = rate["low_mbit_s"], rate["likely_high_mbit_s"], number(rate["planned_mbit_s"])
    if not np.isclose(cap, rate["cap_mbit_s"], equal_nan=True):
        yield f"cap set to {number(cap)} Mbit/s, planned {number(rate['cap_mbit_s'])}"
    told = f"{number(follows)} Mbit/s while recording, planned {planned} ({span(low, high)})"
    if not found.is_full:
        if verdict == LONGER:
            yield f"{what} lower: at most {told}"
    elif follows > cap * np.exp(Z_90 * cap_sigma):
        above = f"{number(follows)} Mbit/s follow, above the cap of {number(cap)}"
        yield f"{above}: the usable capacity is smaller than listed, or the cap is not kept"
    elif follows > high * (1 if verdict == SHORTER else off):
        yield f"{what} higher: {told}"
    elif follows < low / (1 if verdict == LONGER else off):
        yield f"{what} lower: {told}"


def _learnt(site: Site, held: Held) -> dict[str, float]:
    """What one camera's card teaches, by column of the evidence."""
    found, rate = held.achieved, site.rates.iloc[held.row]
    if found is None:
        return {}
    learnt: dict[str, float] = {}
    if held.follows_mbit_s == held.follows_mbit_s and (
        found.is_full or held.follows_mbit_s < rate["likely_high_mbit_s"]
    ):
        learnt |= {
            "achieved_mbit_s": held.follows_mbit_s,
            "achieved_sigma": held.follows_sigma,
            "achieved_at_most": float(not found.is_full),
        }
    is_motion = site.cameras["recording"].iloc[held.row] == "motion"
    is_longer = not site.evidence["logged_h"].iloc[held.row] > found.hours
    if is_motion and found.recorded_h > 0 and found.hours >= LEAST_HISTORY_H and is_longer:
        learnt |= {
            "logged_fraction": min(found.recorded_h / found.hours, 1.0),
            "logged_events": float(found.recordings),
            "logged_h": found.hours,
        }
    return learnt
