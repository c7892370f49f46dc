"""How a card takes small updates, and a camera's own pattern of writes at the planned rate."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from edgestore.inputs.bench.own_folder import buffer
from edgestore.inputs.bench.pattern import BLOCK_BYTES
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT, MS_PER_S

AREA_BYTES = 64 * 2**20
"""The file in which small updates are made (our choice): a file table and an index are not larger."""

PIECE_BYTES = 2**20
"""A camera's video is written in pieces of so many bytes (our choice)."""

UPDATES, RECORDING = "small-updates", "recording"


class Writable(Protocol):
    """What is needed of a card."""

    def write(self, name: str, at: int, data: memoryview) -> None:
        """Write all of a buffer from a byte on; back when the device has it."""

    def settle(self, name: str) -> None:
        """Wait until a file is on the device."""


@dataclass(frozen=True)
class Recorded:
    """A camera's pattern on a card.

    Attributes
    ----------
    seconds : float
        How long it was tried.
    bytes_written : int
        Video written.
    latest_s : float
        By how much the card was behind the camera at worst, seconds.
    backlog_mbyte : float
        What waited in the camera's buffer then, Mbyte.
    """

    seconds: float
    bytes_written: int
    latest_s: float
    backlog_mbyte: float


def small_updates_ms(
    card: Writable,
    count: int,
    *,
    seed: int = 0,
    area_bytes: int = AREA_BYTES,
    clock: Callable[[], float] = time.perf_counter,
) -> list[float]:
    """Time that each of some small updates takes, milliseconds.

    Parameters
    ----------
    card : Writable
        The card.
    count : int
        Updates of one block, at places drawn at random in a file that is written first.
    seed : int
        Of the places.
    area_bytes : int
        Size of that file.
    clock : callable
        Seconds from any moment on.

    Returns
    -------
    list of float
        Milliseconds, one an update; each is on the device when it ends.
    """
    piece = buffer(PIECE_BYTES)
    draws = np.random.default_rng(seed)
    piece[:] = draws.bytes(PIECE_BYTES)
    for at in range(0, area_bytes, PIECE_BYTES):
        card.write(UPDATES, at, piece)
    card.settle(UPDATES)
    took = []
    for place in draws.integers(0, area_bytes // BLOCK_BYTES, size=count):
        begun = clock()
        card.write(UPDATES, int(place) * BLOCK_BYTES, piece[:BLOCK_BYTES])
        card.settle(UPDATES)
        took.append((clock() - begun) * MS_PER_S)
    return took


def record(
    card: Writable,
    rate_mbit_s: float,
    seconds: float,
    *,
    update_interval_s: float,
    clock: Callable[[], float] = time.perf_counter,
    sleep: Callable[[float], None] = time.sleep,
) -> Recorded:
    """Write as a camera does: video as it comes, and a small update of the file tables now and then.

    Parameters
    ----------
    card : Writable
        The card.
    rate_mbit_s : float
        Rate at which the video comes, Mbit/s.
    seconds : float
        How long.
    update_interval_s : float
        From one small update to the next, seconds.
    clock, sleep : callable
        Seconds from any moment on; waits for so many.

    Returns
    -------
    Recorded
        How far the card was behind. A piece of video is written when it is complete, not before.
    """
    piece, file_bytes = buffer(PIECE_BYTES), AREA_BYTES
    piece[:] = np.random.default_rng(0).bytes(PIECE_BYTES)
    piece_s = PIECE_BYTES * BITS_PER_BYTE / (rate_mbit_s * BITS_PER_MBIT)
    begun, number, next_update, latest = clock(), 0, update_interval_s, 0.0
    while (number + 1) * piece_s <= seconds:
        complete = (number + 1) * piece_s
        if (early := complete - (clock() - begun)) > 0:
            sleep(early)
        card.write(RECORDING, number * PIECE_BYTES % file_bytes, piece)
        if clock() - begun >= next_update:
            card.write(UPDATES, 0, piece[:BLOCK_BYTES])
            card.settle(UPDATES)
            next_update += update_interval_s
        latest = max(latest, clock() - begun - complete)
        number += 1
    behind_mbyte = latest * rate_mbit_s / BITS_PER_BYTE
    return Recorded(clock() - begun, number * PIECE_BYTES, latest, behind_mbyte)
