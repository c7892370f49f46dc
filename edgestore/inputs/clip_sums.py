"""Packets of a clip, in the order of storage -> sums over them in the order of the clock. Opens no file.

Nothing is kept of a packet once it is counted: of a clip's length only the trace grows, by one number a second.
"""

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from edgestore.checks import refuse
from edgestore.units import H_PER_DAY, S_PER_H

Array = npt.NDArray[np.float64]
Sizes = npt.NDArray[np.int64]
Marks = npt.NDArray[np.bool_]

REORDERED = 64
"""No picture is shown more than 16 pictures after it was stored (H.264 and H.265, largest picture buffer: from
memory); the rest is for streams that do not keep to it."""

PAUSE_S = 10.0
"""Pictures further apart are told as a pause (our choice)."""

JUMP_BACK_S = 2.0
JUMP_S = S_PER_H
"""A step back of more than the one, or ahead of more than the other, is a clock that was set: time goes on an even step
after the picture before (our choice; pictures stored out of order step back by a few pictures)."""

LONGEST_DAYS = 31

ROUNDING_S = 1e-6
"""A picture nearer than this to the next whole second is of that second: clocks tick coarser, sums round."""


@dataclass
class ClipSums:
    """What the pictures counted so far add up to; times count from the first picture.

    Attributes
    ----------
    pictures, total_bytes, keys, key_bytes, largest_bytes : int
        Pictures and their bytes; the same of key frames; the largest picture.
    span_s : float
        Time of the last picture.
    pauses, pause_s : int, float
        Steps of more than ``PAUSE_S``, and their sum.
    moving_s, shortest_s, longest_s : float
        Sum, shortest and longest of the steps that are no pause.
    bytes_by_s : ndarray
        Bytes in each whole second.
    first_key_s, last_key_s : float
        Time of the first and of the last key frame; NaN without one.
    peak_group_bytes_s : float
        Highest rate of a group of pictures that a next key frame closes; NaN without one.
    untimed, clock_breaks : int
        Pictures without a time of their own, and breaks of the clock.
    """

    even_fps: float
    pictures: int = 0
    total_bytes: int = 0
    keys: int = 0
    key_bytes: int = 0
    largest_bytes: int = 0
    span_s: float = 0.0
    pauses: int = 0
    pause_s: float = 0.0
    moving_s: float = 0.0
    shortest_s: float = math.inf
    longest_s: float = 0.0
    bytes_by_s: Array = field(default_factory=lambda: np.zeros(0))
    first_key_s: float = math.nan
    last_key_s: float = math.nan
    peak_group_bytes_s: float = math.nan
    untimed: int = 0
    clock_breaks: int = 0

    _origin_s: float = math.nan
    _known_s: float = 0.0
    _since: int = -1
    _stored_s: float = math.nan
    _shift_s: float = 0.0
    _group_bytes: int = 0
    _waiting_s: Array = field(default_factory=lambda: np.zeros(0))
    _waiting_sizes: Sizes = field(default_factory=lambda: np.zeros(0, np.int64))
    _waiting_keys: Marks = field(default_factory=lambda: np.zeros(0, bool))
    _first_s: float = math.nan

    @property
    def step_s(self) -> float:
        """Mean time from picture to picture, pauses apart; 0 for a single picture."""
        if self.pictures < 2:
            return 0.0
        steps = self.pictures - 1 - self.pauses
        return self.moving_s / steps if steps else self.pause_s / self.pauses

    def add(self, times_s: Array, sizes: Sizes, keys: Marks) -> None:
        """Take in pictures in the order of storage; a missing time is NaN."""
        times_s = np.concatenate([self._waiting_s, self._on_one_clock(times_s)])
        times_s.sort()
        self._waiting_s = times_s
        self._waiting_sizes = np.concatenate([self._waiting_sizes, sizes])
        self._waiting_keys = np.concatenate([self._waiting_keys, keys])
        self._count(max(0, times_s.size - REORDERED))

    def close(self) -> None:
        """Count what is still waiting for pictures that could have gone before it."""
        self._count(self._waiting_s.size)

    def _on_one_clock(self, times_s: Array) -> Array:
        """Give each picture a time, on one clock that only goes on."""
        times_s = self._filled(times_s)
        steps_s = np.diff(times_s, prepend=times_s[0] if math.isnan(self._stored_s) else self._stored_s)
        breaks = (steps_s < -JUMP_BACK_S) | (steps_s > JUMP_S)
        self.clock_breaks += int(breaks.sum())
        shifts_s = self._shift_s - np.cumsum(np.where(breaks, steps_s - 1 / self.even_fps, 0.0))
        self._stored_s, self._shift_s = float(times_s[-1]), float(shifts_s[-1])
        return times_s + shifts_s

    def _filled(self, times_s: Array) -> Array:
        """Space pictures without a time evenly after the last one that has one, the first of a clip before it."""
        missing = np.isnan(times_s)
        self.untimed += int(missing.sum())
        known = np.flatnonzero(~missing)
        if known.size and math.isnan(self._origin_s):
            self._origin_s = float(times_s[known[0]]) - (self._since + 1 + int(known[0])) / self.even_fps
        times_s = times_s - self._origin_s
        if missing.any():
            at = np.arange(times_s.size)
            last = np.maximum.accumulate(np.where(missing, -1, at))
            since = np.where(last < 0, self._since + 1 + at, at - last)
            times_s = np.where(last < 0, self._known_s, times_s[last]) + since / self.even_fps
            self._since = int(since[-1])
        else:
            self._since = 0
        if known.size:
            self._known_s = float(times_s[known[-1]])
        return times_s

    def _count(self, ready: int) -> None:
        """Count the first pictures of those that wait: the k-th in storage is shown at the k-th smallest time."""
        if not ready:
            return
        times_s, sizes, keys = self._waiting_s[:ready], self._waiting_sizes[:ready], self._waiting_keys[:ready]
        self._waiting_s = self._waiting_s[ready:]
        self._waiting_sizes = self._waiting_sizes[ready:]
        self._waiting_keys = self._waiting_keys[ready:]
        if math.isnan(self._first_s):
            self._first_s = float(times_s[0])
        times_s = np.maximum(times_s - self._first_s, self.span_s)
        if times_s[-1] > LONGEST_DAYS * H_PER_DAY * S_PER_H:
            raise refuse("time stamps", f"a span of {times_s[-1] / S_PER_H:.0f} h", f"at most {LONGEST_DAYS} days")
        self._count_steps(np.diff(times_s, prepend=self.span_s) if self.pictures else np.diff(times_s))
        self._count_seconds(times_s, sizes)
        self._count_groups(times_s, sizes, keys)
        self.pictures += ready
        self.total_bytes += int(sizes.sum())
        self.keys += int(keys.sum())
        self.key_bytes += int(sizes[keys].sum())
        self.largest_bytes = max(self.largest_bytes, int(sizes.max()))
        self.span_s = float(times_s[-1])

    def _count_steps(self, steps_s: Array) -> None:
        is_pause = steps_s > PAUSE_S
        self.pauses += int(is_pause.sum())
        self.pause_s += float(steps_s[is_pause].sum())
        between = steps_s[~is_pause]
        self.moving_s += float(between.sum())
        if between.size:
            self.shortest_s = min(self.shortest_s, float(between.min()))
            self.longest_s = max(self.longest_s, float(between.max()))

    def _count_seconds(self, times_s: Array, sizes: Sizes) -> None:
        seconds = (times_s + ROUNDING_S).astype(np.int64)
        first, last = int(seconds[0]), int(seconds[-1])
        self.bytes_by_s.resize(max(self.bytes_by_s.size, last + 1), refcheck=False)
        self.bytes_by_s[first : last + 1] += np.bincount(seconds - first, weights=sizes)

    def _count_groups(self, times_s: Array, sizes: Sizes, keys: Marks) -> None:
        at = np.flatnonzero(keys)
        before = np.concatenate([[0], np.cumsum(sizes)])
        if not at.size:
            self._group_bytes += int(before[-1])
            return
        group_bytes = np.diff(before[at], prepend=-self._group_bytes)
        group_s = np.diff(times_s[at], prepend=self.last_key_s)  # NaN long before the first key frame
        closed = group_s > 0
        if closed.any():
            peak = float((group_bytes[closed] / group_s[closed]).max())
            self.peak_group_bytes_s = float(np.fmax(self.peak_group_bytes_s, peak))
        self.first_key_s = float(np.fmin(self.first_key_s, times_s[at[0]]))
        self.last_key_s = float(times_s[at[-1]])
        self._group_bytes = int(before[-1] - before[at[-1]])
