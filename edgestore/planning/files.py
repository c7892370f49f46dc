"""Answers as files: each written whole or not at all."""

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from edgestore import checks
from edgestore.planning.site import SitePlan


def write_plan(plan: SitePlan, folder: Path) -> list[Path]:
    """Write a site plan as ``plan.csv`` and ``candidates.csv``.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    folder : Path
        Where to write; made when it does not exist. Files of these names are replaced, others left alone.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When the folder cannot be written to.
    """
    tables = {"plan.csv": plan.plan, "candidates.csv": plan.candidates}
    return write_whole(
        folder, {name: table.to_csv(index=False, float_format="%.6g").encode() for name, table in tables.items()}
    )


def write_whole(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files so that none is ever seen half-written: all are written aside first, then put in place.

    Parameters
    ----------
    folder : Path
        Where to write; made when it does not exist.
    files : mapping of str to bytes
        Content by file name.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    InputError
        When the folder cannot be written to; what was there before stays.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".edgestore-", dir=folder) as aside:
            for name, content in files.items():
                (Path(aside) / name).write_bytes(content)
            for name in files:
                os.replace(Path(aside) / name, folder / name)
    except OSError as error:
        raise checks.refuse(
            str(folder), error.strerror or str(error), "a folder that can be written to", "Name another folder."
        ) from None
    return [folder / name for name in files]
