"""An event log -> how often, how long, and how much of the time is recorded, by the log and by the formula."""

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.inputs.clocks import CLOCK_STEP
from edgestore.inputs.events import EventLog
from edgestore.models.rate.duty import clips_per_day, mean_recorded_fraction
from edgestore.text import NO_BREAK
from edgestore.units import H_PER_DAY, H_PER_WEEK, PERCENT_PER_ONE, S_PER_H

DIFFERS = 0.1
"""From here on the formula's fraction is said to differ from the log's: a part of the log's."""


@dataclass(frozen=True)
class Recorded:
    """What is recorded: fraction of the time, clips a day, and their mean length (NaN when there is none)."""

    fraction: float
    clips_per_day: float
    mean_clip_s: float


@dataclass(frozen=True)
class EventStatistics:
    """What a log says. Arrays have 168 hours from Monday 0:00 on local clocks; no rate where none was observed."""

    log: EventLog
    pre_roll_s: float
    post_roll_s: float
    events: int
    event_s: float
    events_per_h: npt.NDArray[np.float64]
    observed_h: npt.NDArray[np.float64]
    dispersion: float
    from_log: Recorded
    by_formula: Recorded

    @property
    def differs(self) -> bool:
        """Whether the formula's fraction is more than a tenth away from the log's."""
        return abs(self.by_formula.fraction - self.from_log.fraction) > DIFFERS * self.from_log.fraction

    @property
    def advice(self) -> str:
        """Which fraction to use, and why the two differ where they do."""
        real, formula = self.from_log.fraction, self.by_formula.fraction
        told = [f"{PERCENT_PER_ONE * fraction:.3g}{NO_BREAK}%" for fraction in (real, formula)]
        both = f"{told[0]} of the time is recorded by the log, {told[1]} by the formula"
        if not self.differs:
            return f"{both}: they agree within a tenth."
        index = "fewer than two whole hours with events: no index of dispersion"
        if not np.isnan(self.dispersion):
            index = f"index of dispersion of hourly counts {self.dispersion:.2g}; 1 by chance at a steady rate"
        if real > formula:
            why = f"events are spaced out, or the long ones come in quiet hours, and recordings overlap less ({index})"
        elif self.dispersion > 1:
            why = f"events come in clusters and their recordings overlap more ({index})"
        else:
            why = f"events come in clusters shorter than an hour and their recordings overlap more ({index})"
        return f"{both}: {why}. Use the figure from the log."


