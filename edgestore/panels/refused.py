"""Which control is to blame for what was refused, and how it is told there and beside the last good answer."""

import re
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path

from edgestore.checks import Fault
from edgestore.panels.as_html import faults_html
from edgestore.panels.controls import Control, File, Number

OTHER = "the other plan, "
"""Begins a fault of the second of two plans, whose file stands last among the controls."""

CAMERAS = "cameras"
"""The control whose list has the cameras that a fault names."""

LAST_GOOD = "What you see is the answer for the last good settings."
NO_ANSWER = "There is no answer yet."


def blamed(faults: Sequence[Fault], controls: Mapping[str, Control]) -> dict[str, list[Fault]]:
    """Sort faults by the control that caused them.

    Parameters
    ----------
    faults : sequence of Fault
        What was refused: of an argument, by its name or its label, or of a file.
    controls : mapping of str to Control
        The controls of a panel by name.

    Returns
    -------
    dict of str to list of Fault
        The faults by name of the control, in words of the panel; under an empty name those that no control caused.
    """
    labels = {name: control.spec.label for name, control in controls.items() if isinstance(control.spec, Number)}
    names = {control.spec.label: name for name, control in controls.items()}
    found: dict[str, list[Fault]] = {}
    for fault in faults:
        name = fault.where if fault.where in controls else names.get(fault.where) or _of_file(fault.where, controls)
        found.setdefault(name, []).append(_in_words(fault, labels) if fault.where in labels else fault)
    return found


def _of_file(where: str, controls: Mapping[str, Control]) -> str:
    """Give the control of the file that a fault stands in; an empty name where it is none of theirs."""
    is_other, place = where.startswith(OTHER), where.removeprefix(OTHER)
    fitting = [
        name
        for name, control in controls.items()
        if isinstance(control.spec, File)
        and any(place == file or place.startswith(f"{file},") for file in _files(control))
    ]
    if fitting:
        return fitting[-1 if is_other else 0]
    return CAMERAS if CAMERAS in controls and place.startswith("camera ") else ""


def _files(control: Control) -> set[str]:
    """How a fault may name the file of a control."""
    typed, handed = control.held
    return {handed[0]} if handed else {typed, str(Path(typed)), str(Path(typed).expanduser()), Path(typed).name} - {""}


def _in_words(fault: Fault, labels: Mapping[str, str]) -> Fault:
    """Say of an argument that is refused which controls it and those it is held against are."""
    told = (_labelled(text, labels) for text in (fault.found, fault.allowed, fault.mend))
    return type(fault)(labels[fault.where], *told)


def _labelled(text: str, labels: Mapping[str, str]) -> str:
    """Write labels for the names of arguments in a text.

    A name of several words, as ``wanted_days``, is one wherever it stands by itself. One that is a word of the language
    too, as ``cards``, is a name in quotation marks alone.
    """
    several = "|".join(name for name in labels if "_" in name)
    names = rf"(?P<mark>['\"`])(?P<quoted>{'|'.join(labels)})(?P=mark)"
    if several:
        names += rf"|(?<![\w./\\-])(?:{several})(?![\w/\\-]|\.\w)"
    return re.sub(names, lambda found: labels[found["quoted"] or found[0]], text)


def refusal_html(labels: Sequence[str], others: Sequence[Fault], *, has_answer: bool) -> str:
    """Say above the answer whose inputs are not used, and what is shown in place of their answer.

    Parameters
    ----------
    labels : sequence of str
        Labels of the controls beside which it is told why.
    others : sequence of Fault
        What no control caused, which is told here.
    has_answer : bool
        Whether an earlier answer is shown.

    Returns
    -------
    str
        HTML. What is told beside a control is announced there, and not here again.
    """
    which = f"Not used: {'; '.join(labels)}. " if labels else ""
    text = f"<p><strong>{escape(which)}{LAST_GOOD if has_answer else NO_ANSWER}</strong></p>"
    return text + (faults_html(others) if others else "")
