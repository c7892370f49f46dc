"""What does this camera write: measured clips, and what their mean and their peak ask of a card."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore import checks
from edgestore.inputs.clip import Clip, read_clip
from edgestore.inputs.footage import Footage, read_footage
from edgestore.models.rate.variability import HURST_MAX, MIN_STEPS, hurst_exponent, retention_spread
from edgestore.models.retention import retention_h
from edgestore.models.speed.classes import TRADE_MARGIN, min_write_mbyte_s, speed_margin
from edgestore.models.speed.stalls import KeepsUp, keeps_up
from edgestore.models.wear.endurance import writes_gb_day, writes_tb_year
from edgestore.text import hold_span, number, percent, span
from edgestore.units import BYTES_PER_MB, H_PER_DAY

Array = npt.NDArray[np.float64]

COLUMNS = 240
"""Into how many stretches of time the picture cuts a long trace; each shows its mean and its highest second."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Writing:
    """What a camera writes, as measured, and what that means for a card.

    Attributes
    ----------
    edges_s : ndarray, shape (stretches + 1,)
        Ends of the stretches of the picture, s of footage; clips follow each other without gaps.
    mean_mbit_s, high_mbit_s : ndarray, shape (stretches,)
        Mean and highest second of each stretch.
    clip_edges_s : ndarray
        Where one clip ends and the next begins.
    peak_at_s : float
        The busiest second of all.
    rates_mbit_s, retention_days : dict of str to float
        By "mean", "peak second", "cap" where it is known, and, of several clips, "busiest clip" and "quietest clip".
    likely_days : tuple of float
        Retention from the busiest clip to the quietest; of a single clip, between which days it lies in nine of ten
        moments, as the rate goes up and down around its mean.
    speed : KeepsUp
        Whether the card keeps up with the clip that asks most of it.
    """

    footage: Footage
    capacity_gb: float
    wanted_days: float
    edges_s: Array
    mean_mbit_s: Array
    high_mbit_s: Array
    clip_edges_s: Array
    peak_at_s: float
    rates_mbit_s: dict[str, float]
    retention_days: dict[str, float]
    likely_days: tuple[float, float]
    speed: KeepsUp
    table: pd.DataFrame
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def footage_of(
    source: Path | str | tuple[str, bytes], progress: Callable[[Sequence[Path]], Iterable[Path]] = iter
) -> Footage:
    """Read what a panel is given: the path of a clip or folder, or the name and content of one clip.

    The answer has no hours of the week in it, so that the zone of the clips' times does not matter.
    """
    if isinstance(source, tuple):
        name, content = source
        clip = read_clip(content, name=name)
        return Footage((clip,), (), tuple(f"{name}: {text}" for text in clip.warnings), "UTC")
    return read_footage(source, "UTC", progress)


def writing(
    footage: Footage,
    *,
    cap_mbit_s: float = 0.0,
    capacity_gb: float = 64.0,
    recorded_fraction: float = 1.0,
    wanted_days: float = 7.0,
    mark: str = "C10",
    buffer_mb: float = 0.0,
) -> Writing:
    """Say what measured clips mean for a card.

    Parameters
    ----------
    footage : Footage
        Clips of one camera.
    cap_mbit_s : float
        Cap set in the encoder, Mbit/s; 0 when it is not known.
    capacity_gb : float
        Capacity of the card, GB, above 0.
    recorded_fraction : float
        Fraction of time recorded, above 0 and at most 1.
    wanted_days : float
        Days wanted, above 0.
    mark : str
        Speed class of the card, a key of ``edgestore.models.speed.classes.SPEED_CLASSES``.
    buffer_mb : float
        What the camera can keep while the card is busy, MB; 0 when it is not known.

    Returns
    -------
    Writing
        The trace, the answer as a range, the table and the warnings.

    Raises
    ------
    InputError
        When a number is out of range or the speed class unknown.
    """
    checks.single(locals())
    checks.in_range("wanted_days", wanted_days, "days", above=0)
    cap = checks.in_range("cap_mbit_s", cap_mbit_s, "Mbit/s", at_least=0, at_most=checks.MAX_BITRATE_MBIT_S)
    rates = {"mean": footage.stored_mbit_s}
    if len(footage.clips) > 1:
        stored = [clip.stored_mbit_s for clip in footage.clips]
        rates |= {"quietest clip": min(stored), "busiest clip": max(stored)}
    rates |= {"peak second": footage.peak_1s_mbit_s} | ({"cap": float(cap)} if cap else {})
    held_h = retention_h(capacity_gb, list(rates.values()), recorded_fraction)
    days = {name: float(held / H_PER_DAY) for name, held in zip(rates, held_h, strict=True)}
    scatter, scatter_words = _scatter(footage, days["mean"])
    likely = scatter if len(footage.clips) == 1 else (days["busiest clip"], days["quietest clip"])
    speed = _speed(footage, mark, buffer_mb or None)
    edges, mean, high = _stretches(footage)
    ends = np.cumsum([_whole_seconds(clip).size for clip in footage.clips], dtype=float)
    busiest = max(range(len(footage.clips)), key=lambda n: footage.clips[n].peak_1s_mbit_s)
    second = min(footage.clips[busiest].peak_second, _whole_seconds(footage.clips[busiest]).size - 1)
    return Writing(
        footage=footage,
        capacity_gb=capacity_gb,
        wanted_days=wanted_days,
        edges_s=edges,
        mean_mbit_s=mean,
        high_mbit_s=high,
        clip_edges_s=ends[:-1],
        peak_at_s=float([0, *ends][busiest] + second + 0.5),
        rates_mbit_s=rates,
        retention_days=days,
        likely_days=likely,
        speed=speed,
        table=_table(rates, days, recorded_fraction, mark),
        sentence=_sentence(rates, days, likely, capacity_gb),
        assumptions=(
            f"{percent(recorded_fraction)} of the time is recorded; the whole capacity is usable.",
            "The mean is that of the files as they are stored, with sound and the file format; the busiest second is"
            " that of the video alone.",
            scatter_words,
            f"{mark} promises {min_write_mbyte_s(mark):g} Mbyte/s for long writes in sequence; the trade's rule is"
            f" {TRADE_MARGIN:g} times the peak (common practice, no source).",
            *([speed.why] if speed.keeps_up else []),
        ),
        warnings=tuple(_warnings(footage, rates, likely, wanted_days, speed)),
    )


