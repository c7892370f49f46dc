"""Where do the writes go: the simulated card under a camera, pass after pass, and what that makes of its life."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.models.wear.simulated_card import CardDesign, SimulatedCard, simulate
from edgestore.models.wear.simulated_writes import camera_writes
from edgestore.text import number
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT, BYTES_PER_KIB, KIB_PER_MIB

USER_UNITS = 96
SPARE_UNITS = 8
UNIT_MIB = 4
PAGE_KIB = 16
UNIT_PAGES = int(UNIT_MIB * KIB_PER_MIB / PAGE_KIB)
PASSES = 40
"""A card of 384 MiB in units of 4 MiB: small enough to see each unit, and only ratios count."""

YES_NO = ("yes", "no")

WHICH_CARD = "The card's maker, or the time between the camera's updates, would tell which of these cards you have."

NOT_COMPILED = (
    "Each new card takes some seconds to simulate, since numba is not installed. To make it immediate: pip "
    "install 'edgestore[simulation]'."
)
"""What the reader is told when the simulated card runs as it is."""


@dataclass(frozen=True, kw_only=True)
class FlashUse:
    """Where a camera's writes went on a simulated card.

    Attributes
    ----------
    erases : ndarray, shape (units,)
        Erases of each unit after ``passes``.
    most_erases : int
        Erases of the most worn unit at the end of the whole run.
    passes_seen : ndarray, shape (snapshots,)
        Times that the host had written the whole card, at each state kept.
    amplification_seen : ndarray, shape (snapshots,)
        Flash writes over host writes up to then.
    """

    passes: float
    erases: npt.NDArray[np.int64]
    most_erases: int
    passes_seen: npt.NDArray[np.float64]
    amplification_seen: npt.NDArray[np.float64]
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def flash_use(
    mapping: str = "unit",
    levelling: str = "off",
    *,
    small_updates: str = "yes",
    mean_mbit_s: float = 4.0,
    update_interval_s: float = 5.0,
    still_fraction: float = 0.25,
    passes: float = 40.0,
) -> FlashUse:
    """Run a camera's writes over a small simulated card and look at the wear.

    Parameters
    ----------
    mapping : str
        How the card maps, one of ``edgestore.models.wear.mapping.MAPPINGS``.
    levelling : str
        Wear levelling, one of ``edgestore.models.wear.simulated_card.LEVELLINGS``.
    small_updates : str
        ``yes`` or ``no``: whether file tables and index are updated between the video.
    mean_mbit_s : float
        Mean rate of the video, Mbit/s, above 0.
    update_interval_s : float
        Time between two updates, s, above 0.
    still_fraction : float
        Fraction of the card that is never rewritten, 0 to 0.8.
    passes : float
        Times that the camera has written as much as the card holds, above 0 and at most ``PASSES``.

    Returns
    -------
    FlashUse
        Wear of each unit, amplification over time, and what that makes of the card's life.

    Raises
    ------
    InputError
        When a number is out of range or a word unknown.

    Examples
    --------
    >>> told = flash_use("page", small_updates="no", still_fraction=0).sentence
    >>> told[:86]
    'After the card was filled 40 times, each page that the camera writes has cost 1 flash '
    """
    from edgestore.models.wear._translation_layer import COMPILED

    checks.single(locals())
    checks.one_of("small_updates", small_updates, YES_NO)
    checks.in_range("still_fraction", still_fraction, at_least=0, at_most=0.8)
    checks.in_range("passes", passes, above=0, at_most=PASSES)
    checks.in_range("update_interval_s", update_interval_s, "s", above=0)
    bytes_s = checks.bitrate_mbit_s(mean_mbit_s, "mean_mbit_s") * BITS_PER_MBIT / BITS_PER_BYTE
    video_pages = max(round(bytes_s * update_interval_s / BYTES_PER_KIB / PAGE_KIB), 1)
    places = 3 if small_updates == "yes" else 0
    run = _run(mapping, levelling, places, video_pages, round(still_fraction * USER_UNITS))
    passes_seen = run.host_pages / (USER_UNITS * UNIT_PAGES)
    at = int(np.searchsorted(passes_seen, passes))
    erases = run.erase_history[at]
    amplification = run.flash_pages[at] / run.host_pages[at]
    unevenness = float(erases.max() / erases.mean()) if erases.any() else 1.0
    table = pd.DataFrame(
        {
            "passes": [passes_seen[at]],
            "write_amplification": [amplification],
            "mean_erases": [erases.mean()],
            "most_erases": [erases.max()],
            "least_erases": [erases.min()],
            "most_over_mean": [unevenness],
            "life_fraction": [1 / (amplification * unevenness)],
        }
    )
    pages = "flash page" if number(amplification) == "1" else "flash pages"
    return FlashUse(
        passes=passes,
        erases=erases,
        most_erases=int(run.erase_counts.max()),
        passes_seen=passes_seen,
        amplification_seen=run.flash_pages / run.host_pages,
        table=table,
        sentence=(
            f"After the card was filled {number(passes)} times, each page that the camera writes has cost "
            f"{number(amplification)} {pages} on average, and the most worn unit has {number(unevenness)} times "
            "the mean wear."
        ),
        assumptions=(
            f"The simulated card has {USER_UNITS} units of {UNIT_MIB} MiB, {SPARE_UNITS} spare units and flash "
            f"pages of {PAGE_KIB} KiB; each update rewrites one page in each of three units. Only the ratios "
            "matter: a large card behaves in the same way.",
            "Life fraction: the part of cycles times capacity that the camera can write before the most worn "
            "unit is worn out. The model is our own; we found no published measurement under a camera's writes.",
        ),
        warnings=(
            *([WHICH_CARD] if places else []),
            *([] if COMPILED else [NOT_COMPILED]),
        ),
    )


@lru_cache(maxsize=64)
def _run(mapping: str, levelling: str, places: int, video_pages: int, still_units: int) -> SimulatedCard:
    """Simulate once for all passes: the slider over passes only looks at another state."""
    design = CardDesign(
        user_blocks=USER_UNITS,
        pages_per_block=UNIT_PAGES,
        spare_blocks=SPARE_UNITS,
        mapping=mapping,
        levelling=levelling,
        open_units=4,
    )
    rewritten = replace(design, user_blocks=USER_UNITS - still_units)
    writes = camera_writes(rewritten, PASSES * design.user_pages, video_pages=video_pages, update_places=places)
    return simulate(design, writes, snapshots=4 * PASSES)
