"""Panel on what a camera writes."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from edgestore.answers.footage import Writing, footage_of, writing
from edgestore.bundled import bundled
from edgestore.figures.footage import WritesFigure
from edgestore.inputs.footage import Footage
from edgestore.models.speed.classes import SPEED_CLASSES
from edgestore.panels.controls import Choice, File, Number
from edgestore.panels.frame import Frame
from edgestore.panels.panel import Panel

DEMO = bundled("data") / "ferry_terminal" / "footage" / "waiting_room"
"""The invented clips, in a checkout."""

CLIPS = "video/*,.mkv,.ts,.avi,.h264,.h265,.264,.265,.hevc"

Source = Path | str | tuple[str, bytes]
Progress = Callable[[Sequence[Path]], Iterable[Path]]


def _answer(footage: Source, progress: Progress = iter, **values: Any) -> Writing:
    return writing(_footage(footage, progress, *_changed(footage)), **values)


@lru_cache(maxsize=1)
def _footage(source: Source, progress: Progress, *changed: float) -> Footage:
    """Read clips once for as long as they do not change: a slider moves many times over the same ones."""
    return footage_of(source, progress)


def _changed(source: Source) -> Iterable[float]:
    """Give the times of the last changes of what lies at a path."""
    if isinstance(source, tuple):
        return
    path = Path(source)
    for file in [path, *path.rglob("*")] if path.is_dir() else [path]:
        yield file.stat().st_mtime if file.exists() else 0.0


PANEL = Panel(
    question="What does this camera write?",
    inputs=(
        File(
            "footage",
            "Footage",
            str(DEMO),
            "A clip, or a folder of clips of one camera: MP4, MOV, MKV, AVI, TS, raw H.264 or H.265. For large "
            "clips type the path: they are read where they are.",
            accept=CLIPS,
        ),
        Number("cap_mbit_s", "Cap of the encoder", "Mbit/s", 0, 32, 0.25, 3, "From the camera's settings; 0: unknown."),
        Number("capacity_gb", "Card's capacity", "GB", 8, 1024, 8, 64, "As printed on the card."),
        Number("recorded_fraction", "Recorded part of the time", "", 0.01, 1, 0.01, 1, "1 is continuous recording."),
        Number("wanted_days", "Wanted", "days", 0.5, 90, 0.5, 7, "How far back the footage should go."),
        Choice("mark", "Speed class of the card", list(SPEED_CLASSES), "C10", "As printed on the card."),
        Number(
            "buffer_mb",
            "Buffer of the camera",
            "MB",
            0,
            64,
            0.5,
            0,
            "What it can hold while the card is busy; 0 if not known, as is common.",
        ),
    ),
    main=("footage", "cap_mbit_s", "capacity_gb"),
    answer=_answer,
    figure=WritesFigure,
)


def writes_panel() -> widgets.VBox:
    """Give the panel, live, under a bar that shows how far the reading of a folder is."""
    bar = widgets.IntProgress(description="Reading clips", style={"description_width": "initial"})
    bar.layout.display = "none"

    def shown(files: Sequence[Path]) -> Iterator[Path]:
        bar.max, bar.value, bar.layout.display = len(files), 0, ""
        for file in files:
            yield file
            bar.value += 1
        bar.layout.display = "none"

    return widgets.VBox([bar, Frame(replace(PANEL, answer=partial(_answer, progress=shown)))])
