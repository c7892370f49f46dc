"""Where the parts of a panel stand: the answer and its picture in view, the controls that matter, the rest folded."""

from collections.abc import Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from edgestore.panels.controls import BUTTON, Control, File, classed
from edgestore.panels.shared import plain_layout, shared

MORE, LISTS = "More settings", "Lists and settings"
"""What folds is called: numbers and words, and files."""

LEFT, RIGHT = "1 1 300px", "2 1 560px"


class Fold(widgets.VBox):
    """A button, and below it what it shows and hides.

    Parameters
    ----------
    label : str
        What is folded.
    controls : sequence of Control
        The controls whose rows are shown when the button is pressed, and made when it first is.
    """

    def __init__(self, label: str, controls: Sequence[Control]) -> None:
        self.controls = controls
        self.button = classed(shared(widgets.ToggleButton, description=label, layout=BUTTON), "edgestore-fold")
        self.inside = classed(widgets.VBox(layout={"display": "none"}), "edgestore-folded")
        self.button.observe(self._turned, "value")
        super().__init__([self.button, self.inside], layout=plain_layout())

    def unfold(self) -> None:
        """Show the rows."""
        self.button.value = True

    def _turned(self, change: Mapping[str, Any]) -> None:
        self.inside.children = [control.row for control in self.controls]
        self.inside.layout.display = "" if change["new"] else "none"


def folds(controls: Mapping[str, Control], main: Sequence[str]) -> dict[str, Fold]:
    """Fold what does not matter most.

    Parameters
    ----------
    controls : mapping of str to Control
        All controls by name.
    main : sequence of str
        Names of those that stay in view.

    Returns
    -------
    dict of str to Fold
        The folds by label; none that would be empty.
    """
    rest = [control for name, control in controls.items() if name not in main]
    folded = {
        MORE: [control for control in rest if not isinstance(control.spec, File)],
        LISTS: [control for control in rest if isinstance(control.spec, File)],
    }
    return {label: Fold(label, inside) for label, inside in folded.items() if inside}


def arranged(shown: Sequence[widgets.Widget], asked: Sequence[widgets.Widget], said: widgets.Widget) -> Any:
    """Put the answer first, the controls beside it where there is room, and below both what else is said.

    Parameters
    ----------
    shown : sequence of Widget
        The sentence and the picture, which stay in view.
    asked : sequence of Widget
        The controls.
    said : Widget
        What else is said of the answer.

    Returns
    -------
    Box
        All of it. The style sheet of the pages keeps ``shown`` in view; in JupyterLab it stands beside the controls.
    """
    answer = classed(shared(widgets.VBox, shown, layout={"flex": RIGHT, "min_width": "0"}), "edgestore-shown")
    inputs = classed(shared(widgets.VBox, asked, layout={"flex": LEFT, "min_width": "0"}), "edgestore-asked")
    layout = {"flex_flow": "row-reverse wrap", "grid_gap": "8px 24px"}
    return classed(shared(widgets.Box, [answer, inputs, said], layout=layout), "edgestore-first")
