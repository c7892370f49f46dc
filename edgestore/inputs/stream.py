"""One stream as a description states it, and the reading of its numbers within bounds. Opens no file."""

import math
import re
from collections import Counter
from dataclasses import dataclass, field, replace
from typing import TypedDict

from edgestore.checks import Fault, InputError, in_range, refuse
from edgestore.inputs.camera_list import MAX_LISTED_MBIT_S
from edgestore.inputs.sheet import shown
from edgestore.units import KBIT_PER_MBIT

NAMES_IN_A_NOTE = 5

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True)
class Quantity:
    """What a number in the file may be; with ``zero`` a 0 is read as not set, and that text is told."""

    unit: str
    at_least: float
    at_most: float
    is_whole: bool = False
    mend: str = ""
    zero: str = ""


# The bounds: common practice, no source.
PIXELS = Quantity("pixels", 1, 16_384, is_whole=True)
FRAME_RATE = Quantity("frames/s", 0.01, 240)
CAP_KBIT_S = Quantity(
    "kbit/s",
    1,
    MAX_LISTED_MBIT_S * KBIT_PER_MBIT,
    mend="Both standards count kbit/s here: 4000 for 4 Mbit/s.",
    zero="0 is taken as a cap that is not set (common practice, no source)",
)


class Stream(TypedDict):
    """What a file states of one stream: a row of the table."""

    camera: str
    encoding: str
    width_px: float
    height_px: float
    frame_rate_fps: float
    key_frame_interval_s: float
    cap_mbit_s: float
    mean_mbit_s: float


@dataclass
class Reading:
    """A file while it is read: its name, all faults found, what its reader should know, and what of that is on caps."""

    name: str
    faults: list[Fault] = field(default_factory=list)
    notes: dict[str, None] = field(default_factory=dict)
    cap_notes: dict[str, None] = field(default_factory=dict)

    def number(self, where: str, text: str | None, quantity: Quantity) -> float:
        """Read a number within its bounds; NaN when there is none, or a faulty one."""
        if text is None:
            return math.nan
        text = text.strip()
        number = float(text) if _NUMBER.fullmatch(text) else math.nan
        if quantity.zero and number == 0:
            self.note_on_cap(f"{where}: {quantity.zero}")
            return math.nan
        low, high = quantity.at_least, quantity.at_most
        try:
            in_range(where, number, quantity.unit, at_least=low, at_most=high, mend=quantity.mend)
            if quantity.is_whole and not number.is_integer():
                raise refuse(where, text, f"a whole number of {quantity.unit}", quantity.mend)
        except InputError as error:
            found = shown(text) if text else "nothing"
            self.faults += [replace(fault, where=f"{self.name}, {where}", found=found) for fault in error.faults]
            return math.nan
        return number

    def note(self, text: str) -> None:
        """Tell the reader something, once."""
        self.notes[f"{self.name}: {text}"] = None

    def note_on_cap(self, text: str) -> None:
        """Tell the reader something that concerns a cap, once."""
        self.note(text)
        self.cap_notes[f"{self.name}: {text}"] = None


def distinct(names: list[str], tokens: list[str]) -> list[str]:
    """Call each stream by its name, by its token when it has none, and by both when others have the same name."""
    count = Counter(names)
    return [
        token if not name else name if count[name] == 1 else f"{name} ({token})"
        for name, token in zip(names, tokens, strict=True)
    ]


def key_frame_interval_s(encoding: str, gop_frames: float, frame_rate_fps: float) -> float:
    """Time between key frames; JPEG has no other frames."""
    return (1 if encoding == "JPEG" else gop_frames) / frame_rate_fps
