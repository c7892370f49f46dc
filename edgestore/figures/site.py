"""Picture of the cards of a site: the chance of every card in every camera, and the card chosen for each."""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.ticker import FixedFormatter, FixedLocator, NullLocator

from edgestore.figures import style
from edgestore.figures.label import Label
from edgestore.figures.moving import MovingFigure
from edgestore.look import STATES, marked
from edgestore.plan.assurance_curve import SiteChoice
from edgestore.text import chance, counted, grouped, money, short

MOST_ROWS = 40

NAME, CARD = 24, 20
"""Letters of the name of a camera and of a card."""

ROW_INCH, AROUND_INCH = 0.36, 1.75
"""Height of a row, and of all above and below the rows."""

NAME_UP, MARK_DOWN = 0.24, 0.24
"""How far the words of a row stand above its middle and its marks below, in rows."""

TOP, HEAD = -1.9, -0.75
"""Upper end of the axis, in rows, and the place of the heads of both columns."""

MARK_PT, RING_PT = 10.0, 15.0
"""Largest diameter of a mark, and that of the ring about the chosen one over it, points."""

DIAMOND = 0.64
"""Area of the diamond about a doubtful camera's best card over that of a ring: its points touch no words.

Its half diagonal is 12 points x sqrt(0.5) = 8.5; from the middle of a mark to the words are 0.48 rows of 26 points,
less half the height of a letter, 4."""

KEY = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Chances shown in the key."""

LEAST_LABELS_APART = 0.1
"""Labels of capacities that are nearer than this share of the axis are left out."""


class SiteFigure(MovingFigure[SiteChoice]):
    """One row a camera: each card of the list by its capacity, the darker the likelier it keeps all that is asked.

    The card chosen is ringed and named with what it costs. Where no card is assured, the best one has a diamond about
    it if it is worth one, and is named with its chance.
    """

    width_inch = 4.2

    def frame(self, result: SiteChoice) -> object:
        cards = result.chances.site.offered
        names = (tuple(table.tolist()) for table in (result.chances.site.cameras["camera"], cards["card"]))
        return *names, tuple(result.chances.capacity_gb.tolist()), tuple(cards["price"].tolist()), result.chances.unit

    def seldom(self, result: SiteChoice) -> object:
        return result.chances.made.kept[:MOST_ROWS].tobytes()

    def draw(self, figure: Figure, result: SiteChoice) -> tuple[Sequence[Artist], Sequence[Artist]]:
        site = result.chances.site
        names, capacity = site.cameras["camera"][:MOST_ROWS], result.chances.capacity_gb
        self._cards = [short(card, CARD) for card in site.offered["card"]]
        self._prices = site.offered["price"].tolist()
        rows = len(names)
        figure.set_size_inches(self.width_inch, AROUND_INCH + ROW_INCH * rows)
        axes = figure.add_subplot()
        self._at, apart = _places(capacity)
        low, high = self._at.min() - 0.5, self._at.max() + 0.5
        axes.set_xlim(low, high)
        axes.set_ylim(rows - 0.3, TOP)
        axes.set_yticks([])
        labels = _labels(np.unique(capacity), LEAST_LABELS_APART * (high - low))
        axes.xaxis.set_major_locator(FixedLocator(np.log2(labels).tolist()))
        axes.xaxis.set_major_formatter(FixedFormatter([f"{gb:g}" for gb in labels]))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.vlines(np.log2(labels), -0.5, rows - 0.3, color=style.LINE, linewidth=0.8, zorder=0)
        axes.set_axisbelow(True)
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
        axes.set_xlabel(
            "Capacity printed on the card, GB. Side by side: cards of one capacity", fontsize=style.SMALL_PT
        )
        axes.tick_params(labelsize=style.BODY_PT)
        for row, name in enumerate(names):
            axes.axhline(row - 0.5, color=style.LINE, linewidth=0.8)
            axes.text(low, row - NAME_UP, short(name, NAME), fontsize=style.BODY_PT, va="center", color=style.INK)
        more = "" if rows == len(site.cameras) else f" ({rows} of {len(site.cameras)})"
        axes.text(low, HEAD, f"Camera{more}", fontsize=style.SMALL_PT, va="center", color=style.QUIET)
        _key(figure, columns=4 if self.is_narrow else len(KEY))

        inch = figure.get_size_inches()[0] * 0.9 / (high - low)  # of one doubling of the capacity, about
        size = min(MARK_PT, 72 * inch * apart)
        x, y = np.tile(self._at, rows), np.repeat(np.arange(rows) + MARK_DOWN, len(capacity))
        fill = result.chances.made.kept[:MOST_ROWS].ravel()
        self._marks = axes.scatter(
            x, y, s=size**2, c=fill, cmap="gray_r", vmin=0, vmax=1, linewidths=0.8, edgecolors=style.INK
        )
        ring = (size + RING_PT - MARK_PT) ** 2
        self._rings = axes.scatter([], [], s=ring, facecolors="none", edgecolors=style.ASSURED, linewidths=2.4)
        self._best = axes.scatter(
            [],
            [],
            s=DIAMOND * ring,
            marker=STATES["doubtful"].marker,
            facecolors="none",
            edgecolors=style.DOUBTFUL,
            linewidths=1.8,
        )
        self._words = [Label(axes, self.pt(style.BODY_PT), style.INK) for _ in range(rows)]
        self._title = Label(axes, self.pt(style.LEAD_PT), style.INK)
        self._head = Label(axes, self.pt(style.SMALL_PT), style.QUIET)
        self._title_at = low, TOP + 0.4
        self._right = high
        return [self._marks], [self._rings, self._best, *self._words, self._title, self._head]

    def move(self, result: SiteChoice) -> None:
        kept = result.chances.made.kept[:MOST_ROWS]
        rows, chosen = np.arange(len(kept)), result.chosen[:MOST_ROWS]
        state = result.state[:MOST_ROWS]
        self._marks.set_array(kept.ravel())
        self._rings.set_offsets(_points(self._at, chosen, chosen >= 0))
        self._best.set_offsets(_points(self._at, kept.argmax(axis=1), state == "doubtful"))
        for row in rows:
            self._words[row].place(self._told(result, int(row)), self._right, row - NAME_UP, align="right")
            self._words[row].set_facecolor(style.INK if chosen[row] >= 0 else style.of_state(state[row]))
        self._title.place(marked(result.counts, lambda one, words: f"{one.mark} {words}"), *self._title_at)
        self._head.place(f"Card{_amount_title(result)}", self._right, HEAD, align="right")

    def _told(self, result: SiteChoice, row: int) -> str:
        """Name a camera's card and its price, or say in a few words why it has none."""
        if (card := result.chosen[row]) >= 0:
            amount = result.cost[row] if result.chances.unit else self._prices[card]
            return str(self._cards[card]) + (f"   {grouped(f'{amount:.0f}')}" if amount == amount else "")
        if result.alone[row] >= 0:
            return "not by the kinds chosen"
        if result.state[row] == "doubtful":
            kept = result.chances.made.kept[row]
            return f"{STATES['doubtful'].mark} doubtful: {chance(kept.max())} with {self._cards[kept.argmax()]}"
        return f"{STATES['not served'].mark} not served by any card of the list"

    def alt_text(self) -> str:
        result = self.result
        return (
            f"Chance of every card in each of {counted(len(result.state), 'camera')} by capacity, the card chosen"
            f" ringed: {result.counts}."
        )


