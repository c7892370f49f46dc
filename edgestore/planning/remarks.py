"""What a reader must know before repeating an answer of the plan: what it assumes, and what to be careful about."""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.wear import WEAR_ALONE, WRITE_AMPLIFICATION_BRACKET
from edgestore.planning.rows import PEAK_OVER_MEAN, listed_fraction
from edgestore.planning.sure import GUESSED_LIFE
from edgestore.planning.words import number
from edgestore.units import H_PER_DAY

Flags = npt.NDArray[np.bool_]

SURE_ENOUGH = 0.9
"""A smaller chance to last is warned of (our choice)."""

NAMES = 5
"""Cameras named in a text; the others are counted."""

ENOUGH_FOOTAGE_H = H_PER_DAY
"""A mean measured over less than a day is warned of (our choice): night and rush hour may not be in it."""

AGREES = 0.05
"""A file and the list that differ by no more say the same (our choice)."""

ASSUMPTIONS = (
    "The mean rate decides retention and life, the cap decides speed. With a mean and a cap, the card never holds"
    " less than it does at the cap.",
    "With a cap alone the cap decides; the mean may be as low as the measured share of it for such a scene.",
    f"With a mean alone the peak is taken as {PEAK_OVER_MEAN:g} times the mean.",
    "Measured: from footage, with sound and file format. Described: as the encoder is set, pictures alone. Listed: as"
    " the camera list says. Assumed: the cap in place of the mean, or the peak from the mean. Each goes before the"
    " next, but a listed mean before one that is set.",
    "Listed events come independently of one another; clips that overlap are written once.",
    WEAR_ALONE,
    "Endurance from cycles without a stated write amplification is divided by"
    f" {WRITE_AMPLIFICATION_BRACKET[1]:g}; at best it would be {WRITE_AMPLIFICATION_BRACKET[0]:g}. The card's maker,"
    " or how often the camera updates its file tables, would narrow it.",
    "A margin of ten over the peak is the trade's rule (common practice, no source).",
    "Chance to last: half of all cards are worn out when the endurance is used up, spread as a Weibull law of shape"
    f" {GUESSED_LIFE['wear_shape']:g}; {GUESSED_LIFE['random_per_year']:.0%} a year fail otherwise and"
    f" {GUESSED_LIFE['early_share']:.0%} are weak from the start (common practice, no source).",
)


OUTAGE_ASSUMPTION = (
    "Outages: the recorder fails and is repaired as the settings say. Each card is brought in, or fetched over a"
    " link that is fast enough, before it overwrites what is missing."
)

COVERED_ENOUGH = 0.95
"""A card that saves all of fewer outages is warned of (our choice)."""


UNCOVERED = (
    f"the card of {{names}} does not cover {100 * COVERED_ENOUGH:g} % of the recorder's outages: take a larger one, or"
    " look at it more often."
)


def warnings(plan: pd.DataFrame, cameras: pd.DataFrame, evidence: pd.DataFrame, names: int = NAMES) -> tuple[str, ...]:
    """Say what to be careful about.

    Parameters
    ----------
    plan, cameras, evidence : DataFrame
        The plan, the camera list, and what its files say; a row a camera, in the same order.
    names : int
        Cameras named in each text; the others are counted.

    Returns
    -------
    tuple of str
        The grave ones first (:func:`grave_warnings`). Then what the plan allows for: one text for all cameras that it
        concerns, and one for each figure on which a file and the list disagree.
    """
    allowed_for = {
        "only the cap is known of {names}: the card may hold much longer than planned. Measure the mean.": (
            plan["mean_basis"] == "assumed"
        ).to_numpy(),
        "no cap is known of {names}: the peak is the highest second of the footage, no more.": (
            (plan["peak_basis"] == "measured") & plan["cap_mbit_s"].isna()
        ).to_numpy(),
    }
    grave = grave_warnings(plan, evidence, names)
    return (*grave, *_told(allowed_for, plan, names), *_disagreements(cameras, evidence, plan))


def grave_warnings(plan: pd.DataFrame, evidence: pd.DataFrame, names: int = NAMES) -> tuple[str, ...]:
    """Say what can leave a camera without the footage or the life wanted, the gravest first.

    Parameters
    ----------
    plan, evidence : DataFrame
        The plan, and what the files of the camera list say; a row a camera, in the same order.
    names : int
        Cameras named in each text; the others are counted.

    Returns
    -------
    tuple of str
        One text for all cameras that it concerns: no card, cards that are not likely to last or to cover an outage,
        and rates that may be higher than planned.
    """
    counted: dict[str, Flags] = {
        "no card of the list serves {names}.": (plan["card_alone"] == "").to_numpy(),
        "the kinds chosen do not serve {names}, though a card of the list would.": (
            ~plan["meets"] & (plan["card_alone"] != "")
        ).to_numpy(),
        "it is not nine in ten that the card of {names} lasts as long as wanted: plan to change it.": (
            plan["chance_of_lasting"] < SURE_ENOUGH
        ).to_numpy(),
        "the mean of {names} is above the cap: one of the two figures is wrong, or not all is under the cap.": (
            plan["planned_mbit_s"] > plan["cap_mbit_s"] * (1 + AGREES)
        ).to_numpy(),
        "no cap is known of {names}: the peak is a guess. Read it in the camera's settings.": (
            plan["peak_basis"] == "assumed"
        ).to_numpy(),
        "less than a day of footage is measured of {names}: night or a busy hour may not be in it.": (
            evidence["measured_h"] < ENOUGH_FOOTAGE_H
        ).to_numpy(),
    }
    if "outage_chance_uncovered" in plan:
        uncovered = plan["meets"] & (plan["outage_chance_uncovered"] > 1 - COVERED_ENOUGH)
        counted[UNCOVERED] = uncovered.to_numpy()
    return _told(counted, plan, names)


def _told(counted: Mapping[str, Flags], plan: pd.DataFrame, most: int) -> tuple[str, ...]:
    """Write each text that concerns a camera, with the names of those."""
    concerned = ((text, _names(plan.loc[which, "camera"], most)) for text, which in counted.items() if which.any())
    texts = (text.format(names=names) for text, names in concerned)
    return tuple(text[0].upper() + text[1:] for text in texts)


def _disagreements(cameras: pd.DataFrame, evidence: pd.DataFrame, plan: pd.DataFrame) -> list[str]:
    """Tell where a file and the list, or two files, differ by more than ``AGREES``: both figures, and which is used."""
    mean, cap, planned = cameras["mean_mbit_s"], plan["cap_mbit_s"], plan["planned_mbit_s"]
    measured, described = evidence["measured_mbit_s"], evidence["described_mean_mbit_s"]
    known, second = measured.fillna(mean), evidence["measured_peak_mbit_s"]
    texts = []
    for one, other, text, is_above in (
        (mean, measured, "mean {0} Mbit/s by the list, {1} by the footage; the footage is used", False),
        (known, described, "mean {0} Mbit/s, but the encoder is set to {1}; the first is used", False),
        (
            cameras["cap_mbit_s"],
            evidence["described_cap_mbit_s"],
            "cap {0} Mbit/s by the list, {1} by the encoder's file; the file is used",
            False,
        ),
        (cap, second, "cap {0} Mbit/s, but {1} in a second of the footage; that second is used as the peak", True),
        (cap, planned, "cap {0} Mbit/s, but a mean of {1}: see which is wrong, or what is not under the cap", True),
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
    shown = ", ".join(cameras.iloc[:most])
    return shown if len(cameras) <= most else f"{shown} and {len(cameras) - most} more"
