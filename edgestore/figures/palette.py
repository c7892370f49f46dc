"""The colours of every picture that is sent: a fixed list takes a quarter of the time of choosing them anew."""

from functools import cache
from itertools import product

import numpy as np
from matplotlib.colors import to_rgb
from PIL import Image

from edgestore.figures import style

RAMPS = (
    ("black", style.INK, 4),
    (style.INK, "white", 32),
    (style.ACCENT, "white", 24),
    (style.SECOND, "white", 24),
    (style.ASSURED, "white", 24),
    (style.NOT_SERVED, "white", 12),
    (style.INK, style.BAND, 12),
    (style.ACCENT, style.BAND, 16),
    (style.SECOND, style.BAND, 8),
)
"""From ink to paper: an edge that is smoothed takes one of these, each with its number of steps."""

SHADES = 36
"""Steps of the one colour map that figures use."""

PALEST = 0.1
"""Where the steps begin: what is nearer to white would be taken for it."""

CUBE = (0, 85, 170, 255)
"""Levels of each channel for whatever else there is."""


def sent(picture: Image.Image) -> Image.Image:
    """Give an RGB picture in colours of the palette, each the nearest."""
    return picture.quantize(palette=_palette(), dither=Image.Dither.NONE)


@cache
def _palette() -> Image.Image:
    inks = [np.linspace(to_rgb(ink), to_rgb(paper), steps) for ink, paper, steps in RAMPS]
    shades = style.SHADES(np.linspace(PALEST, 1, SHADES))[:, :3]
    levels = np.rint(255 * np.concatenate([*inks, shades])).astype(int)
    palette = Image.new("P", (1, 1))
    palette.putpalette([int(level) for level in np.concatenate([levels, list(product(CUBE, repeat=3))]).ravel()])
    return palette
