"""Marking: what a learner typed is right, a mistake that is known, wrong, or cannot be read."""

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal

from edgestore.training.exercises.questions import LETTERS, Case, Exercise, Sum

RIGHT, MISTAKE, WRONG, UNREAD = "right", "mistake", "wrong", "unread"

MAX_TYPED = 60
"""Signs of an answer that are looked at."""

UNITS = {
    "hours": ("h", "hr", "hrs", "hour", "hours"),
    "days": ("d", "day", "days"),
    "years": ("y", "yr", "yrs", "a", "year", "years"),
    "GB": ("gb", "gbyte", "gbytes", "gigabyte", "gigabytes"),
    "GiB": ("gib", "gibibyte", "gibibytes"),
    "TB": ("tb", "tbyte", "tbytes", "terabyte", "terabytes"),
    "TiB": ("tib", "tebibyte", "tebibytes"),
    "Mbit/s": ("mbit/s", "mbits/s", "mbps", "mbit", "mbits"),
    "Mbyte/s": ("mbyte/s", "mbytes/s", "mbyte", "mbytes"),
    "%": ("%", "percent", "per cent"),
}
"""How each unit may be typed, in small letters."""

BY_CAPITAL = {
    "MB/s": "Mbyte/s",
    "MBps": "Mbyte/s",
    "Mb/s": "Mbit/s",
    "MB": "Mbyte/s",
    "Mb": "Mbit/s",
    "Gb": "Gbit",
    "Tb": "Tbit",
    "Gib": "Gibit",
}
"""What is told apart by its capital alone: B is bytes, b is bits."""

NUMBER = re.compile(r"(?:[=≈~]|about|ca\.?)?\s*([+-]?)(\d[\d.,' ]*|[.,]\d+)\s*(.*)", re.DOTALL)


@dataclass(frozen=True)
class Marked:
    """What became of an answer: one of the four words, and what the learner is told."""

    verdict: str
    text: str
    did: str = ""
    """What learners did who made this mistake, where it is a known one: for a count of a class."""


def mark(exercise: Exercise, typed: str, hints_shown: int = 0) -> Marked:
    """Mark an answer as it was typed.

    Parameters
    ----------
    exercise : Sum or Case
        The exercise.
    typed : str
        A number with decimal point or comma, its unit along with it or not; or a letter.
    hints_shown : int
        How many hints were seen before; a wrong answer gets the next one.

    Returns
    -------
    Marked
        ``right``; ``mistake`` with what led to it; ``wrong`` with a hint; or ``unread``, which counts for nothing.

    Examples
    --------
    >>> from edgestore.training.exercises.questions import Slip, Sum
    >>> sum_ = Sum("?", "hours", 1, 17.78, ("",), ("Divide.",), (Slip(2.2, "Factor 8.", "took bits for bytes"),))
    >>> [mark(sum_, typed).verdict for typed in ("17,8 h", "2.2", "5", "many")]
    ['right', 'mistake', 'wrong', 'unread']
    """
    cleaned = unicodedata.normalize("NFKC", typed).replace("\N{MINUS SIGN}", "-").strip()
    if not cleaned:
        return Marked(UNREAD, "Write your answer in the box first.")
    if len(cleaned) > MAX_TYPED:
        return Marked(UNREAD, "That is too long for an answer. Write the result alone.")
    hint = exercise.hints[min(hints_shown, len(exercise.hints) - 1)]
    return _case(exercise, cleaned, hint) if isinstance(exercise, Case) else _sum(exercise, cleaned, hint)


def _case(case: Case, typed: str, hint: str) -> Marked:
    letters = LETTERS[: len(case.options)]
    found = re.fullmatch(rf"(?:card|line|answer)?\W*([{letters}])\W*", typed, re.IGNORECASE)
    if not found:
        return Marked(UNREAD, f"Write one letter, {letters[0]} to {letters[-1]}.")
    letter = found[1].upper()
    if letter == case.answer:
        return Marked(RIGHT, f"Right. {case.whys[case.right]}")
    return Marked(MISTAKE, f"Not {letter}. {case.mistakes[letter]} {hint}", case.did[letter])


def _sum(exercise: Sum, typed: str, hint: str) -> Marked:
    asked = f"Write a number, in {exercise.unit}."
    found = NUMBER.fullmatch(typed)
    if not found:
        return Marked(UNREAD, f"I cannot read a number there. {asked}")
    sign, digits, unit = found.groups()
    value = _number(digits.strip())
    if value is None:
        return Marked(UNREAD, f"I cannot read “{digits.strip()}” as one number. {asked}")
    given_unit = _unit(unit.strip(" ."))
    if given_unit is None:
        return Marked(UNREAD, f"I can read the number, but not “{unit.strip()}”. {asked}")
    if given_unit not in ("", exercise.unit):
        return Marked(UNREAD, f"You wrote {given_unit}. The answer is asked for in {exercise.unit}.")
    if sign == "-":
        return Marked(WRONG, f"It cannot be below zero. {hint}")
    return _compared(exercise, value, _without_thousands(digits), hint)


def _compared(exercise: Sum, value: Decimal, other_reading: Decimal | None, hint: str) -> Marked:
    def near(answer: str) -> bool:
        return abs(value - Decimal(answer)) <= exercise.tolerance

    if near(exercise.answer):
        return Marked(RIGHT, f"Right: {exercise.answer} {exercise.unit}.")
    if other_reading is not None and abs(other_reading - Decimal(exercise.answer)) <= exercise.tolerance:
        return Marked(UNREAD, "Is that mark a decimal mark? Write the number without marks between thousands.")
    for answer, why in exercise.mistakes.items():
        if near(answer):
            return Marked(MISTAKE, why, exercise.did[answer])
    return Marked(WRONG, f"Not yet. {hint}")


def _number(digits: str) -> Decimal | None:
    """Read digits with one decimal mark at most; blanks and apostrophes stand between whole groups of three."""
    if re.fullmatch(r"\d{1,3}([ ']\d{3})+([.,]\d*)?", digits):
        digits = digits.replace(" ", "").replace("'", "")
    if re.fullmatch(r"\d{1,3}(,\d{3})+\.\d*|\d{1,3}(,\d{3}){2,}", digits):
        digits = digits.replace(",", "")
    if re.fullmatch(r"\d{1,3}(\.\d{3})+,\d*|\d{1,3}(\.\d{3}){2,}", digits):
        digits = digits.replace(".", "")
    plain = digits.replace(",", ".").rstrip(".") or "?"
    return Decimal(plain) if re.fullmatch(r"\d*\.?\d+", plain) else None


def _without_thousands(digits: str) -> Decimal | None:
    """Read one mark before three digits as a mark between thousands, as 1.234 for 1234."""
    found = re.fullmatch(r"(\d{1,3})[.,](\d{3})", digits.strip())
    return Decimal(found[1] + found[2]) if found else None


def _unit(typed: str) -> str | None:
    """Give the unit that was typed along, nothing when there was none, or None for what is no unit."""
    if typed == "" or typed in BY_CAPITAL:
        return BY_CAPITAL.get(typed, "")
    return next((unit for unit, words in UNITS.items() if typed.casefold() in words), None)
