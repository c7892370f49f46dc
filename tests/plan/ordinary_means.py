"""Ordinary cameras without a break, and how often the band of the mean that is learnt from a full card holds the truth.

Drawn in two ways: as the simulated sites draw them (``SITES``), and as the beliefs of the plan say (``BELIEVED``). No
files are written: what follows from the hours held is what ``plan/happened.py`` makes of a full card with a history.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from edgestore.inputs.beliefs import Beliefs
from edgestore.plan.card_update import Z_95, updated_by_card
from edgestore.plan.rates import footage_sigma

HOURS = 24 * 7 * 26
CARDS_GB = (32, 64, 128, 256)
NAMES = ("listed_mean", "other_days", "other_weeks", "full_card")
LISTED, DAYS, WEEKS, CARD = (Beliefs()[name].sigma for name in NAMES)


@dataclass(frozen=True)
class Laws:
    """How far listed means, days of the week, weeks and full cards differ, as factors drawn by ``(rng, count)``."""

    listed: Callable
    days: Callable
    weeks: Callable
    card: Callable


def lognormal(sigma):
    return lambda rng, count: np.exp(sigma * rng.standard_normal(count))


SITES = Laws(
    lambda rng, count: np.exp(rng.uniform(-np.log(1.35), np.log(1.35), count)),
    lambda rng, count: rng.uniform(0.85, 1.2, count),
    lambda rng, count: rng.gamma(1 / 0.05**2, 0.05**2, count),
    lambda rng, count: rng.uniform(0.94, 1.04, count),
)
BELIEVED = Laws(lognormal(LISTED), lognormal(DAYS), lognormal(WEEKS), lognormal(CARD))


def covered(seed, laws, cameras):
    """Part of the cameras whose true mean is in the band of the card alone, and of what is learnt; its width."""
    rng = np.random.default_rng(seed)
    true = rng.uniform(1, 4, cameras)
    listed, usable_gb = true / laws.listed(rng, cameras), 0.97 * rng.choice(CARDS_GB, cameras)
    held = [hours_held(rng, *of, laws) for of in zip(true, usable_gb * laws.card(rng, cameras), strict=True)]
    held_h = np.array(held)
    follows = usable_gb / (0.45 * held_h)
    days = np.minimum(held_h / 24, 7)
    sigma = np.hypot(footage_sigma(held_h, np.minimum(held_h, 24), days, Beliefs()), CARD)
    middle, learnt_sigma = updated_by_card(listed, np.full(cameras, LISTED), follows, sigma, np.zeros(cameras))
    alone, learnt = (
        np.mean(np.abs(np.log(true / of)) <= Z_95 * about) for of, about in ((follows, sigma), (middle, learnt_sigma))
    )
    return alone, learnt, float(np.exp(np.median(2 * Z_95 * learnt_sigma)))


def hours_held(rng, mean_mbit_s, held_gb, laws):
    """Go back hour by hour until the card is full: busy days, quiet nights, days and weeks that differ."""
    hour = np.arange(HOURS)
    shape = np.where((hour % 24 >= 6) & (hour % 24 < 20), rng.uniform(1, 3), 1.0) * laws.days(rng, 7)[hour // 24 % 7]
    by_week = laws.weeks(rng, HOURS // 168 + 1)[hour // 168]
    rate = mean_mbit_s * shape / shape[:168].mean() * by_week * rng.gamma(1 / 0.3**2, 0.3**2, HOURS)
    return np.interp(held_gb, np.concatenate([[0.0], np.cumsum(0.45 * rate)]), np.arange(HOURS + 1))
