"""Where the notebooks and the demo stand: beside the package in a clone, inside it where it was installed."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent
"""The folder of the package."""


def bundled(name: str) -> Path:
    """Give a folder that comes with the package.

    Parameters
    ----------
    name : str
        ``notebooks`` or ``data``.

    Returns
    -------
    Path
        The folder.

    Examples
    --------
    >>> (bundled("data") / "cards.csv").is_file()
    True
    """
    inside = PACKAGE / name
    return inside if inside.is_dir() else PACKAGE.parent / name
