"""Why a card was chosen, which requirement ruled the others out, and what would help a camera that none serves."""

import math
from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import MAX_CAPACITY_GB
from edgestore.models.retention import capacity_gb_for_retention
from edgestore.models.speed import (
    SPEED_CLASSES,
    guaranteed_write_mbyte_s,
    write_mbyte_s_for_margin,
)
from edgestore.models.wear import writes_tb_year
from edgestore.planning.requirements import Requirements
from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

ROOM = 0.98
"""Advice to write less keeps this far below the most that policy allows, so that rounding does not cross it."""

FOR_EVER_DAYS = 1e300
"""Where policy sets no limit."""

LEAST_SHARE = 0.1
"""No advice asks for less than this share of the rate or of the time: such a camera would not do its job."""


def reasons(
    cameras: pd.DataFrame,
    cards: pd.DataFrame,
    streams: pd.DataFrame,
    given: dict[str, Array],
    meets: dict[str, Flags],
    chosen: npt.NDArray[np.intp],
    wanted: Requirements,
) -> list[str]:
    """Say in words, camera by camera, why its card was chosen or why there is none.

    Parameters
    ----------
    cameras, cards, streams : DataFrame
        The lists, and the rates of :func:`edgestore.planning.rows.camera_rates`; cards from small to large.
    given, meets : dict of ndarray, shape (cameras, cards)
        What each card gives each camera, and whether that meets each requirement.
    chosen : ndarray, shape (cameras,)
        Number of the chosen card, -1 where there is none.
    wanted : Requirements
        What was asked.

    Returns
    -------
    list of str
        One reason a camera.
    """
    ruled_out = _ruled_out(cards, given, meets, wanted)
    help_wanted = np.flatnonzero(chosen < 0)
    helps = dict(
        zip(help_wanted.tolist(), _helps(cameras, cards, streams, given, meets, help_wanted, wanted), strict=True)
    )
    texts = []
    for camera, card in enumerate(chosen.tolist()):
        others = "; ".join(part[camera] for part in ruled_out if part[camera])
        if card >= 0:
            texts.append("Smallest card that meets all" + (f". Ruled out: {others}." if others else "."))
        else:
            texts.append(f"No card meets all: {others}. What would help: {'; or '.join(helps[camera])}.")
    return texts


def _ruled_out(
    cards: pd.DataFrame, given: dict[str, Array], meets: dict[str, Flags], wanted: Requirements
) -> list[list[str]]:
    """One list of texts a requirement, one text a camera: how many cards it rules out, and how near they come."""
    most = wanted.retention_days_max or np.inf
    capacity = np.broadcast_to(cards["capacity_gb"].to_numpy(float), given["speed_margin"].shape)
    phrases = {
        "slot": (capacity, np.min, "too large for the slot: {n} (from {best} GB)"),
        "speed": (given["speed_margin"], np.max, f"too slow: {{n}} (margin {{best}} of {wanted.speed_margin:g})"),
        "retention": (
            given["retention_days"],
            np.max,
            f"hold too short: {{n}} (up to {{best}} of {_counted(wanted.retention_days, 'day')})",
        ),
        "life": (
            given["life_years"],
            np.max,
            f"worn out too soon: {{n}} (up to {{best}} of {_counted(wanted.life_years, 'year')})",
        ),
        "maximum": (
            given["retention_days_high"],
            np.min,
            f"may hold longer than allowed: {{n}} (from {{best}}, allowed {_counted(most, 'day')})",
        ),
    }
    texts = []
    for name, (values, nearest, phrase) in phrases.items():
        failing = ~meets[name]
        count = failing.sum(axis=1)
        far = -np.inf if nearest is np.max else np.inf
        best = nearest(np.where(failing, values, far), axis=1)
        texts.append(
            [
                phrase.format(n=_cards(n), best=(_down if nearest is np.max else _up)(b)) if n else ""
                for n, b in zip(count, best, strict=True)
            ]
        )
    return texts


