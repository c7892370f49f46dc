"""An event log of one camera -> its events by start, and what is odd about them. Reads one CSV file."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pandas as pd

from edgestore import checks
from edgestore.checks import refuse
from edgestore.inputs.clocks import FIRST_MOMENT, LAST_MOMENT, YEARS, clock_of, latest_day, moment, read_times
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Column, Rule, read_table
from edgestore.units import DAYS_PER_YEAR, H_PER_DAY, S_PER_H

EVENT_COLUMNS = (
    Column("start", "text", "when the event began", required=True, mend="Give the start, or remove the row."),
    Column("end", "text", "when it ended; empty where only the start is known"),
)


LONG_S = H_PER_DAY * S_PER_H
"""The reader is told of events longer than a day: common practice, no source."""

FAR_DAYS, TOO_FAR_DAYS = 28, DAYS_PER_YEAR / 2
FAR_STEPS = 10
MOST = 0.9
FEW = 3
"""Events are far from the rest of the log when these and no more than one in ten stand apart by over 28 days and by
over 10 times the median step from one start to the next: the reader is told, and from half a year on it is refused
(our choice; of events at random, a step is over 10 medians once in a thousand times, 2 to the power of -10).
So few events have no usual step: of them the reader is told from 28 days on, and none is refused."""


@dataclass(frozen=True)
class EventLog:
    """A log that was read: each event once, by start, between two moments, on the clocks of a zone."""

    name: str
    zone: str
    rows: pd.DataFrame
    first: pd.Timestamp
    last: pd.Timestamp
    notes: tuple[str, ...]


def read_events(
    source: Source,
    zone: str | None = None,
    *,
    event_s: float | None = None,
    first: datetime | None = None,
    last: datetime | None = None,
    name: str = "event log",
    today: date | None = None,
) -> EventLog:
    r"""Read an event log.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the CSV file, or its content.
    zone : str, optional
        Name of the time zone, as Europe/Berlin: of times without offset, and of the hours of the week. Without it
        the hours are in UTC.
    event_s : float, optional
        Length in s, 0 to a day, of events whose end is not known.
    first, last : datetime, optional
        Between which moments the camera was watched; by default from the first start to the last end.
    name : str
        What messages call the log when ``source`` is its content.
    today : date, optional
        Day after which nothing can have happened; by default the day on this machine's clock.

    Returns
    -------
    EventLog
        Columns ``start`` and ``end``, sorted, duplicates dropped; and the notes.

    Raises
    ------
    InputError
        With every fault of the file; or when an argument cannot be used.

    Notes
    -----
    In the hour that clocks show twice in autumn a start is taken as the first of the two, an end as the first that
    is not before its start. A time that clocks skip in spring is read on the clock as it was before. Both are told.
    Where the observed period is taken from the events, one wrong year would stretch it: events far from all others are
    told or refused (``FAR_DAYS``, ``TOO_FAR_DAYS``).

    References
    ----------
    Times: ISO 8601, extended format. Skipped and repeated times: PEP 495.

    Examples
    --------
    >>> log = read_events(b"start,end\n2026-03-02T08:00:00,2026-03-02T08:01:00\n", "Europe/Berlin")
    >>> log.rows["start"][0].isoformat()
    '2026-03-02T08:00:00+01:00'
    """
    clock = None if zone is None else clock_of(zone)
    if event_s is not None:
        event_s = checks.in_range("event_s", event_s, "s", at_least=0, at_most=LONG_S)
    begin = None if first is None else moment("first", first, clock)
    end = None if last is None else moment("last", last, clock)
    if begin is not None and end is not None and not begin < end:
        raise refuse("last", end.isoformat(), f"after {begin.isoformat()}, the first moment")

    until = pd.Timestamp(datetime.combine(latest_day(today), time.max), tz=UTC)
    if end is not None and end > until:
        raise refuse("last", end.isoformat(), f"{until:%Y-%m-%d} or before", "A log holds no future dates.")

    reading = _Reading(clock, event_s, begin, end, until)
    table = read_table(source, EVENT_COLUMNS, reading.rules(), name)
    rows = reading.of(table.rows)[["start", "end"]].drop_duplicates().sort_values(["start", "end"], ignore_index=True)
    notes = [*table.notes]
    if clock is None:
        notes.append(f"{table.name}: hours of the week are in UTC. Give the zone for local hours.")
    if begin is None or end is None:
        notes.append(
            f"{table.name}: the observed period is taken "
            f"{'from the first start' if begin is None else 'from the moment given'} "
            f"{'to the last end' if end is None else 'to the moment given'}: "
            f"quiet time {' and '.join(['before'] * (begin is None) + ['after'] * (end is None))} is not counted."
        )
    begin, end = begin or rows["start"].min(), end or rows["end"].max()
    if not (rows["start"] >= begin).any():
        raise refuse("first", begin.isoformat(), f"at most {rows['start'].max().isoformat()}, the last start")
    if not begin < end:
        raise refuse(table.name, "an observed period of 0 s", "above 0 s", "Give the first and the last moment.")
    local = rows.apply(lambda column: column.dt.tz_convert(clock or "UTC"))
    return EventLog(table.name, zone or "UTC", local, begin, end, tuple(notes))


@dataclass
class _Reading:
    """How the rows of a log are read; done once, whichever rule asks first."""

    clock: ZoneInfo | None
    event_s: float | None
    first: pd.Timestamp | None
    last: pd.Timestamp | None
    until: pd.Timestamp
    _read: pd.DataFrame | None = None

    def of(self, rows: pd.DataFrame) -> pd.DataFrame:
        """Give ``start`` and ``end`` of the events in UTC, and a column of marks for each rule."""
        if self._read is None:
            self._read = self._marked(rows)
        return self._read

    def _marked(self, rows: pd.DataFrame) -> pd.DataFrame:
        starts, ends = read_times(rows["start"], self.clock), read_times(rows["end"], self.clock)
        start, no_end, no = starts["time"], rows["end"] == "", pd.Series(False, rows.index)
        end = ends["later"].where(ends["time"] < start, ends["time"])
        if self.event_s is not None:
            end = end.where(~no_end, start + timedelta(seconds=self.event_s))
        read = pd.DataFrame({"start": start, "end": end})
        duplicate = read.duplicated()
        in_order = read[~duplicate].sort_values(["start", "end"])
        overlaps = in_order["start"] < in_order["end"].cummax().shift()
        local = starts["local"] | ends["local"]
        before_days, after_days = _apart_days(start.where(start.between(FIRST_MOMENT, self.until)))
        # A moment that is given is not moved by an event, however far.
        apart_days = before_days * (self.first is None) + after_days * (self.last is None)
        return read.assign(
            start_unread=start.isna(),
            end_unread=end.isna() & ~no_end,
            start_year=(start < FIRST_MOMENT) | (start >= LAST_MOMENT),
            end_year=(end < FIRST_MOMENT) | (end >= LAST_MOMENT),
            start_to_come=(start > self.until) & (start < LAST_MOMENT),
            end_to_come=(end > self.until) & (end < LAST_MOMENT),
            too_far=apart_days > TOO_FAR_DAYS,
            far=apart_days.between(FAR_DAYS, TOO_FAR_DAYS),
            no_zone=local & ~local.shift(fill_value=False).cummax() if self.clock is None else no,
            no_end=no_end if self.event_s is None else no,
            backwards=end < start,
            late=no if self.last is None else start > self.last,
            twice=starts["twice"] | ends["twice"],
            skipped=starts["skipped"] | ends["skipped"],
            unsorted=start.diff() < timedelta(),
            duplicate=duplicate,
            overlaps=overlaps.reindex(rows.index, fill_value=False),
            long=end - start > timedelta(seconds=LONG_S),
            early=no if self.first is None else start < self.first,
            length_given=no if self.event_s is None else no_end,
        )

    def rules(self) -> list[Rule]:
        """Give what must be so of the rows, and what the reader is told about them."""
        last = "" if self.last is None else self.last.isoformat()
        iso = "a time as 2026-03-15T14:05:00, with or without an offset as +01:00"
        as_text = "Write it as ISO 8601 does; if the spreadsheet program changes it, format the cells as text."
        has_been = "Correct the year: a log holds no future dates."
        must = [
            ("start_unread", ("start",), iso, as_text),
            ("end_unread", ("end",), iso, as_text),
            ("start_year", ("start",), YEARS, "Correct the year."),
            ("end_year", ("end",), YEARS, "Correct the year."),
            ("start_to_come", ("start",), f"{self.until:%Y-%m-%d} or before", has_been),
            ("end_to_come", ("end",), f"{self.until:%Y-%m-%d} or before", has_been),
            (
                "too_far",
                ("start",),
                f"events within {TOO_FAR_DAYS:.0f} days of the rest of the log",
                "Correct the year, or remove the row: the camera would count as watched, and quiet, in between.",
            ),
            ("no_zone", ("start", "end"), "offsets on all times of the file, or a zone", "Give one, as Europe/Berlin."),
            ("no_end", ("end",), "an end", "Give it, or a length for events without end."),
            (
                "backwards",
                ("end", "start"),
                "an end at or after the start",
                "Check whether the two are swapped, or a date is wrong.",
            ),
            ("late", ("start",), f"{last} or before, the last moment", "Correct it, or give a later last moment."),
        ]
        told = [
            (
                "twice",
                "a time that clocks show twice in autumn",
                "The first of the two is taken; for an end, the one after its start.",
            ),
            ("skipped", "a time that clocks skip in spring", "The clock was not set in time, or the zone is wrong."),
            ("unsorted", "a start before that of the row above", "The order of rows does not matter."),
            ("duplicate", "the same event as in a row above", "It is counted once."),
            (
                "overlaps",
                "a start while another event was under way",
                "Both are counted; the time that they share is recorded once.",
            ),
            ("long", "an event longer than a day", "Check the dates."),
            (
                "far",
                f"a start over {FAR_DAYS} days from all but a few others",
                "Check the date. The camera counts as watched, and quiet, in between.",
            ),
            (
                "early",
                "a start before the first moment",
                "The event is not counted; what it records after that moment is.",
            ),
            ("length_given", f"no end; taken as {self.event_s} s long", "Check that length."),
        ]
        return [self._rule(*rule) for rule in must] + [
            self._rule(mark, ("start",), what, use, is_note=True) for mark, what, use in told
        ]

    def _rule(self, mark: str, columns: tuple[str, ...], allowed: str, mend: str, is_note: bool = False) -> Rule:
        return Rule(columns, lambda rows: self.of(rows)[mark], allowed, mend, is_note)


def _apart_days(start: "pd.Series[pd.Timestamp]") -> "tuple[pd.Series[float], pd.Series[float]]":
    """Give by how many days few events are before and after most of a log, else 0; 0 too where most lie apart."""
    in_order = start.dropna().sort_values()
    steps_days = in_order.diff() / timedelta(days=1)
    usual_days = steps_days.median() if len(in_order) > FEW else 0.0
    part = (steps_days > max(FAR_DAYS, FAR_STEPS * usual_days)).cumsum()
    most = in_order[part == part.mode().max()]
    if len(in_order) - len(most) > max(1, (1 - MOST) * len(in_order)):
        most = in_order
    if most.empty:
        return pd.Series(0.0, start.index), pd.Series(0.0, start.index)
    before_days, after_days = (most.iloc[0] - start) / timedelta(days=1), (start - most.iloc[-1]) / timedelta(days=1)
    most_days = None if len(in_order) > FEW else TOO_FAR_DAYS
    return before_days.clip(0.0, most_days).fillna(0.0), after_days.clip(0.0, most_days).fillna(0.0)
