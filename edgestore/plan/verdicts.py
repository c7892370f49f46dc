"""What is said of one camera's card: planned and achieved, a verdict, the reasons, and what of the lists to correct."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from scipy.special import ndtri

from edgestore.answers.achieved import Achieved
from edgestore.checks import Fault
from edgestore.inputs.recorded_tracks import OF_NOW
from edgestore.models.export import most_locked_gb
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_update import Z_95
from edgestore.plan.evidence import Row
from edgestore.text import NO_BREAK, number
from edgestore.units import H_PER_DAY

NOT_RECORDING, GAPS = "not recording", "gaps"
SHORTER, LONGER, INPUTS = "shorter", "longer", "inputs differ"
AS_PLANNED, DELETES = "as planned", "deletes by age"
NOT_FULL, CLOCK, CANNOT_TELL, NO_ANSWER = "not yet full", "wrong clock", "cannot tell", "no answers"

AS_IT_WAS = (AS_PLANNED, DELETES)
OTHERWISE = (NOT_RECORDING, GAPS, SHORTER, LONGER, INPUTS)
OPEN = (NOT_FULL, CLOCK, CANNOT_TELL, NO_ANSWER)
VERDICTS = (*AS_IT_WAS, *OTHERWISE, *OPEN)
"""What is said of a camera: each has one, and so is as planned, or not, or cannot be judged yet."""

UTC = "UTC"
"""The clocks by which times are told where the camera list states no time zone."""

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
    locked_fraction : float
        Part of the usable space that locked clips are expected to hold.
    median_h : float
        Retention in the middle, h, of the rest, whatever the camera deletes.
    others_sigma : float
        Standard deviation of its logarithm for all but the rate: recorded part, capacity, other weeks.
    capacity_sigma : float
        That of the capacity alone.
    most_h : float
        Age at which footage is deleted, h; infinite where it is not.
    """

    card: Row
    rate: Row
    locked_fraction: float
    median_h: float
    others_sigma: float
    capacity_sigma: float
    most_h: float

    def within(self, band: float) -> tuple[float, float, float]:
        """Retention in the middle, and the ends of a band; parts of the doubt add up as squares.

        At the high end nothing is locked: whether what was expected is, no answer tells.
        """
        score, rate = float(ndtri((1 + band) / 2)), self.rate
        # The rates tell the ends of eight in ten; none is above the cap.
        middle, wider = np.log(rate["planned_mbit_s"]), score / Z_90
        more, less = (abs(np.log(rate[name]) - middle) * wider for name in ("low_mbit_s", "likely_high_mbit_s"))
        less = np.fmin(less, np.log(rate["most_mbit_s"]) - middle)
        others = score * self.others_sigma
        ends = (1.0, np.exp(-np.hypot(less, others)), np.exp(np.hypot(more, others)) / (1 - self.locked_fraction))
        median, low, high = (float(min(self.median_h * end, self.most_h)) for end in ends)
        return median, low, high

    @property
    def mean_sigma(self) -> float:
        """Standard deviation of the logarithm of the mean rate, as it is known by plan."""
        return float(np.log(self.rate["median_mbit_s"] / self.rate["low_mbit_s"]) / Z_90)

    @property
    def long_h(self) -> float:
        """Hours after which the card is full at the latest, by plan: the long end of eight in ten, nothing deleted."""
        return replace(self, most_h=np.inf).within(BAND)[2]


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
    taken_out : str
        Day on which that card was taken out, then or since; empty where it is still in service by the log.
    has_no_card : bool
        Whether by the service log no card is in the camera now.
    gone : str
        Day since which the camera is gone, by the service log; empty where it is not.
    clock_ahead_days : int
        By how many days its clock is ahead of that day, or its newest footage where it was not asked for its clock.
    is_clock_known : bool
        Whether it was asked for its clock.
    planned : Planned or None
        What was planned with that card; None where that cannot be told.
    achieved : Achieved or None
        What the card holds; None where that cannot be told.
    time_zone : str
        The clocks by which its times are told: of its zone by the camera list, else UTC.
    kept_h : float
        Age at which the camera is set to delete footage; infinite for no limit, NaN where it did not say.
    follows_mbit_s, follows_sigma : float
        Mean while recording that follows, and standard deviation of its logarithm; NaN where none does.
    described : dict
        What saved settings of the encoder say, by column of the evidence.
    all_from : Timestamp or None
        From when on all its video tracks that are recorded by now have footage, where one goes back farther.
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
    taken_out: str = ""
    has_no_card: bool = False
    gone: str = ""
    clock_ahead_days: int = 0
    is_clock_known: bool = True
    card: str = ""
    fitted: str = ""
    planned: Planned | None = None
    achieved: Achieved | None = None
    time_zone: str = UTC
    kept_h: float = np.nan
    follows_mbit_s: float = np.nan
    follows_sigma: float = np.nan
    described: Mapping[str, float] = field(default_factory=dict)
    all_from: pd.Timestamp | None = None
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

    def local(self, moment: pd.Timestamp) -> pd.Timestamp:
        """A moment by the clocks of its time zone."""
        return moment.tz_convert(self.time_zone)

    def at(self, moment: pd.Timestamp) -> str:
        """Write a moment by the clocks of its time zone, which is named."""
        return f"{self.local(moment):%Y-%m-%d %H:%M} {self.time_zone}"

    @property
    def retention_h(self) -> float:
        """Retention that the card is good for, h: how far back its footage goes, less the gaps; NaN if not known."""
        if self.achieved is None:
            return np.nan
        without_h = self.achieved.without_gaps_h if self.verdict == GAPS else np.nan
        return self.achieved.hours if np.isnan(without_h) else without_h

    @property
    def all_tracks_h(self) -> float:
        """How far back all its video tracks go, h, where one goes back farther; NaN where they go back alike.

        The others may have been switched on then, and will go back as far, or be kept for less: no answer tells which.
        """
        if self.achieved is None or self.all_from is None or self.all_from - self.achieved.oldest <= OF_NOW:
            return np.nan
        return self.achieved.hours - (self.all_from - self.achieved.oldest) / pd.Timedelta(hours=1)

    @property
    def least_retention_h(self) -> float:
        """Retention if the video track that goes back least is kept for no longer, h."""
        if self.achieved is None or np.isnan(self.all_tracks_h):
            return self.retention_h
        return self.retention_h * self.all_tracks_h / self.achieved.hours

    @property
    def is_silent(self) -> bool:
        """Whether nothing is recorded by now: the camera does not record, or no card is in it."""
        return self.has_no_card or (self.verdict == NOT_RECORDING and not self.taken_out and not self.gone)

    @property
    def deleted_h(self) -> float:
        """Age at which its footage is deleted, h: as the camera says, else as planned; infinite where it is not."""
        planned_h = np.inf if self.planned is None else self.planned.most_h
        return planned_h if np.isnan(self.kept_h) else self.kept_h

    @property
    def is_kept_longer(self) -> bool:
        """Whether footage is kept for longer than is set; a day more is not, since a camera may delete once a day."""
        return self.achieved is not None and self.achieved.hours > self.kept_h + H_PER_DAY

    @property
    def has_listed_clips(self) -> bool:
        """Whether the camera list expects locked clips, so that the oldest footage may well be one."""
        return self.planned is not None and self.planned.locked_fraction > 0

    @property
    def silent_h(self) -> float:
        """How long a camera that does not record has been silent, h; infinite where it has no footage, or no card."""
        if not self.is_silent:
            return 0.0
        since = self.achieved.stopped if self.achieved and not self.has_no_card else None
        return np.inf if since is None else (pd.Timestamp(self.saved, tz="UTC") - since) / pd.Timedelta(hours=1)

    @property
    def follows_ends_mbit_s(self) -> tuple[float, float]:
        """Ends between which the mean that follows lies in nine of ten cases."""
        off = float(np.exp(Z_95 * self.follows_sigma))
        return self.follows_mbit_s / off, self.follows_mbit_s * off

    @property
    def planned_locked_gb(self) -> float:
        """Volume of locked clips that was planned with, GB; 0 where no card is known."""
        if self.planned is None:
            return 0.0
        card = self.planned.card
        return float(self.planned.locked_fraction * card["usable_fraction"] * card["capacity_gb"])

    @property
    def locked_gb(self) -> float:
        """Volume of locked clips that would make the card hold so little at the planned rate, GB; NaN if not known."""
        found, planned = self.achieved, self.planned
        if found is None or planned is None or not found.is_full:
            return np.nan
        part = found.recorded_part
        return float(
            most_locked_gb(
                found.hours,
                planned.card["capacity_gb"],
                planned.rate["planned_mbit_s"],
                recorded_fraction=part if 0 < part <= 1 else planned.rate["recorded_fraction"],
                usable_fraction=planned.card["usable_fraction"],
            )
        )


def days(hours: float) -> str:
    """Write a time in days, or in hours where it is short."""
    return f"{number(hours / H_PER_DAY)}{NO_BREAK}days" if hours >= 2 * H_PER_DAY else f"{number(hours)}{NO_BREAK}hours"
