"""What ``edgestore explain`` says: the way from the inputs to a figure, and whether the pack is as it was written."""

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from edgestore.checks import refuse
from edgestore.documents.explained_alternatives import WAYS, figure_lines
from edgestore.documents.explained_alternatives import unlike as of_alternatives
from edgestore.documents.figures import MONEY, PART, Figure, figures, in_words, parts_of, stated
from edgestore.documents.kept_inputs import KeptPack, read_pack
from edgestore.documents.trace import Trace
from edgestore.inputs.sheet import shown
from edgestore.output import MANIFEST
from edgestore.plan.tables import formula_free
from edgestore.text import VERSION, counted

SAME = 2e-5
"""Figures of a file have six digits; nearer than this share they are the same."""

MOST_NAMED = 40
"""So many cameras are named in a message."""


@dataclass(frozen=True)
class Explained:
    """What is said, and whether the pack is as it was written and its figure is the one worked out anew."""

    lines: tuple[str, ...]
    is_confirmed: bool


def explained(folder: Path, camera: str | None = None, figure: str | None = None) -> Explained:
    """Tell how a figure of a pack was worked out.

    Parameters
    ----------
    folder : Path
        The pack.
    camera, figure : str, optional
        Name of a camera, and of a figure of :func:`edgestore.documents.figures.figures`, a step on the way too; or of
        an alternative, and of a figure of its row. Without both, every figure of every camera and alternative is worked
        out anew and compared.

    Returns
    -------
    Explained
        Lines to print.

    Raises
    ------
    InputError
        When there is no such camera or figure, with those that there are; when the folder is no pack.
    """
    names, known = figures(), dict.fromkeys([*stated(), *WAYS])
    if figure is not None and figure not in {**names, **known}:
        raise refuse("FIGURE", shown(figure), f"one of {', '.join(known)}", _near(figure, [*names, *known]))
    pack = read_pack(folder)
    cameras = pack.plan.site.cameras["camera"].tolist()
    head = tuple(_head(pack))
    if camera is not None and figure in WAYS and camera in pack.alternatives["alternative"].tolist():
        told, agrees = figure_lines(pack, camera, figure)
        return Explained((*head, *told), agrees and not pack.changed)
    if figure is not None and figure not in names:
        allowed = f"one of {', '.join(stated())}; {figure} is one of an alternative"
        raise refuse("FIGURE", shown(figure), allowed, "Take one of these.")
    if camera is not None and camera not in cameras:
        more = f" and {len(cameras) - MOST_NAMED} more" if len(cameras) > MOST_NAMED else ""
        allowed = f"one of {', '.join(cameras[:MOST_NAMED])}{more}"
        raise refuse("CAMERA", shown(camera), allowed, _near(camera, cameras))
    if camera is None or figure is None:
        return _compared(pack, [camera] if camera else cameras, head)
    trace = Trace(pack, camera)
    lines, agrees = _verdict(pack, trace, names[figure])
    costs = pack.plan.site.costs
    currency = MONEY if costs is None else costs.currency
    changed = f"Warning: the pack is not as it was written: {', '.join(pack.changed)}."
    end = (*lines, changed) if pack.changed else lines
    return Explained((*head, *_way(trace, names[figure], currency), "", *end), agrees and not pack.changed)


def _near(name: str, names: Sequence[str]) -> str:
    near = get_close_matches(name, names, n=1, cutoff=0.6)
    return f"Is it {near[0]}?" if near else "Take one of these."


def _head(pack: KeptPack) -> Iterator[str]:
    """Say who made a pack, and whether it was changed."""
    yield f"Pack: {pack.folder}, made with edgestore {pack.version}, dated {pack.date}."
    if pack.version != VERSION:
        yield f"Warning: this is edgestore {VERSION}: another version may work figures out otherwise."
    if pack.changed:
        yield f"Warning: changed since the pack was written: {', '.join(pack.changed)}."
    else:
        yield f"No file was changed since the pack was written, by the digests of {MANIFEST}."
    yield ""


def _compared(pack: KeptPack, cameras: Sequence[str], head: tuple[str, ...]) -> Explained:
    """Work out every figure of some cameras anew, and tell those that do not agree."""
    unlike = []
    for camera in cameras:
        trace = Trace(pack, camera)
        for figure in stated().values():
            lines, agrees = _verdict(pack, trace, figure)
            unlike += [] if agrees else [f"{camera}: {' '.join(lines)}"]
    count, of = len(stated()) * len(cameras), counted(len(cameras), "camera")
    others = pack.alternatives["alternative"].tolist() if len(cameras) > 1 or cameras == _all(pack) else []
    if others:
        unlike += of_alternatives(pack)
        count, of = count + len(WAYS) * len(others), f"{of} and {counted(len(others), 'alternative')}"
    said = f"{counted(count, 'figure')} of {of} worked out anew from the inputs in the pack:"
    said += " all agree with what it states." if not unlike else f" {len(unlike)} do not agree."
    ask = ("", f"Figures: {', '.join(stated())}.", "Cameras: " + ", ".join(cameras) + ".")
    of_others = [f"Alternatives: {', '.join(others)}. Their figures: {', '.join(WAYS)}."] if others else []
    return Explained((*head, said, *unlike, *ask, *of_others), not unlike and not pack.changed)


