"""The files that a site is read from, each as somebody named it: a proposal keeps copies, and reads them again."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

CAMERAS, CARDS, SETTINGS = "camera list", "card list", "settings"
LOG, CHECKED = "service log", "cards checked"
"""What the files are that a site is made from; those that the camera list names are called by its column."""


@dataclass(frozen=True)
class InputFile:
    """A file that was read.

    Attributes
    ----------
    role : str
        ``CAMERAS``, ``CARDS``, ``SETTINGS``, ``LOG`` or ``CHECKED``; else the column of the camera list that names it.
    name : str
        Its name; of a file that the camera list names what stands in the cell.
    source : Path or bytes
        Where it is, or its content where it was handed over as that.
    zone : str
        Time zone by which footage was read; empty for none, and for other files.
    said : mapping of str to Any
        Of footage what it said (:mod:`edgestore.plan.evidence`), since video itself is not kept.
    """

    role: str
    name: str
    source: Path | bytes
    zone: str = ""
    said: Mapping[str, Any] = field(default_factory=dict)


Kept = Mapping[tuple[str, str, str], Path | dict[str, Any]]
"""Copies of the files that lists name, by role, name and zone, and of footage what it said."""
