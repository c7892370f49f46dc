"""What is said of one camera's card: planned and achieved, a verdict, the reasons, and what of the lists to correct."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import ndtri

from edgestore.answers.achieved import Achieved
from edgestore.checks import Fault
from edgestore.models.export import most_locked_gb
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_update import Z_95
from edgestore.plan.evidence import Row
from edgestore.text import NO_BREAK, counted, number, percent, span
from edgestore.units import H_PER_DAY

NOT_RECORDING, GAPS = "not recording", "gaps"
SHORTER, LONGER, INPUTS = "shorter", "longer", "inputs differ"
AS_PLANNED, DELETES = "as planned", "deletes by age"
NOT_FULL, CANNOT_TELL, NO_ANSWER = "not yet full", "cannot tell", "no answers"

AS_IT_WAS = (AS_PLANNED, DELETES)
OTHERWISE = (NOT_RECORDING, GAPS, SHORTER, LONGER, INPUTS)
OPEN = (NOT_FULL, CANNOT_TELL, NO_ANSWER)
VERDICTS = (*AS_IT_WAS, *OTHERWISE, *OPEN)
"""What is said of a camera: each has one, and so is as planned, or not, or cannot be judged yet."""

MOST_GAPS = 0.01
"""A camera that records without a break may miss this part of the time (our choice)."""

BAND = 0.8
"""Part of the cameras that should lie within what is planned, where nothing else is asked."""

WIDEST_BAND = 0.99
"""No wider band is asked for: its ends are those of pictures."""

Correction = tuple[str, str]
"""A reason, and what of the lists to correct for it."""


@dataclass(frozen=True, kw_only=True)
class Planned:
    """What was planned of the card in one camera.

    Attributes
    ----------
    card : dict
        The row of the card list.
    rate : dict
        The row of the rates of the site, in Mbit/s.
    median_h : float
        Retention in the middle, h, whatever the camera deletes.
    others_sigma : float
        Standard deviation of its logarithm for all but the rate: recorded part, capacity, other weeks.
    capacity_sigma : float
        That of the capacity alone.
    most_h : float
        Age at which footage is deleted, h; infinite where it is not.
    """

    card: Row
    rate: Row
    median_h: float
    others_sigma: float
    capacity_sigma: float
    most_h: float

    def within(self, band: float) -> tuple[float, float, float]:
        """Retention in the middle, and the ends of a band; parts of the doubt add up as squares."""
        score, rate = float(ndtri((1 + band) / 2)), self.rate
        # The rates tell the ends of eight in ten; none is above the cap.
        middle, wider = np.log(rate["planned_mbit_s"]), score / Z_90
        more, less = (abs(np.log(rate[name]) - middle) * wider for name in ("low_mbit_s", "likely_high_mbit_s"))
        less = np.fmin(less, np.log(rate["most_mbit_s"]) - middle)
        others = score * self.others_sigma
        ends = (1.0, np.exp(-np.hypot(less, others)), np.exp(np.hypot(more, others)))
        median, low, high = (float(min(self.median_h * end, self.most_h)) for end in ends)
        return median, low, high


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the card in one camera holds, against the plan; times in h, rates in Mbit/s.

    Attributes
    ----------
    row : int
        Number of the camera in the list.
    camera, card, fitted : str
        The camera, the kind of its card, and the day on which that was fitted; empty where the log has none.
    recording : str
        ``continuous`` or ``motion``.
    saved : str
        Day of the answers; empty without any.
    planned : Planned or None
        What was planned with that card; None where that cannot be told.
    achieved : Achieved or None
        What the card holds; None where that cannot be told.
    kept_h : float
        Age at which the camera is set to delete footage; infinite for no limit, NaN where it did not say.
    follows_mbit_s, follows_sigma : float
        Mean while recording that follows, and standard deviation of its logarithm; NaN where none does.
    described : dict
        What saved settings of the encoder say, by column of the evidence.
    unread : tuple of Fault
        What of its answers could not be read.
    remedy : str
        Where it cannot be told what the card holds, what would help.
    planned_h : tuple of float
        Retention planned: middle, and the ends of the band.
    verdict : str
        One of ``VERDICTS``.
    why : tuple of str
        Reasons, the most telling first.
    correct : tuple of str
        What of the lists to correct.
    """

    row: int
    camera: str
    recording: str
    saved: str = ""
    card: str = ""
    fitted: str = ""
    planned: Planned | None = None
    achieved: Achieved | None = None
    kept_h: float = np.nan
    follows_mbit_s: float = np.nan
    follows_sigma: float = np.nan
    described: Mapping[str, float] = field(default_factory=dict)
    unread: tuple[Fault, ...] = ()
    remedy: str = ""
    planned_h: tuple[float, float, float] = (np.nan, np.nan, np.nan)
    verdict: str = CANNOT_TELL
    why: tuple[str, ...] = ()
    correct: tuple[str, ...] = ()

    @property
    def is_wrong(self) -> bool:
        """Whether the camera did not do as planned, in what it holds or in why."""
        return self.verdict in OTHERWISE

    @property
    def follows_ends_mbit_s(self) -> tuple[float, float]:
        """Ends between which the mean that follows lies in nine of ten cases."""
        off = float(np.exp(Z_95 * self.follows_sigma))
        return self.follows_mbit_s / off, self.follows_mbit_s * off

    @property
    def locked_gb(self) -> float:
        """Volume of locked clips that would make the card hold so little at the planned rate, GB; NaN if not known."""
        found, planned = self.achieved, self.planned
        if found is None or planned is None or not found.is_full:
            return np.nan
        part = found.recorded_h / found.hours
        return float(
            most_locked_gb(
                found.hours,
                planned.card["capacity_gb"],
                planned.rate["planned_mbit_s"],
                recorded_fraction=part if 0 < part <= 1 else planned.rate["recorded_fraction"],
                usable_fraction=planned.card["usable_fraction"],
            )
        )


