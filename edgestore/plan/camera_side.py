"""What other settings of a camera would change in its card, chance and cost, as a range; and what is then seen less."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.settings import Costs
from edgestore.plan.advice import scaled_rates
from edgestore.plan.assured import promises
from edgestore.plan.least_cost import changes
from edgestore.plan.rates import recorded_sigma
from edgestore.plan.site import Site
from edgestore.text import chance, counted, grouped, money, number, percent, short, whole
from edgestore.units import GB_PER_H_AT_1_MBIT_S, H_PER_DAY

Array = npt.NDArray[np.float64]

LOWER_CAP = 0.75
"""A cap is tried at this share of what it is (our choice)."""

FRAME_RATE_HALVED = {
    "quiet": (0.91, 1.0),
    "busy": (0.71, 0.92),
    "noisy night": (0.51, 0.98),
    "unknown": (0.51, 1.0),
}
"""Rate at half the frame rate over the rate before, by scene, where the quality is held and key frames come as often.

Busy: 10 pairs of encodes (data/measured/measured_bitrates.csv, E3_fps and E10_fps_cqp: 0.71 to 0.92). Quiet, and noise
at night, which is new in every frame: from frame sizes (``models.rate.frames.FRAME_BITS_PER_PIXEL``) with a key frame
every 2 s and 20 to 60 frames/s before."""

KEY_FRAMES_HALVED = {
    "quiet": (0.51, 0.67),
    "busy": (0.75, 0.98),
    "noisy night": (0.88, 0.98),
    "unknown": (0.51, 0.98),
}
"""Rate with key frames half as often over the rate before, by scene: 30 pairs of encodes with 1 to 8 s between key
frames (data/measured/measured_bitrates.csv, E4_gop); quiet 0.510 to 0.664, busy 0.751 to 0.974, night 0.890 to 0.976.
"""

ON_MOTION = (0.1, 0.5)
"""Part of the time that a camera records on motion, where nobody has counted (our guess)."""

MEAN = ("low_mbit_s", "planned_mbit_s", "likely_high_mbit_s", "high_mbit_s", "median_mbit_s")
OF_CAP = ("most_mbit_s", "peak_mbit_s", "cap_mbit_s")
"""Columns of the rates that follow what the scene needs, and what the camera is set to."""

MOST_TRIED = 1000
"""Cameras of which settings are tried; of more only the first (our choice)."""

ENDS = ("high", "low")
"""What is written with a setting at the ends of its range: where it saves least, and where it saves most."""

SIDE_ASSUMPTIONS = (
    "Other camera settings: each setting is changed alone, and the camera then gets the card of least cost that "
    "is assured. The ranges for frame rate and key frames come from our own encodes, by scene; a lower cap "
    "either leaves a mean below it unchanged or lowers it in proportion; the fraction recorded on motion is our "
    "guess. Changes that affect neither card nor cost are left out here; camera_side.csv lists them.",
)

NAMED = 3
"""So many cameras are named in a sentence."""


class Setting(NamedTuple):
    """A setting that is tried: its name in a sentence, and what is seen less then (common practice, no source)."""

    name: str
    sees_less: str


SETTINGS = {
    "lower cap": Setting(
        f"A cap at {percent(LOWER_CAP)} of the present one",
        "in the busiest moments, which are often those that matter, the picture is coarser",
    ),
    "half the frame rate": Setting(
        "Half the frame rate",
        "fast movement shows in half as many pictures, so a face or a number plate may be missed between two",
    ),
    "key frames half as often": Setting(
        "Key frames half as often",
        "a picture error lasts twice as long, and playback can start at half as many moments",
    ),
    "recording on motion": Setting(
        f"Recording on motion, {percent(ON_MOTION[0])} to {percent(ON_MOTION[1])} of the time",
        "what the detector misses is not recorded, and neither is what led up to it",
    ),
}
"""What is tried, by its name in the table."""

COLUMNS = (
    *("camera", "setting", "gb_per_day_now", "gb_per_day_high", "gb_per_day_low", "card_now", "card_high", "card_low"),
    *("chance_kept_now", "chance_kept_high", "chance_kept_low", "cost_now", "cost_high", "cost_low", "sees_less"),
)


@dataclass(frozen=True)
class CameraSide:
    """What other settings of cameras would change.

    Attributes
    ----------
    table : DataFrame
        ``COLUMNS``: a row for each camera and setting: what is written a day (GB), the card of least expected cost
        among those assured (empty for none), the best or that card's chance, and its cost over the horizon (NaN where
        none is counted or no card is assured); now, and at the ends of what the setting may save: ``high`` where it
        saves least.
    costs : Costs or None
        What visits cost.
    """

    table: pd.DataFrame
    costs: Costs | None

    @property
    def shown(self) -> pd.DataFrame:
        """What other settings change, to read: the one that may save most first, without what changes nothing.

        What is so then is a range, from the end at which the setting saves least to the one at which it saves most.
        """
        rows = self.table
        saved = {end: (rows["cost_now"] - rows[f"cost_{end}"]).fillna(0.0) for end in ENDS}
        is_other = np.any(
            [(rows["card_now"] != rows[f"card_{end}"]) | (saved[end].round() != 0) for end in ENDS], axis=0
        )
        order = np.lexsort((rows.index, -saved["low"]))
        rows = rows.iloc[order[is_other[order]]]
        shown = {
            "Camera": rows["camera"],
            "Setting": [SETTINGS[setting].name for setting in rows["setting"]],
            "GB a day now": rows["gb_per_day_now"].map(number),
            "GB a day then": _ranges(rows, "gb_per_day", number),
            "Card now": rows["card_now"].replace("", "none"),
            "Card then": _ranges(rows, "card", lambda card: card or "none"),
            "Chance that all is kept now": rows["chance_kept_now"].map(chance),
            "Chance that all is kept then": _ranges(rows, "chance_kept", chance),
        }
        if self.costs is not None:
            told = self._saved(rows)
            shown[f"Saves in {counted(self.costs.horizon_years, 'year')}, {self.costs.currency}"] = told
        return pd.DataFrame(shown | {"Image quality given up": rows["sees_less"]}).reset_index(drop=True)

    @staticmethod
    def _saved(rows: pd.DataFrame) -> list[str]:
        """What each setting saves, from the least to the most: below 0 what it costs; blank with no card now."""
        ends = [(rows["cost_now"] - rows[f"cost_{end}"]).tolist() for end in ENDS]
        return [
            " to ".join(dict.fromkeys(whole(end + 0.0) for end in pair if not np.isnan(end)))
            for pair in zip(*ends, strict=True)
        ]

    @property
    def sentences(self) -> tuple[str, ...]:
        """Each setting that saves something or makes a camera assured, in words; the one that saves most first."""
        told = [self._told(str(setting), rows) for setting, rows in self.table.groupby("setting", sort=False)]
        return tuple(text for _, text in sorted(told, key=lambda of: -of[0]) if text)

    def _told(self, setting: str, rows: pd.DataFrame) -> tuple[float, str]:
        """What a setting saves at the most, by which the settings are ordered, and in words; empty where nothing."""
        by_end = []
        for end in ENDS:
            is_new = (rows["card_now"] == "") & (rows[f"card_{end}"] != "")
            is_other = (rows["card_now"] != rows[f"card_{end}"]) & (rows["card_now"] != "")
            by_end.append(
                (float((rows["cost_now"] - rows[f"cost_{end}"]).sum()), rows["camera"][is_new], is_other.sum())
            )
        (least, _, few), (most, assured, many) = by_end
        parts = []
        if self.costs is not None and round(most) > 0:
            within = counted(self.costs.horizon_years, "year")
            saved = (rows["cost_now"] - rows["cost_low"]).round().gt(0)
            first = str(rows["camera"].iloc[(rows["cost_now"] - rows["cost_low"]).fillna(0.0).argmax()])
            amount = f"{grouped(f'{max(least, 0):.0f}')} to {money(most, self.costs.currency)}"
            parts.append(
                f"saves {amount} in {within} over {counted(int(saved.sum()), 'camera')}, most at {short(first, 40)}"
            )
        if self.costs is None and many:
            parts.append(f"another card for {few} to {counted(int(many), 'camera')}")
        if len(assured):
            names = ", ".join(short(name, 40) for name in assured[:NAMED])
            more = f" and {len(assured) - NAMED} more" if len(assured) > NAMED else ""
            parts.append(
                f"at best it allows a card for {names}{more}, which {'have' if len(assured) > 1 else 'has'} none now"
            )
        text = f"{SETTINGS[setting].name}: {'; '.join(parts)}. But {SETTINGS[setting].sees_less}."
        return most, text if parts else ""


def _ranges(rows: pd.DataFrame, name: str, write: Callable[[Any], str]) -> list[str]:
    """A figure or a card at both ends of what a setting may save, or one where both read alike."""
    ends = [rows[f"{name}_{end}"].map(write) for end in ENDS]
    return [" to ".join(dict.fromkeys(pair)) for pair in zip(*ends, strict=True)]


def camera_side(site: Site) -> CameraSide:
    """Try other settings of every camera.

    Parameters
    ----------
    site : Site
        The site.

    Returns
    -------
    CameraSide
        Each setting of each camera to which it applies.

    Notes
    -----
    A lower cap: at the least the mean stays what it is as far as the cap lets it, at the most it falls as the cap
    does. Frame rate and key frames: what the scene needs falls as measured, the cap cuts it as before; they do not
    apply to a constant bit rate, of which only the picture gets better.
    """
    site = site.of_cameras(np.arange(min(len(site.cameras), MOST_TRIED)))
    now = _outcome(site, np.arange(len(site.cameras)), site.rates)
    parts = []
    for setting, rows, high, low in _tried(site):
        if not len(rows):
            continue
        ends = {end: _outcome(site, rows, rates) for end, rates in (("high", high), ("low", low))}
        of_now = {f"{name}_now": values[rows] for name, values in now.items()}
        of_ends = {f"{name}_{end}": values for end, told in ends.items() for name, values in told.items()}
        named = {"camera": site.cameras["camera"].to_numpy(object)[rows], "setting": setting}
        parts.append(pd.DataFrame({**named, **of_now, **of_ends, "sees_less": SETTINGS[setting].sees_less}, index=rows))
    table = pd.concat(parts).sort_index(kind="stable") if parts else pd.DataFrame(columns=COLUMNS)
    return CameraSide(table[list(COLUMNS)].reset_index(drop=True), site.costs)


def _tried(site: Site) -> Iterator[tuple[str, npt.NDArray[np.intp], pd.DataFrame, pd.DataFrame]]:
    """Each setting, the cameras to which it applies, and their rates at both ends of what it saves."""
    rates, scenes = site.rates, site.cameras["scene"]
    is_free = (rates["mean_basis"] != "described").to_numpy()
    rows = np.flatnonzero(rates["most_mbit_s"].notna())  # a mean above the cap shows that the cap does not hold
    capped = rates.iloc[rows]
    times = np.full(len(rows), LOWER_CAP)
    yield "lower cap", rows, _under_lower_cap(capped), scaled_rates(capped, times)
    for setting, by_scene in (
        ("half the frame rate", FRAME_RATE_HALVED),
        ("key frames half as often", KEY_FRAMES_HALVED),
    ):
        rows = np.flatnonzero(is_free)
        some = rates.iloc[rows]
        low, high = np.array([by_scene[scene] for scene in scenes.iloc[rows]]).reshape(-1, 2).T
        yield setting, rows, _of_scene(some, high), _of_scene(some, low)
    rows = np.flatnonzero((site.cameras["recording"] == "continuous").to_numpy())
    some = rates.iloc[rows]
    sigma = recorded_sigma(np.array(ON_MOTION), np.full(2, np.nan), site.settings.beliefs)
    few, much = (
        some.assign(recorded_fraction=part, recorded_sigma=spread)
        for part, spread in zip(ON_MOTION, sigma, strict=True)
    )
    yield "recording on motion", rows, much, few


def _under_lower_cap(rates: pd.DataFrame) -> pd.DataFrame:
    """Rates where the scene needs what it did, and a lower cap cuts it."""
    lower = scaled_rates(rates, np.full(len(rates), LOWER_CAP), OF_CAP)
    cut = {name: np.minimum(rates[name], lower["most_mbit_s"]) for name in ("low_mbit_s", *MEAN)}
    over = np.where(rates["peak_basis"] == "assumed", cut["planned_mbit_s"], lower["peak_mbit_s"])
    # The law of the mean is that of the scene, cut off: its median and spread stay, and what is above is at the cap.
    law = {name: rates[name] for name in ("low_mbit_s", "median_mbit_s")}
    return lower.assign(**(cut | law), margin_over_mbit_s=over, stays_at_cap=True)


def _of_scene(rates: pd.DataFrame, part: Array) -> pd.DataFrame:
    """Rates where the scene needs such a part of what it did, camera by camera; cap and peak stay as they are set."""
    less = scaled_rates(rates, part, MEAN)
    over = np.where(rates["peak_basis"] == "assumed", less["planned_mbit_s"], rates["margin_over_mbit_s"])
    return less.assign(margin_over_mbit_s=over)


def _outcome(site: Site, rows: npt.NDArray[np.intp], rates: pd.DataFrame) -> dict[str, npt.NDArray[np.generic]]:
    """What some cameras write at these rates, and the card that each gets: the assured one of least cost."""
    some, rates = site.of_cameras(rows), rates.reset_index(drop=True)
    made = promises(some, rates)
    burden = np.broadcast_to(site.offered["capacity_gb"].to_numpy(float), made.kept.shape)
    if site.costs is not None:
        burden = changes(some, made).cost
    burden = np.where(made.is_assured, burden, np.inf)
    each, is_assured = np.arange(len(rows)), made.is_assured.any(axis=1)
    card = np.where(is_assured, burden.argmin(axis=1), made.kept.argmax(axis=1))
    cost = np.where(is_assured & (site.costs is not None), burden[each, card], np.nan)
    written = rates["planned_mbit_s"] * rates["recorded_fraction"]
    return {
        "gb_per_day": (written * GB_PER_H_AT_1_MBIT_S * H_PER_DAY).to_numpy(float),
        "card": np.where(is_assured, site.offered["card"].to_numpy(object)[card], ""),
        "chance_kept": made.kept[each, card],
        "cost": cost,
    }
