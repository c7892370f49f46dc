"""The words of the exercises: data beside this file, filled in with the numbers that are drawn and worked out."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from edgestore.training.exercises.questions import Slip, Sum


@cache
def texts(name: str) -> Mapping[str, Any]:
    """Give the texts of a file beside this one, by kind; not to be changed."""
    text = files("edgestore.training.exercises").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def told_sum(kind: str, value: float, slips: Mapping[str, float], **figures: Any) -> Sum:
    """Give a sum in its words.

    Parameters
    ----------
    kind : str
        A kind that ``sums.toml`` has.
    value : float
        The answer before rounding.
    slips : mapping of str to float
        The common wrong answers by the key of their words, those of the kind or those that several kinds share.
    **figures
        What the words fill in; ``an_hour`` and ``value`` are there.

    Returns
    -------
    Sum
        The exercise.
    """
    words, shared = texts("sums")[kind], texts("sums")
    filled = {"an_hour": shared["an_hour"], "value": value, **figures}

    def said(text: str) -> str:
        return text.format(**filled)

    why = {**shared["slips"], **words["slips"]}
    return Sum(
        said(words["question"]),
        words["unit"],
        words["decimals"],
        value,
        tuple(map(said, words["steps"])),
        tuple(map(said, words["hints"])),
        tuple(Slip(wrong, said(why[key]["why"]), why[key]["did"]) for key, wrong in slips.items()),
    )
