"""Flash writes of a camera on a card of which nobody knows how it maps: by page, by unit with a log, or by unit."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.wear.amplification import (
    FLASH_PAGES_PER_MBIT,
    MAX_SPARE_RATIO,
    MIN_SPARE_RATIO,
    SEGMENT_S,
    UPDATED_PAGES,
)

SPARE_RATIO = 0.07
"""Spare flash over user flash: GiB sold as GB (common practice, no source)."""

KINDS_OF_MAPPING = ("page", "unit with log", "unit")
"""How a card may map, from the least flash writes to the most."""


def write_amplification_page(
    bitrate_mbit_s: Numbers, update_interval_s: Numbers, spare_ratio: Numbers = SPARE_RATIO
) -> Values:
    """Write amplification of a camera on a card that maps by page, however often it updates its file tables.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Rate of the video, Mbit/s, above 0.
    update_interval_s : float or array_like
        Time between two updates of file tables and index, s, above 0.
    spare_ratio : float or array_like
        Spare flash over user flash, a plain ratio, 0.0001 to 100.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    With ``c`` video pages between updates of ``n`` pages and spare ``s``: 1 while ``n / c`` is at most ``s``, since all
    video is overwritten before its block is cleaned. Beyond, updates outgrow the spare flash and video is carried
    round until it is overwritten, some ``1 + n / (c s)`` times: ``1 + n / (s (c + n))``. A form of ours, rough: with
    7 % spare it gives 0.7 to 1.2 times what the simulated card writes, whichever block that cleans first, and the
    cliff itself comes a little sooner there. Three updated pages of 16 KiB, files of 10 minutes.

    References
    ----------
    Derived, and simulated by :mod:`edgestore.models.wear.simulated_card`.

    Examples
    --------
    >>> print(f"{write_amplification_page(4, 5):.2f} {write_amplification_page(0.25, 5):.2f}")
    1.00 4.30
    """
    rate = checks.bitrate_mbit_s(bitrate_mbit_s)
    interval = checks.in_range("update_interval_s", update_interval_s, "s", above=0)
    spare = checks.in_range("spare_ratio", spare_ratio, at_least=MIN_SPARE_RATIO, at_most=MAX_SPARE_RATIO)
    checks.broadcastable(bitrate_mbit_s=rate, update_interval_s=interval, spare_ratio=spare)
    video = np.ceil(rate * FLASH_PAGES_PER_MBIT / (1 / interval + 1 / SEGMENT_S))
    # A product with 1 or 0 in place of np.where keeps a Series a Series.
    is_beyond = (video * spare < UPDATED_PAGES) * 1.0
    return 1 + is_beyond * UPDATED_PAGES / (spare * (video + UPDATED_PAGES))
