"""What a reader must know before repeating an answer of the plan: what it assumes, and what to be careful about."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.answers.certainty import GUESSED_LIFE, RANDOM_WITHIN, STATED_ENDURANCE, WEAR_SHAPES
from edgestore.answers.outage import HELPS
from edgestore.inputs.settings import Costs
from edgestore.models.wear.mapping import (
    UPDATE_INTERVAL_S,
    WRITE_AMPLIFICATION_BEST,
    write_amplification_camera,
)
from edgestore.plan.all_together import LEAST_TOLD, TOGETHER_ASSUMPTION
from edgestore.plan.assurance_words import above_highest
from edgestore.plan.rates import PEAK_OVER_MEAN, listed_fraction
from edgestore.plan.site import Site
from edgestore.plan.untested_band import BAND_ASSUMPTION
from edgestore.text import NO_BREAK, counted, number, percent, short, span, visible
from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

Flags = npt.NDArray[np.bool_]

NAMES = 5
"""Cameras named in a text; the others are counted."""

ENOUGH_FOOTAGE_H = H_PER_DAY
"""A mean measured over less than a day is warned of (our choice): night and rush hour may not be in it."""

NAME = 40
"""Letters of a camera's name in the headline."""

AGREES = 0.05
"""A file and the list that differ by no more say the same (our choice)."""

QUIET_MBIT_S, MIDDLING_MBIT_S = 0.25, 4.0
BY_UNIT = tuple(write_amplification_camera(rate, UPDATE_INTERVAL_S) for rate in (QUIET_MBIT_S, MIDDLING_MBIT_S))
"""Examples told of the write amplification of a card that maps by unit."""

ASSUMPTIONS = (
    "The mean rate decides retention and life, the cap decides speed. With a mean and a cap, the card never holds"
    " less than it does at the cap.",
    "A listed mean is known within a factor: one mean in ten is above that range and one in ten below it. A mean "
    "that is set in the encoder is exact. A measured mean is weighed with what was known before: seconds of "
    "footage hardly move it, a week nearly replaces it. Where a cap is known, ranges reach up to it and no "
    "chance counts on more, unless a mean above it shows that it does not hold. beliefs.csv has each range with "
    "its basis and source.",
    "A card is assured when it keeps the footage, the life, the speed and the limit of policy all together with the"
    " chance asked, the assurance: one chance over everything that is not known, in which a high mean rate shortens"
    " retention and life at once.",
    "Where only the cap is known, the plan counts on a mean at the cap; the mean may be as low as the share of "
    "the cap measured for such a scene. Chances are counted over that whole range.",
    "Where only the mean is known, the speed margin is taken over the mean, and the card must at least keep up "
    f"with a peak of {PEAK_OVER_MEAN:g} times the mean.",
    "Measured: from footage, with sound and file format. Described: as the encoder is set, pictures alone. "
    "Listed: as the camera list says. Assumed: the cap in place of the mean. Each takes precedence over the "
    "next, except that a listed mean takes precedence over one set in the encoder.",
    "Listed events come independently of one another; clips that overlap are written once. How many come is known as a"
    " range, from the list or by how many a log has counted.",
    "Life is stated as the age that nine in ten such cards reach in that camera, all uncertainty counted. The "
    "time until the flash is used up is wear alone, spread evenly over the card: early failures, heat and power "
    "cuts come on top, and beyond some ten years they decide (common practice, no source).",
    "Endurance from cycles without a stated write amplification is divided by that of a card that maps by unit. "
    "It follows from the camera's mean rate and from how often it updates its file tables, and is highest at low "
    f"rates ({BY_UNIT[0]:.2g} at {QUIET_MBIT_S:g} Mbit/s, {BY_UNIT[1]:.2g} at {MIDDLING_MBIT_S:g} Mbit/s, with an "
    f"update every {UPDATE_INTERVAL_S:g} s). At best it would be {WRITE_AMPLIFICATION_BEST:g}. Data from the makers of "
    "card and camera would narrow it. Chances count each way to map, and every update interval that is possible where "
    "the camera list states none, with the chances in the table of beliefs (our guess).",
    "A stated endurance, in TB written or in hours, holds for its maker's pattern of writes: small updates between the"
    " video may use it up sooner.",
    "A margin of ten over the rate set in the camera, its cap, is the trade's rule (common practice, no source). Peaks"
    " within it are a matter of the camera's buffer and the card's stalls: a clip tells whether the card keeps up.",
    STATED_ENDURANCE,
    f"Chance to last: wear-out is spread as a Weibull law of shape {WEAR_SHAPES.low:g} to {WEAR_SHAPES.high:g};"
    f" {percent(GUESSED_LIFE['random_per_year'])} a year fail otherwise, within a factor of {RANDOM_WITHIN:g}, and"
    f" {percent(GUESSED_LIFE['early_fraction'])} are weak from the start (common practice, no"
    " source).",
    BAND_ASSUMPTION,
    TOGETHER_ASSUMPTION,
    "Weeks: where footage or an event log shows every hour of the week, retention is that of the busiest stretch of the"
    " days required, and the most that a card holds that of the quietest stretch of the days allowed; elsewhere the"
    " mean rate is taken to hold at every hour.",
)


