"""A small calculator for the exercises: numbers, + - × ÷ and parentheses, as they are typed on any keyboard."""

import re
from collections.abc import Callable
from fractions import Fraction
from operator import add, mul, sub, truediv

from edgestore.checks import refuse

LONGEST = 100
"""Signs of a sum: enough for any exercise, and never too deep or too large to work out."""

DIGITS = 10
"""Digits of a result."""

WORKS: dict[str, Callable[[Fraction, Fraction], Fraction]] = {"+": add, "-": sub, "*": mul, "/": truediv}

_SAME = str.maketrans({"×": "*", "x": "*", "X": "*", "÷": "/", ":": "/", ",": ".", "\N{MINUS SIGN}": "-"})
_NUMBER = re.compile(r"\d*\.?\d+", re.ASCII)


def worked_out(typed: str) -> str:
    """What a sum gives.

    Parameters
    ----------
    typed : str
        Such as ``64 ÷ (4 × 0.45)``; a comma is a decimal mark, ``*``, ``x``, ``/`` and ``:`` will do.

    Returns
    -------
    str
        The result, of ten digits at most.

    Raises
    ------
    InputError
        When it cannot be worked out.

    Examples
    --------
    >>> worked_out("64 ÷ (4 × 0,45)")
    '35.55555556'
    """
    if len(typed) > LONGEST:
        raise refuse("sum", f"{len(typed)} signs", f"at most {LONGEST}", "Work it out in parts.")
    parts = re.findall(r"\d*\.?\d+|\S", typed.translate(_SAME), re.ASCII)
    try:
        value = _sum(parts)
        if parts:
            raise ValueError
    except (ValueError, IndexError):
        raise refuse("sum", repr(typed), "numbers with + - × ÷ and parentheses", "Type it again.") from None
    except ZeroDivisionError:
        raise refuse("sum", "a division by 0", "a division by another number", "Type it again.") from None
    return f"{float(value):.{DIGITS}g}"


def _sum(parts: list[str]) -> Fraction:
    return _chain(parts, ("+", "-"), lambda: _chain(parts, ("*", "/"), lambda: _atom(parts)))


def _atom(parts: list[str]) -> Fraction:
    part = parts.pop(0)
    if part == "-":
        return -_atom(parts)
    if part == "(":
        inner = _sum(parts)
        if parts.pop(0) != ")":
            raise ValueError
        return inner
    if not _NUMBER.fullmatch(part):
        raise ValueError
    return Fraction(part)


def _chain(parts: list[str], signs: tuple[str, str], operand: Callable[[], Fraction]) -> Fraction:
    """Work a row of sums, or of products, from the left."""
    value = operand()
    while parts and parts[0] in signs:
        sign, other = parts.pop(0), operand()
        value = WORKS[sign](value, other)
    return value
