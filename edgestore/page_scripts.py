"""The scripts of the widgets as one file: a page asks for one thing, and has it before its kernel answers.

Voila's first script and the extensions of its pages ask for some eighty parts, one after the other, and for most of
them only when the panels are there. Each part only adds its functions to a list, in any order, so that they may stand
in one file.
"""

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

MAIN_SCRIPT = "voila.js"
"""The first script of a page; those that it loads have a number before this name."""

EXTENSIONS = ("@jupyter-widgets/jupyterlab-manager", "@voila-dashboards/widgets-manager8")
"""The extensions that a page needs: the widgets, and who shows them."""

NAME = "scripts.js"

LIMITS = (
    r"(Date\.now\(\)-\w+<)2e3(?=;.{1,40}this\._models)",
    r"(Control comm did not respond in time.{1,3},)4e3(?=\))",
)
"""How long a place waits for its widget, and the page for the states of all of them, ms, before they give up."""

PATIENCE_MS = "6e4"
"""A busy computer takes longer than 2 s or 4 s. Nothing is lost by waiting: the page says when its kernel has ended."""


def write_scripts(folder: Path) -> str:
    """Write the parts of all scripts into one file.

    Parameters
    ----------
    folder : Path
        Where Voila looks for what it serves as it is.

    Returns
    -------
    str
        The name to ask for, which changes with the content: a browser may keep it. Empty where there is no part.
    """
    # Each part may state rules for itself alone ("use strict"), so that each stands in a function of its own.
    text = "".join(f"(()=>{{{part.read_text(encoding='utf-8')}\n}})();\n" for part in _parts())
    if not text:
        return ""
    for limit in LIMITS:
        text = re.sub(limit, rf"\g<1>{PATIENCE_MS}", text)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / NAME).write_text(text, encoding="utf-8")
    return f"{NAME}?v={hashlib.sha256(text.encode()).hexdigest()[:16]}"


def _parts() -> Iterator[Path]:
    from jupyter_core.paths import jupyter_path
    from voila.paths import collect_static_paths

    for folder in map(Path, collect_static_paths(["voila", "nbconvert"], "edgestore")):
        if (main := folder / MAIN_SCRIPT).is_file():
            numbers = dict.fromkeys(re.findall(r"\.e\((\d+)\)", main.read_text(encoding="utf-8")))
            yield from (part for number in numbers if (part := folder / f"{number}.{MAIN_SCRIPT}").is_file())
            break
    for name in EXTENSIONS:
        for kept in (*jupyter_path("labextensions"), *jupyter_path("voila", "labextensions")):
            if (found := Path(kept, name, "static")).is_dir():
                yield from sorted(found.glob("[0-9]*.js"))
                break
