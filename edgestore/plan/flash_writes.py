"""What the flash of a card takes in a year under a camera, as far as rate, update interval and mapping are known.

Of a card that states no write amplification it follows from the camera: from its rate, from the time between two
updates of its file tables, and from how the card maps. None of the three is known well, and all are taken together: a
quiet camera hardly writes less to the flash than a busy one where the card rewrites a unit for each update.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.sparse import csr_array
from scipy.special import ndtri

from edgestore.answers.certainty import mapped_write_amplification
from edgestore.inputs.beliefs import Beliefs
from edgestore.models.wear.endurance import writes_tb_year
from edgestore.plan.card_life import CardKind
from edgestore.plan.promise import CELLS, OF_WRITTEN, RateLaw, alike

Array = npt.NDArray[np.float64]

PLACES = {"page": 2, "unit with log": 1, "unit": 2}
"""Update intervals tried with each way to map in one cell of the rate. They are others in each cell, so that over all
cells 64, 32 and 64 of them count: no chance told is off by more than 0.01."""

GOLDEN = (np.sqrt(5) - 1) / 2
"""Its multiples, less their whole parts, are spread evenly however many are taken."""

STEP = 0.05
"""Step of the grid of flash writes, in their logarithm: a chance between two nodes is off by 0.002 at most."""

UNKNOWN = -1.0
"""Stands for the highest write amplification of a class of cards of which none is known."""


@dataclass(frozen=True)
class FlashWrites:
    """TB that the flash of a card takes in a year, in each cell of the mean rate: spread over nodes of its logarithm.

    Attributes
    ----------
    nodes_tb_year : ndarray, shape (nodes,)
        Flash writes at the nodes, evenly spaced in their logarithm, and the same for every site.
    classes : ndarray, shape (classes, 2)
        Ends of the write amplification of each class of card; the higher is ``UNKNOWN`` where the camera decides it.
    first : ndarray of int, shape (classes, cameras, CELLS, values)
        Number of the node below each possible value.
    above : ndarray, same shape
        Part of its chance that the node above it gets.
    part : ndarray, shape (classes, values)
        Chance of each of the values, 1 in all.
    of_card : ndarray of int, shape (cards,)
        Class of each card: those of one class write alike under one camera.
    """

    nodes_tb_year: Array
    classes: Array
    first: npt.NDArray[np.intp]
    above: Array
    part: Array
    of_card: npt.NDArray[np.intp]

    @classmethod
    def of(
        cls,
        ends: Sequence[Array],
        cells_mbit_s: Array,
        recorded: Array,
        interval_s: Array,
        interval_sigma: Array,
        shares: Mapping[str, float],
    ) -> "FlashWrites":
        """Spread the writes of cards under cameras of given rates, of shape (cameras, CELLS).

        ``ends`` are those of the write amplification, of :func:`edgestore.plan.rates.card_flash`; the fraction of the
        time recorded, and the interval of updates in seconds with the standard deviation of its logarithm, are of shape
        (cameras,); ``shares`` is the chance of each way to map.
        """
        classes, of_card = np.unique(np.nan_to_num(np.transpose(ends), nan=UNKNOWN), axis=0, return_inverse=True)
        host = np.log(writes_tb_year(cells_mbit_s, recorded[:, None]))[..., None]
        values = sum(PLACES.values())
        at, part = [], np.full((len(classes), values), 1 / values)
        for number, (least, most) in enumerate(classes):
            if most == UNKNOWN:
                unknown = _of_unknown_card(cells_mbit_s, interval_s[:, None, None], interval_sigma[:, None, None])
                at.append((host + np.log(unknown)) / STEP)
                part[number] = np.concatenate([np.full(n, shares[mapping] / n) for mapping, n in PLACES.items()])
            else:
                at.append((host + np.log(least + (most - least) * _places(values))) / STEP)
        node = np.array(at)
        below = np.floor(node)
        lowest, highest = int(below.min()), int(below.max()) + 1
        nodes = np.exp(STEP * np.arange(lowest, highest + 1))
        return cls(nodes, classes, (below - lowest).astype(np.intp), node - below, part, of_card.ravel())

    @cached_property
    def spans(self) -> tuple[slice, ...]:
        """The nodes between which all writes of each class of card are."""
        return tuple(slice(int(first.min()), int(first.max()) + 2) for first in self.first)

    @cached_property
    def means(self) -> Array:
        """Chance of each node over all cells, (classes, cameras, nodes)."""
        every = slice(None)
        return np.array([self._chances(number, every, CELLS).toarray() / CELLS for number in range(len(self.classes))])

    def weights(self, rows: slice) -> Array:
        """Chance of each node in each cell, of some cameras: (classes, cameras, CELLS, nodes), a row adds to 1."""
        flat = np.array([self.by_cell(number, rows).toarray() for number in range(len(self.classes))])
        return flat.reshape(len(flat), -1, CELLS, flat.shape[2])

    def mean_in_pairs(self, rows: slice, values: Array) -> Array:
        """Mean in each cell of what has a value at each node, where each camera has a card of its own, in its order.

        ``values`` are of shape (cameras, nodes), the means of shape (cameras, CELLS).
        """
        of_card, cards = self.of_card[rows], np.arange(len(self.of_card))[rows]
        first, above = self.first[of_card, cards], self.above[of_card, cards]
        part, row = self.part[of_card][:, None], np.arange(len(of_card))[:, None, None]
        return np.asarray((((1 - above) * values[row, first] + above * values[row, first + 1]) * part).sum(axis=2))

    def by_cell(self, number: int, rows: slice | npt.NDArray[np.intp]) -> csr_array:
        """The same of one class of card; most are 0, and are left out: (cameras times CELLS, nodes)."""
        return self._chances(number, rows, 1)

    def _chances(self, number: int, rows: slice | npt.NDArray[np.intp], cells: int) -> csr_array:
        """Chances of the nodes in so many cells together, a row for each."""
        first, part = self.first[number, rows], self.part[number]
        above = self.above[number, rows] * part
        nodes, chances = np.stack([first, first + 1], axis=-1), np.stack([part - above, above], axis=-1)
        ends = np.arange(0, nodes.size + 1, 2 * part.size * cells)
        return csr_array((chances.ravel(), nodes.ravel(), ends), (len(ends) - 1, len(self.nodes_tb_year)))


def working(
    writes: FlashWrites, of_card: npt.NDArray[np.intp], wear_life_years: Array, years: Array, kinds: Sequence[CardKind]
) -> Array:
    """Chance that a card works at an age, over all that is not known of its kind.

    Parameters
    ----------
    writes : FlashWrites
        What the flash may take in a year.
    of_card : ndarray of int, shape (cards,)
        Class of each card.
    wear_life_years : ndarray, shape (cards, nodes)
        Years until the stated endurance is written.
    years : ndarray, shape (ages,)
        Ages, years, 0 or more.
    kinds : sequence of CardKind
        The kind of each card.

    Returns
    -------
    ndarray, shape (cards, nodes, ages)
        Chances, 0 to 1; 0 at nodes that no card of its class comes to.
    """
    chance = np.zeros((*wear_life_years.shape, len(years)))
    for kind, cards in alike(kinds):
        for number in set(of_card[cards].tolist()):
            some, span = cards[of_card[cards] == number], writes.spans[number]
            chance[some, span] = kind.survival(wear_life_years[some, span], years)
    return chance


def by_class(writes: FlashWrites, values: Array) -> list[Array]:
    """Values of shape (cards, nodes, ages) of each class of card, where its nodes are: (nodes, cards, ages) each."""
    of_class = (np.flatnonzero(writes.of_card == number) for number in range(len(writes.classes)))
    return [
        np.ascontiguousarray(values[:, span].transpose(1, 0, 2)[:, cards])
        for cards, span in zip(of_class, writes.spans, strict=True)
    ]


def over_nodes(writes: FlashWrites, rows: slice, values: Sequence[Array]) -> Array:
    """Mean of values, of :func:`by_class`, over what the flash of cards may take; shape (cameras, cards, ages)."""
    means, ages = writes.means[:, rows], values[0].shape[2]
    mean = np.empty((means.shape[1], len(writes.of_card), ages))
    for number, (span, columns) in enumerate(zip(writes.spans, values, strict=True)):
        of_class = means[number, :, span] @ columns.reshape(len(columns), -1)
        mean[:, writes.of_card == number] = of_class.reshape(len(mean), -1, ages)
    return mean


def laws_of(rates: pd.DataFrame, ends: Sequence[Array], beliefs: Beliefs) -> tuple[RateLaw, FlashWrites]:
    """What is known of the mean rate of each camera, and of what the flash of cards takes under it in a year."""
    names = ("recorded_fraction", "update_interval_s", "update_interval_sigma")
    recorded, interval, of_interval = (rates[name].to_numpy(float) for name in names)
    law = RateLaw.of(*rates[OF_WRITTEN].to_numpy(float).T)
    flash = FlashWrites.of(ends, law.cells_mbit_s, recorded, interval, of_interval, beliefs.mapping_shares)
    return law, flash


def _of_unknown_card(cells_mbit_s: Array, interval_s: Array, sigma: Array) -> Array:
    """Values of a write amplification that is not known, by the ways to map; (cameras, CELLS, values)."""
    rate = cells_mbit_s[..., None]
    return np.concatenate(
        [
            mapped_write_amplification(way, rate, interval_s * np.exp(sigma * ndtri(_places(n))))
            for way, n in PLACES.items()
        ],
        axis=2,
    )


def _places(count: int) -> Array:
    """So many places between 0 and 1 in each cell of the rate, evenly spread there and over all cells."""
    of_pair = (np.arange(CELLS // 2) + 0.5) * GOLDEN % 1
    shift = np.stack(
        [of_pair, 1 - of_pair], axis=1
    ).ravel()  # two neighbours lie about the middle, so that a mean holds
    return np.asarray((shift[:, None] + np.arange(count)) / count)
