"""The simulated card: a translation layer that takes page writes and counts what it writes and erases itself.

The stream of writes is an array of logical page numbers, made by the functions at the end or by the reader. The
inner loops are compiled by numba, which only ``simulate`` imports. Without numba, the extra ``simulation``, they take
much longer and count the same.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers
from edgestore.models.wear.amplification import BELOW_ONE, MAPPINGS

Pages = npt.NDArray[np.int64]

CLEANINGS = ("fifo", "greedy")
"""Which block a page-mapped card cleans next: the one filled longest ago, or the one with the fewest valid pages."""

LEVELLINGS = ("off", "dynamic", "static")
"""Wear levelling: free blocks taken as they come (last freed first); the least worn first; and still data moved too."""

STILL_MOVED_AT = 4
"""Static levelling moves still data when a block lags by this many erases."""


@dataclass(frozen=True, kw_only=True)
class CardDesign:
    """A card to be simulated, as small as its shape allows: what counts are ratios, not gigabytes.

    Parameters
    ----------
    user_blocks : int
        Blocks (by-page mapping) or allocation units (by-unit mapping) that the host sees, 4 or more.
    pages_per_block : int
        Pages of a block or unit, 2 or more.
    spare_blocks : int
        Blocks or units beyond those: at least 2; for by-unit mapping at least one more than ``open_units``, and with a
        log two more.
    mapping : str
        One of ``edgestore.models.wear.amplification.MAPPINGS``.
    cleaning : str
        One of ``CLEANINGS``; by-page mapping only.
    open_units : int
        Units open at once, 1 or more; by-unit mapping only.
    levelling : str
        One of ``LEVELLINGS``.

    Raises
    ------
    InputError
        With a count out of range or an unknown word.
    """

    user_blocks: int = 200
    pages_per_block: int = 64
    spare_blocks: int = 14
    mapping: str = "page"
    cleaning: str = "fifo"
    open_units: int = 2
    levelling: str = "off"

    def __post_init__(self) -> None:
        checks.one_of("mapping", self.mapping, MAPPINGS)
        checks.one_of("cleaning", self.cleaning, CLEANINGS)
        checks.one_of("levelling", self.levelling, LEVELLINGS)
        _whole("user_blocks", self.user_blocks, "blocks", at_least=4, at_most=1_000_000)
        _whole("pages_per_block", self.pages_per_block, "pages", at_least=2, at_most=100_000)
        _whole("open_units", self.open_units, "units", at_least=1, at_most=1000)
        least = 2 if self.mapping == "page" else self.open_units + 1 + (self.mapping == "unit with log")
        _whole("spare_blocks", self.spare_blocks, "blocks", at_least=least, at_most=10_000_000)

    @property
    def user_pages(self) -> int:
        """Pages that the host sees."""
        return int(self.user_blocks * self.pages_per_block)


@dataclass(frozen=True, kw_only=True)
class SimulatedCard:
    """What a simulated card did.

    Attributes
    ----------
    write_amplification : float
        Flash pages written over host pages written, after the warm-up.
    erase_counts : ndarray, shape (blocks,)
        Erases of each block over the whole run.
    host_pages, flash_pages : ndarray, shape (snapshots,)
        Pages written so far by the host and by the card, at each snapshot.
    erase_history : ndarray, shape (snapshots, blocks)
        Erase counts at each snapshot.
    """

    write_amplification: float
    erase_counts: Pages
    host_pages: Pages
    flash_pages: Pages
    erase_history: Pages


def simulate(design: CardDesign, writes: Numbers, *, warm_up: int = 0, snapshots: int = 50) -> SimulatedCard:
    """Run a stream of page writes through a card that starts full.

    Parameters
    ----------
    design : CardDesign
        The card, its sizes each a count of blocks or pages.
    writes : array_like of int
        Logical page numbers in the order in which the host writes them, 0 to below ``design.user_pages``; 2 or more.
    warm_up : int
        Host writes before the amplification is counted, a count of 0 or more and fewer than all.
    snapshots : int
        States kept along the way, a count of 1 or more; one more is kept at the end of the warm-up.

    Returns
    -------
    SimulatedCard
        Amplification (a plain ratio), erase counts and the state over time.

    Raises
    ------
    InputError
        When a page is not on the card or no whole number, or a count is out of range.

    Notes
    -----
    By page: one write frontier; a cleaned block's valid pages go to the frontier; one block is always free. By unit:
    an open unit takes appends only, anything else closes it by copying the rest from the old unit; the unit used
    longest ago is closed for a new one. With a log, what neither appends nor starts a unit goes to a unit set aside,
    and when that is full each unit it touches is rewritten. Only ratios count: a card of some hundred blocks gives
    the amplification of a full one.

    References
    ----------
    Our own; agrees with the closed forms of :mod:`edgestore.models.wear.amplification` within 2 % where these hold.

    Examples
    --------
    >>> card = CardDesign(user_blocks=50, spare_blocks=4)
    >>> simulate(card, circular_writes(card.user_pages, 20_000)).write_amplification
    1.0
    """
    from edgestore.models.wear import _translation_layer as layer

    checks.one_kind("design", design, CardDesign)
    numbers = np.asarray(checks.in_range("writes", writes, "pages", at_least=0, at_most=design.user_pages - 1))
    if numbers.ndim != 1 or numbers.size < 2:
        raise checks.refuse("writes", f"numbers of shape {np.shape(writes)}", "a row of 2 writes or more")
    pages = numbers.astype(np.int64)
    if (pages != numbers).any():
        raise checks.refuse("writes", numbers[pages != numbers][0], "whole page numbers")
    warm_up = _whole("warm_up", warm_up, "writes", at_least=0, at_most=pages.size - 1)
    snapshots = min(_whole("snapshots", snapshots, at_least=1), pages.size)
    marks = np.arange(1, snapshots + 1) * pages.size // snapshots
    if warm_up:
        marks = np.unique(np.append(marks, warm_up))
    shape = (int(design.user_blocks), int(design.spare_blocks), int(design.pages_per_block))
    level = (LEVELLINGS.index(design.levelling), STILL_MOVED_AT)
    if design.mapping == "page":
        flash, history = layer.by_page(pages, *shape, design.cleaning == "greedy", *level, marks)
    else:
        with_log = design.mapping == "unit with log"
        flash, history = layer.by_unit(pages, *shape, int(design.open_units), with_log, *level, marks)
    before = flash[np.searchsorted(marks, warm_up)] if warm_up else 0
    amplification = (flash[-1] - before) / (pages.size - warm_up)
    return SimulatedCard(
        write_amplification=float(amplification),
        erase_counts=history[-1],
        host_pages=marks,
        flash_pages=flash,
        erase_history=history,
    )


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
        One of ``CLEANINGS``.
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
    Ten times the user pages are written and counted, after six times as a warm-up.

    References
    ----------
    Our own; compare the closed forms of :mod:`edgestore.models.wear.amplification`.

    Examples
    --------
    >>> print(f"{simulated_write_amplification_random(0.28, user_blocks=300):.1f}")
    2.5
    """
    spare = _one("spare_ratio", spare_ratio, above=0, at_most=100)
    _whole("user_blocks", user_blocks, "blocks", at_least=4)
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
        How the card maps, one of ``edgestore.models.wear.amplification.MAPPINGS``.
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
    Ten rounds of the card are counted, after two as a warm-up.

    References
    ----------
    Our own; compare :func:`edgestore.models.wear.amplification.write_amplification_camera`.

    Examples
    --------
    >>> print(f"{simulated_write_amplification_camera(153):.1f}")
    5.9
    """
    _whole("user_units", user_units, "units", at_least=4, at_most=1_000_000)
    _whole("unit_pages", unit_pages, "pages", at_least=2, at_most=100_000)
    _whole("open_units", open_units, "units", at_least=1, at_most=1000)
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
    user_pages = _whole("user_pages", user_pages, "pages", at_least=1)
    count = _whole("count", count, "writes", at_least=1)
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
    user_pages = _whole("user_pages", user_pages, "pages", at_least=2)
    count = _whole("count", count, "writes", at_least=1)
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
    user_pages = _whole("user_pages", user_pages, "pages", at_least=1)
    count = _whole("count", count, "writes", at_least=1)
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
    The load of :func:`edgestore.models.wear.amplification.write_amplification_camera`.

    Examples
    --------
    >>> camera_writes(CardDesign(user_blocks=4, pages_per_block=4), 5, video_pages=2, update_places=1).tolist()
    [4, 5, 2, 6, 7]
    """
    block = int(design.pages_per_block)
    count = _whole("count", count, "writes", at_least=1)
    video_pages = _whole("video_pages", video_pages, "pages", at_least=1)
    update_places = _whole("update_places", update_places, "blocks", at_least=0, at_most=design.user_blocks - 1)
    pages_per_place = _whole("pages_per_place", pages_per_place, "pages", at_least=1, at_most=block - 1)
    first = min(block // 2, block - pages_per_place)
    places = np.arange(update_places)[:, None] * block + first + np.arange(pages_per_place)
    small = places.ravel()
    cycle = video_pages + small.size
    turn, step = np.divmod(np.arange(count), cycle)
    video_room = design.user_pages - update_places * block
    video = update_places * block + (turn * video_pages + step) % video_room
    return np.where(step < video_pages, video, np.append(small, 0)[np.maximum(step - video_pages, 0)])


def _whole(name: str, value: Numbers, unit: str = "", *, at_least: float, at_most: float | None = None) -> int:
    """Give one whole number within its bounds."""
    number = _one(name, value, unit, at_least=at_least, at_most=at_most)
    if number % 1:
        raise checks.refuse_value(name, number, "one whole number", unit=unit)
    return int(number)


def _one(name: str, value: Numbers, unit: str = "", **bounds: Any) -> float:
    """Give one number within its bounds."""
    checks.single({name: value})
    return float(checks.in_range(name, value, unit, **bounds))


def _generator(seed: int) -> np.random.Generator:
    return np.random.default_rng(_whole("seed", seed, at_least=0))
