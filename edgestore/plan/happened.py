"""What the cards of a site turned out to hold, against what was planned, and what that teaches of each camera."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from edgestore.answers.achieved import A_DAY, OF_A_ZONE, OF_ANY_ZONE, Achieved, achieved, clock_ahead_days
from edgestore.checks import Fault, InputError
from edgestore.inputs.clocks import YEARS, clock_of
from edgestore.inputs.onvif_recordings import NEEDED
from edgestore.inputs.saved_answers import OnCard, SavedAnswers, file_name
from edgestore.inputs.service_log import CAMERA_GONE, FAILED
from edgestore.models.retention import bitrate_mbit_s_for_retention, retention_h
from edgestore.plan.card_life import known_before
from edgestore.plan.credible import why_not_learnt
from edgestore.plan.evidence import described
from edgestore.plan.judge import about_card, about_clock, judged
from edgestore.plan.rates import footage_sigma
from edgestore.plan.site import Site
from edgestore.plan.verdicts import BAND, CANNOT_TELL, CLOCK, NO_ANSWER, NOT_RECORDING, UTC, Held, Planned
from edgestore.text import counted
from edgestore.units import DAYS_PER_YEAR, H_PER_DAY, H_PER_WEEK

NO_LOG = "no service log was given, which tells the card and the day of fitting"
"""Why no card can be judged of a site without a service log."""

LEAST_HISTORY_H = H_PER_DAY
"""A shorter history does not tell the fraction recorded."""

EARLY = 0.9
"""A card that fails at an age which such a share was to outlive has failed early."""


def held_by_cameras(site: Site, answers: SavedAnswers, band: float = BAND) -> list[Held]:
    """What the card of each camera holds, against the plan.

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
        A row for each camera, in the order of the camera list.

    Notes
    -----
    The mean that follows from a full card is its usable capacity over the hours recorded of those it holds: by the
    history; without one all hours of a camera that records without a break, and the planned fraction of another, of
    which the doubt is counted. A history that covers only a part of the footage stands for the rest too, which may as
    well be as planned: that doubt is counted. How well it tells the mean of a year: as footage of that length does
    (:func:`edgestore.plan.rates.footage_sigma`), and how well the capacity is known. What a card holds that is not yet
    full is less than it will hold, so that the mean is at most what follows.

    Locked clips are footage too: all that is recorded, with clips that stand apart, is what the card holds. Where they
    are expected and none stand apart, that some are not told of is counted as a doubt about the mean.
    """
    return [judged(_held(site, row, camera, answers), band) for row, camera in enumerate(site.cameras["camera"])]


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


def _held(site: Site, row: int, name: str, answers: SavedAnswers) -> Held:
    """What one camera said, and with its card what was planned."""
    recording, said = str(site.cameras["recording"].iloc[row]), answers.by_camera.get(name)
    zone = str(site.cameras["time_zone"].iloc[row]) or UTC
    held = Held(row=row, camera=name, recording=recording, time_zone=zone, unread=answers.unread.get(name, ()))
    if said is None or said.span is None:
        held = _without_card(held, site)
    of_clock = next((fault for fault in held.unread if fault.allowed == YEARS), None)
    if said is None and of_clock is not None:
        shows = f"its clock was wrong: its answers have a time of {of_clock.found}"
        return replace(held, verdict=CLOCK, why=(*about_card(held), shows), remedy=of_clock.mend)
    if said is None:
        where = f"answers/YYYY-MM-DD/{file_name(name)}.xml"
        why = tuple(f"{fault.where}: {fault.found}" for fault in held.unread) or ("no answers were saved",)
        return replace(
            held, verdict=NO_ANSWER, why=(*about_card(held), *why), remedy=f"Save its answer as {where}: {NEEDED}"
        )
    held = replace(held, saved=str(said.saved), kept_h=said.kept_h, all_from=said.all_from)
    held = _with_encoders(held, said, site)
    ahead_days = clock_ahead_days(said, clock_of(zone))
    held = replace(held, clock_ahead_days=ahead_days, is_clock_known=said.now is not None)
    on_day = _card_on(site, said, ahead_days, zone)
    if on_day is not None:
        fitted, card_name, removed = on_day
        of_kind = site.cards[site.cards["card"] == card_name]
        planned = None if of_kind.empty else _planned(site, row, of_kind.iloc[0])
        held = replace(held, card=card_name, fitted=f"{fitted:%Y-%m-%d}", planned=planned)
        if not pd.isna(removed):
            held = _without_card(replace(held, taken_out=f"{removed:%Y-%m-%d}"), site)
    if said.span is None:
        return _with_why(held, NOT_RECORDING, "the camera says that it holds no recordings")
    if site.log is None:
        return _untold(
            held, NO_LOG, "Enter the cards of the site in a service log, and name it in [service] of the settings."
        )
    if on_day is None:
        remedy = "Enter its card, and the day of fitting, in the service log."
        return _untold(held, "the service log has no card in it on that day", remedy)
    if held.planned is None:
        remedy = f"Add {held.card} to the card list, or correct its name in the service log."
        return _untold(held, f"the card list has no {held.card}", remedy)
    return _with_footage(held, said, on_day[0], site)


def _with_encoders(held: Held, said: OnCard, site: Site) -> Held:
    """Add the saved settings of its encoder; what the list and they do not agree on is told."""
    settings, faults = dict[str, float](), list[Fault]()
    for file in said.encoders:
        try:
            settings |= described(file, site.cameras["encoder_streams"].iloc[held.row], is_listed=True)[0]
        except InputError as error:
            faults += error.faults
    return replace(held, described=settings, unread=(*held.unread, *faults))


def _with_footage(held: Held, said: OnCard, fitted: pd.Timestamp, site: Site) -> Held:
    """Add what the footage tells, where the card is known."""
    planned = held.planned
    assert planned is not None
    most_h = planned.most_h if np.isnan(said.kept_h) else said.kept_h
    clock = clock_of(held.time_zone)
    found = achieved(
        said,
        fitted,
        held.recording,
        zone=clock,
        most_h=most_h,
        fills_h=planned.long_h,
        locked_fraction=planned.locked_fraction,
    )
    if found.is_older:
        remedy = (
            "Correct the day of fitting in the service log, or set the clock of the camera (NTP); save "
            "GetSystemDateAndTime with the next answers."
        )
        why = "footage is older than the card: see the day of fitting, and the clock of the camera"
        return _untold(held, why, remedy)
    if found.hours <= 0:
        return _untold(held, "the footage has no length", f"Save its answers again. {NEEDED}")
    follows, sigma = _follows(site, planned, found)
    return replace(held, achieved=found, follows_mbit_s=follows, follows_sigma=sigma)


def _untold(held: Held, why: str, remedy: str) -> Held:
    return replace(_with_why(held, CANNOT_TELL, why), remedy=remedy)


def _with_why(held: Held, verdict: str, why: str) -> Held:
    """Add a verdict that needs no band, and with its reason what the answers tell whatever the card holds."""
    return replace(held, verdict=verdict, why=(*about_card(held), why, *about_clock(held)))


def _card_on(site: Site, said: OnCard, ahead_days: int, zone: str) -> tuple[pd.Timestamp, str, pd.Timestamp] | None:
    """The card that a camera's answers are of, the last of several: day of fitting, kind, day of removal.

    Where cards were changed on the day of the answers, footage from before that day is of the card that was taken out.
    """
    if site.log is None:
        return None
    day = pd.Timestamp(said.saved)
    log = site.log[site.log["camera"] == said.camera].sort_values("fitted", kind="stable")
    cards = log[(log["fitted"] <= day) & ~(log["removed"] <= day)]
    changed = log[log["removed"] == day]
    is_new = cards.empty or cards["fitted"].iloc[-1] == day
    if is_new and not changed.empty and _is_from_before(said, ahead_days, zone):
        cards = changed
    if cards.empty:
        return None
    last = cards.iloc[-1]
    return last["fitted"], str(last["card"]), last["removed"]


def _is_from_before(said: OnCard, ahead_days: int, zone: str) -> bool:
    """Whether footage is from before the day of its answers, by its time zone, or by any where none is listed."""
    earlier, _ = OF_ANY_ZONE if zone == UTC else OF_A_ZONE
    begin = pd.Timestamp(said.saved, tz=clock_of(zone)) - earlier
    return said.span is not None and bool(said.span[0] - ahead_days * A_DAY < begin)


def _without_card(held: Held, site: Site) -> Held:
    """The same where the last card of the camera was taken out, by the service log, and no other was fitted."""
    if site.log is None:
        return held
    log = site.log[site.log["camera"] == held.camera].sort_values("removed", na_position="last")
    if log.empty or log["removed"].isna().any():
        return held
    last = log.iloc[-1]
    if last["why"] == CAMERA_GONE:
        return replace(held, gone=f"{last['removed']:%Y-%m-%d}")
    return replace(held, has_no_card=True)


def _planned(site: Site, row: int, card: "pd.Series[Any]") -> Planned:
    """What was planned of a card in a camera."""
    beliefs, rate = site.settings.beliefs, site.rates.iloc[row]
    of_capacity, ring = beliefs["full_card"].sigma, float(site.ring_fraction[row])
    median = retention_h(
        card["capacity_gb"],
        rate["planned_mbit_s"],
        recorded_fraction=rate["recorded_fraction"],
        usable_fraction=card["usable_fraction"] * ring,
    )
    return Planned(
        card=card.to_dict(),
        rate=rate.to_dict(),
        locked_fraction=float(site.cameras["locked_fraction"].iloc[row]),
        median_h=float(median),
        others_sigma=float(np.sqrt(rate["recorded_sigma"] ** 2 + of_capacity**2 + beliefs["other_weeks"].sigma ** 2)),
        capacity_sigma=of_capacity,
        most_h=float(site.most_days_deleted[row]) * H_PER_DAY,
    )


def _follows(site: Site, planned: Planned, found: Achieved) -> tuple[float, float]:
    """Mean while recording that follows from what a card holds, and the standard deviation of its logarithm."""
    rate, card = planned.rate, planned.card
    beliefs, has_history = site.settings.beliefs, found.recorded_part == found.recorded_part
    recorded_h = found.hours * (found.recorded_part if has_history else rate["recorded_fraction"])
    if recorded_h <= 0:
        return np.nan, np.nan
    in_card_h = recorded_h + found.apart_h
    follows = bitrate_mbit_s_for_retention(in_card_h, card["capacity_gb"], usable_fraction=card["usable_fraction"])
    days = min(found.hours, H_PER_WEEK) / H_PER_DAY
    length, hours_seen, days_seen = (np.array([of]) for of in (recorded_h, min(found.hours, H_PER_DAY), days))
    of_footage = footage_sigma(length, hours_seen, days_seen, beliefs)[0]
    of_fraction = 0.0 if has_history else rate["recorded_sigma"]
    if has_history and found.covered_h < found.hours:  # the rest may be as planned
        of_fraction = abs(np.log(found.recorded_part / rate["recorded_fraction"]))
    # Clips may be locked that the camera does not tell of.
    hidden = planned.locked_fraction if found.is_full and not found.apart else 0.0
    of_space = np.hypot(beliefs["full_card"].sigma, np.log1p(-hidden))
    return float(follows), float(np.sqrt(of_footage**2 + of_fraction**2 + of_space**2))


def _learnt(site: Site, held: Held) -> dict[str, float]:
    """What one camera's card teaches, by column of the evidence."""
    found = held.achieved
    if found is None or held.verdict == NOT_RECORDING or held.all_tracks_h > 0:
        return {}
    learnt: dict[str, float] = {}
    if not why_not_learnt(held):
        learnt |= {
            "achieved_mbit_s": held.follows_mbit_s,
            "achieved_sigma": held.follows_sigma,
            "achieved_at_most": float(not found.is_full),
        }
    is_motion = site.cameras["recording"].iloc[held.row] == "motion"
    is_longer = not site.evidence["logged_h"].iloc[held.row] > found.covered_h
    if is_motion and found.recorded_h > 0 and found.covered_h >= LEAST_HISTORY_H and is_longer:
        learnt |= {
            "logged_fraction": min(found.recorded_part, 1.0),
            "logged_events": float(found.recordings),
            "logged_h": found.covered_h,
        }
    return learnt
