"""Why a card was chosen, which requirement ruled the others out, and where the policy on kinds asks for another one."""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.plan.advice import down, helps, up
from edgestore.plan.candidates import Tried
from edgestore.plan.choice import Chosen, Kinds
from edgestore.plan.requirements import CAMERA, PEAK, SITE
from edgestore.plan.site import Site
from edgestore.text import chance, counted

RULED_OUT = {
    "slot": ("capacity_gb", "too large for the slot: {cards}, from {best} GB"),
    "speed": ("speed_margin", "too slow: {cards}, best margin {best} of {wanted}"),
    "retention": (
        "retention_days",
        "retention not assured: {cards}, best {best} of {wanted} as planned, with a chance of {chance}",
    ),
    "outage": ("chance_outage", "outage not covered: {cards}, with a chance of {chance} at best"),
    "life": ("chance_life", "life not assured: {cards}, with a chance of {chance} at best to work after {wanted}"),
    "maximum": (
        "retention_days_high",
        "may hold longer than allowed: {cards}, {best} days or more where {wanted} are allowed, with a chance of "
        "{chance} at best to hold no more",
    ),
    "together": ("chance_kept", "chance of all together too low: {cards}, {chance} at best"),
}
"""For each part of the promise the figure that decides it, and how a camera is told."""

WANTED_AS = {
    "speed": ("speed_margin", ""),
    "retention": ("retention_days", "day"),
    "life": ("life_years", "year"),
    "maximum": ("retention_days_max", "day"),
}
"""For each requirement the name under which it is asked, and its unit."""

TOO_MUCH = ("slot", "maximum")
"""Requirements that are broken by too high a figure."""


def reasons(
    site: Site,
    tries: Tried,
    chosen: Chosen,
    alone: Chosen,
    kinds: Kinds,
    *,
    is_worth_measuring: Callable[[], npt.NDArray[np.bool_]],
) -> tuple[list[str], list[str]]:
    """Say in words, camera by camera, why its card was chosen or why there is none, and what would help then.

    Parameters
    ----------
    site : Site
        The site.
    tries : Tried
        Every card tried in every camera.
    chosen, alone : ndarray, shape (cameras,)
        Number of the card chosen, and of the one that the camera would get by itself; -1 where there is none.
    kinds : str or int
        The policy on kinds of card.
    is_worth_measuring : callable
        Gives whether measuring each camera is worth its effort, where that is asked.

    Returns
    -------
    tuple of list of str
        One reason a camera; and the first remedy of each camera that has no assured card, empty for the others.
    """
    names, costs = site.offered["card"].to_list(), site.costs
    best = "Smallest card" if costs is None else f"Least expected cost in {counted(costs.horizon_years, 'year')}"
    unserved = np.flatnonzero(alone < 0)
    advice = dict(zip(unserved.tolist(), helps(site, unserved, is_worth_measuring), strict=True))
    texts, first = [], []
    columns = (chosen.tolist(), alone.tolist(), site.cameras["group"], _ruled_out(site, tries))
    for camera, (card, own, group, others) in enumerate(zip(*columns, strict=True)):
        first.append(advice[camera][0] if own < 0 else "")
        if own < 0:
            texts.append(f"No card is assured: {others}. What would help: {'; or '.join(advice[camera])}.")
        else:
            why = (
                f"{best} of the cards that are assured"
                if card == own
                else _by_policy(kinds, group, card, names, names[own])
            )
            texts.append(f"{why}. Ruled out: {others}." if others else f"{why}.")
    return texts, first


def _by_policy(kinds: Kinds, group: str, card: int, names: list[str], own: str) -> str:
    """Say why a camera does not get the card that it would get by itself."""
    if isinstance(kinds, int):
        which, fails = f"At most {counted(kinds, 'kind')}", "None of the kinds chosen is assured in"
    else:
        where = f"group {group}" if kinds == "group" else "the site"
        which, fails = f"One kind for {where}", f"The one kind for {where} is not assured in"
    if card < 0:
        return f"{fails} this camera, though {own} would be"
    return f"{which}: {names[card]}, though {own} would do here"


def _ruled_out(site: Site, tries: Tried) -> list[str]:
    """One text a camera: how many cards each requirement rules out, and how near they come.

    Of a card that the slot does not take nothing else is told: its chances would mislead.
    """
    parts: list[list[str]] = [[] for _ in range(len(site.cameras))]
    capacity = np.broadcast_to(site.offered["capacity_gb"].to_numpy(float), tries.served.shape)
    figures = tries.given | {"capacity_gb": capacity}
    for name, (figure, phrase) in RULED_OUT.items():
        if name not in tries.ruled_out:
            continue
        failing = tries.ruled_out[name]
        rows = np.flatnonzero(failing.any(axis=1))
        failing, values = failing[rows], figures[figure][rows]
        sure = np.where(failing, figures.get(f"chance_{name}", tries.kept)[rows], 0.0).max(axis=1)
        if name in TOO_MUCH:
            nearest, shown = np.where(failing, values, np.inf).min(axis=1), up
        else:
            nearest, shown = np.where(failing, values, -np.inf).max(axis=1), down
        asked = _asked(site.wanted.iloc[rows], *WANTED_AS[name]) if name in WANTED_AS else [""] * len(rows)
        columns = (rows.tolist(), failing.sum(axis=1).tolist(), nearest.tolist(), asked, sure.tolist())
        for row, count, best, want, kept in zip(*columns, strict=True):
            told = {"cards": counted(count, "card"), "best": shown(best), "wanted": want, "chance": chance(kept)}
            parts[row].append(phrase.format(**told))
    return ["; ".join(part) for part in parts]


def _asked(wanted: pd.DataFrame, name: str, unit: str) -> list[str]:
    """Say what each camera asks, and where the site does not, who; each text is made once."""
    pairs = list(zip(wanted[name], wanted[f"{name}_from"], strict=True))
    required, by = ("", "for") if name == "retention_days_max" else (" required", "by")
    texts = {}
    for value, who in set(pairs):
        text = counted(value, unit) if unit else f"{value:g}"
        told = {SITE: "", CAMERA: f"{required} for this camera", PEAK: " to keep up with the peak"}
        texts[value, who] = text + told.get(who, f"{required} {by} {who}")
    return [texts[pair] for pair in pairs]
