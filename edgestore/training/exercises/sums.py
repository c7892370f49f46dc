"""The sums: each draws its numbers, and its answer comes from the models; their words stand in sums.toml."""

from dataclasses import dataclass
from typing import Any

from edgestore.models.rate.duty import kept_s, recorded_fraction
from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.models.speed.classes import write_mbyte_s_for_margin
from edgestore.models.wear.endurance import endurance_tbw_from_hours, life_years, writes_gb_day, writes_tb_year
from edgestore.training.exercises.draws import Draws
from edgestore.training.exercises.questions import Sum
from edgestore.training.exercises.texts import texts, told_sum
from edgestore.units import (
    BITS_PER_BYTE,
    DAYS_PER_YEAR,
    GB_PER_H_AT_1_MBIT_S,
    GB_PER_TB,
    GIB_PER_GB,
    H_PER_DAY,
    PERCENT_PER_ONE,
    S_PER_H,
    S_PER_MIN,
)

CAPACITIES_GB = (32, 64, 128, 256, 512)
CAPS_MBIT_S = tuple(half / 2 for half in range(6, 33))
MEAN_SHARES = (0.25, 0.3, 0.35, 0.4, 0.45, 0.55, 0.6, 0.7)
RECORDED_PERCENT = (15, 20, 25, 30, 35, 40, 45, 55, 60)
RATED_MBIT_S = 26


@dataclass(frozen=True)
class Camera:
    """What a question says of a camera."""

    cap_mbit_s: float
    mean_mbit_s: float
    recorded_percent: float

    @property
    def recorded_fraction(self) -> float:
        """Recorded part of the time, 0 to 1."""
        return self.recorded_percent / PERCENT_PER_ONE

    @property
    def told(self) -> dict[str, Any]:
        """Its numbers, and the words that say them, for the text of a question."""
        figures = {**vars(self), "recorded_fraction": self.recorded_fraction}
        rates = texts("sums")["rates"].format(**figures)
        return {**figures, "rates": rates, "on_motion": texts("sums")["on_motion"].format(rates=rates, **figures)}


def any_camera(draws: Draws) -> Camera:
    """Draw a camera."""
    cap = draws.of(CAPS_MBIT_S)
    return Camera(cap, round(cap * draws.of(MEAN_SHARES), 1), draws.of(RECORDED_PERCENT))


def hours_held(draws: Draws) -> Sum:
    """Ask how long a card holds."""
    camera, capacity_gb = any_camera(draws), draws.of(CAPACITIES_GB)
    hours = retention_h(capacity_gb, camera.mean_mbit_s)
    slips = {
        "factor_8": hours / BITS_PER_BYTE,
        "cap_for_mean": retention_h(capacity_gb, camera.cap_mbit_s),
        "gib_for_gb": hours * GIB_PER_GB,
        "days": hours / H_PER_DAY,
    }
    gb_h = camera.mean_mbit_s * GB_PER_H_AT_1_MBIT_S
    return told_sum("hours_held", hours, slips, capacity_gb=capacity_gb, gb_h=gb_h, **camera.told)


def capacity_wanted(draws: Draws) -> Sum:
    """Ask which capacity holds some days."""
    camera, days = any_camera(draws), draws.of((3, 5, 7, 10, 14, 21, 28, 30))
    hours = days * H_PER_DAY
    gb = capacity_gb_for_retention(hours, camera.mean_mbit_s, recorded_fraction=camera.recorded_fraction)
    always_gb = capacity_gb_for_retention(hours, camera.mean_mbit_s)
    slips = {
        "factor_8": gb * BITS_PER_BYTE,
        "no_motion": always_gb,
        "cap_for_mean": capacity_gb_for_retention(hours, camera.cap_mbit_s, recorded_fraction=camera.recorded_fraction),
        "one_day": gb / days,
        "gib_for_gb": gb * GIB_PER_GB,
    }
    return told_sum("capacity_wanted", gb, slips, days=days, hours=hours, always_gb=always_gb, **camera.told)


def gib_shown(draws: Draws) -> Sum:
    """Ask what an operating system shows."""
    gb = draws.of(range(20, 1000))
    slips = {
        "gb_for_gib": gb,
        "wrong_way": gb / GIB_PER_GB,
        "once": gb * GIB_PER_GB ** (1 / 3),
        "twice": gb * GIB_PER_GB ** (2 / 3),
    }
    return told_sum("gib_shown", gb * GIB_PER_GB, slips, gb=gb)


