"""The cautions in short: data that lessons, guides and cards show where they apply; docs/safety.md has all of them."""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from edgestore.checks import one_of

RULE = "Local codes, licensed trades and the camera's own manual rule."
"""Stands wherever a caution stands."""


@dataclass(frozen=True)
class Caution:
    """One caution: its key, a title, what to do, how it begins in docs/safety.md, and the words both must hold."""

    key: str
    title: str
    text: str
    in_safety: str
    words: tuple[str, ...]
    source: str


def _read() -> dict[str, Caution]:
    rows = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))["caution"]
    return {row["key"]: Caution(**{**row, "words": tuple(row["words"])}) for row in rows}


CAUTIONS = _read()
"""All cautions by key, in the order in which a visit meets them."""


def cautions_for(keys: Iterable[str]) -> tuple[Caution, ...]:
    """Give cautions in the order of a visit, each once; show ``RULE`` with them.

    Parameters
    ----------
    keys : iterable of str
        Keys of ``CAUTIONS``, for instance those of the steps of a guide.

    Returns
    -------
    tuple of Caution
        The cautions.

    Raises
    ------
    InputError
        When a key is unknown.

    Examples
    --------
    >>> [caution.title for caution in cautions_for(["force", "height", "force"])]
    ['Work at height', 'No force']
    """
    wanted = {one_of("caution", key, CAUTIONS) for key in keys}
    return tuple(caution for key, caution in CAUTIONS.items() if key in wanted)
