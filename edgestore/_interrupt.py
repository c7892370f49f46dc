"""Ctrl-C in a command: a short line and exit code 130, whatever code was running when it came.

The package imports this before anything else. In a notebook, or in a program of somebody else, it does nothing.
"""

import os
import signal
import sys
from types import TracebackType

_came: list[int] = []

INTERRUPTED = 130
"""The exit code: 128 and the number of the signal, as shells have it."""

_COMMANDS = ("edgestore", "edgestore.exe", "-m")
"""What ``sys.argv[0]`` is while a command loads; ``-m`` only for the package that ``python -m`` looks for."""


def _words(command: str, stays: str = "") -> str:
    """Give the line that tells of the end of a command."""
    return f"\nedgestore{command} was stopped by Ctrl-C. {stays or 'No file is half-written.'}"


def _end_at_once(*_: object) -> None:
    os.write(2, f"{_words('')}\n".encode())
    os._exit(INTERRUPTED)


def _note_and_raise(*_: object) -> None:
    _came.append(signal.SIGINT)
    raise KeyboardInterrupt


def _raise_again(unraisable: "sys.UnraisableHookArgs") -> None:
    """Send Ctrl-C once more where Python was in code that cannot raise, such as a finalizer."""
    if unraisable.exc_type is not KeyboardInterrupt:
        sys.__unraisablehook__(unraisable)
        return
    from threading import Timer

    while True:
        try:
            again = Timer(0.01, os.kill, (os.getpid(), signal.SIGINT))
            again.daemon = True
            again.start()
            return
        except KeyboardInterrupt:  # on a busy machine it comes while the thread that sends it still starts
            continue


def _tell_all_but_ctrl_c(kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
    """Stay silent of Ctrl-C, which compiled code that cannot raise shows here before :func:`_raise_again` gets it."""
    if kind is not KeyboardInterrupt:
        sys.__excepthook__(kind, error, trace)


def raise_from_now_on() -> None:
    """Have Ctrl-C raise ``KeyboardInterrupt`` again, so that what a command began is cleared away."""
    if signal.getsignal(signal.SIGINT) is _end_at_once:
        signal.signal(signal.SIGINT, _note_and_raise)
        sys.excepthook = _tell_all_but_ctrl_c
        sys.unraisablehook = _raise_again


def stopped(command: str, error: BaseException | None = None) -> int:
    """Say that a command was stopped and what stays, ignore Ctrl-C from here on, and give the exit code."""
    if signal.getsignal(signal.SIGINT) is _note_and_raise:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    print(_words(command, str(error) if isinstance(error, KeyboardInterrupt) else ""), file=sys.stderr)
    return INTERRUPTED


def came() -> bool:
    """Tell whether Ctrl-C came, even where a library caught it and went on, or turned it into an error of its own."""
    return bool(_came)


if (
    os.path.basename(sys.argv[0] if sys.argv else "") in _COMMANDS
    and signal.getsignal(signal.SIGINT) is signal.default_int_handler
):
    signal.signal(signal.SIGINT, _end_at_once)
