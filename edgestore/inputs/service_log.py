"""Cards in service: what was fitted where, when and until when -> ages for lifetime fits. Reads one CSV file."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import refuse
from edgestore.inputs.clocks import latest_day
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Column, Rule, Table, read_table
from edgestore.units import DAYS_PER_YEAR

FAILED, CAMERA_GONE = "failed", "camera gone"
WHYS = (FAILED, "planned", CAMERA_GONE, "evidence")
"""Why a card was taken out. Of all but the first it is known only that it had not failed by then."""

FIRST_DAY = pd.Timestamp(2000, 1, 1)
"""No memory card recorded for a network camera before (common practice, no source): an earlier date is a slip."""

SERVICE_COLUMNS = (
    Column("camera", "text", "the camera that the card is in", required=True, mend="Name the camera."),
    Column("card", "text", "kind of card, by the name in the card list", required=True, mend="Name the card."),
    Column("fitted", "date", "day on which the card went into service", required=True),
    Column("removed", "date", "day on which it was taken out; empty while it is in service"),
    Column("why", "choice", "why it was taken out; empty while it is in service", words=WHYS),
    Column("serial", "text", "serial number of the card itself, for its warranty and for evidence"),
)


def _rules(as_of: pd.Timestamp) -> tuple[Rule, ...]:
    """Give what the cells of a row must agree on, for a log that was written by a day."""
    by = f"{as_of:%Y-%m-%d} or before, the day of the log"
    later = "Correct the date, or give the day by which the log was written."
    first = f"{FIRST_DAY:%Y-%m-%d} or after"
    return (
        Rule(("fitted",), lambda rows: rows["fitted"] > as_of, by, later),
        Rule(("removed",), lambda rows: rows["removed"] > as_of, by, later),
        Rule(("fitted",), lambda rows: rows["fitted"] < FIRST_DAY, first, "Correct the year."),
        Rule(
            ("removed", "fitted"),
            lambda rows: rows["removed"] <= rows["fitted"],
            "removed after fitted",
            "A card that failed on its first day is removed on the next.",
        ),
        Rule(
            ("why", "removed"),
            lambda rows: (rows["why"] != "") & rows["removed"].isna(),
            "both or neither",
            "Give the day on which it was taken out; why stays empty while the card is in service.",
        ),
        Rule(
            ("why", "removed"),
            lambda rows: (rows["why"] == "") & rows["removed"].notna(),
            "both or neither",
            f"Say why it was taken out: {', '.join(WHYS)}.",
        ),
        Rule(
            ("camera", "fitted", "removed"),
            _fitted_before_the_last_was_removed,
            "fitted before the card that was in this camera was removed",
            "Check whether a removal is missing. Ignore this where a camera takes two cards.",
            is_note=True,
        ),
    )


def _fitted_before_the_last_was_removed(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Mark cards that went into a camera while an earlier one was in it."""
    in_order = rows.sort_values("fitted", kind="stable")
    ends = in_order["removed"].fillna(pd.Timestamp.max.normalize()).groupby(in_order["camera"])
    last_end = ends.cummax().groupby(in_order["camera"]).shift()
    return (in_order["fitted"] < last_end).reindex(rows.index)


def read_service_log(source: Source, as_of: date, name: str = "service log", today: date | None = None) -> Table:
    r"""Read a log of cards in service.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the CSV file, or its content.
    as_of : date
        Day by which the log was written: cards not removed were in service then.
    name : str
        What messages call the log when ``source`` is its content.
    today : date, optional
        Day after which no log can have been written; by default the day on this machine's clock.

    Returns
    -------
    Table
        Rows with the columns of ``SERVICE_COLUMNS``, described in data/README.md, and notes.

    Raises
    ------
    InputError
        With every fault of the file; or when the day of the log is yet to come.

    Notes
    -----
    A card that was moved to another camera has a row for each. Give every card, not the failed ones alone: a log of
    failures makes life look short.

    References
    ----------
    Dates: ISO 8601.

    Examples
    --------
    >>> log = b"camera,card,fitted,removed,why\nQuay,plain,2024-03-01,2025-03-01,failed\nRamp,plain,2024-06-01\n"
    >>> table = read_service_log(log, date(2026, 3, 1))
    >>> table.rows["why"].tolist()
    ['failed', '']
    """
    if as_of > (latest := latest_day(today)):
        mend = "Correct the year: a log holds no future dates."
        raise refuse("as_of", as_of.isoformat(), f"{latest} or before", mend)
    return read_table(source, SERVICE_COLUMNS, _rules(pd.Timestamp(as_of)), name)


@dataclass(frozen=True)
class ServiceAges:
    """Ages in years, as :func:`~edgestore.models.life.fit_weibull` takes them: at failure, and of of those in use."""

    failed_years: npt.NDArray[np.float64]
    running_years: npt.NDArray[np.float64]


def service_ages(rows: pd.DataFrame, as_of: date) -> ServiceAges:
    r"""Give the ages of cards at their failure, and of the others when last seen, on a day.

    Parameters
    ----------
    rows : DataFrame
        Rows of a service log, all or some of them: of one kind of card, say.
    as_of : date
        The day, not before any date in the rows.

    Returns
    -------
    ServiceAges
        Ages in years of 365.25 days, in the order of the rows.

    Raises
    ------
    InputError
        When a date in the rows is after the day.

    Notes
    -----
    Cards taken out for another reason than failure, or in service still, count as running up to their last day. Cards
    fitted on the day itself say nothing and are left out.

    References
    ----------
    Right-censored records: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.1.3.1 (from memory).

    Examples
    --------
    >>> log = b"camera,card,fitted,removed,why\nQuay,plain,2024-03-01,2025-03-01,failed\nRamp,plain,2024-06-01\n"
    >>> ages = service_ages(read_service_log(log, date(2026, 3, 1)).rows, date(2026, 3, 1))
    >>> print(f"{ages.failed_years[0]:.4f} {ages.running_years[0]:.4f}")
    0.9993 1.7467
    """
    day = pd.Timestamp(as_of)
    last = rows[["fitted", "removed"]].max().max()
    if last > day:
        raise refuse("as_of", f"{day:%Y-%m-%d}", f"{last:%Y-%m-%d} or later, the last date in the rows")
    days = (rows["removed"].fillna(day) - rows["fitted"]).dt.days
    years = days.to_numpy(float) / DAYS_PER_YEAR
    failed = (rows["why"] == FAILED).to_numpy()
    return ServiceAges(failed_years=years[failed], running_years=years[~failed & (years > 0)])