OUTAGE_ASSUMPTION = (
    "Outages: the recorder fails and is repaired as the settings state. Each card is brought in, or fetched over "
    "a link, before it overwrites what is missing. Over a link slower than the planned rate of the camera, the "
    "card saves less than it holds, in the same proportion."
)

COVERED_ENOUGH = 0.95
"""A camera at which fewer outages are saved whole is warned of, whatever takes them (our choice)."""

REMEDIES = {
    "larger_card_saves_h_per_year": "the next larger card of the list saves {saved} h of footage a year per camera, at"
    " {names}.",
    "daily_check_saves_h_per_year": "a check of the card every day, on site or by the camera's own report, saves"
    " {saved} h of footage a year per camera, at {names}.",
    "own_supply_saves_h_per_year": "where the cause of an outage stops the camera too, no card saves the footage. A"
    " power supply and a network switch of its own, apart from the recorder's, save {saved} h of footage a year per"
    " camera, at {names}.",
}
"""What helps against outages, by the column of the plan that says how much."""

TOO_LONG = (
    "the card that is in {names} now may hold longer than allowed: have the camera delete footage by age, or replace"
    " the card first."
)
TOO_LONG_LOCKED = TOO_LONG.replace("by age,", "by age, which leaves locked clips,")
"""The same of cameras of whose cards locked clips are expected to hold a part."""

TOO_SHORT = (
    "the card that is in {names} now is not sure to hold the days asked: replace it at once, where the plan has "
    "another card."
)
"""What is told of cards in service whose chance is below the one asked."""

COVERS_LESS = (
    "the card that is in {names} now is not sure to cover the outage asked, of {asked} h; at the planned rate it covers"
    " {held} h: replace it at once, where the plan has another card, or require a shorter outage to be covered there."
)
"""What is told of them where it is the chance to cover an outage."""

LOCKED = (
    "locked clips are expected to hold {part} of the usable space at {names}: with more of it locked, the card holds"
    " fewer days than planned."
)
"""What is told of cameras whose cards hold locked clips."""

LOCKED_STAYS = (
    "locked clips at {names} stay on the card beyond the most days allowed, also where the camera deletes footage by"
    " age: release each in time."
)
"""What is told of those of them whose footage must not be kept for longer than some days."""

WORST = 5
"""Doubtful cameras named in the headline."""


def doubtful(plan: pd.DataFrame, told: "pd.Series[str]") -> str:
    """A sentence on the cameras for which the best card of the list has less than the chance asked; empty for none.

    Parameters
    ----------
    plan : DataFrame
        The plan.
    told : Series
        The chance of each camera's card in words, with its band.

    Returns
    -------
    str
        The worst by name, with their best card, the chance of that, and what would help and cost; where the others are
        told.
    """
    some = plan.assign(told=told)[plan["state"] == "doubtful"].sort_values("best_chance", kind="stable")
    if some.empty:
        return ""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for camera, best, card, remedy in some[["camera", "told", "best_card", "remedy"]][:WORST].to_numpy():
        alike.setdefault((best, card, remedy), []).append(visible(short(camera, NAME)))
    named = "; ".join(
        f"{' and '.join(cameras)} ({best} with {visible(short(card, NAME))}): {visible(remedy)}"
        for (best, card, remedy), cameras in alike.items()
    )
    text = f" Doubtful, with the chance of the best card and what would help: {named}."
    if len(some) <= WORST:
        return text
    return f"{text} The reasons, camera by camera, say what would help the {len(some) - WORST} that are less doubtful."