def _scatter(footage: Footage, held_days: float) -> tuple[tuple[float, float], str]:
    """Between which days retention lies in nine of ten moments, and from what that is told."""
    clip = max(footage.clips, key=lambda clip: clip.duration_s)
    step = max(1, round(np.nan_to_num(clip.key_frame_interval_s, nan=1.0)))
    whole = clip.trace_mbit_s[: int(clip.duration_s) // step * step].reshape(-1, step).mean(axis=1)
    if whole.size < 2 or not whole.any():
        return (held_days, held_days), "The clips are too short to show how much the rate varies."
    cv = float(whole.std(ddof=1) / whole.mean())
    hurst, how = (
        HURST_MAX,
        f"taken as {HURST_MAX:g}, the highest possible, since no clip has {MIN_STEPS} groups of pictures",
    )
    if whole.size >= MIN_STEPS and cv > 0:
        estimate = hurst_exponent(whole)
        hurst, how = estimate.hurst, f"estimated with a standard error of {estimate.standard_error:.2f}"
    around = retention_spread(held_days * H_PER_DAY, cv, hurst=hurst, step_s=step)
    low, high = float(around.p5_h / H_PER_DAY), float(around.p95_h / H_PER_DAY)
    return (low, high), (
        f"Ups and downs within the longest clip (steps of {step} s, coefficient of variation {cv:.2f}, Hurst "
        f"parameter {hurst:.2f}, {how}) move retention between {span(low, high)} days in nine of ten moments; "
        "differences between hours, days and weather that no clip shows come on top."
    )


def _speed(footage: Footage, mark: str, buffer_mb: float | None) -> KeepsUp:
    """Whether the card keeps up with the clip that asks most of the buffer."""
    answers = [
        keeps_up(
            clip.trace_mbit_s,
            min_write_mbyte_s(mark),
            buffer_mb=buffer_mb,
            burst_mb=clip.largest_frame_bytes / BYTES_PER_MB,
        )
        for clip in footage.clips
    ]
    return max(answers, key=lambda answer: answer.buffer_needed_mb)


def _stretches(footage: Footage) -> tuple[Array, Array, Array]:
    """Cut the clips, one after the other, into at most ``COLUMNS`` stretches of whole seconds."""
    trace = np.concatenate([_whole_seconds(clip) for clip in footage.clips])
    step = -(-trace.size // COLUMNS)
    starts = np.arange(0, trace.size, step)
    edges = np.append(starts, trace.size).astype(float)
    return edges, np.add.reduceat(trace, starts) / np.diff(edges), np.maximum.reduceat(trace, starts)


def _whole_seconds(clip: Clip) -> Array:
    """Give the trace without a last second that the clip does not fill."""
    return clip.trace_mbit_s[: max(1, int(clip.duration_s))]


def _table(rates: dict[str, float], days: dict[str, float], recorded_fraction: float, mark: str) -> pd.DataFrame:
    values = np.array(list(rates.values()))
    return pd.DataFrame(
        {
            "at_the_rate_of": list(rates),
            "mbit_s": values,
            "gb_day": writes_gb_day(values, recorded_fraction),
            "tb_year": writes_tb_year(values, recorded_fraction),
            "retention_days": list(days.values()),
            "speed_margin": speed_margin(min_write_mbyte_s(mark), values),
        }
    )


def _sentence(rates: dict[str, float], days: dict[str, float], likely: tuple[float, float], capacity_gb: float) -> str:
    among = ""
    if "busiest clip" in rates:
        among = f", {span(rates['quietest clip'], rates['busiest clip'])} from clip to clip"
    held = hold_span(*(held * H_PER_DAY for held in likely))
    cap = ""
    if "cap" in rates:
        at_cap = hold_span(days["cap"] * H_PER_DAY, days["cap"] * H_PER_DAY)
        cap = f"; by the cap of {number(rates['cap'])} Mbit/s it would be {at_cap}"
    peak = number(rates["peak second"])
    return (
        f"Writes {number(rates['mean'])} Mbit/s on average{among}, {peak} in the busiest second:"
        f" {number(capacity_gb)} GB holds {held}{cap}."
    )


def _warnings(
    footage: Footage, rates: dict[str, float], likely: tuple[float, float], wanted_days: float, speed: KeepsUp
) -> Iterable[str]:
    if likely[0] < wanted_days:
        yield f"In busy times the card does not hold {number(wanted_days)} days."
    if "cap" in rates and rates.get("busiest clip", rates["mean"]) > rates["cap"]:
        yield "A clip has a mean above the cap: check that it is the cap of all recorded streams, and of this camera."
    if not speed.keeps_up:
        yield speed.why
    yield from footage.notes
