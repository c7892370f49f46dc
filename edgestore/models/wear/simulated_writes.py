"""Streams of page writes for the simulated card, random ones and a camera's, and what the card makes of them."""

import numpy as np

from edgestore import checks
from edgestore.models.wear.amplification import BELOW_ONE
from edgestore.models.wear.simulated_card import CardDesign, Pages, simulate


def simulated_write_amplification_random(
    spare_ratio: float,
    *,
    pages_per_block: int = 64,
    cleaning: str = "fifo",
    user_blocks: int = 500,
    hot_write_fraction: float = 0.5,
    hot_page_fraction: float = 0.5,
    seed: int = 1,
) -> float:
    """Write amplification of a simulated page-mapped card under random writes.

    Parameters
    ----------
    spare_ratio : float
        Spare flash over user flash, a plain ratio, above 0; taken as whole blocks, and one block more is kept free.
    pages_per_block : int
        Pages of a block, a count of 2 or more.
    cleaning : str
        One of ``edgestore.models.wear.simulated_card.CLEANINGS``.
    user_blocks : int
        Blocks that the host sees, a count of 4 or more: some hundred give the answer of a full card.
    hot_write_fraction : float
        Fraction of the writes that go to hot pages, 0 to 1; the default makes all pages alike.
    hot_page_fraction : float
        Fraction of the pages that are hot, above 0 and below 1.
    seed : int
        Seed of the generator, a count of 0 or more.

    Returns
    -------
    float
        Flash writes over host writes, a plain ratio.

    Raises
    ------
    InputError
        When a number is out of range.

    Notes
    -----
    A simulation, not a formula: ten times the user pages are written and counted, after six times as a warm-up.

    References
    ----------
    Our own; compare the closed forms of :mod:`edgestore.models.wear.amplification`.

    Examples
    --------
    >>> print(f"{simulated_write_amplification_random(0.28, user_blocks=300):.1f}")
    2.5
    """
    spare = checks.one_number("spare_ratio", spare_ratio, above=0, at_most=100)
    checks.one_whole("user_blocks", user_blocks, "blocks", at_least=4)
    if round(user_blocks * spare) < 1:
        raise checks.refuse("spare_ratio", spare, "one spare block or more", "Give more user_blocks.")
    design = CardDesign(
        user_blocks=user_blocks,
        pages_per_block=pages_per_block,
        spare_blocks=round(user_blocks * spare) + 1,
        cleaning=cleaning,
    )
    count = 16 * design.user_pages
    writes = hot_cold_writes(
        design.user_pages, count, hot_write_fraction=hot_write_fraction, hot_page_fraction=hot_page_fraction, seed=seed
    )
    return simulate(design, writes, warm_up=6 * design.user_pages, snapshots=1).write_amplification


def simulated_write_amplification_camera(
    video_pages: int,
    *,
    update_places: int = 3,
    pages_per_place: int = 1,
    unit_pages: int = 256,
    open_units: int = 4,
    mapping: str = "unit",
    user_units: int = 60,
) -> float:
    """Write amplification of a simulated card under circular video with small updates.

    Parameters
    ----------
    video_pages : int
        Video pages between two updates, a count of 1 or more.
    update_places : int
        Units that an update touches, a count of 0 or more.
    pages_per_place : int
        Pages rewritten in each, a count of 1 or more.
    unit_pages : int
        Pages of an allocation unit, a count of 2 or more.
    open_units : int
        Units that the card keeps open at once, a count of 1 or more.
    mapping : str
        How the card maps, one of ``edgestore.models.wear.mapping.MAPPINGS``.
    user_units : int
        Units that the host sees, a count of 4 or more.

    Returns
    -------
    float
        Flash writes over host writes, a plain ratio.

    Raises
    ------
    InputError
        When a number is out of range.

    Notes
    -----
    A simulation, not a formula: ten rounds of the card are counted, after two as a warm-up.

    References
    ----------
    Our own; compare :func:`edgestore.models.wear.mapping.write_amplification_camera`.

    Examples
    --------
    >>> print(f"{simulated_write_amplification_camera(153):.1f}")
    5.9
    """
    checks.one_whole("user_units", user_units, "units", at_least=4, at_most=1_000_000)
    checks.one_whole("unit_pages", unit_pages, "pages", at_least=2, at_most=100_000)
    checks.one_whole("open_units", open_units, "units", at_least=1, at_most=1000)
    design = CardDesign(
        user_blocks=user_units,
        pages_per_block=unit_pages,
        spare_blocks=open_units + 4,
        mapping=mapping,
        open_units=open_units,
    )
    writes = camera_writes(
        design,
        12 * design.user_pages,
        video_pages=video_pages,
        update_places=update_places,
        pages_per_place=pages_per_place,
    )
    return simulate(design, writes, warm_up=2 * design.user_pages, snapshots=1).write_amplification


