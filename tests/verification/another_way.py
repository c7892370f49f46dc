"""Check values found another way than the models find them: counted step by step, drawn, or by another library.

A row of the check files whose ``how`` names this file is found again here, and its model never asked.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterator
from functools import partial
from itertools import count, islice, product
from typing import Any

import numpy as np
from scipy import integrate, stats

HOURS_A_YEAR = 8766


def ticks_of_recording(fraction: float) -> Iterator[bool]:
    """Minute by minute, whether a camera records that records a fraction of the time."""
    owed = 0.0
    while True:
        owed += fraction
        yield owed >= 1
        owed -= owed >= 1


def held_h(
    capacity_gb: float,
    bitrate_mbit_s: float,
    recorded_fraction: float = 1,
    usable_fraction: float = 1,
    locked_gb: float = 0,
) -> float:
    """Fill what room there is for footage minute by minute, until the next would overwrite the first."""
    room = (capacity_gb * usable_fraction - locked_gb) * 8000 + 1e-6
    for minutes, records in enumerate(ticks_of_recording(recorded_fraction)):
        if room < bitrate_mbit_s * 60:
            return (minutes + room / (bitrate_mbit_s * 60)) / 60
        room -= bitrate_mbit_s * 60 * records
    raise AssertionError("a ring is full some day")


def written_gb(hours: float, bitrate_mbit_s: float, recorded_fraction: float = 1) -> float:
    """Add up what a camera writes, minute by minute."""
    minutes = zip(range(round(hours * 60)), ticks_of_recording(recorded_fraction), strict=False)
    return sum(bitrate_mbit_s * 60 * records for _, records in minutes) / 8000


def card_for(
    retention_h: float, bitrate_mbit_s: float, recorded_fraction: float = 1, usable_fraction: float = 1
) -> float:
    """Try cards in steps of 0.1 GB until one has room for all that is written."""
    wanted = written_gb(retention_h, bitrate_mbit_s, recorded_fraction)
    return next(tenths / 10 for tenths in count() if tenths / 10 * usable_fraction >= wanted - 1e-9)


def rate_for(retention_h: float, capacity_gb: float, recorded_fraction: float = 1, usable_fraction: float = 1) -> float:
    """Try rates from 20 Mbit/s down in steps of 0.5 until a ring reaches back as far as wanted."""
    rates = (half / 2 for half in range(40, 0, -1))
    return next(rate for rate in rates if held_h(capacity_gb, rate, recorded_fraction, usable_fraction) >= retention_h)


def locked_for(
    retention_h: float,
    capacity_gb: float,
    bitrate_mbit_s: float,
    recorded_fraction: float = 1,
    usable_fraction: float = 1,
) -> float:
    """Seek the most that may be locked, in steps of 0.05 GB, where a ring still reaches back; 0 where none does."""
    card = (capacity_gb, bitrate_mbit_s, recorded_fraction, usable_fraction)
    steps = range(round(capacity_gb * usable_fraction * 20) + 1)
    too_much = bisect_left(steps, True, key=lambda step: held_h(*card, step / 20) < retention_h)
    return max(too_much - 1, 0) / 20


def passes(capacity_gb: float, bitrate_mbit_s: float, recorded_fraction: float = 1) -> float:
    """Follow the head of a ring around it, hour by hour through a year."""
    an_hour, head, rounds = written_gb(1, bitrate_mbit_s, recorded_fraction), 0.0, 0
    for _ in range(HOURS_A_YEAR):
        head += an_hour
        if head >= capacity_gb:
            head, rounds = head - capacity_gb, rounds + 1
    return rounds + head / capacity_gb


def worn_at_tb(capacity_gb: float, pe_cycles: int, write_amplification: float = 1) -> float:
    """Write a card full again and again, until each cell is erased as often as it stands."""
    erased = host_gb = 0.0
    while erased < pe_cycles:
        erased, host_gb = erased + write_amplification, host_gb + capacity_gb
    return host_gb / 1000


def walked_round(static_fraction: float) -> float:
    """Walk round a log of ten pages: a page that is still is copied, the host writes every other one."""
    still = [page < static_fraction * 10 for page in range(10)]
    flash = host = 0
    for is_still in still:
        flash, host = flash + 1, host + (not is_still)
    return flash / host


def granted(
    bitrate_mbit_s: float, link_mbit_s: float, cameras: int = 1, fetched: int = 1, read_mbit_s: float = 1000
) -> Iterator[float]:
    """What one camera of those fetched from gets, Mbit/s: live first, the rest by turns in pieces of 0.25 Mbit/s."""
    turn = 0
    while True:
        left = link_mbit_s
        for _ in range(cameras):
            left -= bitrate_mbit_s
        got = [0.0] * fetched
        while left >= 0.25 and min(got) + 0.25 <= read_mbit_s:
            if got[turn % fetched] + 0.25 <= read_mbit_s:
                got[turn % fetched], left = got[turn % fetched] + 0.25, left - 0.25
            turn += 1
        yield got[0]


def fetched_h(span_h: float, bitrate_mbit_s: float, **link: Any) -> float:
    """Fetch a span quarter of an hour by quarter of an hour."""
    have = 0.0
    for quarters, got in enumerate(granted(bitrate_mbit_s, **link)):
        if have >= span_h - 1e-9:
            return quarters / 4
        have += got / bitrate_mbit_s / 4
    raise AssertionError("all is fetched some day")


def pace(bitrate_mbit_s: float, **link: Any) -> float:
    """Add up what comes in 48 turns, over what is recorded meanwhile."""
    return sum(islice(granted(bitrate_mbit_s, **link), 48)) / (48 * bitrate_mbit_s)


def lost_h(span_h: float, ended_h: float, retention_h: float, bitrate_mbit_s: float, **link: Any) -> float:
    """Let the reader of a span and the edge of the ring run a quarter of an hour at a time; the edge takes the rest."""
    reader, edge, lost = 0.0, ended_h + span_h - retention_h, 0.0
    for got in granted(bitrate_mbit_s, **link):
        gone = min(max(edge - reader, 0), max(span_h - reader, 0))
        lost, reader = lost + gone, reader + gone
        if reader >= span_h - 1e-9:
            return lost
        reader, edge = reader + got / bitrate_mbit_s / 4, edge + 1 / 4
    raise AssertionError("all is fetched or lost some day")


def outage_without_loss_h(cameras: int = 1, **link: Any) -> float:
    """Try outages an hour longer each, until some of one is lost."""
    return next(h for h in count() if lost_h(h + 1, 0, cameras=cameras, fetched=cameras, **link) > 1e-9)


def sustained(write_mbyte_s: float, update_every_mb: float, update_s: float) -> float:
    """Write for 50 updates, a thousandth of a second at a time, all of it waiting while a table is updated."""
    ms, mb, since, updates = 0, 0.0, 0.0, 0
    while updates < 50:
        ms, mb, since = ms + 1, mb + write_mbyte_s / 1000, since + write_mbyte_s / 1000
        if since >= update_every_mb - 1e-9:
            ms, since, updates = ms + round(update_s * 1000), 0.0, updates + 1
    return mb / ms * 1000


def margin(write_mbyte_s: float, bitrate_mbit_s: float) -> int:
    """Whole hours of footage that a card writes in an hour."""
    left, hours = write_mbyte_s * 3600, 0
    while left >= bitrate_mbit_s / 8 * 3600:
        left, hours = left - bitrate_mbit_s / 8 * 3600, hours + 1
    return hours


def held_mb(bitrate_mbit_s: float, stall_s: float, burst_mb: float = 0) -> float:
    """Let a buffer fill for the thousandths of a second of a stall."""
    held = burst_mb
    for _ in range(round(stall_s * 1000)):
        held += bitrate_mbit_s / 8 / 1000
    return held


def stall_until_full_s(buffer_mb: float, bitrate_mbit_s: float, burst_mb: float = 0) -> float:
    """Count the thousandths of a second until a buffer is full."""
    held = burst_mb
    for ms in count():
        if held >= buffer_mb - 1e-9:
            return ms / 1000
        held += bitrate_mbit_s / 8 / 1000
    raise AssertionError("a buffer is full some day")


def up_share(mtbf_h: int, repair_mean_h: int) -> float:
    """Count the hours in which a part works, through ten failures."""
    hours = [works for _ in range(10) for works in [True] * mtbf_h + [False] * repair_mean_h]
    return sum(hours) / len(hours)


def clips(events_per_h: float, event_s: float, pre_roll_s: float = 0, post_roll_s: float = 0) -> tuple[float, float]:
    """Draw 400 000 events at random and merge what overlaps: share of the time recorded, clips a day."""
    kept_s = pre_roll_s + event_s + post_roll_s
    starts = np.cumsum(np.random.Generator(np.random.PCG64(18)).exponential(3600 / events_per_h, 400_000))
    begins = np.diff(starts, prepend=-np.inf) > kept_s
    recorded = np.minimum(np.diff(starts, append=starts[-1] + kept_s), kept_s).sum()
    return recorded / starts[-1], begins.sum() / starts[-1] * 86_400


def mean_cv(cv: float, hurst: float, steps: int) -> float:
    """Add up all covariances of a fractional Gaussian noise: the variance of a sum of its steps."""
    apart = np.arange(steps, dtype=float)
    powers = [np.abs(apart + shift) ** (2 * hurst) for shift in (1, 0, -1)]
    covariance = (powers[0] - 2 * powers[1] + powers[2]) / 2
    total = steps + 2 * float(((steps - apart) * covariance)[1:].sum())
    return float(cv * total**0.5 / steps)


def all_missed(false_fraction: float, probes: int) -> float:
    """List all draws of places, of which the first ones are false, and count those without a false one."""
    places = 4
    drawn = list(product(range(places), repeat=probes))
    return sum(min(draw) >= false_fraction * places for draw in drawn) / len(drawn)


def shares(cvs: list[float], of_all: bool) -> list[float]:
    """Shares of the variance of a product of lognormals by Gauss and Hermite's nodes: of one alone, or with others."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    weights = weights / weights.sum()
    values = np.ones([len(nodes)] * len(cvs))
    for place, cv in enumerate(cvs):
        factor = np.exp(np.log(1 + cv**2) ** 0.5 * nodes)
        values = values * factor.reshape([-1 if axis == place else 1 for axis in range(len(cvs))])

    def variance(kept: set[int]) -> float:
        mean = values
        for axis in reversed(range(len(cvs))):
            mean = mean if axis in kept else np.tensordot(mean, weights, axes=(axis, 0))
        mass = np.ones(())
        for _ in kept:
            mass = np.multiply.outer(mass, weights)
        centre = float((mean * mass).sum())
        return float(((mean - centre) ** 2 * mass).sum())

    places = set(range(len(cvs)))
    if of_all:
        return [1 - variance(places - {place}) / variance(places) for place in places]
    return [variance({place}) / variance(places) for place in places]