def warnings(plan: pd.DataFrame, site: Site, names: int = NAMES) -> tuple[str, ...]:
    """Say what to be careful about.

    Parameters
    ----------
    plan : DataFrame
        The plan; a row a camera, in the order of the list.
    site : Site
        The site.
    names : int
        Cameras named in each text; the others are counted.

    Returns
    -------
    tuple of str
        The grave ones first (:func:`grave_warnings`). Then what the plan allows for: one text for all cameras that it
        concerns, and one for each figure on which a file and the list disagree.
    """
    allowed_for: dict[str, Flags] = {
        "only the cap is known for {names}: the card may hold much longer than planned. Measure the mean.": (
            plan["mean_basis"] == "assumed"
        ).to_numpy(),
        "no cap is known for {names}: the peak is taken as the highest second of the footage, and may be higher.": (
            (plan["peak_basis"] == "measured") & plan["cap_mbit_s"].isna()
        ).to_numpy(),
    }
    if "locked_fraction" in plan:
        locked = plan["locked_fraction"].where(plan["locked_fraction"] > 0)
        part = f"{_percent_span(locked.min(), locked.max())}{NO_BREAK}%"
        allowed_for[LOCKED.replace("{part}", part)] = locked.notna().to_numpy()
    if "in_service_chance_retention" in plan:
        allowed_for[TOO_SHORT] = (plan["in_service_chance_retention"] < plan["wanted_assurance"]).to_numpy()
    if "in_service_chance_outage" in plan:
        allowed_for |= _covers_less(plan, site)
    grave = grave_warnings(plan, site, names)
    remedies = _uncovered(plan, names)[1:]
    return (*grave, *remedies, *_told(allowed_for, plan, names), *_disagreements(plan, site))


def left_out(cards: pd.DataFrame, costs: Costs | None) -> list[str]:
    """Say what comes of cards without a price.

    Parameters
    ----------
    cards : DataFrame
        The card list.
    costs : Costs or None
        What visits cost; None where the settings state none.

    Returns
    -------
    list of str
        One text, or none where every card has a price.
    """
    priced = cards["price"].notna()
    if costs is None or priced.all():
        return []
    if not priced.any():
        return ["No card of the list has a price: no cost is counted."]
    without = cards[~priced].sort_values("capacity_gb", kind="stable")["card"]
    return [f"Cards without a price are left out, since costs are counted: {', '.join(without)}."]


def grave_warnings(plan: pd.DataFrame, site: Site, names: int = NAMES) -> tuple[str, ...]:
    """Say what keeps footage longer than allowed, or can leave a camera without what is wanted, the gravest first.

    Parameters
    ----------
    plan : DataFrame
        The plan; a row a camera, in the order of the list.
    site : Site
        The site.
    names : int
        Cameras named in each text; the others are counted.

    Returns
    -------
    tuple of str
        One text for all cameras that it concerns: more assurance asked than can be had, a card in service that
        is too large, locked clips that outstay a maximum, no card, cards that are not likely to last or to cover an
        outage, and rates that may be higher than planned.
    """
    is_locked = (site.cameras["locked_fraction"] > 0).to_numpy()
    is_limited = site.wanted["retention_days_max"].notna().to_numpy()
    concerned = _without_a_card(plan) | {
        "the mean of {names} is above the cap: one of the two figures is wrong, or part of the stream is not "
        "under the cap.": (plan["planned_mbit_s"] > plan["cap_mbit_s"] * (1 + AGREES)).to_numpy(),
        "no cap is known for {names}: the speed margin is over the mean, and the peak is a guess. Read the cap "
        "in the camera's settings.": (plan["peak_basis"] == "assumed").to_numpy(),
        "less than a day of footage was measured for {names}: it may miss the night or a busy hour.": (
            site.evidence["measured_h"] < ENOUGH_FOOTAGE_H
        ).to_numpy(),
    }
    concerned = {LOCKED_STAYS: is_locked & is_limited} | concerned
    if "in_service_chance_maximum" in plan:
        may = (plan["in_service_chance_maximum"] < plan["wanted_assurance"]).to_numpy()
        concerned = {TOO_LONG: may & ~is_locked, TOO_LONG_LOCKED: may & is_locked} | concerned
    return (*above_highest(site), *_told(concerned, plan, names), *_uncovered(plan, names)[:1])


def without_an_assured_card(plan: pd.DataFrame, names: int = NAMES) -> tuple[str, ...]:
    """Say which cameras have no assured card: those of :func:`warnings` that tell of the state of a camera alone.

    Parameters
    ----------
    plan : DataFrame
        The plan; a row a camera, in the order of the list.
    names : int
        Cameras named in each text; the others are counted.

    Returns
    -------
    tuple of str
        One text for all cameras that it concerns.
    """
    return _told(_without_a_card(plan), plan, names)


def _without_a_card(plan: pd.DataFrame) -> dict[str, Flags]:
    return {
        "no card of the list can serve {names}.": (
            (plan["state"] == "not served") & (plan["card_alone"] == "")
        ).to_numpy(),
        "no card of the list keeps all that is asked with the chance asked at {names}.": (
            plan["state"] == "doubtful"
        ).to_numpy(),
        "none of the kinds chosen is assured at {names}, though a card of the list would be.": (
            ~plan["meets"] & (plan["card_alone"] != "")
        ).to_numpy(),
    }


