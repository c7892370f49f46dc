"""Where the notebooks, the demo and the pages of docs/ stand: in a clone beside the package, else inside it."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent
"""The folder of the package."""


def bundled(name: str) -> Path:
    """Give a folder that comes with the package.

    Parameters
    ----------
    name : str
        ``notebooks``, ``data`` or ``docs``.

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
