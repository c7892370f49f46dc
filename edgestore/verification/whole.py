"""What a check may name beside a model: one cell of the plan of a site, one figure of a clip."""

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
