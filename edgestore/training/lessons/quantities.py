"""What a screen of a lesson may show in numbers: one answer of the library, and bars that compare it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from edgestore.models.rate.duty import kept_s, recorded_fraction
from edgestore.models.retention import capacity_gb_for_retention, retention_h
from edgestore.models.speed.classes import TRADE_MARGIN, guaranteed_write_mbyte_s, min_write_mbyte_s, speed_margin
from edgestore.models.wear.endurance import (
    endurance_tbw_from_cycles,
    endurance_tbw_from_hours,
    life_years,
    writes_gb_day,
    writes_tb_year,
)
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S, write_amplification_camera
from edgestore.text import LONGEST_LIFE_YEARS, number
from edgestore.training.lessons.screens import Visual
from edgestore.units import GIB_PER_GB, H_PER_DAY, MBYTE_PER_MBIT, PERCENT_PER_ONE

Told = tuple[str, str]
"""A figure as it is written, and the key of its unit in the words."""


@dataclass(frozen=True)
class Bar:
    """A bar: the key of its label in the words, its length, which bars have its scale, and what is told of it."""

    label: str
    length: float
    scale: str
    told: Told
    of: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Shown:
    """What stands there in large letters, and the bars below it; those of one scale begin at 0 and may be compared."""

    told: Told
    bars: tuple[Bar, ...]


def shown(visual: Visual, **moved: float) -> Shown:
    """Work out what a visual shows.

    Parameters
    ----------
    visual : Visual
        What is shown, with the inputs of the text.
    **moved : float
        Inputs that stand elsewhere than in the text, by name.

    Returns
    -------
    Shown
        The answer and its bars.
    """
    return QUANTITIES[visual.shows](**{**visual.given, **moved})


def longest(visual: Visual) -> dict[str, float]:
    """Give the longest bar of each scale over the slider's range: what a whole line stands for."""
    ends = [{visual.slider: end} for end in (visual.low, visual.high)] if visual.slider else []
    bars = [bar for moved in ({}, *ends) for bar in shown(visual, **moved).bars]
    return {scale: max(bar.length for bar in bars if bar.scale == scale) for scale in {bar.scale for bar in bars}}


def _bar(label: str, value: float, unit: str, **of: str) -> Bar:
    return Bar(label, value, unit, (number(value), unit), of)


def _held(label: str, held_h: float) -> Bar:
    """Give a bar of hours, told in days where these read better, as :func:`edgestore.text.hold_span` does."""
    is_short = held_h < 2 * H_PER_DAY
    return Bar(label, held_h, "hours", (number(held_h), "hours") if is_short else (number(held_h / H_PER_DAY), "days"))


def _lasts(years: float) -> Bar:
    is_told = years <= LONGEST_LIFE_YEARS
    told = (number(years), "years") if is_told else (number(LONGEST_LIFE_YEARS), "years_or_more")
    return Bar("lasts", min(years, LONGEST_LIFE_YEARS), "years", told)


def _percent(label: str, share: float, unit: str = "percent") -> Bar:
    return Bar(label, PERCENT_PER_ONE * share, "percent", (f"{PERCENT_PER_ONE * share:.0f}", unit))


def hours(*, capacity_gb: float, mean_mbit_s: float) -> Shown:
    """How long a card holds when the camera records all the time."""
    bar = _held("holds", float(retention_h(capacity_gb, mean_mbit_s)))
    return Shown(bar.told, (bar,))


def filling(*, mean_mbit_s: float) -> Shown:
    """What a camera writes in an hour."""
    bar = _bar("in_an_hour", float(writes_gb_day(mean_mbit_s)) / H_PER_DAY, "gb")
    return Shown(bar.told, (bar,))


def bits(*, rate_mbit_s: float) -> Shown:
    """One rate in Mbit/s and in Mbyte/s."""
    rate = _bar("bits", rate_mbit_s, "mbit_s")
    bar = _bar("bytes", rate_mbit_s * MBYTE_PER_MBIT, "mbyte_s")
    return Shown(bar.told, (rate, replace(bar, scale=rate.scale)))


