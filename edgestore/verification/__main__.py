"""Writes docs/verification.md from the checks of the library: ``python -m edgestore.verification PAGE``."""

import argparse
from pathlib import Path

from edgestore.output import write_whole
from edgestore.verification import as_markdown, own_check_files, read_checks, run


def main(page: Path) -> None:
    """Recompute the library's own checks and write them to ``page``, and to nothing else."""
    write_whole(page.parent, {page.name: as_markdown(run(read_checks(own_check_files()))).encode()})


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m edgestore.verification", description=main.__doc__)
    parser.add_argument("page", type=Path)
    main(parser.parse_args().page)
