"""What a panel brings along where no page of ours surrounds it, in JupyterLab: its looks and its scripts."""

import os
from functools import cache
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from edgestore.look import lab_variables

SCRIPTS = Path(__file__).parents[1] / "voila_template" / "nbconvert" / "templates" / "edgestore" / "static"

ONCE = """if (!globalThis.edgestoreTables) {{
globalThis.edgestoreTables = true;
{script}
}}
export default {{}};
"""
"""A panel each brings these scripts, which are for all that the notebook shows."""


def looks() -> list[widgets.Widget]:
    """Give stylesheet and script of a panel as widgets; none under Voila, which names itself to its kernels."""
    if os.environ.get("SERVER_SOFTWARE", "").startswith("voila"):
        return []
    css = lab_variables() + Path(__file__).with_name("lab.css").read_text(encoding="utf-8")
    return [widgets.HTML(f"<style>{css}</style>", layout={"display": "none"}), _tables()()]


@cache
def _tables() -> type[Any]:
    """What sorts tables, opens their rows and tells the ground of the pictures, as a widget that shows nothing."""
    from anywidget import AnyWidget  # pages do without it, and open sooner

    files = SCRIPTS / "table.js", Path(__file__).with_name("lab.js")
    script = "\n".join(file.read_text(encoding="utf-8") for file in files)

    class TableScript(AnyWidget):
        _esm = ONCE.format(script=script)

    return TableScript
