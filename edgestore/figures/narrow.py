"""Words of a figure fitted to a narrow picture: letters that stay readable, titles in lines, fewer ticks."""

from textwrap import fill

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.ticker import FixedFormatter, FixedLocator

from edgestore.figures.letters import POINTS_PER_INCH
from edgestore.look import PICTURE_PT

LEAST_PT = PICTURE_PT["small"]
"""Smallest letters: 11 px on a screen, where an inch of a figure is 100 px."""

SCALE = 0.8
"""Letters of a narrow picture over those of a wide one, where they stay above the smallest."""

LETTER_EM, DIGIT_EM = 0.54, 0.62
"""Width of a letter and of a digit over their size, about: lines are broken and ticks are left out by them."""


def narrow_pt(size_pt: float) -> float:
    """Give the size of letters in a narrow picture.

    Parameters
    ----------
    size_pt : float
        Their size in a wide one, points.

    Returns
    -------
    float
        Points.

    Examples
    --------
    >>> narrow_pt(11), narrow_pt(9)
    (8.8, 8.0)
    """
    return max(LEAST_PT, round(SCALE * size_pt, 1))


def shrink(figure: Figure) -> None:
    """Set all words of a figure in the letters of a narrow picture.

    Parameters
    ----------
    figure : Figure
        As it was drawn for a wide one.
    """
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        text.set_fontsize(narrow_pt(float(text.get_fontsize())))
    for axes in figure.axes:
        axes.tick_params(labelsize=LEAST_PT)


def wrap(figure: Figure) -> None:
    """Break titles and names of axes into lines for which there is room, and leave out ticks that would overlap.

    Parameters
    ----------
    figure : Figure
        As it was drawn; its axes are laid out first.
    """
    figure.draw_without_rendering()
    right = figure.bbox.width
    for axes in figure.axes:
        box = axes.get_window_extent()
        later = [other.x0 for other in (one.get_window_extent() for one in figure.axes) if other.x0 > box.x1]
        end = min([right, *later])
        _break(axes.xaxis.label, 2 * min((box.x0 + box.x1) / 2, end - (box.x0 + box.x1) / 2))
        _break(axes.yaxis.label, 1.1 * box.height)
        for text in axes.get_children():
            if isinstance(text, Text) and text.get_text() == axes.get_title("left") != "":
                _break(text, end - box.x0)
        _thin(axes)


def _px(size_pt: float, text: Text) -> float:
    figure = text.get_figure(root=True)
    assert figure is not None  # a text of a picture has one
    return size_pt * figure.dpi / POINTS_PER_INCH


def _break(text: Text, room_px: float) -> None:
    letters = max(8, int(room_px / (LETTER_EM * _px(float(text.get_fontsize()), text))))
    text.set_text("\n".join(fill(line, letters) for line in text.get_text().split("\n")))


def _thin(axes: Axes) -> None:
    """Leave out words below the axis that would touch those on their right."""
    locator, formatter = axes.xaxis.get_major_locator(), axes.xaxis.get_major_formatter()
    if not (isinstance(locator, FixedLocator) and isinstance(formatter, FixedFormatter)):
        return
    kept: dict[float, str] = {}
    letter_px = DIGIT_EM * _px(LEAST_PT, axes.xaxis.label)
    free_px = float("inf")
    for place, word in reversed([*zip(locator.tick_values(0, 0), formatter.seq, strict=False)]):
        middle, half = axes.transData.transform((place, 1))[0], letter_px * len(word) / 2
        if middle + half < free_px:
            kept[float(place)] = word
            free_px = middle - half - letter_px
    axes.xaxis.set_major_locator(FixedLocator(list(kept)))
    axes.xaxis.set_major_formatter(FixedFormatter(list(kept.values())))
