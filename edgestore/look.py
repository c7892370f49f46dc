"""The one visual language of all faces: colours, sizes, steps and the three states, as plain data.

Pages, pictures, documents, spreadsheets and the console take their values from here; no colour is written anywhere
else. Why these, and not others: ``docs/visual-language.md``.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

PREFIX = "edgestore"
"""What the names of the values begin with in a stylesheet: ``var(--edgestore-ink)``."""

LIGHT = {
    "ground": "#ffffff",
    "raised": "#f3f4f7",
    "band": "#dedcf0",
    "shade": "#e7e8ec",
    "line": "#d5d8de",
    "mid": "#868c98",
    "quiet": "#565c68",
    "ink": "#1c1f26",
    "accent": "#463d99",
    "assured": "#00565c",
    "doubtful": "#a15400",
    "not-served": "#5e0b28",
}
"""Colours on paper and on a light screen: grounds, lines, texts, the one accent, and the three states."""

DARK = {
    "ground": "#14161b",
    "raised": "#1e2128",
    "band": "#343056",
    "shade": "#23272f",
    "line": "#3a3f4a",
    "mid": "#868c98",
    "quiet": "#a9afba",
    "ink": "#e6e8ec",
    "accent": "#b3abff",
    "assured": "#56ccd2",
    "doubtful": "#ffe6b8",
    "not-served": "#e0688a",
}
"""The same on a dark screen."""

TEXTS = ("quiet", "ink", "accent", "assured", "doubtful", "not-served")
"""Colours in which words are set."""

GROUNDS = ("ground", "raised", "shade")
"""Colours on which words are set."""

LEAST_CONTRAST = 4.5
"""Contrast that every text has to every ground (WCAG 2.2, success criterion 1.4.3)."""

FLARE = 0.05
"""Light that a screen gives where it is black, as that definition of contrast counts it."""

PAGE_REM = {"small": 0.8125, "table": 0.875, "body": 1.0, "lead": 1.125, "section": 1.25, "title": 1.5, "answer": 1.375}
"""Sizes of letters on a page, over the size that the reader's browser is set to."""

PAPER_PT = {"small": 8.0, "table": 9.0, "body": 10.5, "lead": 12.0, "part": 11.0, "section": 14.0, "title": 19.0}
"""Sizes of letters in a document, points."""

PICTURE_PT = {"small": 8.0, "body": 9.0, "lead": 10.0, "title": 11.0}
"""Sizes of letters in a picture, points; an inch of it is 100 px on a page."""

STEP_REM = 0.25
STEPS = (1, 2, 3, 4, 6, 8)
"""Distances on a page are so many times ``STEP_REM``."""


@dataclass(frozen=True)
class State:
    """How a state is shown: its colour by name, its mark as a letter and in a picture, and its colour on a terminal.

    ``plain`` is the mark where the letters of a terminal do not have it; ``ansi`` the parameter of its colour, one
    of the eight that a terminal fits to its own ground (ECMA-48, SGR 30 to 37).
    """

    colour: str
    mark: str
    marker: str
    plain: str
    ansi: int


STATES = {
    "assured": State("assured", "●", "o", "o", 36),
    "doubtful": State("doubtful", "◆", "D", "?", 33),
    "not served": State("not-served", "×", "x", "x", 31),
}
"""The states of a camera by the word that all faces use."""

_COUNTED = re.compile(rf"\b\d[\d\s]* ({'|'.join(STATES)})\b")


def marked(text: str, show: Callable[[State, str], str]) -> str:
    """Show the states that a text counts, as in "12 assured, 2 not served".

    Parameters
    ----------
    text : str
        The text.
    show : callable
        Given the state, and the words with their number, what is to stand in their place.

    Returns
    -------
    str
        The text with it.

    Examples
    --------
    >>> marked("Of 14 cameras: 12 assured, 2 not served.", lambda state, words: f"{state.mark} {words}")
    'Of 14 cameras: ● 12 assured, × 2 not served.'
    """
    return _COUNTED.sub(lambda found: show(STATES[found[1]], found[0]), text)


