"""Words and figures as they are written on every face: ranges, lives, chances, amounts, and the user's own texts."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from importlib.metadata import version
from typing import TYPE_CHECKING

from edgestore.units import H_PER_DAY, PERCENT_PER_ONE

if TYPE_CHECKING:
    import pandas as pd

VERSION = version("edgestore")
MADE_WITH = f"edgestore {VERSION}"
"""Stands in everything that is written, so that a number can be traced to the release that computed it."""

SHOWN = "\N{REPLACEMENT CHARACTER}"

_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069]")
"""Control characters but for line ends and tabs, halves of letters, and signs that turn the direction of the text."""

NO_BREAK = "\N{NO-BREAK SPACE}"


def grouped(figure: str) -> str:
    r"""Put no-break spaces between the thousands of a figure, so that no line ends inside it.

    Parameters
    ----------
    figure : str
        A figure as Python writes it.

    Returns
    -------
    str
        The same with groups of three digits before the point; digits after it stay together.

    Examples
    --------
    >>> [grouped(f).replace("\N{NO-BREAK SPACE}", "_") for f in ("999", "5746", "-1234567.8912", "1e+06")]
    ['999', '5_746', '-1_234_567.8912', '1e+06']
    """
    whole, point, rest = figure.partition(".")
    return re.sub(r"\B(?=(\d{3})+$)", NO_BREAK, whole) + point + rest


def number(value: float) -> str:
    r"""Write a figure with two to three significant digits, as a reader would say it.

    Examples
    --------
    >>> [number(v) for v in (0.0444, 1.9, 17.78, 302.4)]
    ['0.044', '1.9', '17.8', '302']
    >>> number(12345.0) == "12\N{NO-BREAK SPACE}345"
    True
    """
    if value >= 100:
        return grouped(f"{value:.0f}")
    return f"{value:.3g}" if value >= 10 else f"{value:.2g}"


def span(low: float, high: float) -> str:
    """Write a range, or one figure where both ends read alike.

    Examples
    --------
    >>> span(1.9, 4.3), span(5.0, 5.001)
    ('1.9 to 4.3', '5')
    """
    return number(low) if number(low) == number(high) else f"{number(low)} to {number(high)}"


BAND_TOLD = 0.05
"""A chance is told with its band where that reaches farther from it than this (our choice)."""

LONGEST_LIFE_YEARS = 10.0
"""A longer life is told as more than that: beyond it wear no longer decides (common practice, no source)."""


def life(low_years: float, high_years: float | None = None) -> str:
    """Write a life in years, or a range of it, as a reader may believe it: no figure above ``LONGEST_LIFE_YEARS``.

    Examples
    --------
    >>> life(3.24), life(4.1, 24.3), life(22.8), life(12, 2174)
    ('3.2', '4.1 to more than 10', 'more than 10', 'more than 10')
    """
    ends = (low_years, low_years if high_years is None else high_years)
    low, high = (number(end) if end <= LONGEST_LIFE_YEARS else f"more than {LONGEST_LIFE_YEARS:g}" for end in ends)
    return low if low == high else f"{low} to {high}"


def change_age(years: float) -> str:
    """Write the age at which a card is changed, to its quarter of a year: what is 6.75 is not told as 6.8.

    Examples
    --------
    >>> change_age(6.75), change_age(6.0), change_age(15.0)
    ('6.75', '6', 'more than 10')
    """
    return f"{years:.4g}" if years <= LONGEST_LIFE_YEARS else life(years)


def chance(fraction: float) -> str:
    r"""Write a chance in whole percent, never more than it is: what is below a limit is not told as reaching it.

    Examples
    --------
    >>> [chance(fraction).replace("\N{NO-BREAK SPACE}", "_") for fraction in (0.8996, 0.9)]
    ['89_%', '90_%']
    """
    return f"{whole_percent(fraction)}{NO_BREAK}%"


def risk(fraction: float) -> str:
    r"""Write a chance of harm in whole percent, never less than it is, as :func:`chance` writes that all goes well.

    Examples
    --------
    >>> [risk(fraction).replace("\N{NO-BREAK SPACE}", "_") for fraction in (0.1004, 0.1)]
    ['11_%', '10_%']
    """
    return f"{PERCENT_PER_ONE - whole_percent(1 - fraction):g}{NO_BREAK}%"


def chance_in_band(fraction: float, low: float, high: float, asked: float = 0.0) -> str:
    r"""Write a chance with the band in which it may be, where that reaches more than five points from it.

    It is written too where it tells that as much as is asked is reached by the chance, and not by all of its band.

    Examples
    --------
    >>> [chance_in_band(0.83, *ends).replace("\N{NO-BREAK SPACE}", "_") for ends in ((0.71, 0.9), (0.8, 0.85))]
    ['83_% (71 to 90_%)', '83_%']
    """
    return chance_with_band(fraction, low, high) if is_band_told(fraction, low, high, asked) else chance(fraction)


def is_band_told(fraction: float, low: float, high: float, asked: float = 0.0) -> bool:
    """Tell whether the band of a chance is worth telling: :func:`chance_in_band` says where it is."""
    is_wide = max(fraction - low, high - fraction) > BAND_TOLD + 1e-9
    return is_wide or low < asked - 1e-9 <= fraction


def chance_with_band(fraction: float, low: float, high: float) -> str:
    r"""Write a chance with the band in which it may be, whatever that is.

    Examples
    --------
    >>> chance_with_band(0.83, 0.8, 0.85).replace("\N{NO-BREAK SPACE}", "_")
    '83_% (80 to 85_%)'
    """
    return f"{chance(fraction)} ({whole_percent(low)} to {chance(high)})"


def whole_percent(fraction: float) -> int:
    """Percent of a chance as they are told, floored: :func:`chance` writes them."""
    return math.floor(PERCENT_PER_ONE * fraction + 1e-9)


def percent(fraction: float, decimals: int = 0) -> str:
    r"""Write a share in percent, rounded; chances are written by :func:`chance`.

    Examples
    --------
    >>> [percent(share, 1).replace("\N{NO-BREAK SPACE}", "_") for share in (0.0996, 0.5)]
    ['10.0_%', '50.0_%']
    """
    return f"{PERCENT_PER_ONE * fraction:.{decimals}f}{NO_BREAK}%"


def hold_span(low_h: float, high_h: float) -> str:
    """Write a range of hours in hours or days, whichever reads better.

    Examples
    --------
    >>> hold_span(17.8, 40), hold_span(72, 240)
    ('17.8 to 40 hours', '3 to 10 days')
    """
    if high_h < 2 * H_PER_DAY:
        return f"{span(low_h, high_h)} hours"
    return f"{span(low_h / H_PER_DAY, high_h / H_PER_DAY)} days"


ONE = ("1", "-1")
"""Figures that take a singular."""


def expected(count: float, thing: str) -> str:
    """Write a number in the mean, which is seldom whole.

    Examples
    --------
    >>> expected(0.97, "more visit"), expected(1.0004, "more visit")
    ('0.97 more visits', '1 more visit')
    """
    figure = number(count)
    return f"{figure} {thing}" if figure in ONE else f"{figure} {thing}s"


def counted(count: float, thing: str) -> str:
    """Write how many there are.

    Examples
    --------
    >>> counted(1, "card"), counted(2.5, "day")
    ('1 card', '2.5 days')
    """
    figure = grouped(f"{count:g}")
    return f"{figure} {thing}" if count == 1 else f"{figure} {thing}s"


def money(amount: float, currency: str) -> str:
    r"""Write an amount in whole units of a currency, of any name: beside a 1 a plural stands in brackets.

    Examples
    --------
    >>> money(12345.6, "credits") == "12\N{NO-BREAK SPACE}346 credits"
    True
    >>> money(1, "credits"), money(1, "EUR")
    ('1 (credits)', '1 EUR')
    """
    figure = whole(amount)
    return f"{figure} ({currency})" if figure in ONE and currency.endswith("s") else f"{figure} {currency}"


def whole(amount: float) -> str:
    r"""Write an amount in whole units, which a column or an axis names.

    Examples
    --------
    >>> whole(12345.6) == "12\N{NO-BREAK SPACE}346"
    True
    >>> whole(-0.3)
    '0'
    """
    figure = f"{amount:.0f}"
    return "0" if figure == "-0" else grouped(figure)


NEVER = "never"
"""The age of change of a card that is left until it fails."""

COLUMNS_TOLD: dict[str, Callable[[float], str]] = {
    "chance_fails": risk,
    "chance_uncovered": risk,
    "chance": chance,
    "assurance": chance,
    "confidence": chance,
    "life_years": life,
    "keep_years": life,
    "change_years": lambda years: NEVER if math.isinf(years) else change_age(years),
    "together_years": change_age,
    "cost": whole,
    "price": whole,
}
"""How a figure is written in a column whose name has this in it: the first that fits counts."""


def told(table: pd.DataFrame) -> pd.DataFrame:
    r"""Write chances, lives, ages of change and amounts of a table as everywhere else; a figure that misses is blank.

    Parameters
    ----------
    table : DataFrame
        A table; columns are told by their names (``COLUMNS_TOLD``).

    Returns
    -------
    DataFrame
        The same with these columns as text.

    Examples
    --------
    >>> import pandas as pd
    >>> table = pd.DataFrame({"chance_kept": [0.948], "life_years": [105.3], "change_years": [6.1], "mean_mbit_s": [4]})
    >>> told(table).loc[0].tolist() == ["94\N{NO-BREAK SPACE}%", "more than 10", "6.1", 4]
    True
    """
    shown = table.copy()
    for name in table.select_dtypes("number"):
        write = next((write for part, write in COLUMNS_TOLD.items() if part in str(name)), None)
        if write is not None:
            shown[name] = ["" if math.isnan(value) else write(value) for value in table[name]]
    return shown


def visible(text: str) -> str:
    r"""Show what would not be seen, or would mislead, as a replacement character.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The same without control characters (but for line ends and tabs), halves of letters, and signs that turn the
        direction of the text around them.

    Examples
    --------
    >>> visible("gate\x00 1")
    'gate� 1'
    """
    return _UNSEEN.sub(SHOWN, text)


def short(text: str, letters: int) -> str:
    """Cut a text to so many letters.

    Examples
    --------
    >>> short("mooring lines", 8)
    'mooring…'
    """
    return text if len(text) <= letters else f"{text[: letters - 1]}…"
