"""The card counts, compiled or not, exactly what a plain card, written apart and holding real data, can read back.

The plain cards keep the content of every flash page, so that each write can be read back; they follow the words of
the ``Notes`` of ``simulate``, not its code.
"""

from collections import OrderedDict
from dataclasses import replace
from itertools import count
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.wear import _translation_layer as layer
from edgestore.models.wear.simulated_card import CLEANINGS, LEVELLINGS, CardDesign, SimulatedCard, simulate

pytestmark = pytest.mark.slow


LAG, EVERY = 4, 16
"""Static levelling looks for a block that lags by more erases than that, once in so many that became free."""


def taken(free: list[int], erases: list[int], levelling: str) -> int:
    """Take the block that was freed last; with levelling one that is worn less, if there is any, the least worn."""
    least = min(erases[block] for block in free)
    at = len(free) - 1
    if levelling != "off" and erases[free[at]] > least:
        at = [erases[block] for block in free].index(least)
    free[at], free[-1] = free[-1], free[at]
    return free.pop()


class PlainUnitCard:
    """Mapped by allocation unit; units hold (page, version) as they were written."""

    def __init__(self, design: CardDesign):
        self.size, self.open_most, self.levelling = design.pages_per_block, design.open_units, design.levelling
        self.versions, self.closed = count(1), 0
        self.flash, self.erases = 0, [0] * (design.user_blocks + design.spare_blocks)
        self.home = list(range(design.user_blocks))
        self.content = {unit: [0] * self.size for unit in self.home}
        self.free = list(reversed(range(design.user_blocks, len(self.erases))))
        self.open = OrderedDict()
        self.log = [] if design.mapping == "unit with log" else None
        self.log_unit = self.free.pop() if self.log is not None else None

    def program(self, unit, version):
        self.content[unit].append(version)
        self.flash += 1
        assert len(self.content[unit]) <= self.size

    def fresh(self):
        unit = taken(self.free, self.erases, self.levelling)
        self.content[unit] = []
        return unit

    def erase(self, unit):
        self.erases[unit] += 1
        self.free.append(unit)

    def close(self, logical):
        unit = self.open.pop(logical)
        for version in self.content[self.home[logical]][len(self.content[unit]) :]:
            self.program(unit, version)
        self.erase(self.home[logical])
        self.home[logical] = unit

    def write(self, page):
        version = self.programmed(page)
        if self.levelling == "static" and self.closed >= EVERY:
            self.closed = 0
            self.move_still_data()
        return version

    def move_still_data(self):
        closed = [logical for logical in range(len(self.home)) if logical not in self.open]
        if not closed:
            return
        still = min(closed, key=lambda logical: self.erases[self.home[logical]])
        wears = [self.erases[unit] for unit in self.free]
        unit, old = self.free[wears.index(max(wears))], self.home[still]
        if max(wears) - self.erases[old] > LAG:
            self.content[unit] = []
            for version in self.content[old]:
                self.program(unit, version)
            self.erases[old] += 1
            self.free[self.free.index(unit)], self.home[still] = old, unit

    def programmed(self, page):
        logical, offset = divmod(page, self.size)
        version = next(self.versions)
        appends = logical in self.open and len(self.content[self.open[logical]]) == offset
        if self.log is not None and not appends and offset != 0:
            self.log.append((page, version))
            self.flash += 1
            if len(self.log) == self.size:
                self.merge()
            return version
        if not appends:
            if logical in self.open or len(self.open) == self.open_most:
                self.close(logical if logical in self.open else next(iter(self.open)))
                self.closed += 1
            self.open[logical] = self.fresh()
            for old in self.content[self.home[logical]][:offset]:
                self.program(self.open[logical], old)
        self.program(self.open[logical], version)
        self.open.move_to_end(logical)
        if offset == self.size - 1:
            self.close(logical)
            self.closed += 1
        return version

    def merge(self):
        for logical in sorted({page // self.size for page, _ in self.log}):
            if logical in self.open:
                self.close(logical)
            newest = [self.read(logical * self.size + offset) for offset in range(self.size)]
            unit = self.fresh()
            for version in newest:
                self.program(unit, version)
            self.erase(self.home[logical])
            self.home[logical] = unit
        self.log.clear()
        self.erase(self.log_unit)
        self.log_unit = taken(self.free, self.erases, self.levelling)

    def read(self, page):
        logical, offset = divmod(page, self.size)
        copies = [self.content[self.home[logical]][offset]]
        if logical in self.open:
            copies += self.content[self.open[logical]][offset : offset + 1]
        return max(copies + [version for logged, version in self.log or [] if logged == page])


class PlainPageCard:
    """Mapped by page; blocks hold pages, stale or not.

    A full block is known by when it was filled, and by when it came to as few valid pages as it has.
    """

    def __init__(self, design: CardDesign):
        self.size, self.cleaning, self.levelling = design.pages_per_block, design.cleaning, design.levelling
        blocks = design.user_blocks + design.spare_blocks
        self.free = list(reversed(range(blocks)))
        self.content = {block: [] for block in range(blocks)}
        self.place, self.filled, self.came = {}, {}, {}
        self.flash, self.erases, self.cleanings, self.times = 0, [0] * blocks, 0, count()
        self.frontier = self.free.pop()
        for page in range(design.user_pages):
            self.write(page)
        self.flash = 0

    def program(self, page):
        self.place[page] = (self.frontier, len(self.content[self.frontier]))
        self.content[self.frontier].append(page)
        self.flash += 1

    def write(self, page):
        if page in self.place:
            self.came[self.place[page][0]] = next(self.times)
        self.program(page)
        while len(self.content[self.frontier]) == self.size:
            self.filled[self.frontier] = self.came[self.frontier] = next(self.times)
            self.frontier = taken(self.free, self.erases, self.levelling)
            if not self.free:
                self.clean()

    def valid(self, block):
        return [page for offset, page in enumerate(self.content[block]) if self.place[page] == (block, offset)]

    def victim(self):
        if self.cleaning == "fifo":
            return min(self.filled, key=self.filled.get)
        still = min(sorted(self.filled), key=lambda block: self.erases[block])
        lags = max(self.erases) - self.erases[still] > LAG
        if self.levelling == "static" and self.cleanings % EVERY == 0 and lags:
            return still
        return min(self.filled, key=lambda block: (len(self.valid(block)), -self.came[block]))

    def clean(self):
        self.cleanings += 1
        block = self.victim()
        del self.filled[block]
        for page in self.valid(block):
            self.program(page)
        self.content[block] = []
        self.erases[block] += 1
        self.free.append(block)

    def read(self, page):
        block, offset = self.place[page]
        return self.content[block][offset]


def stream(design: CardDesign, seed: int, length: int = 250) -> np.ndarray:
    """Give jumps and runs, so that units are appended to, closed early and filled."""
    rng = np.random.default_rng(seed)
    starts = rng.integers(0, design.user_pages, length)
    pages = np.concatenate(
        [start + np.arange(run) for start, run in zip(starts, rng.integers(1, 9, length), strict=True)]
    )
    return pages[:length] % design.user_pages


def uneven(design: CardDesign, seed: int) -> np.ndarray:
    """Give most runs to the first fifth of the card; some write one page over and over."""
    rng = np.random.default_rng(seed)
    starts = np.where(rng.random(200) < 0.67, 0.2, 1) * rng.random(200) * design.user_pages
    runs = zip(starts.astype(int), rng.integers(0, 2, 200), rng.integers(1, 7, 200), strict=True)
    return np.concatenate([start + step * np.arange(length) for start, step, length in runs]) % design.user_pages


def uncompiled(design: CardDesign, writes: np.ndarray) -> SimulatedCard:
    """Run the card as it is without numba, where an index out of range is noticed."""
    loops = {name: getattr(layer, name) for name in ("_take_free", "by_page", "by_unit")}
    with patch.multiple(layer, **{name: getattr(loop, "py_func", loop) for name, loop in loops.items()}):
        return simulate(design, writes, snapshots=len(writes))


@st.composite
def unit_designs(draw):
    open_units = draw(st.integers(1, 5))
    mapping = draw(st.sampled_from(["unit", "unit with log"]))
    spare = open_units + 2 + draw(st.integers(0, 3))
    blocks, pages = draw(st.integers(4, 9)), draw(st.integers(2, 7))
    return CardDesign(
        user_blocks=blocks, pages_per_block=pages, spare_blocks=spare, mapping=mapping, open_units=open_units
    )


@pytest.mark.parametrize("levelling", LEVELLINGS)
@given(unit_designs(), st.integers(0, 10**6))
def test_by_unit_flash_pages_and_every_erase_are_those_of_the_plain_card_and_all_reads_back(levelling, design, seed):
    design = replace(design, levelling=levelling)
    writes = stream(design, seed) if levelling == "off" else uneven(design, seed)
    plain, newest = PlainUnitCard(design), np.zeros(design.user_pages, int)
    flash = []
    for page in writes:
        newest[page] = plain.write(page)
        flash.append(plain.flash)
        assert plain.read(page) == newest[page]
    assert [plain.read(page) for page in range(design.user_pages)] == newest.tolist()
    for card in (uncompiled(design, writes), simulate(design, writes, snapshots=len(writes))):
        assert card.flash_pages.tolist() == flash
        assert card.erase_counts.tolist() == plain.erases


@pytest.mark.parametrize("levelling", LEVELLINGS)
@pytest.mark.parametrize("cleaning", CLEANINGS)
@given(st.integers(4, 9), st.integers(2, 7), st.integers(2, 5), st.integers(0, 10**6))
def test_by_page_flash_pages_and_every_erase_are_those_of_the_plain_card_and_all_reads_back(
    cleaning, levelling, blocks, pages, spare, seed
):
    sizes = {"user_blocks": blocks, "pages_per_block": pages, "spare_blocks": spare}
    design = CardDesign(**sizes, cleaning=cleaning, levelling=levelling)
    writes = stream(design, seed) if levelling == "off" else uneven(design, seed)
    plain = PlainPageCard(design)
    flash = []
    for page in writes:
        plain.write(page)
        flash.append(plain.flash)
    assert [plain.read(page) for page in range(design.user_pages)] == list(range(design.user_pages))
    for card in (uncompiled(design, writes), simulate(design, writes, snapshots=len(writes))):
        assert card.flash_pages.tolist() == flash
        assert card.erase_counts.tolist() == plain.erases
    assert cleaning == "greedy" or max(plain.erases) - min(plain.erases) <= 1  # in turn, all blocks wear alike


def test_four_writes_counted_by_hand():
    # Units of 4 pages, one open. Page 0 and 1 of unit 0: 2 programmed. Page 1 of unit 1: unit 0 is closed (2 copied),
    # page 0 copied, 1 programmed: 6. Page 1 again: closed (2 copied), page 0 copied, 1 programmed: 10.
    card = simulate(
        CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=2, mapping="unit", open_units=1),
        [0, 1, 5, 5],
        snapshots=4,
    )
    assert card.flash_pages.tolist() == [1, 2, 6, 10]
    assert card.write_amplification == pytest.approx(10 / 4)
    assert card.erase_counts.sum() == 2


def test_a_unit_that_was_begun_first_stays_open_while_there_is_room_for_another():
    # Units of 4 pages, two open. Unit 0 is begun, unit 1 filled: 1 and 4 pages. Unit 2 takes its place: unit 0 goes on.
    design = CardDesign(user_blocks=4, pages_per_block=4, spare_blocks=4, mapping="unit", open_units=2)
    assert uncompiled(design, [0, 4, 5, 6, 7, 8, 1]).flash_pages.tolist() == [1, 2, 3, 4, 5, 6, 7]
    # With a log: unit 1 is begun and has a page rewritten four times, which fills the log: 3 pages are copied to close
    # unit 1, and 4 to merge the log into it. Again unit 2 takes its place, and unit 0 goes on.
    logging = replace(design, mapping="unit with log")
    assert uncompiled(logging, [0, 4, 6, 6, 6, 6, 8, 1]).flash_pages.tolist() == [1, 2, 3, 4, 5, 13, 14, 15]


def test_levelling_moves_no_unit_that_is_open():
    # All four units are open. Unit 3 lies still, page 0 of each other is rewritten, which copies the other page first.
    design = CardDesign(
        user_blocks=4, pages_per_block=2, spare_blocks=6, mapping="unit", open_units=4, levelling="static"
    )
    card = uncompiled(design, [6] + [0, 2, 4] * 40)
    assert card.flash_pages[-1] == 4 + 2 * (120 - 3)
    assert card.erase_counts.max() > 5