def failures_cv(weak_fraction: float, batch_correlation: float) -> float:
    """Deviation over mean of the beta law, as scipy has it."""
    size = 1 / batch_correlation - 1
    law = stats.beta(weak_fraction * size, (1 - weak_fraction) * size)
    return float(law.std() / law.mean())


def lost_a_year_h(law: str, numbers: list[float], mtbf_h: float, retention_h: float) -> float:
    """Integrate what outages exceed by, and count the outages of a year."""
    assert law == "exponential"
    (mean_h,) = numbers
    beyond = integrate.quad(lambda hours: np.exp(-hours / mean_h), retention_h, 100 * mean_h)[0]
    return HOURS_A_YEAR / (mtbf_h + mean_h) * beyond


def dead_share(failures_per_year: float, inspected_every_days: float) -> float:
    """Integrate the chance that a part is dead from one inspection to the next."""
    years = inspected_every_days / 365.25
    return integrate.quad(lambda age: 1 - np.exp(-failures_per_year * age), 0, years)[0] / years


def triangular(low: float, mode: float, high: float, fraction: float) -> float:
    """Quantile of the triangular law, as scipy has it."""
    return float(stats.triang.ppf(fraction, (mode - low) / (high - low), low, high - low))


def lognormal(p10: float, p90: float, fraction: float) -> float:
    """Quantile of the lognormal law, as scipy has it."""
    s = np.log(p90 / p10) / (stats.norm.ppf(0.9) - stats.norm.ppf(0.1))
    return float(stats.lognorm.ppf(fraction, s, scale=(p10 * p90) ** 0.5))