def variables(prefix: str = PREFIX) -> str:
    """Values as variables of a stylesheet, for a light and for a dark screen; print is light.

    Parameters
    ----------
    prefix : str
        What the names begin with.

    Returns
    -------
    str
        CSS.
    """
    fixed = {
        "paper": LIGHT["ground"],
        **{f"size-{name}": f"{size:g}rem" for name, size in PAGE_REM.items()},
        **{f"step-{step}": f"{STEP_REM * step:g}rem" for step in STEPS},
        **{f"mark-{state.colour}": f'"{state.mark}"' for state in STATES.values()},
    }
    light, dark = _set({**fixed, **LIGHT}, prefix), _set(DARK, prefix)
    on_dark = f"@media screen and (prefers-color-scheme: dark) {{ :root {{ color-scheme: dark; {dark} }} }}"
    return f":root {{ color-scheme: light; {light} }}\n{on_dark}\n"


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21.

    Parameters
    ----------
    one, other : str
        Colours as ``#rrggbb``.

    Returns
    -------
    float
        Ratio of their luminances, the lighter over the darker.

    References
    ----------
    WCAG 2.2, definitions of contrast ratio and of relative luminance.

    Examples
    --------
    >>> round(contrast("#000000", "#ffffff"), 1), round(contrast("#767676", "#ffffff"), 2)
    (21.0, 4.54)
    """
    darker, lighter = sorted(map(_luminance, (one, other)))
    return (lighter + FLARE) / (darker + FLARE)


def least_contrast(colour: str) -> tuple[float, str]:
    """Give the least contrast of a text to the grounds of paper, and the ground.

    Parameters
    ----------
    colour : str
        A colour as ``#rrggbb``.

    Returns
    -------
    (float, str)
        Contrast, and name of the ground.

    Examples
    --------
    >>> least_contrast("#868c98")[0] < LEAST_CONTRAST < least_contrast(LIGHT["accent"])[0]
    True
    """
    return min((contrast(colour, LIGHT[name]), name) for name in GROUNDS)


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def lab_variables() -> str:
    """Values as variables of a stylesheet for JupyterLab, by its theme.

    Returns
    -------
    str
        CSS.
    """
    marks = {f"mark-{state.colour}": f'"{state.mark}"' for state in STATES.values()}
    light, dark = _set({**marks, **LIGHT}, PREFIX), _set(DARK, PREFIX)
    panel = ".jp-NotebookPanel .edgestore-panel"
    return f'{panel} {{ {light} }}\n[data-jp-theme-light="false"] {panel} {{ {dark} }}\n'


def filled(css: str, colours: Mapping[str, str] = LIGHT) -> str:
    """Put the values into a document's stylesheet: ``var(--edgestore-ink)`` becomes the colour on paper.

    Parameters
    ----------
    css : str
        A stylesheet; sizes in it are those on paper.
    colours : mapping of str to str
        Colours by name, those of ``LIGHT`` or of a house that has its own.

    Returns
    -------
    str
        The same with values.

    Raises
    ------
    KeyError
        When it names a value that there is not.

    Examples
    --------
    >>> filled("h1 { font-size: var(--edgestore-size-title); }")
    'h1 { font-size: 19pt; }'
    """
    values = {
        **colours,
        **{f"size-{name}": f"{size:g}pt" for name, size in PAPER_PT.items()},
        **{f"mark-{state.colour}": f'"{state.mark}"' for state in STATES.values()},
    }
    return re.sub(rf"var\(--{PREFIX}-([\w-]+)\)", lambda found: values[found[1]], css)


def _set(values: Mapping[str, str], prefix: str) -> str:
    return " ".join(f"--{prefix}-{name}: {value};" for name, value in values.items())
