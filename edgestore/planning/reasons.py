"""Why a card was chosen, which requirement ruled the others out, and what would help a camera that none serves."""

import math
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import capacity_gb_for_retention
from edgestore.models.speed import write_mbyte_s_for_margin
from edgestore.models.wear import writes_tb_year
from edgestore.planning.requirements import Requirements
from edgestore.planning.words import number
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

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
            f"hold too short: {{n}} (up to {{best}} of {wanted.retention_days:g} days)",
        ),
        "life": (
            given["life_years"],
            np.max,
            f"worn out too soon: {{n}} (up to {{best}} of {wanted.life_years:g} years)",
        ),
        "maximum": (
            given["retention_days_high"],
            np.min,
            f"may hold longer than allowed: {{n}} (from {{best}}, allowed {most:g} days)",
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
                phrase.format(n=_cards(n), best=_not_nearer(b, nearest)) if n else ""
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
    """For each camera that no card serves, what would make one serve it."""
    most = wanted.retention_days_max or np.inf
    for row in rows:
        stream, camera = streams.iloc[row], cameras.iloc[row]
        keeps = np.minimum(
            given["retention_days"][row] / wanted.retention_days, given["life_years"][row] / wanted.life_years
        )
        share = np.minimum(keeps, given["speed_margin"][row] / wanted.speed_margin)
        below_most = meets["maximum"][row] & (given["retention_days_high"][row] / np.minimum(share, 1) <= most)
        allowed = meets["slot"][row] & (below_most | bool(camera["deletes_by_age"]))
        texts = []
        if allowed.any():
            card = int(np.where(allowed, share, -1).argmax())
            if LEAST_SHARE <= share[card] < 1:
                texts.append(_lower_rate(stream, float(share[card]), cards["card"].iloc[card]))
        still = allowed & meets["speed"][row]
        if still.any():
            card = int(np.where(still, keeps, -1).argmax())
            if LEAST_SHARE <= keeps[card] < 1:
                recorded = stream["recorded_fraction"] * keeps[card]
                texts.append(f"record on motion, at most {recorded:.0%} of the time, on {cards['card'].iloc[card]}")
        if not meets["maximum"][row].all():
            texts.append("have the camera delete footage by age, or measure its mean rate to narrow the range")
        if not np.logical_and.reduce([flags[row] for name, flags in meets.items() if name != "maximum"]).any():
            texts.append(_larger_card(stream, camera, cards, wanted))
        yield texts


def _not_nearer(value: float, nearest: Callable[..., Any]) -> str:
    """Write a figure that just misses a limit so that rounding does not make it reach the limit."""
    scale = 10.0 ** (2 - math.floor(math.log10(value))) if value > 0 else 1.0
    rounded = (math.floor if nearest is np.max else math.ceil)(value * scale) / scale
    return number(rounded) if rounded >= 100 else f"{rounded:.3g}"


def _lower_rate(stream: pd.Series, share: float, card: str) -> str:
    planned, peak = stream["planned_mbit_s"], stream["peak_mbit_s"]
    return (
        f"lower the rate to {share:.0%} (mean {planned:.3g} to {planned * share:.3g} Mbit/s,"
        f" peak {peak:.3g} to {peak * share:.3g} Mbit/s) on {card}"
    )


def _larger_card(stream: pd.Series, camera: pd.Series, cards: pd.DataFrame, wanted: Requirements) -> str:
    """The card that would serve, as figures to ask for."""
    rate, recorded = stream["planned_mbit_s"], stream["recorded_fraction"]
    capacity = capacity_gb_for_retention(
        wanted.retention_days * H_PER_DAY, rate, recorded, cards["usable_fraction"].min()
    )
    endurance = writes_tb_year(rate, recorded) * wanted.life_years
    write = write_mbyte_s_for_margin(stream["peak_mbit_s"], wanted.speed_margin)
    text = f"a card of at least {number(capacity)} GB, {number(endurance)} TB written and {number(write)} Mbyte/s"
    if capacity > camera["max_card_gb"]:
        text += f" (this slot takes at most {camera['max_card_gb']:g} GB: another camera)"
    return text


def _cards(count: int) -> str:
    return "1 card" if count == 1 else f"{count} cards"