def _covers_less(plan: pd.DataFrame, site: Site) -> dict[str, Flags]:
    """Tell which cards in service are not sure to cover each length of an outage that is asked."""
    may = (plan["in_service_chance_outage"] < plan["wanted_assurance"]).to_numpy()
    told = {}
    for asked_h in np.unique(site.covered_h[may]):
        which = may & (site.covered_h == asked_h)
        held = span(*plan.loc[which, "in_service_useful_retention_h"].agg(["min", "max"]))
        told[COVERS_LESS.replace("{asked}", number(asked_h)).replace("{held}", held)] = which
    return told


def _uncovered(plan: pd.DataFrame, most: int) -> list[str]:
    """Tell in the first text where outages are not covered, whatever takes them, in the next what helps, how much."""
    if "outage_chance_uncovered" not in plan:
        return []
    some = plan[plan["meets"] & (plan["outage_chance_uncovered"] > 1 - COVERED_ENOUGH)]
    if some.empty:
        return []
    enough = f"{percent(COVERED_ENOUGH)} of the recorder's outages"
    texts = [f"Less than {enough} are covered in full at {_names(some['camera'], most)}."]
    helps = some[list(REMEDIES)].ge(HELPS * some["lost_h_per_year"], axis=0)
    for column, text in REMEDIES.items():
        if helps[column].any():
            helped = some[helps[column]]
            saved = span(helped[column].min(), helped[column].max())
            texts.append(f"Outages: {text.format(saved=saved, names=_names(helped['camera'], most))}")
    if (helpless := ~helps.any(axis=1)).any():
        names = _names(some.loc[helpless, "camera"], most)
        texts.append(
            "Outages: neither a larger card of the list nor a daily check nor a supply of its own saves"
            f" {percent(HELPS)} of what is lost at {names}."
        )
    return texts


def _told(counted: Mapping[str, Flags], plan: pd.DataFrame, most: int) -> tuple[str, ...]:
    """Write each text that concerns a camera, with the names of those."""
    concerned = ((text, _names(plan.loc[which, "camera"], most)) for text, which in counted.items() if which.any())
    texts = (text.format(names=names) for text, names in concerned)
    return tuple(text[0].upper() + text[1:] for text in texts)


def _percent_span(least: float, most: float) -> str:
    """Write a range of shares in percent without the sign, what is below ``LEAST_TOLD`` as less than that."""
    low, high = (number(PERCENT_PER_ONE * max(share, LEAST_TOLD)) for share in (least, most))
    told = low if low == high else f"{low} to {high}"
    return f"less than {told}" if least < LEAST_TOLD else told


def _disagreements(plan: pd.DataFrame, site: Site) -> list[str]:
    """Tell where a file and the list, or two files, differ by more than ``AGREES``: both figures, and which is used."""
    cameras, evidence = site.cameras, site.evidence
    mean, cap, planned = cameras["mean_mbit_s"], plan["cap_mbit_s"], plan["planned_mbit_s"]
    measured, described = evidence["measured_mbit_s"], evidence["described_mean_mbit_s"]
    known, second = measured.fillna(mean), evidence["measured_peak_mbit_s"]
    texts = []
    for one, other, text, is_above in (
        (mean, measured, "mean {0} Mbit/s by the list, {1} by the footage; both are weighed, by its length", False),
        (known, described, "mean {0} Mbit/s, but the encoder is set to {1}; the first is used", False),
        (
            cameras["cap_mbit_s"],
            evidence["described_cap_mbit_s"],
            "cap {0} Mbit/s by the list, {1} by the encoder's file; the file is used",
            False,
        ),
        (cap, second, "cap {0} Mbit/s, but {1} in a second of the footage; that second is used as the peak", True),
        (
            cap,
            measured.fillna(planned),
            "cap {0} Mbit/s, but a mean of {1}: find out which is wrong, or what is not under the cap",
            True,
        ),
        (
            listed_fraction(cameras),
            evidence["logged_fraction"],
            "{0} of the time is recorded by the list's events, {1} by the log; the log is used",
            False,
        ),
    ):
        ratio = other / one - 1
        for index in cameras.index[(ratio if is_above else ratio.abs()) > AGREES]:
            figures = text.format(number(one[index]), number(other[index]))
            texts.append(f"{cameras['camera'][index]}: {figures}.")
    return texts


def _names(cameras: pd.Series, most: int) -> str:
    """Name so many cameras and count the others; where a name has a comma, semicolons part them."""
    if most == 0:
        return counted(len(cameras), "camera")
    named = list(cameras.iloc[:most])
    shown = ("; " if any("," in name for name in named) else ", ").join(named)
    return shown if len(cameras) <= most else f"{shown} and {len(cameras) - most} more"
