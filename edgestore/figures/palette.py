"""The colours of every picture that is sent: a fixed list takes a quarter of the time of choosing them anew.

It makes the picture of a dark screen too, at no cost: the same dots with the colours that have the same names there.
"""

from collections.abc import Mapping
from functools import cache
from itertools import product

import numpy as np
import numpy.typing as npt
from matplotlib.colors import LinearSegmentedColormap, to_rgb
from PIL import Image

from edgestore.figures import style
from edgestore.look import DARK, LIGHT

RAMPS = (
    ("beyond ink", "ink", 4),
    ("ink", "ground", 32),
    ("accent", "ground", 24),
    ("doubtful", "ground", 24),
    ("assured", "ground", 24),
    ("not-served", "ground", 12),
    ("ink", "band", 12),
    ("accent", "band", 16),
    ("doubtful", "band", 8),
)
"""From ink to ground, by the names of the look: an edge that is smoothed takes one of these, each with its steps."""

SHADES = 36
"""Steps of the one colour map that figures use."""

PALEST = 0.1
"""Where the steps begin: what is nearer to the ground would be taken for it."""

CUBE = (0, 85, 170, 255)
"""Levels of each channel for whatever else there is."""


def sent(picture: Image.Image, *, is_dark: bool = False) -> Image.Image:
    """Give an RGB picture in colours of the palette, each the nearest.

    Parameters
    ----------
    picture : Image
        As it is drawn, in the colours of paper.
    is_dark : bool
        Whether it is for a dark screen: each colour is then the one of its name there, and grey where it has no name.

    Returns
    -------
    Image
        The picture with its palette.
    """
    placed = picture.quantize(palette=_palette(), dither=Image.Dither.NONE)
    if is_dark:
        placed.putpalette(_on_dark())
    return placed


@cache
def _palette() -> Image.Image:
    palette = Image.new("P", (1, 1))
    palette.putpalette(_levels({**LIGHT, "beyond ink": "black"}, list(product(CUBE, repeat=3))))
    return palette


@cache
def _on_dark() -> list[int]:
    ink, ground = (np.array(to_rgb(DARK[name])) for name in ("ink", "ground"))
    paleness = np.array(list(product(CUBE, repeat=3))).mean(axis=1, keepdims=True) / max(CUBE)
    return _levels({**DARK, "beyond ink": "white"}, 255 * (paleness * ground + (1 - paleness) * ink))


def _levels(colours: Mapping[str, str], others: npt.ArrayLike) -> list[int]:
    inks = [np.linspace(to_rgb(colours[ink]), to_rgb(colours[paper]), steps) for ink, paper, steps in RAMPS]
    shaded = LinearSegmentedColormap.from_list("shades", [colours[name] for name in style.SHADED])
    shades = shaded(np.linspace(PALEST, 1, SHADES))[:, :3]
    levels = [255 * np.concatenate([*inks, shades]), np.asarray(others, float)]
    return [int(level) for level in np.rint(np.concatenate(levels)).ravel()]