def cap_and_mean(*, capacity_gb: float, cap_mbit_s: float, mean_mbit_s: float) -> Shown:
    """How long a card holds at the cap and at a mean below it."""
    low, high = (float(retention_h(capacity_gb, rate)) for rate in (cap_mbit_s, min(mean_mbit_s, cap_mbit_s)))
    bars = _held("at_cap", low), _held("at_mean", high)
    return Shown(bars[1].told, bars)


def gib(*, capacity_gb: float) -> Shown:
    """What a computer shows of a card."""
    gibs = capacity_gb * GIB_PER_GB
    told = f"{gibs:.1f}", "gib"
    return Shown(told, (_bar("label", capacity_gb, "gb"), Bar("computer", gibs, "gb", told)))


def marks(*, marks: list[str]) -> Shown:
    """What marks promise."""
    rates = [min_write_mbyte_s(mark) for mark in marks]
    bars = tuple(_bar("promises", rate, "mbyte_s", mark=mark) for mark, rate in zip(marks, rates, strict=True))
    return Shown((" / ".join(map(number, sorted(set(rates)))), "mbyte_s"), bars)


def margin(*, cap_mbit_s: float, mark: str) -> Shown:
    """How many times the cap a mark promises, beside the trade's ten times."""
    promised = min_write_mbyte_s(mark)
    times = float(speed_margin(promised, cap_mbit_s))
    mbit_s = promised / MBYTE_PER_MBIT
    bars = _bar("promises", mbit_s, "mbit_s", mark=mark), _bar("ten_caps", TRADE_MARGIN * cap_mbit_s, "mbit_s")
    return Shown((number(times), "times_the_cap"), bars)


def slot(*, mark: str, new_slot: str, old_slot: str) -> Shown:
    """What a mark promises in a slot that is made for it, and in an older one."""
    new, old = (guaranteed_write_mbyte_s([mark], bus) for bus in (new_slot, old_slot))
    bars = _bar("in_new_slot", new, "mbyte_s"), _bar("in_old_slot", old, "mbyte_s")
    return Shown(bars[1].told, bars)


def writes(*, mean_mbit_s: float) -> Shown:
    """What a camera writes in a year."""
    bar = _bar("in_a_year", float(writes_tb_year(mean_mbit_s)), "tb")
    return Shown(bar.told, (bar,))


def lasting(*, endurance_tbw: float, mean_mbit_s: float) -> Shown:
    """How long a card of a stated endurance lasts, recording all the time."""
    bar = _lasts(float(life_years(endurance_tbw, mean_mbit_s)))
    return Shown(bar.told, (bar,))


def rated(*, rated_h: float, rated_mbit_s: float, mean_mbit_s: float) -> Shown:
    """How many hours of recording a card rated in hours gives at another rate."""
    given_h = float(endurance_tbw_from_hours(rated_h, rated_mbit_s) / endurance_tbw_from_hours(rated_h, mean_mbit_s))
    bars = _bar("rated", rated_h, "hours_of"), _bar("at_this_rate", rated_h * given_h, "hours_of")
    return Shown(bars[1].told, bars)


def flash(*, mean_mbit_s: float) -> Shown:
    """How much a card may write inside for what a camera sends."""
    times = float(write_amplification_camera(mean_mbit_s, UPDATE_INTERVAL_S))
    return Shown((f"{times:.0f}", "times"), (_bar("sent", 1, "gb"), _bar("inside", times, "gb")))


def alike(*, capacity_gb: float, cycles: float, more_cycles: float) -> Shown:
    """How much two cards take that differ in the cycles of their flash."""
    low, high = (float(endurance_tbw_from_cycles(capacity_gb, pe)) for pe in (cycles, more_cycles))
    bars = _bar("one_card", low, "tb"), _bar("other_card", high, "tb")
    return Shown((number(high / low), "times"), bars)


def motion(*, events_per_h: float, event_s: float, pre_roll_s: float, post_roll_s: float) -> Shown:
    """Which part of the time is recorded on motion."""
    part = float(recorded_fraction(events_per_h, event_s, pre_roll_s, post_roll_s))
    bars = _percent("all_the_time", 1.0), _percent("on_motion", part)
    return Shown(bars[1].told, bars)


