"""Host writes -> flash writes of a camera, by how its card maps: by page, by unit with a log, or by unit."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.wear.amplification import _indexed, _spare
from edgestore.units import KIB_PER_MBIT, KIB_PER_MIB

MAPPINGS = ("page", "unit", "unit with log")
"""How a card maps: by flash page; by allocation unit; by allocation unit with one unit set aside for small writes."""

SPARE_RATIO = 0.07
"""Spare flash over user flash: GiB sold as GB (common practice, no source)."""

KINDS_OF_MAPPING = ("page", "unit with log", "unit")
"""How a card may map, from the least flash writes to the most."""

UPDATE_INTERVAL_S = 5.0
"""Time between two updates of file tables and index where a camera's is not known (our guess: common practice, no
source)."""

WRITE_AMPLIFICATION_BEST = 1.0
"""Flash writes over host writes of circular video on a card that maps by page: the least that an unknown card makes."""

UPDATE_PLACES, PAGES_PER_PLACE = 3, 1
SEGMENT_S, UNIT_MIB, PAGE_KIB = 600.0, 4.0, 16.0
"""The camera and the card taken where nothing is known of them (our guess: common practice, no source): allocation
units that an update touches, flash pages rewritten in each, length of a video file, allocation unit, flash page."""

FLASH_PAGES_PER_MBIT = KIB_PER_MBIT / PAGE_KIB
"""Flash pages that 1 Mbit of video fills."""

UPDATED_PAGES = UPDATE_PLACES * PAGES_PER_PLACE
CLOSED_PAGES = UPDATE_PLACES * UNIT_MIB * KIB_PER_MIB / PAGE_KIB
"""Flash pages that such a camera rewrites in an update, and that such a card writes for it."""


def write_amplification_camera(
    bitrate_mbit_s: Numbers,
    update_interval_s: Numbers,
    *,
    update_places: Numbers = UPDATE_PLACES,
    pages_per_place: Numbers = PAGES_PER_PLACE,
    segment_s: Numbers = SEGMENT_S,
    files_open: Numbers = 1,
    chunk_kib: Numbers = 512,
    unit_mib: Numbers = UNIT_MIB,
    page_kib: Numbers = PAGE_KIB,
    open_units: Numbers = 4,
    spare_ratio: Numbers = 0.07,
    mapping: str = "unit",
) -> Values:
    r"""Write amplification of a camera: long circular video with small updates of file tables and index between.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Rate of the video, Mbit/s, above 0.
    update_interval_s : float or array_like
        Time between two updates of file tables and index, s, above 0.
    update_places : float or array_like
        Allocation units that an update touches, a count of 0 or more.
    pages_per_place : float or array_like
        Flash pages that it rewrites in each, a count of 1 or more and at most those of a unit.
    segment_s : float or array_like
        Length of a video file, s, above 0; each end of a file is one more update.
    files_open : float or array_like
        Video files written side by side, a count of 1 or more.
    chunk_kib : float or array_like
        What is written to one file before the next has its turn, KiB, above 0; counts with several files.
    unit_mib : float or array_like
        Allocation unit of the card, MiB, above 0.
    page_kib : float or array_like
        Flash page, KiB, above 0 and at most one allocation unit.
    open_units : float or array_like
        Allocation units that the card keeps open at once, a count of 1 or more.
    spare_ratio : float or array_like
        Spare flash over user flash, a plain ratio, 0.0001 to 100; by page it must exceed the updates, see Notes.
    mapping : str
        How the card maps, one of ``MAPPINGS``.

    Returns
    -------
    float or ndarray
        Flash writes over host writes, a plain ratio, 1 or more.

    Raises
    ------
    InputError
        When a number is out of range, a page larger than its unit, an update larger than the units it touches, or
        the mapping unknown.

    Notes
    -----
    .. math:: c = \left\lceil \frac{\text{video pages a second}}{1 / \text{interval} + 1 / \text{segment}} \right\rceil

    video pages between updates of n pages in g units of P pages. An open unit takes appends only;
    anything else closes it by copying the rest. By unit with room for all:

    .. math:: A = \frac{c + g P}{c + n}

    With too few open
    units the video's own unit is closed too, ``(c + (1 + g) P) / (c + n)``; several files with too few open units
    cost ``P`` pages a chunk. With a log for small writes ``(c + n (1 + g)) / (c + n)``. By page 1, as long as the
    updates are a smaller share of all writes than the spare flash is of all flash; beyond that a cliff, to be
    simulated. By unit the spare flash does not count. Our own model, simulated; no published
    measurement under circular video was found. **An unknown card lies between 1, by page, and what this gives by
    unit**: 5.9 at 4 Mbit/s and an update every 5 s, 19.7 at 1 Mbit/s, 59.8 at 0.25 Mbit/s, since an update costs the
    same however little video lies before it. It holds while the camera records: no updates come between.

    References
    ----------
    Derived, and simulated by :mod:`edgestore.models.wear.simulated_card`.

    Examples
    --------
    >>> print(f"{write_amplification_camera(4, 5, segment_s=1e9):.3f}")
    5.904
    >>> print(f"{write_amplification_camera(4, 5, segment_s=1e9, mapping='unit with log'):.3f}")
    1.058
    """
    checks.one_of("mapping", mapping, MAPPINGS)
    counts = {"update_places": update_places, "pages_per_place": pages_per_place}
    counts |= {"files_open": files_open, "open_units": open_units}
    at_least = {"update_places": 0}
    places, pages, files, units = (
        checks.in_range(name, value, at_least=at_least.get(name, 1)) for name, value in counts.items()
    )
    rate = checks.bitrate_mbit_s(bitrate_mbit_s)
    interval = checks.in_range("update_interval_s", update_interval_s, "s", above=0)
    segment = checks.in_range("segment_s", segment_s, "s", above=0)
    chunk = checks.in_range("chunk_kib", chunk_kib, "KiB", above=0)
    unit = checks.in_range("unit_mib", unit_mib, "MiB", above=0, at_most=1024)
    page = checks.in_range("page_kib", page_kib, "KiB", above=0)
    named = {"bitrate_mbit_s": rate, "update_interval_s": interval, "segment_s": segment, "chunk_kib": chunk}
    named |= {"unit_mib": unit, "page_kib": page, "update_places": places, "pages_per_place": pages}
    spare = _spare(spare_ratio)
    named |= {"files_open": files, "open_units": units, "spare_ratio": spare}
    checks.broadcastable(**named)
    given = named.values()
    unit_pages = unit * KIB_PER_MIB / page
    if np.any(unit_pages < 1):
        raise checks.refuse("page_kib", "a page larger than its unit", "at most one allocation unit")
    if np.any(pages > unit_pages):
        raise checks.refuse("pages_per_place", "more pages than a unit has", "at most the pages of one allocation unit")
    video = _video_pages(rate, interval, segment, page)
    small = places * pages
    if mapping == "page":
        if np.any(small / (video + small) >= spare / (1 + spare)):
            mend = "Update less often, or simulate the card: edgestore.models.wear.simulated_card."
            raise checks.refuse("spare_ratio", "less spare flash than updates", "more than the share of updates", mend)
        return _indexed(1.0, *given)
    chunk_pages = np.minimum(np.ceil(chunk / page), unit_pages)
    logged = mapping == "unit with log"
    room = units >= files + (0 if logged else places)
    # With too few open units an update closes the video's unit too; several files close each other's at every chunk.
    closed = video + (0 if logged else unit_pages * (places > 0))
    taking_turns = np.where(files > 1, np.maximum(video * unit_pages / chunk_pages, closed), closed)
    updates = small * (1 + places) if logged else places * unit_pages
    return _indexed((np.where(room, video, taking_turns) + updates) / (video + small), *given)


def bitrate_mbit_s_for_wear(flash_mbit_s: Numbers, update_interval_s: Numbers) -> Values:
    r"""Rate of video at which a card that maps by unit writes so much to its flash.

    Parameters
    ----------
    flash_mbit_s : float or array_like
        Flash writes while recording, the mean, Mbit/s, above 0.
    update_interval_s : float or array_like
        Time between two updates of file tables and index, s, above 0.

    Returns
    -------
    float or ndarray
        Rate of the video in Mbit/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{rate} = \frac{c}{q}, \quad T = q \times \text{flash writes}, \quad
        c = \frac{T - g P}{2} + \sqrt{\left( \frac{T - g P}{2} \right)^2 + n\, T}

    .. math:: q = \frac{1000^2 / (8 \times 1024 \times 16)}{1 / \text{interval} + 1 / 600}, \quad n = 3, \quad g P = 768

    with c video pages of 16 KiB and T flash pages between updates, q such pages at 1 Mbit/s. It is the inverse of
    ``rate x`` :func:`write_amplification_camera` by unit, with everything else as is its default: c solves ``c^2 + (g P
    - T) c - n T = 0``. Parts of a page count here as such, where that function takes whole pages: at this rate and at
    any below it the flash writes are never more than those given.

    References
    ----------
    Derived from the form of :func:`write_amplification_camera`.

    Examples
    --------
    >>> print(f"{bitrate_mbit_s_for_wear(23.79, 5):.2f}")
    3.97
    """
    flash = checks.in_range("flash_mbit_s", flash_mbit_s, "Mbit/s", above=0)
    interval = checks.in_range("update_interval_s", update_interval_s, "s", above=0)
    checks.broadcastable(flash_mbit_s=flash, update_interval_s=interval)
    pages_at_1_mbit_s = FLASH_PAGES_PER_MBIT / (1 / interval + 1 / SEGMENT_S)
    most = flash * pages_at_1_mbit_s
    half = (most - CLOSED_PAGES) / 2
    root = np.sqrt(half**2 + UPDATED_PAGES * most)
    # Two forms of one root: each subtracts nothing where the other would lose its digits.
    video = np.where(half > 0, half + root, UPDATED_PAGES * most / (root - np.minimum(half, 0)))
    return _indexed(video / pages_at_1_mbit_s, flash, interval)


def write_amplification_page(
    bitrate_mbit_s: Numbers, update_interval_s: Numbers, spare_ratio: Numbers = SPARE_RATIO
) -> Values:
    r"""Write amplification of a camera on a card that maps by page, however often it updates its file tables.

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
    With ``c`` whole video pages between updates of ``n`` pages and spare ``s``: 1 while ``n / c`` is at most ``s``,
    since all video is overwritten before its block is cleaned. Beyond, updates outgrow the spare flash and video is
    carried round until it is overwritten, some ``1 + n / (c s)`` times:

    .. math:: A = 1 + \frac{n}{s\, (c + n)}

    where ``c s`` is below n, and 1 elsewhere. A form of ours, rough: with
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
    spare = _spare(spare_ratio)
    checks.broadcastable(bitrate_mbit_s=rate, update_interval_s=interval, spare_ratio=spare)
    video = _video_pages(rate, interval, SEGMENT_S, PAGE_KIB)
    # A product with a condition in place of np.where keeps a Series a Series.
    is_beyond = video * spare < UPDATED_PAGES
    return 1 + is_beyond * UPDATED_PAGES / (spare * (video + UPDATED_PAGES))


def _video_pages(rate_mbit_s: Values, interval_s: Values, segment_s: Values, page_kib: Values) -> Values:
    """Flash pages of video between two updates, of which each end of a file is one; a page that is begun is whole."""
    return np.ceil(rate_mbit_s * KIB_PER_MBIT / page_kib / (1 / interval_s + 1 / segment_s))