ANOTHER_WAY: dict[str, Callable[..., Any]] = {
    "availability": up_share,
    "away_fraction": lambda **inputs: 1 - up_share(**inputs),
    "backfill_h": lambda outage_h, cameras=1, **link: fetched_h(outage_h, cameras=cameras, fetched=cameras, **link),
    "batch_failures_cv": failures_cv,
    "bitrate_mbit_s_for_retention": rate_for,
    "capacity_gb_for_retention": card_for,
    "clips_per_day": lambda **inputs: clips(**inputs)[1],
    "copy_h": lambda used_gb, reader_mbyte_s, card_read_mbyte_s: (
        len(range(0, used_gb * 1000, min(reader_mbyte_s, card_read_mbyte_s))) / 3600
    ),
    "cv_of_mean": mean_cv,
    "endurance_tbw_from_cycles": worn_at_tb,
    "endurance_tbw_from_hours": lambda rated_h, rated_mbit_s: written_gb(rated_h, rated_mbit_s) / 1000,
    "fetch_h": fetched_h,
    "footage_per_h": pace,
    "hidden_failure_fraction": dead_share,
    "kept_s": lambda event_s, pre_roll_s, post_roll_s: len(range(-pre_roll_s, event_s + post_roll_s)),
    "Lognormal.quantile": lognormal,
    "lost_in_backfill_h": lambda outage_h, cameras=1, **ring: lost_h(
        outage_h, 0, cameras=cameras, fetched=cameras, **ring
    ),
    "lost_in_fetch_h": lost_h,
    "missed_chance": all_missed,
    "most_locked_gb": locked_for,
    "outage_figures": lost_a_year_h,
    "passes_per_year": passes,
    "recorded_fraction": lambda **inputs: clips(**inputs)[0],
    "retention_h": held_h,
    "retention_spread": lambda retention_h, cv, hurst, step_s: mean_cv(cv, hurst, round(retention_h * 3600 / step_s)),
    "retention_with_locked_h": held_h,
    "speed_margin": margin,
    "stall_buffer_mb": held_mb,
    "stall_s_for_buffer": stall_until_full_s,
    "sustained_write_mbyte_s": sustained,
    "Triangular.quantile": triangular,
    "Uniform.quantile": lambda low, high, fraction: float(stats.uniform.ppf(fraction, low, high - low)),
    "useful_retention_h": outage_without_loss_h,
    "write_amplification_static": walked_round,
    "write_mbyte_s_for_margin": lambda bitrate_mbit_s, speed_margin: next(
        write for write in count(1) if margin(write, bitrate_mbit_s) >= speed_margin
    ),
    "writes_gb_day": partial(written_gb, 24),
    "writes_tb_year": lambda **camera: written_gb(HOURS_A_YEAR, **camera) / 1000,
    "writes_tb_year_for_life": lambda endurance_tbw, life_years: max(
        tb for tb in range(1, 1000) if sum(tb for _ in range(life_years)) <= endurance_tbw
    ),
}
"""How a row of each quantity is found another way, from the row's inputs by their names, one number each."""