def _places(capacity: npt.NDArray[np.float64]) -> tuple[npt.NDArray[np.float64], float]:
    """Place of each card on the axis, the logarithm of its capacity, those of one size side by side; how far apart."""
    sizes, which, count = np.unique(capacity, return_inverse=True, return_counts=True)
    gap = np.diff(np.log2(sizes)).min() if len(sizes) > 1 else 1.0
    apart = min(gap, 0.5) / count.max()
    beside = np.zeros(len(capacity))
    for size in range(len(sizes)):
        of_size = np.flatnonzero(which == size)
        beside[of_size] = np.arange(len(of_size)) - (len(of_size) - 1) / 2
    return np.log2(capacity) + apart * beside, apart


def _labels(capacity: npt.NDArray[np.float64], apart: float) -> list[float]:
    """Capacities that get a label, none nearer to the previous one than so much of the logarithm."""
    shown = [capacity[0]]
    for size in capacity[1:]:
        if np.log2(size / shown[-1]) >= apart:
            shown.append(size)
    return shown


def _points(at: npt.NDArray[np.float64], card: npt.NDArray[np.intp], which: npt.NDArray[np.bool_]) -> np.ndarray:
    """Places of a card of each of some cameras."""
    rows = np.flatnonzero(which)
    return np.column_stack([at[card[rows]], rows + MARK_DOWN])


def _amount_title(result: SiteChoice) -> str:
    """Say what the figures at the ends of the rows are, and what they come to."""
    if result.chances.unit:
        return f", and cost; all: {money(result.amount, result.chances.unit)}"
    return ", and its price" if result.chances.site.offered["price"].notna().any() else ""


def _key(figure: Figure, columns: int) -> None:
    """Show what the fillings and the signs about a mark mean, below the axes."""
    marks = [
        figure.axes[0].scatter([], [], s=64, facecolors=str(1 - kept), edgecolors=style.INK, linewidths=0.8)
        for kept in KEY
    ]
    signs = [
        figure.axes[0].scatter([], [], s=110, marker=marker, facecolors="none", edgecolors=colour, linewidths=2)
        for marker, colour in ((STATES["assured"].marker, style.ASSURED), (STATES["doubtful"].marker, style.DOUBTFUL))
    ]
    words = [*(chance(kept) for kept in KEY), "chosen", "best, doubtful"]
    figure.legend(
        [*marks, *signs],
        words,
        loc="outside lower left",
        ncols=columns,
        fontsize=style.SMALL_PT,
        frameon=False,
        title="Filling: chance that the card keeps all that is asked",
        title_fontsize=style.SMALL_PT,
        handletextpad=0.2,
        columnspacing=1.0,
        alignment="left",
    )
