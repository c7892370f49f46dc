"""What is told on the terminal while a command works."""

import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TypeVar

T = TypeVar("T")

PATIENCE_S = 2.0
"""So long a command works in silence."""


def cameras_bar(before: Callable[[], None]) -> Callable[[Sequence[T]], Iterable[T]]:
    """Give a progress bar on the terminal for cameras whose files are read, shown when that takes over 2 s."""
    from tqdm import tqdm

    def bar(cameras: Sequence[T]) -> Iterable[T]:
        before()
        doing = "Reading the files of the cameras"
        return tqdm(cameras, desc=doing, unit="camera", delay=PATIENCE_S, disable=None, leave=False)

    return bar


@contextmanager
def clock(doing: str) -> Iterator[Callable[[], None]]:
    """Tell on the terminal what is done and for how long, from 2 s on; gives what ends that sooner."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    done, since, terminal = threading.Event(), time.monotonic(), sys.stderr

    def tell() -> None:
        line, wait_s = "", PATIENCE_S
        while not done.wait(wait_s):
            line, wait_s = f"{doing}: {time.monotonic() - since:.0f} s", PATIENCE_S / 2
            print(f"\r{line}", end="", file=terminal, flush=True)
        print(f"\r{' ' * len(line)}\r" if line else "", end="", file=terminal, flush=True)

    teller = threading.Thread(target=tell, daemon=True)

    def stop() -> None:
        done.set()
        teller.join()

    teller.start()
    try:
        yield stop
    finally:
        stop()
