"""The content of a plain file, up to a stated size: a device, a pipe or a file without end is never read through."""

import os
import stat
import sys
import tomllib
from pathlib import Path
from typing import Any

from edgestore.checks import not_opened, refuse
from edgestore.units import BYTES_PER_MB

MOST_LIST_BYTES = 64_000_000
"""A list of 100 000 cameras has some 10 MB, a log of a million events 40 MB (our choice)."""

MOST_TOML_BYTES = 1_000_000
"""Settings, and checks of one's own, have some kilobytes (our choice)."""


CHECK_PATH = "Check the path and the name of the file."
"""What to do where it is not told otherwise."""


def plain_file(source: Path | bytes, name: str, most_bytes: int, wanted: str, mend: str = "") -> bytes:
    """Read a file, or take its content, up to a size.

    Parameters
    ----------
    source : Path or bytes
        Path of the file, or its content.
    name : str
        What messages call it.
    most_bytes : int
        The size above which it is refused, bytes.
    wanted : str
        What it is to be, for messages: "a CSV file".
    mend : str
        What the reader can do when it cannot be read.

    Returns
    -------
    bytes
        The content.

    Raises
    ------
    InputError
        When there is no such file, it may not be read, is no plain file, or is too large.
    """
    wanted = f"{wanted}, of at most {most_bytes / BYTES_PER_MB:g} MB"
    content = source if isinstance(source, bytes) else b""
    if not isinstance(source, bytes):
        try:
            with open(source, "rb", opener=_at_once) as file:
                is_plain = stat.S_ISREG(os.fstat(file.fileno()).st_mode)
                content = file.read(most_bytes + 1) if is_plain else b""
        except (OSError, ValueError) as error:
            why = "a folder" if os.path.isdir(source) else not_opened(error)
            raise refuse(name, why, wanted, mend or CHECK_PATH) from None
        if not is_plain:
            raise refuse(name, "a pipe or device", wanted, mend)
    if len(content) > most_bytes:
        raise refuse(name, f"more than {most_bytes / BYTES_PER_MB:g} MB", wanted, "Check that it is the right file.")
    return content


def _at_once(path: str, flags: int) -> int:
    """Open a file; a pipe that nobody writes to is not waited for."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def toml_file(source: Path | bytes, name: str, wanted: str, mend: str = "") -> dict[str, Any]:
    """Read a TOML file of at most ``MOST_TOML_BYTES``.

    Parameters
    ----------
    source : Path or bytes
        Path of the file, or its content.
    name : str
        What messages call it.
    wanted : str
        What it is to be, for messages.
    mend : str
        What the reader can do when it is no TOML.

    Returns
    -------
    dict
        Its tables, each number in it short enough to be shown.

    Raises
    ------
    InputError
        When it cannot be read, or is no such file.
    """
    content = plain_file(source, name, MOST_TOML_BYTES, wanted, "Give the path of the file.")
    try:
        tables = tomllib.loads(content.decode("utf-8-sig"))
        str(tables)  # as a message would; a number in hexadecimal may be of any length
        return tables
    except UnicodeDecodeError:
        raise refuse(name, "bytes that are not UTF-8", wanted, "Save it as UTF-8.") from None
    except RecursionError:
        raise refuse(name, "tables or lists nested too deeply", wanted, mend) from None
    except tomllib.TOMLDecodeError as error:
        raise refuse(name, f"not TOML ({error})", wanted, mend) from None
    except ValueError:  # Python converts no more
        found = f"a whole number of more than {sys.get_int_max_str_digits()} digits"
        raise refuse(name, found, wanted, mend) from None
