"""The simulated card: a translation layer that takes page writes and counts what it writes and erases itself.

The stream of writes is an array of logical page numbers, made in ``simulated_writes`` or by the reader. The inner loops
are compiled by numba, which only ``simulate`` imports. Without numba, the extra ``simulation``, they take much longer
and count the same.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from edgestore import checks
from edgestore.checks import Numbers
from edgestore.models.wear.mapping import MAPPINGS

Pages = npt.NDArray[np.int64]

CLEANINGS = ("fifo", "greedy")
"""Which block a page-mapped card cleans next: the one filled longest ago, or the one with the fewest valid pages."""

LEVELLINGS = ("off", "dynamic", "static")
"""Wear levelling: free blocks taken as they come (last freed first); the least worn first; and still data moved too."""

STILL_MOVED_AT = 4
"""Static levelling moves still data when a block lags by more erases than this."""


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
        One of ``edgestore.models.wear.mapping.MAPPINGS``.
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
        checks.one_whole("user_blocks", self.user_blocks, "blocks", at_least=4, at_most=1_000_000)
        checks.one_whole("pages_per_block", self.pages_per_block, "pages", at_least=2, at_most=100_000)
        checks.one_whole("open_units", self.open_units, "units", at_least=1, at_most=1000)
        least = 2 if self.mapping == "page" else self.open_units + 1 + (self.mapping == "unit with log")
        checks.one_whole("spare_blocks", self.spare_blocks, "blocks", at_least=least, at_most=10_000_000)

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
    A simulation, not a formula. By page: one write frontier; a cleaned block's valid pages go to the frontier; one
    block is always free. By unit: an open unit takes appends only, anything else closes it by copying the rest from the
    old unit; the unit used longest ago is closed for a new one. With a log, what neither appends nor starts a unit goes
    to a unit set aside, and when that is full each unit it touches is rewritten. Only ratios count: a card of some
    hundred blocks gives the amplification of a full one.

    Greedy cleaning takes, of the blocks with the fewest valid pages, the one that came to so few last. Static levelling
    moves the data of the least worn block once in sixteen cleanings, or units that were closed or filled, if that block
    lags by more than four erases. Blocks that are cleaned in the order of filling wear alike and need no levelling.

    References
    ----------
    Our own; agrees with the closed forms of :mod:`edgestore.models.wear.amplification` and
    :mod:`edgestore.models.wear.mapping` within 2 % where these hold.

    Examples
    --------
    >>> from edgestore.models.wear import circular_writes
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
    warm_up = checks.one_whole("warm_up", warm_up, "writes", at_least=0, at_most=pages.size - 1)
    snapshots = min(checks.one_whole("snapshots", snapshots, at_least=1), pages.size)
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