def random_writes(user_pages: int, count: int, seed: int = 1) -> Pages:
    """Uniform random page writes.

    Parameters
    ----------
    user_pages : int
        Pages that the host sees, a count of 1 or more.
    count : int
        Host writes, a count of 1 or more.
    seed : int
        Seed of the generator, a count of 0 or more.

    Returns
    -------
    ndarray of int, shape (count,)
        Logical page numbers.

    Raises
    ------
    InputError
        When a count is below 1.

    Notes
    -----
    Every page alike, each write independent of the others.

    References
    ----------
    The load of the closed forms in :mod:`edgestore.models.wear.amplification`.

    Examples
    --------
    >>> random_writes(10, 5).shape
    (5,)
    """
    user_pages = checks.one_whole("user_pages", user_pages, "pages", at_least=1)
    count = checks.one_whole("count", count, "writes", at_least=1)
    return _generator(seed).integers(0, user_pages, count)


def hot_cold_writes(
    user_pages: int, count: int, *, hot_write_fraction: float, hot_page_fraction: float, seed: int = 1
) -> Pages:
    """Random page writes of which a share goes to a few hot pages.

    Parameters
    ----------
    user_pages : int
        Pages that the host sees, a count of 2 or more.
    count : int
        Host writes, a count of 1 or more.
    hot_write_fraction : float
        Fraction of the writes that go to hot pages, 0 to 1.
    hot_page_fraction : float
        Fraction of the pages that are hot, above 0 and below 1.
    seed : int
        Seed of the generator, a count of 0 or more.

    Returns
    -------
    ndarray of int, shape (count,)
        Logical page numbers; the hot pages come first.

    Raises
    ------
    InputError
        When a number is out of range.

    Notes
    -----
    Uniform within the hot pages and within the cold ones.

    References
    ----------
    The load of :func:`edgestore.models.wear.amplification.write_amplification_mixed`.

    Examples
    --------
    >>> bool((hot_cold_writes(100, 50, hot_write_fraction=1.0, hot_page_fraction=0.1) < 10).all())
    True
    """
    user_pages = checks.one_whole("user_pages", user_pages, "pages", at_least=2)
    count = checks.one_whole("count", count, "writes", at_least=1)
    share = checks.fraction("hot_write_fraction", hot_write_fraction)
    pages = checks.in_range("hot_page_fraction", hot_page_fraction, above=0, at_most=BELOW_ONE)
    hot_pages = min(max(round(user_pages * pages), 1), user_pages - 1)
    rng = _generator(seed)
    hot = rng.random(count) < share
    return np.where(hot, rng.integers(0, hot_pages, count), rng.integers(hot_pages, user_pages, count))


def circular_writes(user_pages: int, count: int) -> Pages:
    """Circular video alone: page after page, and round again.

    Parameters
    ----------
    user_pages : int
        Pages that the host sees, a count of 1 or more.
    count : int
        Host writes, a count of 1 or more.

    Returns
    -------
    ndarray of int, shape (count,)
        Logical page numbers.

    Raises
    ------
    InputError
        When a count is below 1.

    Notes
    -----
    The oldest footage is overwritten first.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> circular_writes(3, 5).tolist()
    [0, 1, 2, 0, 1]
    """
    user_pages = checks.one_whole("user_pages", user_pages, "pages", at_least=1)
    count = checks.one_whole("count", count, "writes", at_least=1)
    return np.arange(count) % user_pages


def camera_writes(
    design: CardDesign, count: int, *, video_pages: int, update_places: int = 3, pages_per_place: int = 1
) -> Pages:
    """Circular video with small updates of file tables and index between.

    Parameters
    ----------
    design : CardDesign
        The card whose pages are written, its sizes each a count of blocks or pages.
    count : int
        Host writes, a count of 1 or more.
    video_pages : int
        Video pages between two updates, a count of 1 or more.
    update_places : int
        Blocks or units that an update touches, a count of 0 or more, fewer than ``design.user_blocks``.
    pages_per_place : int
        Pages rewritten in each, a count of 1 or more, fewer than the pages of a block.

    Returns
    -------
    ndarray of int, shape (count,)
        Logical page numbers; the updates go to the first blocks, always the same pages, the video round all others.

    Raises
    ------
    InputError
        When a count is out of range.

    Notes
    -----
    An update rewrites pages in the middle of its block, as a file table does.

    References
    ----------
    The load of :func:`edgestore.models.wear.mapping.write_amplification_camera`.

    Examples
    --------
    >>> camera_writes(CardDesign(user_blocks=4, pages_per_block=4), 5, video_pages=2, update_places=1).tolist()
    [4, 5, 2, 6, 7]
    """
    block = int(design.pages_per_block)
    count = checks.one_whole("count", count, "writes", at_least=1)
    video_pages = checks.one_whole("video_pages", video_pages, "pages", at_least=1)
    update_places = checks.one_whole(
        "update_places", update_places, "blocks", at_least=0, at_most=design.user_blocks - 1
    )
    pages_per_place = checks.one_whole("pages_per_place", pages_per_place, "pages", at_least=1, at_most=block - 1)
    first = min(block // 2, block - pages_per_place)
    places = np.arange(update_places)[:, None] * block + first + np.arange(pages_per_place)
    small = places.ravel()
    cycle = video_pages + small.size
    turn, step = np.divmod(np.arange(count), cycle)
    video_room = design.user_pages - update_places * block
    video = update_places * block + (turn * video_pages + step) % video_room
    return np.where(step < video_pages, video, np.append(small, 0)[np.maximum(step - video_pages, 0)])


def _generator(seed: int) -> np.random.Generator:
    return np.random.default_rng(checks.one_whole("seed", seed, at_least=0))
