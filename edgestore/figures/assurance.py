"""Picture of what assurance costs: the whole site's cost against the chance asked, with the cameras assured."""

from collections.abc import Sequence

from matplotlib.artist import Artist
from matplotlib.figure import Figure

from edgestore.figures import style
from edgestore.figures.moving import MovingFigure
from edgestore.plan.assurance_curve import AssuranceCurve
from edgestore.text import chance
from edgestore.units import PERCENT_PER_ONE


class AssuranceFigure(MovingFigure[AssuranceCurve]):
    """A point for each assurance; the count of cameras assured stands beside it where it changes."""

    height_inch = 3.6

    def frame(self, result: AssuranceCurve) -> object:
        return result.table.to_csv(), result.unit, result.asked

    def draw(self, figure: Figure, result: AssuranceCurve) -> tuple[Sequence[Artist], Sequence[Artist]]:
        axes = figure.add_subplot()
        style.plain(axes)
        table = result.table
        measure, unit = ("cost", result.unit) if result.unit else ("capacity_gb", "GB")
        percent, amount = PERCENT_PER_ONE * table["assurance"], table[measure]
        axes.set_xlabel("Assurance, %: the chance asked that a card keeps all that is asked of it")
        axes.set_ylabel(f"{'Cost' if result.unit else 'Capacity of all cards'}, {unit}")
        axes.plot(percent, amount, "-o", color=style.BLUE, linewidth=1.4, markersize=6)
        before = None
        for at, much, count in zip(percent, amount, table["assured"], strict=True):
            if count != before:
                words = f"{count} of {result.cameras} assured" if before is None else f"{count}"
                axes.annotate(words, (at, much), (0, 9), textcoords="offset points", ha="left", fontsize=9)
            before = count
        axes.set_ylim(0, max(1.2 * amount.max(), 1.0))
        if result.asked is not None:
            axes.axvline(PERCENT_PER_ONE * result.asked, color=style.VERMILION, linestyle=(0, (5, 2)), linewidth=1.2)
            axes.annotate(
                f"asked: {chance(result.asked)}",
                (PERCENT_PER_ONE * result.asked, 0),
                (-6, 6),
                textcoords="offset points",
                ha="right",
                color=style.VERMILION,
                fontsize=9,
            )
        axes.set_title("What more assurance costs; the counts are the cameras assured", loc="left", fontsize=11)
        return [], []

    def move(self, result: AssuranceCurve) -> None:
        """Nothing moves: another curve is another frame."""

    def alt_text(self) -> str:
        return f"Cost of the site against the assurance asked. {self.result.sentence}"