def clip(*, event_s: float, pre_roll_s: float, post_roll_s: float) -> Shown:
    """How long a clip is with what is kept before and after."""
    whole = float(kept_s(event_s, pre_roll_s, post_roll_s))
    bars = _bar("event", event_s, "seconds"), _bar("clip", whole, "seconds")
    return Shown(bars[1].told, bars)


def hours_on_motion(*, capacity_gb: float, mean_mbit_s: float, recorded_percent: float) -> Shown:
    """How long a card holds that records all the time, and on motion."""
    part = recorded_percent / PERCENT_PER_ONE
    bars = tuple(
        _held(label, float(retention_h(capacity_gb, mean_mbit_s, share)))
        for label, share in (("all_the_time", 1.0), ("on_motion", part))
    )
    return Shown(bars[1].told, bars)


def wanted(*, days: float, mean_mbit_s: float) -> Shown:
    """The capacity that some days need."""
    bar = _bar("needs", float(capacity_gb_for_retention(days * H_PER_DAY, mean_mbit_s)), "gb")
    return Shown(bar.told, (bar,))


def fault(*, fault_h: float, capacity_gb: float, mean_mbit_s: float) -> Shown:
    """How much of a fault a card covers."""
    held_h = float(retention_h(capacity_gb, mean_mbit_s))
    covered = min(held_h, fault_h)
    bars = _bar("fault", fault_h, "hours"), _bar("covered", covered, "hours")
    return Shown(bars[1].told, bars)


def kept_days(*, capacity_gb: float, mean_mbit_s: float, most_days: float) -> Shown:
    """How many days are kept where the site sets a longest time."""
    held = float(retention_h(capacity_gb, mean_mbit_s)) / H_PER_DAY
    bars = _bar("holds", held, "days"), _bar("kept", min(held, most_days), "days")
    return Shown(bars[1].told, bars)


def days(*, capacity_gb: float, mean_mbit_s: float, most_days: float) -> Shown:
    """How many days a card holds beside the most that the site allows."""
    held = float(retention_h(capacity_gb, mean_mbit_s)) / H_PER_DAY
    bars = _bar("holds", held, "days"), _bar("allowed", most_days, "days")
    return Shown(bars[0].told, bars)


def asked(
    *, capacity_gb: float, mean_mbit_s: float, wanted_h: float, cap_mbit_s: float, mark: str, **wear: float
) -> Shown:
    """How a card stands in the three questions, as percent of what is asked: hours, speed and life."""
    shares = (
        ("holds", float(retention_h(capacity_gb, mean_mbit_s)) / wanted_h),
        ("keeps_up", float(speed_margin(min_write_mbyte_s(mark), cap_mbit_s)) / TRADE_MARGIN),
        ("lasts", float(life_years(wear["endurance_tbw"], mean_mbit_s)) / wear["wanted_years"]),
    )
    bars = tuple(_percent(label, share, "of_the_need") for label, share in shares)
    return Shown((f"{sum(share >= 1 for _, share in shares)}", "of_three"), bars)


def stream(*, capacity_gb: float, endurance_tbw: float, mean_mbit_s: float) -> Shown:
    """Hours and life of a card at a rate."""
    held_h, years = float(retention_h(capacity_gb, mean_mbit_s)), float(life_years(endurance_tbw, mean_mbit_s))
    bars = _held("holds", held_h), _lasts(years)
    return Shown(bars[0].told, bars)


def unseen(*, months: float) -> Shown:
    """How long a dead card goes unseen, looked at on fixed days: one interval at most, half of it in the mean."""
    bars = _bar("at_worst", months, "months"), _bar("on_average", months / 2, "months")
    return Shown(bars[0].told, bars)


QUANTITIES: dict[str, Callable[..., Shown]] = {
    made.__name__: made
    for made in (
        *(hours, filling, bits, cap_and_mean, gib, marks, margin, slot, writes, lasting, rated, flash, alike),
        *(motion, clip, hours_on_motion, wanted, fault, kept_days, days, asked, stream, unseen),
    )
}
"""What may be shown, by name."""
