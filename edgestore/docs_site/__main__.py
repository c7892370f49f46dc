"""Builds the site of docs/: ``python -m edgestore.docs_site [FOLDER]``."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from edgestore.checks import InputError
from edgestore.docs_site import build

ABOUT = (
    "Build the pages of docs/ and one for each question of the models as a site that needs no network. It takes about a"
    " minute; nothing is written where a page is at fault."
)


def main(words: Sequence[str] | None = None) -> None:
    """Build the site, and say where it is; ``words`` in the place of those of the command line."""
    parser = argparse.ArgumentParser(prog="python -m edgestore.docs_site", description=ABOUT)
    text = (
        "folder for the site: a new one, an empty one, or one with an earlier site, which is replaced (default: where"
        " edgestore open finds it)"
    )
    parser.add_argument("folder", type=Path, nargs="?", metavar="FOLDER", help=text)
    try:
        print(f"Open it in a browser: {build(parser.parse_args(words).folder)}")
    except InputError as error:
        sys.exit(str(error))


if __name__ == "__main__":
    main()
