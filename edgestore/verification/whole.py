"""What a check may name beside a model: a cell of the plan of a site or of what happened there, a figure of a clip."""

from pathlib import Path
from typing import Any

from edgestore.bundled import bundled


def found(name: str, folder: Path) -> Path:
    """Give the file that a check names: beside the check's own file, or in the demo's folder ``data``."""
    beside = folder / name
    return beside if beside.exists() else bundled("data") / name


def plan_of_site(cameras: Path, cards: Path, camera: str, column: str, settings: Path | None = None) -> Any:
    """Give what the plan of a site says of one camera, in the column that is named.

    Parameters
    ----------
    cameras, cards, settings : Path
        The lists of the site, and its settings.
    camera, column : str
        Name of the camera; column of the plan, as the written plan.csv has it.

    Returns
    -------
    float or str
        What stands there.
    """
    from edgestore.plan.read import read_lists  # with all of the plan, which only these checks want
    from edgestore.plan.site_plan import site_plan

    rows = site_plan(read_lists(cameras, cards, settings), with_reasons=False).plan
    return rows.set_index("camera").at[camera, column]


def happened_at_site(
    cameras: Path, cards: Path, settings: Path, answers: Path, name: str, column: str, band: float = 0.8
) -> Any:
    """Give what is said of one camera, or one kind of card, when saved answers are held against the plan of a site.

    Parameters
    ----------
    cameras, cards, settings, answers : Path
        The lists of the site, its settings, and the folder of saved answers.
    name, column : str
        Name of the camera or the kind of card; column as one of the written tables has it.
    band : float
        Part of such cameras that should lie within the retention planned, 0 to 1.

    Returns
    -------
    float or str
        What stands there.
    """
    from edgestore.plan.read import read_lists
    from edgestore.plan.site_plan import site_plan
    from edgestore.plan.what_happened import what_happened

    happened = what_happened(site_plan(read_lists(cameras, cards, settings), with_reasons=False), answers).within(band)
    rows = next(table for table in happened.tables.values() if column in table)
    return rows.set_index(rows.columns[0]).at[name, column]


def clip(file: Path, figure: str) -> Any:
    """Give a figure of a clip as the packets of its file say it.

    Parameters
    ----------
    file : Path
        The clip.
    figure : str
        A field of :class:`edgestore.inputs.clip.Clip`, as ``mean_mbit_s``.

    Returns
    -------
    float or str
        The figure.
    """
    from edgestore.inputs.clip import read_clip

    return getattr(read_clip(file), figure)
