"""What a panel brings along of its looks, where no page of ours surrounds it: in JupyterLab."""

import os
from pathlib import Path

import ipywidgets as widgets

from edgestore.look import filled


def looks() -> list[widgets.Widget]:
    """Give the stylesheet of a panel as a widget; none under Voila, which names itself to its kernels."""
    if os.environ.get("SERVER_SOFTWARE", "").startswith("voila"):
        return []
    css = filled(Path(__file__).with_name("lab.css").read_text(encoding="utf-8"))
    return [widgets.HTML(f"<style>{css}</style>", layout={"display": "none"})]
