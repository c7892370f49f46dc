"""Whether the mean that follows from what a card holds can be believed, and so be learnt."""

import numpy as np

from edgestore.answers.achieved import Achieved
from edgestore.models.uncertainty.laws import Z_90
from edgestore.plan.card_update import MISTAKEN_SIGMA, Z_95
from edgestore.plan.verdicts import CANNOT_TELL, MOST_GAPS, NOT_RECORDING, Held
from edgestore.text import number


def cap_mbit_s(held: Held) -> float:
    """Cap of the camera, Mbit/s: as its saved settings have it, else as listed; NaN where none is known."""
    assert held.planned is not None
    return held.described.get("described_cap_mbit_s", held.planned.rate["cap_mbit_s"])


def is_above_cap(held: Held) -> bool:
    """Whether more follows than the cap lets through, by more than the doubt about the capacity."""
    found, planned = held.achieved, held.planned
    if found is None or planned is None or not found.is_full:
        return False
    return bool(held.follows_mbit_s > cap_mbit_s(held) * np.exp(Z_90 * planned.capacity_sigma))


def is_far_off(held: Held) -> bool:
    """Whether what follows is so far from what was known of the mean that it has another cause.

    Parameters
    ----------
    held : Held
        What the card holds.

    Returns
    -------
    bool
        False where nothing follows.

    Notes
    -----
    The belief about a listed mean allows that it is mistaken, as of another stream: eight in ten of such means are
    within a factor of 5 (``MISTAKEN_SIGMA`` of :mod:`edgestore.plan.card_update`). What follows is far off where it is
    outside these eight in ten, its own doubt counted. Of a card that is not full it is only the most that the mean can
    be, and so never too high; nor is it where the camera was set to another cap than is listed, since the listed mean
    is then of other settings.
    """
    found, planned = held.achieved, held.planned
    if found is None or planned is None or not held.follows_mbit_s > 0:
        return False
    rate, known = planned.rate, planned.mean_sigma
    far = Z_90 * np.hypot(max(known, MISTAKEN_SIGMA), held.follows_sigma)
    off = np.log(held.follows_mbit_s / rate["median_mbit_s"])
    is_bound = not found.is_full or has_other_cap(held)
    return bool(off < -far or (off > far and not is_bound))


def may_be_one_clip(held: Held) -> bool:
    """Whether the oldest footage may be a single clip, so that the card holds less than it seems to.

    A clip that is locked against overwriting, or that was left by a trigger which then did not fire, stays while all
    after it is overwritten. No answer tells of locks. So footage that goes back farther than planned, beyond the long
    end of eight in ten, is taken for retention only where a history covers it: the pause between the oldest clip and
    the next one is then known, and is not counted as recorded. Within what is planned the mean that follows is one
    that was expected.
    """
    found, planned = held.achieved, held.planned
    if found is None or planned is None:
        return False
    return bool(found.hours > planned.long_h and not is_covered(found))


def is_covered(found: Achieved) -> bool:
    """Whether a history covers the footage."""
    return found.covered_h >= (1 - MOST_GAPS) * found.hours


def has_other_cap(held: Held) -> bool:
    """Whether the camera was set to another cap than was planned with."""
    assert held.planned is not None
    return not np.isclose(cap_mbit_s(held), held.planned.rate["cap_mbit_s"], equal_nan=True)


def is_product(held: Held) -> bool:
    """Whether rate and recorded part cannot be told apart: a camera that records on events, without a history."""
    found, planned = held.achieved, held.planned
    return bool(found and planned and planned.rate["recorded_sigma"] > 0 and not found.recorded_part > 0)


def may_have_gaps(held: Held) -> bool:
    """Whether a mean may only seem low because a camera that records without a break did not record all the time.

    Without a history nothing shows its gaps, and less is recorded than the hours from the oldest footage on: the mean
    is at least what follows. So it can be learnt that a mean is higher than planned, but nothing that lowers the high
    end of what is believed of it, for which a smaller card would be planned; nor that a card is not full.
    """
    found, planned = held.achieved, held.planned
    if found is None or planned is None or held.recording != "continuous" or is_covered(found):
        return False
    high = planned.rate["median_mbit_s"] * np.exp(Z_95 * planned.mean_sigma)
    return bool(not found.is_full or not held.follows_ends_mbit_s[1] >= high)


def why_not_learnt(held: Held) -> str:
    """Why nothing is learnt of the mean rate of a camera; empty where something is.

    Parameters
    ----------
    held : Held
        What the card holds, with its verdict.

    Returns
    -------
    str
        A few words.
    """
    found, planned = held.achieved, held.planned
    if held.verdict == NOT_RECORDING:
        return f"the camera {'was' if held.taken_out else 'is'} not recording"
    if found is None or planned is None or not held.follows_mbit_s > 0:
        return "; ".join(held.why) if held.verdict == CANNOT_TELL else held.verdict
    if is_above_cap(held):
        return f"{number(held.follows_mbit_s)} Mbit/s would be above the cap"
    if is_far_off(held):
        return f"{number(held.follows_mbit_s)} Mbit/s would be too far off"
    if held.all_tracks_h > 0:
        return "one of its video tracks goes back less far than another"
    if may_be_one_clip(held):
        return "its oldest footage may be a single clip; a history would tell"
    if not found.is_full and not held.follows_mbit_s < planned.rate["likely_high_mbit_s"]:
        return "the card deletes by age" if found.is_deleted else "the card may not be full"
    if may_have_gaps(held):
        return "no history shows whether it recorded all the time: save its history (FindEvents)"
    return ""


def learnt_words(held: Held) -> str:
    """What is learnt of the mean rate, and what of it is open, or why nothing is."""
    why, found, planned = why_not_learnt(held), held.achieved, held.planned
    if why or found is None or planned is None:
        return f"nothing: {why}"
    what = "rate or recorded part, which no history tells apart" if is_product(held) else "rate"
    return what if found.is_full else f"{what}, at most"
