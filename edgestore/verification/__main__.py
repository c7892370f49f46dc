"""Writes docs/verification.md from the checks of the library: ``python -m edgestore.verification PAGE``."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from edgestore.checks import InputError
from edgestore.output import write_whole
from edgestore.verification import as_markdown, own_check_files, read_checks, run

ABOUT = "Recompute the library's own checks and write them to PAGE, and to nothing else."


def main(words: Sequence[str] | None = None) -> None:
    """Write the page that the command line names; ``words`` in the place of those of the command line."""
    parser = argparse.ArgumentParser(prog="python -m edgestore.verification", description=ABOUT)
    parser.add_argument("page", type=Path, metavar="PAGE", help="the page to write, as docs/verification.md")
    page = parser.parse_args(words).page
    try:
        write_whole(page.parent, {page.name: as_markdown(run(read_checks(own_check_files()))).encode()})
    except InputError as error:
        sys.exit(str(error))


if __name__ == "__main__":
    main()