def mbyte_s_needed(draws: Draws) -> Sum:
    """Ask for the write rate that keeps up with a cap."""
    camera = any_camera(draws)
    slips = {
        "left_in_bits": camera.cap_mbit_s,
        "times_8": camera.cap_mbit_s * BITS_PER_BYTE,
        "mean_for_cap": write_mbyte_s_for_margin(camera.mean_mbit_s, 1),
        "by_10": camera.cap_mbit_s / 10,
    }
    return told_sum("mbyte_s_needed", write_mbyte_s_for_margin(camera.cap_mbit_s, 1), slips, **camera.told)


def writes_a_year(draws: Draws) -> Sum:
    """Ask how much a camera writes in a year."""
    camera = any_camera(draws)
    tb = writes_tb_year(camera.mean_mbit_s, camera.recorded_fraction)
    day_gb = writes_gb_day(camera.mean_mbit_s, camera.recorded_fraction)
    slips = {
        "factor_8": tb * BITS_PER_BYTE,
        "no_motion": writes_tb_year(camera.mean_mbit_s),
        "cap_for_mean": writes_tb_year(camera.cap_mbit_s, camera.recorded_fraction),
        "in_gb": tb * GB_PER_TB,
    }
    return told_sum("writes_a_year", tb, slips, day_gb=day_gb, year_gb=day_gb * DAYS_PER_YEAR, **camera.told)


def life_by_endurance(draws: Draws) -> Sum:
    """Ask how long a card lasts whose endurance is stated in TB."""
    camera, endurance_tbw = any_camera(draws), draws.of((20, 30, 40, 60, 80, 100, 120, 150))
    years = life_years(endurance_tbw, camera.mean_mbit_s, camera.recorded_fraction)
    day_gb = writes_gb_day(camera.mean_mbit_s, camera.recorded_fraction)
    slips = {
        "factor_8": years / BITS_PER_BYTE,
        "no_motion": life_years(endurance_tbw, camera.mean_mbit_s),
        "cap_for_mean": life_years(endurance_tbw, camera.cap_mbit_s, camera.recorded_fraction),
        "upside_down": 1 / years,
    }
    figures = {
        "endurance_tbw": endurance_tbw,
        "day_gb": day_gb,
        "year_gb": day_gb * DAYS_PER_YEAR,
        "tb": writes_tb_year(camera.mean_mbit_s, camera.recorded_fraction),
    }
    return told_sum("life_by_endurance", years, slips, **figures, **camera.told)


def life_by_hours(draws: Draws) -> Sum:
    """Ask how long a card lasts that is rated in hours at a bit rate."""
    camera, rated_h = any_camera(draws), draws.of((5000, 8000, 10_000, 12_000, 15_000, 20_000))
    years = life_years(endurance_tbw_from_hours(rated_h, RATED_MBIT_S), camera.mean_mbit_s)
    year_h = H_PER_DAY * DAYS_PER_YEAR
    slips = {
        "as_rated": rated_h / year_h,
        "cap_for_mean": rated_h * RATED_MBIT_S / camera.cap_mbit_s / year_h,
        "days": years * DAYS_PER_YEAR,
    }
    figures = {
        "rated_h": rated_h,
        "rated_mbit_s": RATED_MBIT_S,
        "hours": rated_h * RATED_MBIT_S / camera.mean_mbit_s,
        "year_h": year_h,
    }
    return told_sum("life_by_hours", years, slips, **figures, **camera.told)


def motion_part(draws: Draws) -> Sum:
    """Ask which part of the time is recorded."""
    events_per_h, event_s = draws.of(range(4, 31)), draws.of(range(8, 41))
    pre_s, post_s = draws.of((3, 4, 5, 6, 8)), draws.of((10, 12, 15, 20))
    kept = kept_s(event_s, pre_s, post_s)
    percent = events_per_h * kept / S_PER_H * PERCENT_PER_ONE
    slips = {
        "no_rolls": events_per_h * event_s / S_PER_H * PERCENT_PER_ONE,
        "no_post_roll": events_per_h * (event_s + pre_s) / S_PER_H * PERCENT_PER_ONE,
        "no_pre_roll": events_per_h * (event_s + post_s) / S_PER_H * PERCENT_PER_ONE,
        "part_of_1": percent / PERCENT_PER_ONE,
        "minutes": events_per_h * kept / S_PER_MIN,
    }
    figures = {
        "events_per_h": events_per_h,
        "event_s": event_s,
        "pre_s": pre_s,
        "post_s": post_s,
        "kept": kept,
        "hour_s": events_per_h * kept,
        "part": percent / PERCENT_PER_ONE,
        "by_chance": recorded_fraction(events_per_h, event_s, pre_s, post_s) * PERCENT_PER_ONE,
    }
    return told_sum("motion_part", percent, slips, **figures)
