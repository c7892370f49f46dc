"""The compiled card counts exactly what a plain card, written apart and holding real data, counts and can read back.

The plain cards keep the content of every flash page, so that each write can be read back; they follow the words of
the ``Notes`` of ``simulate``, not its code.
"""

from collections import OrderedDict, deque
from itertools import count

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore.models.wear.simulated_card import CardDesign, simulate

pytestmark = pytest.mark.slow


class PlainUnitCard:
    """Mapped by allocation unit; units hold (page, version) as they were written."""

    def __init__(self, design: CardDesign):
        self.size, self.open_most = design.pages_per_block, design.open_units
        self.versions = count(1)
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
        unit = self.free.pop()
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
            if logical in self.open:
                self.close(logical)
            elif len(self.open) == self.open_most:
                self.close(next(iter(self.open)))
            self.open[logical] = self.fresh()
            for old in self.content[self.home[logical]][:offset]:
                self.program(self.open[logical], old)
        self.program(self.open[logical], version)
        self.open.move_to_end(logical)
        if offset == self.size - 1:
            self.close(logical)
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
        self.log_unit = self.free.pop()

    def read(self, page):
        logical, offset = divmod(page, self.size)
        copies = [self.content[self.home[logical]][offset]]
        if logical in self.open:
            copies += self.content[self.open[logical]][offset : offset + 1]
        return max(copies + [version for logged, version in self.log or [] if logged == page])


class PlainPageCard:
    """Mapped by page and cleaned in the order of filling; blocks hold pages, stale or not."""

    def __init__(self, design: CardDesign):
        self.size = design.pages_per_block
        blocks = design.user_blocks + design.spare_blocks
        self.free = list(reversed(range(blocks)))
        self.content = {block: [] for block in range(blocks)}
        self.place, self.filled = {}, deque()
        self.frontier = self.free.pop()
        for page in range(design.user_pages):
            self.write(page)
        self.flash, self.erases = 0, [0] * blocks

    def program(self, page):
        self.place[page] = (self.frontier, len(self.content[self.frontier]))
        self.content[self.frontier].append(page)

    def write(self, page):
        self.program(page)
        self.flash = getattr(self, "flash", 0) + 1
        while len(self.content[self.frontier]) == self.size:
            self.filled.append(self.frontier)
            self.frontier = self.free.pop()
            if not self.free:
                self.clean()

    def clean(self):
        block = self.filled.popleft()
        for offset, page in enumerate(self.content[block]):
            if self.place[page] == (block, offset):
                self.program(page)
                self.flash += 1
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


@st.composite
def unit_designs(draw):
    open_units = draw(st.integers(1, 4))
    mapping = draw(st.sampled_from(["unit", "unit with log"]))
    spare = open_units + 2 + draw(st.integers(0, 3))
    blocks, pages = draw(st.integers(4, 9)), draw(st.integers(2, 7))
    return CardDesign(
        user_blocks=blocks, pages_per_block=pages, spare_blocks=spare, mapping=mapping, open_units=open_units
    )


@given(unit_designs(), st.integers(0, 10**6))
def test_by_unit_flash_pages_and_every_erase_are_those_of_the_plain_card_and_all_reads_back(design, seed):
    writes = stream(design, seed)
    plain, newest = PlainUnitCard(design), np.zeros(design.user_pages, int)
    flash = []
    for page in writes:
        newest[page] = plain.write(page)
        flash.append(plain.flash)
        assert plain.read(page) == newest[page]
    assert [plain.read(page) for page in range(design.user_pages)] == newest.tolist()
    compiled = simulate(design, writes, snapshots=len(writes))
    assert compiled.flash_pages.tolist() == flash
    assert compiled.erase_counts.tolist() == plain.erases


@given(st.integers(4, 9), st.integers(2, 7), st.integers(2, 5), st.integers(0, 10**6))
def test_by_page_flash_pages_and_every_erase_are_those_of_the_plain_card_and_all_reads_back(blocks, pages, spare, seed):
    design = CardDesign(user_blocks=blocks, pages_per_block=pages, spare_blocks=spare)
    writes = stream(design, seed)
    plain = PlainPageCard(design)
    flash = []
    for page in writes:
        plain.write(page)
        flash.append(plain.flash)
    assert [plain.read(page) for page in range(design.user_pages)] == list(range(design.user_pages))
    compiled = simulate(design, writes, snapshots=len(writes))
    assert compiled.flash_pages.tolist() == flash
    assert compiled.erase_counts.tolist() == plain.erases


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
