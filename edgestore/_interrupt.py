"""Ctrl-C while a command loads its libraries: a short line, and no trace of the import that it ended.

The package imports this before anything else. In a notebook, or in a program of somebody else, it does nothing.
"""

import os
import signal
import sys

INTERRUPTED = 130
"""The exit code: 128 and the number of the signal, as shells have it."""

_COMMANDS = ("edgestore", "edgestore.exe", "-m")
"""What ``sys.argv[0]`` is while a command loads; ``-m`` only for the package that ``python -m`` looks for."""


def words(command: str) -> str:
    """Give the line that tells of the end of a command."""
    return f"\nedgestore{command} was stopped by Ctrl-C. No file is half-written."


def _end_at_once(*_: object) -> None:
    os.write(2, f"{words('')}\n".encode())
    os._exit(INTERRUPTED)


def raise_from_now_on() -> None:
    """Have Ctrl-C raise ``KeyboardInterrupt`` again, so that what a command began is cleared away."""
    if signal.getsignal(signal.SIGINT) is _end_at_once:
        signal.signal(signal.SIGINT, signal.default_int_handler)


if (
    os.path.basename(sys.argv[0] if sys.argv else "") in _COMMANDS
    and signal.getsignal(signal.SIGINT) is signal.default_int_handler
):
    signal.signal(signal.SIGINT, _end_at_once)
