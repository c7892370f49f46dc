"""Times as ISO 8601 writes them -> moments, on the clocks of a time zone. Opens no file."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd

from edgestore.checks import InputError, refuse

CLOCK_STEP = "15min"
"""Clocks are set at whole quarters of an hour, and differ from UTC by whole quarters (since 1972, from memory)."""

FIRST_MOMENT, LAST_MOMENT = pd.Timestamp(2000, 1, 1, tz="UTC"), pd.Timestamp(2100, 1, 1, tz="UTC")
"""No record of a network camera is from before or after (common practice, no source): such a year is a slip."""

YEARS = f"{FIRST_MOMENT.year} to {LAST_MOMENT.year - 1}"

_TIME = r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(?::\d\d(?:[.,]\d{1,9})?)?(?:Z|[+-]\d\d(?::?\d\d)?)?"
_OFFSET = r":\d\d(?:[.,]\d+)?(?:Z|[+-]\d\d(?::?\d\d)?)$"


def latest_day(today: date | None = None) -> date:
    """Give the last day that a record of the past may have: tomorrow by this machine, since zones are a day apart."""
    return (today or date.today()) + timedelta(days=1)


def clock_of(zone: str) -> ZoneInfo:
    """Give the clocks of a zone by its name, or say that there is none."""
    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        raise refuse("zone", repr(zone), "the name of a time zone, as Europe/Berlin or UTC") from None


def is_zone(zone: str) -> bool:
    """Tell whether there is a time zone of that name."""
    try:
        clock_of(zone)
    except InputError:
        return False
    return True


def moment(name: str, time: datetime, clock: ZoneInfo | None) -> pd.Timestamp:
    """Give an argument called ``name`` as a moment in UTC."""
    if time.tzinfo is None:
        if clock is None:
            raise refuse(name, time.isoformat(), "a time with an offset", "Give the offset, or the zone.")
        time = time.replace(tzinfo=clock)
    at = pd.Timestamp(time).tz_convert("UTC")
    if not FIRST_MOMENT <= at < LAST_MOMENT:
        raise refuse(name, time.isoformat(), YEARS, "Correct the year.")
    return at


def read_times(text: "pd.Series[str]", clock: ZoneInfo | None) -> pd.DataFrame:
    """Read times as moments.

    Parameters
    ----------
    text : Series of str
        Times as ISO 8601 writes them in full, with a space or a T between date and time.
    clock : ZoneInfo, optional
        The clocks that times without offset were read from; without it they are read as UTC.

    Returns
    -------
    DataFrame
        Columns ``time`` (UTC, NaT for what is no time), ``later`` (the same, for times shown twice the second time)
        and, true or false, ``local`` (without offset), ``skipped`` and ``twice``.

    Notes
    -----
    Times that clocks skip in spring are read on the clock as it was before, times that they show twice in autumn as
    the first.

    References
    ----------
    ISO 8601, extended format. Skipped and repeated times: PEP 495.

    Examples
    --------
    >>> times = read_times(pd.Series(["2026-03-02T08:00:00", "2026-03-02 08:00Z"]), ZoneInfo("Europe/Berlin"))
    >>> times["time"].dt.hour.tolist()
    [7, 8]
    """
    written = text.str.fullmatch(_TIME).astype(bool)
    plain = text.where(written).str.replace(",", ".")
    time = pd.to_datetime(plain, format="ISO8601", utc=True, errors="coerce").dt.as_unit("us")
    local = time.notna() & ~text.str.contains(_OFFSET).astype(bool)
    before = after = pd.Series(timedelta(), text.index)
    # Years of no camera are left for the caller to refuse: clocks do not know year 0.
    asked = local & time.between(FIRST_MOMENT, LAST_MOMENT)
    if clock is not None and asked.any():
        # Few quarters hold many times; a clock is asked once for each.
        quarters = time[asked].dt.tz_localize(None).dt.floor(CLOCK_STEP)
        before, after = (
            quarters.map({quarter: _ahead(quarter, clock, fold) for quarter in quarters.unique()})
            .astype(before.dtype)
            .reindex(text.index, fill_value=timedelta())
            for fold in (0, 1)
        )
    return pd.DataFrame(
        {
            "time": time - before,
            "later": time - before.where(before < after, after),
            "local": local,
            "skipped": before < after,
            "twice": before > after,
        }
    )


def _ahead(wall: pd.Timestamp, clock: ZoneInfo, fold: int) -> timedelta:
    """Give how far a clock is ahead of UTC when it shows a time the first (fold 0) or the second time."""
    return wall.to_pydatetime().replace(tzinfo=clock, fold=fold).utcoffset() or timedelta()