def _all(pack: KeptPack) -> list[str]:
    return [str(camera) for camera in pack.plan.site.cameras["camera"]]


def _way(trace: Trace, wanted: Figure, currency: str) -> Iterator[str]:
    """Tell the inputs, then each step in the order in which one rests on another."""
    yield f"Camera: {trace.camera}. Card planned: {trace.card or 'none'}."
    yield f"Figure: {wanted.name}, {wanted.means}."
    yield ""
    if _is_nothing(trace.value(wanted.name)):
        if trace.card:
            from_where = "the settings, the lists or the service log"
            yield f"There is no such figure: {from_where} do not state what it follows from."
            return
        best = f"; the best card of the list, {trace.value('best_card')}, keeps all" if trace.value("best_card") else ""
        kept = f" with a chance of {trace.value('best_chance'):.6g}" if best else ""
        yield f"There is no such figure: the camera is {trace.value('state')}{best}{kept}."
        return
    steps = list(_steps(trace, wanted, {}))
    yield "Inputs that count:"
    empty = []
    for part in dict.fromkeys(part for _, formula in steps for part in parts_of(formula) if ":" in part):
        where, cell = trace.input(part)
        if cell:
            yield f"  {where}: {cell}"
        else:
            empty.append(part.partition(":")[2])
    if empty:
        yield f"  not stated: {', '.join(empty)}"
    yield ""
    yield "Steps:"
    number = 0
    for number, (step, formula) in enumerate(steps, start=1):
        value = trace.value(step.name)
        yield f"  {number}. {step.name}: {step.means}"
        yield f"     = {in_words(formula)}"
        filled = PART.sub(lambda part: _part(trace, part[1]), formula)
        told = "none" if _is_nothing(value) else f"{_told(value)} {step.unit_in(currency)}".rstrip()
        yield from (f"     = {line}" for line in dict.fromkeys((filled, told)) if line != in_words(formula))
        yield f"     Source: {step.source}."


def _steps(trace: Trace, figure: Figure, seen: dict[str, None]) -> Iterator[tuple[Figure, str]]:
    """A figure with the formula that holds here, after those that it rests on, each once; none that has no value."""
    seen[figure.name] = None
    formula = figure.formula_of(trace.value(figure.by)) if figure.by else figure.formula
    for part in parts_of(formula):
        if ":" not in part and part not in seen and not _is_nothing(trace.value(part)):
            yield from _steps(trace, figures()[part], seen)
    yield figure, formula


def _part(trace: Trace, part: str) -> str:
    """What stands for a part of a formula."""
    if ":" in part:
        return trace.input(part)[1] or "(none)"
    value = trace.value(part)
    return "(none)" if _is_nothing(value) else _told(value)


def _verdict(pack: KeptPack, trace: Trace, figure: Figure) -> tuple[list[str], bool]:
    """Compare a figure with what the pack states."""
    anew = trace.value(figure.name)
    told = _told(anew) if not _is_nothing(anew) else f"none: {trace.value('state')}"
    if not figure.file:
        return [f"No file of the pack states it: it is a step on the way. Worked out from the inputs: {told}."], True
    in_pack = _stated(pack, trace.camera, figure)
    agrees = _agree(in_pack, anew)
    lines = [
        f"The pack states {figure.name} = {in_pack or 'none'} ({figure.file}, row of {trace.camera}).",
        f"Worked out anew from the inputs in the pack: {told}. {'They agree.' if agrees else 'They DO NOT agree.'}",
    ]
    return lines, agrees


def _stated(pack: KeptPack, camera: str, figure: Figure) -> str:
    """The cell of a file of the pack."""
    try:
        text = (pack.folder / figure.file).read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""
    rows = csv.DictReader(io.StringIO(text, newline=""))
    return next((row.get(figure.name) or "" for row in rows if row.get("camera") == formula_free(camera)), "")


def _agree(cell: str, value: Any) -> bool:
    if _is_nothing(value):
        return cell == ""
    if isinstance(value, str):
        return cell == value
    try:
        return math.isclose(float(cell), float(value), rel_tol=SAME, abs_tol=1e-12)
    except ValueError:
        return False


def _is_nothing(value: Any) -> bool:
    return value is None or value == "" or value != value


def _told(value: Any) -> str:
    return value if isinstance(value, str) else f"{float(value):.6g}"
