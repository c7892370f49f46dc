"""What the site, a group or a camera asks of the card in a camera."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from edgestore import checks
from edgestore.inputs.settings import LEAST_ASKED, LEAST_ASSURANCE, MOST_ASKED, MOST_ASSURANCE
from edgestore.inputs.sheet import shown
from edgestore.models.speed.classes import TRADE_MARGIN
from edgestore.text import chance

WANTED = ("retention_days", "life_years", "speed_margin", "retention_days_max", "assurance")
"""What may be asked, by the names of the attributes of :class:`Requirements`."""

SITE, CAMERA, PEAK = "site", "camera", "peak"
"""Who asks, besides a group; the peak asks for a margin where it is only assumed from the mean."""

MOST_NAMED = 5
"""Groups and cameras named that keep their own; the others are counted."""

_TOLD = {
    "retention_days": ("retention wanted", "days"),
    "life_years": ("life wanted", "years"),
    "speed_margin": ("speed margin wanted", ""),
    "retention_days_max": ("most retention allowed", "days"),
    "assurance": ("assurance", ""),
}

_MEND_MOST = "Ask for less or have the policy changed."
_MEND_CHANCE = "A percentage is divided by 100."


@dataclass(frozen=True)
class Requirements:
    """What every card of a site must reach.

    Parameters
    ----------
    retention_days : float
        Days of footage wanted, ``LEAST_ASKED`` to ``MOST_ASKED``.
    life_years : float
        Years wanted until the card is worn out, likewise.
    speed_margin : float
        Card's promised write rate over the rate set in the camera, its cap; over the mean where no cap is known. A
        plain ratio, likewise. The default is the trade's rule of ten (common practice, no source).
    retention_days_max : float, optional
        Most days that policy or law lets the site keep, not below ``retention_days``; none when left out.
    assurance : float
        Chance asked that a card keeps all of this together, 0.5 to 0.99.

    Raises
    ------
    InputError
        With every requirement that cannot be used.
    """

    retention_days: float = 7.0
    life_years: float = 3.0
    speed_margin: float = TRADE_MARGIN
    retention_days_max: float | None = None
    assurance: float = 0.9

    def __post_init__(self) -> None:
        faults: list[checks.Fault] = []
        bounds = (LEAST_ASKED, MOST_ASKED)
        for name, unit in (("retention_days", "days"), ("life_years", "years"), ("speed_margin", "")):
            faults += _faults(name, getattr(self, name), unit, *bounds)
        if self.retention_days_max is not None:
            faults += _faults("retention_days_max", self.retention_days_max, "days", *bounds)
        faults += _faults("assurance", self.assurance, "", LEAST_ASSURANCE, MOST_ASSURANCE, _MEND_CHANCE)
        if not faults and self.retention_days_max is not None and self.retention_days_max < self.retention_days:
            found = f"{self.retention_days_max:g} days"
            allowed = f"{self.retention_days:g} days or more, the retention wanted"
            faults.append(checks.Fault("retention_days_max", found, allowed, _MEND_MOST))
        if faults:
            raise checks.InputError(faults)


def override(site: Requirements, stated: Mapping[str, float], name: str) -> str:
    """Say in what a site departs from its settings file, so that no answer passes for the one of the file.

    Parameters
    ----------
    site : Requirements
        What is planned with.
    stated : mapping of str to float
        What the file asks, by the names of ``WANTED``; the rest is as ``Requirements`` has it by default.
    name : str
        Name of the file.

    Returns
    -------
    str
        One sentence with both numbers of each requirement that differs; empty when none does.

    Examples
    --------
    >>> override(Requirements(retention_days=7), {"retention_days": 3.0}, "site.toml")
    'Set otherwise than in site.toml: retention wanted 7 days (the file: 3 days).'
    >>> override(Requirements(life_years=5), {}, "site.toml")
    'Set otherwise than in site.toml: life wanted 5 years (the file states none: 3 years by default).'
    """
    differ = []
    for attribute, asked, of_file in overridden(site, stated):
        what, unit = _TOLD[attribute]
        amount = _amount(attribute, of_file, unit)
        basis = f"the file: {amount}" if attribute in stated else f"the file states none: {amount} by default"
        differ.append(f"{what} {_amount(attribute, asked, unit)} ({basis})")
    return f"Set otherwise than in {name}: {', '.join(differ)}." if differ else ""


def overridden(site: Requirements, stated: Mapping[str, float]) -> list[tuple[str, float | None, float | None]]:
    """Name of each requirement that departs from the settings file, what is planned with, and what the file asks."""
    of_file = Requirements(**stated)
    pairs = ((attribute, getattr(site, attribute), getattr(of_file, attribute)) for attribute in _TOLD)
    return [(attribute, asked, stated_one) for attribute, asked, stated_one in pairs if asked != stated_one]


def who_keeps(cameras: pd.DataFrame, wanted: pd.DataFrame, attribute: str) -> str:
    """Say which groups and cameras ask for something of their own, whatever the site asks.

    Parameters
    ----------
    cameras, wanted : DataFrame
        Camera list, and what is asked of each card, of :func:`wanted_by_camera`.
    attribute : str
        One of ``WANTED``.

    Returns
    -------
    str
        One sentence with the number of each group, and of cameras with the same number; empty when none does.
    """
    asking = wanted[f"{attribute}_from"]
    own = wanted[~asking.isin([SITE, PEAK])]
    if own.empty:
        return ""
    who = asking[own.index].where(asking[own.index] != CAMERA, "camera " + cameras["camera"][own.index])
    what, unit = _TOLD[attribute]
    keeping = pd.DataFrame({"who": who, "value": own[attribute]}).drop_duplicates()
    pairs = keeping[:MOST_NAMED].itertuples(index=False)
    named = [f"{name} {_amount(attribute, value, unit)}" for name, value in pairs]
    more = f" and {len(keeping) - MOST_NAMED} more" if len(keeping) > MOST_NAMED else ""
    return f"With their own {what}: {', '.join(named)}{more}."


def _amount(attribute: str, value: float | None, unit: str) -> str:
    if value is None:
        return "no limit"
    return chance(value) if attribute == "assurance" else f"{value:g} {unit}".rstrip()


def wanted_by_camera(
    cameras: pd.DataFrame, rates: pd.DataFrame, site: Requirements, groups: Mapping[str, Mapping[str, float]]
) -> pd.DataFrame:
    """Give what is asked of the card in each camera: by the camera's own row, else by its group, else by the site.

    Parameters
    ----------
    cameras, rates : DataFrame
        Camera list, and its rates of :func:`edgestore.plan.rates.camera_rates`.
    site : Requirements
        What is asked of every card.
    groups : mapping of str to mapping
        What groups ask otherwise, by the name of the group and of the attribute.

    Returns
    -------
    DataFrame
        Index of the camera list. ``retention_days``, ``life_years`` (years), ``speed_margin`` (plain ratio) and
        ``retention_days_max`` (days, NaN for no limit); ``assurance`` (0 to 1); and who asks for each, as
        ``retention_days_from``: ``site``, ``group`` and its name, or ``camera``. A margin that is taken over the mean
        at least keeps up with the peak assumed from it: where that is more times the mean, so many times, from the
        ``peak``.

    Raises
    ------
    InputError
        With everything that a group or a camera asks and that cannot be met: a number out of range, or more days
        wanted than allowed.
    """
    faults: list[checks.Fault] = []
    for name, asked in groups.items():
        try:
            replace(site, **asked)
        except checks.InputError as error:
            faults += [replace(fault, where=f"group {name}, {fault.where}") for fault in error.faults]
    of_group, names = pd.factorize(cameras["group"])
    columns: dict[str, Any] = {}
    for column in WANTED:
        of_site = getattr(site, column)
        by_group = [groups.get(name, {}).get(column, of_site) for name in names]
        asking = [f"group {name}" if column in groups.get(name, {}) else SITE for name in names]
        values, asks = np.array(by_group, dtype=float)[of_group], np.array(asking, dtype=object)[of_group]
        if column in cameras:
            own = cameras[column].notna().to_numpy()
            values, asks = np.where(own, cameras[column], values), np.where(own, CAMERA, asks)
        columns |= {column: values, f"{column}_from": asks}
    rows = pd.DataFrame(columns, index=cameras.index)
    of_camera = (columns["retention_days_from"] == CAMERA) | (columns["retention_days_max_from"] == CAMERA)
    is_too_much = of_camera & (columns["retention_days_max"] < columns["retention_days"])
    if is_too_much.any():
        asked_too_much = zip(cameras["camera"][is_too_much], rows[is_too_much].to_dict("records"), strict=True)
        faults += [_more_wanted_than_allowed(name, row) for name, row in asked_too_much]
    if faults:
        raise checks.InputError(faults)
    keeps_up = (rates["peak_mbit_s"] / rates["margin_over_mbit_s"]).to_numpy()
    is_more = (keeps_up > 1) & (keeps_up > columns["speed_margin"])
    return rows.assign(
        speed_margin=np.where(is_more, keeps_up, columns["speed_margin"]),
        speed_margin_from=np.where(is_more, PEAK, columns["speed_margin_from"]),
    )


def _more_wanted_than_allowed(camera: str, row: Mapping[Any, Any]) -> checks.Fault:
    """Tell of a camera that asks, by a number of its own, for more days than it may hold."""
    found = f"{row['retention_days_max']:g} days (by the {row['retention_days_max_from']})"
    allowed = f"{row['retention_days']:g} days or more, the retention wanted (by the {row['retention_days_from']})"
    return checks.Fault(f"camera {shown(camera)}, retention_days_max", found, allowed, _MEND_MOST)


def _faults(name: str, value: float, unit: str, least: float, most: float, mend: str = "") -> tuple[checks.Fault, ...]:
    try:
        checks.in_range(name, value, unit, at_least=least, at_most=most, mend=mend)
    except checks.InputError as error:
        return error.faults
    return ()