def _helps(
    cameras: pd.DataFrame,
    cards: pd.DataFrame,
    streams: pd.DataFrame,
    given: dict[str, Array],
    meets: dict[str, Flags],
    rows: npt.NDArray[np.intp],
    wanted: Requirements,
) -> Iterator[list[str]]:
    """For each camera that no card serves, what would make one serve it; each figure rounded to the safe side."""
    most = wanted.retention_days_max or FOR_EVER_DAYS
    for row in rows:
        stream, camera = streams.iloc[row], cameras.iloc[row]
        by_age = bool(camera["deletes_by_age"])
        keeps = np.minimum(
            given["retention_days"][row] / wanted.retention_days, given["life_years"][row] / wanted.life_years
        )
        share = np.minimum(keeps, given["speed_margin"][row] / wanted.speed_margin)
        longest = given["retention_days_high"][row]
        at_share, at_keeps = (
            meets["slot"][row] & (by_age | (longest <= ROOM * most * np.minimum(part, 1))) for part in (share, keeps)
        )
        all_but_most = np.logical_and.reduce([flags[row] for name, flags in meets.items() if name != "maximum"])
        texts = []
        card = int(np.where(at_share, share, -1).argmax())
        if at_share[card] and LEAST_SHARE <= share[card] < 1:
            texts.append(_lower_rate(stream, float(share[card]), cards["card"].iloc[card]))
        still = at_keeps & meets["speed"][row]
        card = int(np.where(still, keeps, -1).argmax())
        if still[card] and LEAST_SHARE <= keeps[card] < 1:
            recorded = _down(PERCENT_PER_ONE * stream["recorded_fraction"] * float(keeps[card]))
            texts.append(f"record at most {recorded}% of the time, on motion, on {cards['card'].iloc[card]}")
        if all_but_most.any():
            texts.append("have the camera delete footage by age")
            if stream["mean_basis"] == "assumed":
                texts.append("measure its mean rate to narrow the range")
        else:
            texts += _card_asked_for(stream, camera, cards, wanted)
        yield texts or ["ask for less, or take another camera"]


def _lower_rate(stream: pd.Series, share: float, card: str) -> str:
    planned, peak = stream["planned_mbit_s"], stream["peak_mbit_s"]
    return (
        f"lower the rate to {_down(PERCENT_PER_ONE * share)}% (mean {planned:.3g} to {_down(planned * share)} Mbit/s,"
        f" peak {peak:.3g} to {_down(peak * share)} Mbit/s) on {card}"
    )


def _card_asked_for(stream: pd.Series, camera: pd.Series, cards: pd.DataFrame, wanted: Requirements) -> list[str]:
    """The card that would serve, as figures to ask for; nothing where no card could."""
    rate, recorded = stream["planned_mbit_s"], stream["recorded_fraction"]
    write = write_mbyte_s_for_margin(stream["peak_mbit_s"], wanted.speed_margin)
    bus = None if camera["slot_bus"] == "unknown" else camera["slot_bus"]
    promised = {mark: guaranteed_write_mbyte_s([mark], bus) for mark in SPEED_CLASSES}
    enough = [mark for mark, rate_mbyte_s in promised.items() if rate_mbyte_s >= write]
    if not enough:
        peak = stream["peak_mbit_s"] * max(promised.values()) / write
        return [f"a peak of at most {_down(peak)} Mbit/s: no card promises {_up(write)} Mbyte/s in this slot"]
    least = min(promised[mark] for mark in enough)
    marks = " or ".join(mark for mark in enough if promised[mark] == least)
    capacity = capacity_gb_for_retention(
        wanted.retention_days * H_PER_DAY, rate, recorded, cards["usable_fraction"].min()
    )
    endurance = writes_tb_year(rate, recorded) * wanted.life_years
    text = f"{_up(endurance)} TB written, marked {marks}"
    largest = float(np.fmin(camera["max_card_gb"], MAX_CAPACITY_GB))
    if wanted.retention_days_max is not None and not camera["deletes_by_age"]:
        held = wanted.retention_days_max * H_PER_DAY
        largest = min(largest, float(capacity_gb_for_retention(held, stream["low_mbit_s"], recorded)))
    if float(_up(capacity)) <= largest:
        size = (
            f"at least {_up(capacity)} GB" if largest == MAX_CAPACITY_GB else f"{_up(capacity)} to {_down(largest)} GB"
        )
        return [f"a card of {size}, {text}"]
    if capacity > camera["max_card_gb"]:
        return [f"another camera: this slot takes at most {camera['max_card_gb']:g} GB, {_up(capacity)} GB are needed"]
    return []


def _down(value: float) -> str:
    """Write a figure that must not be exceeded: three digits, never more than it is."""
    return _rounded(value, math.floor)


def _up(value: float) -> str:
    """Write a figure that must be reached: three digits, never less than it is."""
    return _rounded(value, math.ceil)


def _rounded(value: float, whole: Callable[[float], int]) -> str:
    if value <= 0 or not math.isfinite(value):
        return f"{value:g}"
    digits = 2 - math.floor(math.log10(value))
    figure = whole(value * 10.0**digits) / 10.0**digits
    return f"{figure:.{max(digits, 0)}f}".rstrip("0").rstrip(".") if digits > 0 else f"{figure:.0f}"


def _cards(count: int) -> str:
    return _counted(count, "card")


def _counted(count: float, thing: str) -> str:
    return f"{count:g} {thing}" if count == 1 else f"{count:g} {thing}s"