def event_statistics(log: EventLog, pre_roll_s: float = 0.0, post_roll_s: float = 0.0) -> EventStatistics:
    r"""Give how often and how long events are, and what is recorded of the time, by the log and by the formula.

    Parameters
    ----------
    log : EventLog
        A log that was read.
    pre_roll_s, post_roll_s : float
        Recording kept before and after an event, s, 0 or more.

    Returns
    -------
    EventStatistics
        Counts and lengths in s of the events that start in the observed period; rates in events an hour.

    Raises
    ------
    InputError
        When a roll is missing or negative.

    Notes
    -----
    The log: the union of all recordings, cut at the observed period. The formula: Poisson events at the rate of each
    hour of the week, the fractions averaged by the hours observed. The index of dispersion is the variance over the
    mean of the counts of whole hours from the first moment; NaN with fewer than two hours. Busy and quiet hours of the
    day raise it too, and these the formula has allowed for: it names a cause where the fractions differ, no more.

    References
    ----------
    The formula: :mod:`edgestore.models.rate.duty`. Index of dispersion: Cox and Lewis, The Statistical Analysis of
    Series of Events, 1966 (from memory).

    Examples
    --------
    >>> from edgestore.inputs.events import read_events
    >>> log = read_events(b"start,end\n2026-03-02T08:00Z,2026-03-02T08:03Z\n2026-03-02T08:02Z,2026-03-02T08:10Z\n")
    >>> result = event_statistics(log)
    >>> result.events, result.event_s, result.from_log.fraction
    (2, 330.0, 1.0)
    """
    pre = checks.in_range("pre_roll_s", pre_roll_s, "s", at_least=0)
    post = checks.in_range("post_roll_s", post_roll_s, "s", at_least=0)
    starts_s, ends_s = (_since_s(log.first, log.rows[column]) for column in ("start", "end"))
    period_s = (log.last - log.first).total_seconds()
    counted = starts_s >= 0
    event_s = float((ends_s - starts_s)[counted].mean())

    observed_h = _observed_h(log)
    hours = _hour_of_week(pd.DatetimeIndex(log.rows["start"][counted]))
    counts = np.bincount(hours, minlength=H_PER_WEEK)
    seen = observed_h > 0
    rate = np.full(H_PER_WEEK, np.nan)
    np.divide(counts, observed_h, out=rate, where=seen)
    weight = observed_h[seen] / observed_h.sum()
    fraction = float(mean_recorded_fraction(rate[seen], weight, event_s, pre_roll_s=pre, post_roll_s=post))
    clips = float(weight @ clips_per_day(rate[seen], event_s, pre_roll_s=pre, post_roll_s=post))
    return EventStatistics(
        log=log,
        pre_roll_s=pre,
        post_roll_s=post,
        events=int(counted.sum()),
        event_s=event_s,
        events_per_h=rate,
        observed_h=observed_h,
        dispersion=_dispersion(starts_s[counted], int(period_s / S_PER_H)),
        from_log=_recorded(starts_s - pre, ends_s + post, period_s),
        by_formula=Recorded(fraction, clips, fraction * H_PER_DAY * S_PER_H / clips if clips else np.nan),
    )


def _since_s(first: pd.Timestamp, times: "pd.Series[pd.Timestamp]") -> npt.NDArray[np.float64]:
    return np.asarray((times - first) / timedelta(seconds=1), np.float64)


def _hour_of_week(local: pd.DatetimeIndex) -> npt.NDArray[np.int64]:
    """Number the hours from Monday 0:00 as clocks show them."""
    return (local.day_of_week * H_PER_DAY + local.hour).to_numpy(np.int64)


def _observed_h(log: EventLog) -> npt.NDArray[np.float64]:
    """Give how long each hour of the week was watched, h."""
    inner = pd.date_range(log.first.ceil(CLOCK_STEP), log.last, freq=CLOCK_STEP)
    edges = inner.union(pd.DatetimeIndex([log.first, log.last]))
    length_h = ((edges[1:] - edges[:-1]) / timedelta(hours=1)).to_numpy(float)
    hours = _hour_of_week(edges[:-1].tz_convert(log.zone))
    return np.asarray(np.bincount(hours, weights=length_h, minlength=H_PER_WEEK), np.float64)


def _dispersion(starts_s: npt.NDArray[np.float64], whole_hours: int) -> float:
    """Give variance over mean of the counts of whole hours."""
    hours = (starts_s / S_PER_H).astype(np.int64)
    counts = np.bincount(hours[hours < whole_hours], minlength=whole_hours)
    if whole_hours < 2 or not counts.any():
        return np.nan
    return float(counts.var(ddof=1) / counts.mean())


def _recorded(starts_s: npt.NDArray[np.float64], ends_s: npt.NDArray[np.float64], period_s: float) -> Recorded:
    """Give what recordings cover of a period from 0 s; those that overlap or touch make one clip."""
    starts, ends = np.clip(starts_s, 0, period_s), np.clip(ends_s, 0, period_s)
    something = ends > starts
    starts, ends = starts[something], np.maximum.accumulate(ends[something])
    if not len(starts):
        return Recorded(0.0, 0.0, np.nan)
    opens = np.append(True, starts[1:] > ends[:-1])
    closes = np.append(opens[1:], True)
    lengths_s = ends[closes] - starts[opens]
    days = period_s / S_PER_H / H_PER_DAY
    return Recorded(float(lengths_s.sum() / period_s), len(lengths_s) / days, float(lengths_s.mean()))