def judged(held: Held, band: float) -> Held:
    """The same with a verdict and its reasons against a band; what cannot be told keeps its own.

    Parameters
    ----------
    held : Held
        What the card holds.
    band : float
        Part of such cameras that should lie within the retention planned, 0 to 1.

    Returns
    -------
    Held
        With ``planned_h``, ``verdict``, ``why`` and ``correct``.
    """
    found, planned = held.achieved, held.planned
    if planned is None:
        return held
    held = replace(held, planned_h=planned.within(band))
    if found is None:
        return held
    of_hours = _by_hours(held, found)
    corrections = tuple(_corrections(held, of_hours, found, planned))
    is_other = of_hours in (AS_PLANNED, DELETES, NOT_FULL) and bool(corrections)
    reasons = (*_reasons(held, found), *(why for why, _ in corrections), *_other_causes(held, of_hours))
    return replace(
        held,
        verdict=INPUTS if is_other else of_hours,
        why=tuple(reasons),
        correct=tuple(dict.fromkeys(what for _, what in corrections)),
    )


def _by_hours(held: Held, found: Achieved) -> str:
    """Give the verdict by what the card holds alone."""
    _, low, high = held.planned_h
    if found.stopped is not None:
        return NOT_RECORDING
    if held.recording == "continuous" and found.missed > MOST_GAPS:
        return GAPS
    if found.hours > high + (H_PER_DAY if found.is_deleted else 0):
        return LONGER
    if found.is_deleted:
        return DELETES if found.hours < low else AS_PLANNED
    if not found.is_full:
        return NOT_FULL
    return SHORTER if found.hours < low else AS_PLANNED


def _reasons(held: Held, found: Achieved) -> Iterator[str]:
    """What the answers show as it is."""
    if found.stopped is not None:
        yield f"nothing recorded since {found.stopped:%Y-%m-%d}"
    if found.gaps:
        gaps, recorded = counted(len(found.gaps), "gap"), percent(found.recorded_h / found.hours)
        yield f"{gaps}, the longest of {number(found.longest_gap_h)} h; recorded {recorded} of the time"
    if found.is_deleted and np.isfinite(held.kept_h):
        yield f"set to delete footage after {days(held.kept_h)} (MaximumRetentionTime)"
    if found.clock_ahead_days:
        off = counted(abs(found.clock_ahead_days), "day")
        yield f"its clock is {off} {'ahead' if found.clock_ahead_days > 0 else 'behind'}"


def _corrections(held: Held, verdict: str, found: Achieved, planned: Planned) -> Iterator[Correction]:
    """Inputs of the plan that the answers show to be others."""
    rate = planned.rate
    fraction, planned_fraction = found.recorded_h / found.hours, rate["recorded_fraction"]
    if rate["recorded_sigma"] and abs(np.log(fraction / planned_fraction)) > Z_90 * rate["recorded_sigma"]:
        records = f"records {percent(fraction)} of the time"
        yield f"{records}, planned {percent(planned_fraction)}", f"its events ({records})"
    is_product = rate["recorded_sigma"] and fraction != fraction
    what = "rate or recorded part" if is_product else "rate"
    follows, cap = held.follows_mbit_s, held.described.get("described_cap_mbit_s", rate["cap_mbit_s"])
    off = np.exp(Z_90 * held.follows_sigma)
    low, high, middle = rate["low_mbit_s"], rate["likely_high_mbit_s"], number(rate["planned_mbit_s"])
    if not np.isclose(cap, rate["cap_mbit_s"], equal_nan=True):
        yield f"cap set to {number(cap)} Mbit/s, planned {number(rate['cap_mbit_s'])}", f"cap_mbit_s to {number(cap)}"
    told = f"{number(follows)} Mbit/s while recording, planned {middle} ({span(low, high)})"
    mean, or_events = f"mean_mbit_s to {number(follows)}", ", or its events" if is_product else ""
    if not found.is_full:
        if verdict == LONGER:
            yield f"{what} lower: at most {told}", f"{mean} or less{or_events}"
    elif follows > cap * np.exp(Z_90 * planned.capacity_sigma):
        above = f"{number(follows)} Mbit/s follow, above the cap of {number(cap)}"
        yield (
            f"{above}: the usable capacity is smaller than listed, or the cap is not kept",
            "usable_fraction of the card, or the cap",
        )
    elif follows > high * (1 if verdict == SHORTER else off):
        yield f"{what} higher: {told}", mean + or_events
    elif follows < low / (1 if verdict == LONGER else off):
        yield f"{what} lower: {told}", mean + or_events


def _other_causes(held: Held, verdict: str) -> Iterator[str]:
    """What no answer tells and what would look the same."""
    if verdict == SHORTER and held.locked_gb > 0:
        yield f"or {number(held.locked_gb)} GB of clips are locked against overwriting, which no ONVIF answer tells"


def days(hours: float) -> str:
    """Write a time in days, or in hours where it is short."""
    return f"{number(hours / H_PER_DAY)}{NO_BREAK}days" if hours >= 2 * H_PER_DAY else f"{number(hours)}{NO_BREAK}hours"
