"""The site's cameras: what a camera list may hold, as a table of columns and of rules. Reads one CSV file."""

from dataclasses import replace

import pandas as pd

from edgestore.checks import MAX_CAPACITY_GB
from edgestore.inputs.clocks import is_zone
from edgestore.inputs.settings import REQUIREMENT_KEYS
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Column, Rule, Table, read_table
from edgestore.models.rate.bitrate import MEAN_OVER_CAP_BAND
from edgestore.models.speed.classes import BUS_MBYTE_S
from edgestore.units import BITS_PER_BYTE, KBIT_PER_MBIT

HOUSINGS = ("dome", "captive-cover dome", "gimbal dome", "bullet", "ptz dome", "ptz positioner", "box", "other")

MAX_LISTED_MBIT_S = 200.0
"""More than one camera writes to its card (common practice, no source): a larger figure is in kbit/s."""

MOST_LOCKED = 0.99
"""A ring that locked clips leave less than a hundredth of the card records hardly anything (our choice)."""

SAME_RATIO = 0.02
"""How near mean over cap comes to a factor between units before that unit is suspected."""

_RATE_MEND = "Write 4 for 4000 kbit/s; leave it empty when it is not known."

CAMERA_COLUMNS = (
    Column(
        "camera",
        "text",
        "name of the camera; each name once, and no two that look alike",
        required=True,
        unique=True,
        mend="Name the camera.",
    ),
    Column("place", "text", "where it looks"),
    Column("housing", "choice", "kind of housing", words=HOUSINGS, mend="Leave it empty when none of them fits."),
    Column(
        "mean_mbit_s",
        "number",
        "mean of all that is written to the card: all recorded streams and sound together, while recording",
        unit="Mbit/s",
        above=0,
        at_most=MAX_LISTED_MBIT_S,
        mend=_RATE_MEND,
    ),
    Column(
        "cap_mbit_s",
        "number",
        "the most that the encoder may write: the sum over all recorded streams and sound",
        unit="Mbit/s",
        above=0,
        at_most=MAX_LISTED_MBIT_S,
        mend=_RATE_MEND,
    ),
    Column(
        "scene",
        "choice",
        "what the camera sees: decides the range of the mean when only the cap is known",
        default="unknown",
        words=tuple(MEAN_OVER_CAP_BAND),
    ),
    Column("recording", "choice", "when it records", default="continuous", words=("continuous", "motion")),
    Column("events_per_h", "number", "events an hour, for motion", unit="events/h", above=0, at_most=3600),
    Column("event_s", "number", "mean length of an event, for motion", unit="s", above=0, at_most=3600),
    Column("pre_roll_s", "number", "recorded before an event", unit="s", default=0.0, at_least=0, at_most=600),
    Column("post_roll_s", "number", "recorded after an event", unit="s", default=0.0, at_least=0, at_most=600),
    Column(
        "update_interval_s",
        "number",
        "time between two updates of file tables and index on the card, while recording",
        unit="s",
        above=0,
        at_most=3600,
        mend="Leave it empty when the camera's maker does not say.",
    ),
    Column(
        "slot_bus",
        "choice",
        "fastest SD bus mode of the card slot",
        default="unknown",
        words=(*BUS_MBYTE_S, "unknown"),
    ),
    Column(
        "max_card_gb",
        "number",
        "largest card that the slot takes; empty for no limit known",
        unit="GB",
        above=0,
        at_most=MAX_CAPACITY_GB,
        mend="Write 32 for 32 GB.",
    ),
    Column(
        "deletes_by_age",
        "yes-no",
        "whether the camera can delete footage older than a set age",
        default=False,
    ),
    Column(
        "locked_fraction",
        "number",
        "part of the usable space that clips locked against overwriting are expected to hold",
        default=0.0,
        at_least=0,
        at_most=MOST_LOCKED,
        mend="Write 0.25 for a quarter; leave it empty when no clips are locked.",
    ),
    Column("footage", "text", "a clip that the camera recorded, or a folder of clips"),
    Column("encoder_file", "text", "the encoder's settings, saved as ONVIF XML or as SDP"),
    Column("encoder_streams", "text", "which streams of that file are recorded, joined by +; empty for all of them"),
    Column("event_log", "text", "log of the camera's events, CSV, for motion"),
    Column("time_zone", "text", "name of the zone of the clocks of log, clips and what happened, as Europe/Berlin"),
    Column("group", "text", "cameras of one group share requirements of the settings, or a kind of card"),
    Column("lift", "yes-no", "whether the camera is reached only with lifting gear", default=False),
    Column("visit_group", "text", "cameras of one visit group share a visit and a lift; empty: a visit of its own"),
    *(
        replace(key, help=f"{key.help}, for this camera alone")
        for key in REQUIREMENT_KEYS
        if key.name != "speed_margin"
    ),
)

FILE_COLUMNS = ("footage", "encoder_file", "event_log")
"""Columns that name a file on this machine; its path counts from the folder of the list."""

EVENT_NUMBERS = ["events_per_h", "event_s", "pre_roll_s", "post_roll_s"]


def _mean_is_times_cap(rows: pd.DataFrame, factor: float) -> "pd.Series[bool]":
    """Mark the rows whose mean is the cap times a factor, within ``SAME_RATIO``."""
    return (rows["mean_mbit_s"] / rows["cap_mbit_s"] / factor - 1).abs() <= SAME_RATIO


def _needed_for_motion(column: str) -> Rule:
    """A camera that records on motion needs this column, or a log."""
    return Rule(
        (column, "recording", "event_log"),
        lambda rows: (rows["recording"] == "motion") & rows[column].isna() & (rows["event_log"] == ""),
        f"{column} or event_log when recording is motion",
        "Give it from the camera's event log, name the log, or let it record continuously.",
    )


def _unknown_zone(rows: pd.DataFrame) -> "pd.Series[bool]":
    """Mark the rows whose time zone nobody knows."""
    unknown = {zone for zone in rows["time_zone"].unique() if zone and not is_zone(zone)}
    return rows["time_zone"].isin(unknown)


CAMERA_RULES = (
    Rule(
        ("mean_mbit_s", "cap_mbit_s", "footage", "encoder_file"),
        lambda rows: (
            rows[["mean_mbit_s", "cap_mbit_s"]].isna().all(axis=1)
            & (rows[["footage", "encoder_file"]] == "").all(axis=1)
        ),
        "a mean, a cap, footage or an encoder_file",
        "Give the cap from the camera's settings, a mean measured over some days, or a file that has them.",
    ),
    Rule(
        ("mean_mbit_s", "cap_mbit_s"),
        lambda rows: _mean_is_times_cap(rows, BITS_PER_BYTE),
        "a mean not above the cap",
        "The mean is 8 times the cap: one of them looks like Mbyte/s. Multiply Mbyte/s by 8.",
    ),
    Rule(
        ("mean_mbit_s", "cap_mbit_s"),
        lambda rows: _mean_is_times_cap(rows, KBIT_PER_MBIT),
        "a mean not above the cap",
        "The mean is 1000 times the cap: one of them looks like kbit/s. Divide kbit/s by 1000.",
    ),
    Rule(
        ("mean_mbit_s", "cap_mbit_s"),
        lambda rows: (
            (rows["mean_mbit_s"] > rows["cap_mbit_s"])
            & ~_mean_is_times_cap(rows, BITS_PER_BYTE)
            & ~_mean_is_times_cap(rows, KBIT_PER_MBIT)
        ),
        "a mean not above the cap",
        "Exchange them if they are swapped; otherwise sum the caps of all recorded streams and sound.",
    ),
    _needed_for_motion("events_per_h"),
    _needed_for_motion("event_s"),
    Rule(
        (*EVENT_NUMBERS, "event_log", "recording"),
        lambda rows: (
            (rows["recording"] == "continuous")
            & ((rows[EVENT_NUMBERS].fillna(0) > 0).any(axis=1) | (rows["event_log"] != ""))
        ),
        "event columns count when recording is motion",
        "Their values here are not used.",
        is_note=True,
    ),
    Rule(
        ("encoder_streams", "encoder_file"),
        lambda rows: (rows["encoder_streams"] != "") & (rows["encoder_file"] == ""),
        "an encoder_file that has these streams",
        "Name the file, or leave the streams empty.",
    ),
    Rule(
        ("retention_days_max", "retention_days"),
        lambda rows: rows["retention_days_max"] < rows["retention_days"],
        "at least the retention_days wanted",
        "Ask for less or have the policy changed.",
    ),
    Rule(
        ("time_zone",),
        _unknown_zone,
        "the name of a time zone, as Europe/Berlin or UTC",
        "Look the name up in the IANA time zone database.",
    ),
)


def read_cameras(source: Source, name: str = "camera list") -> Table:
    r"""Read a camera list.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the CSV file, or its content.
    name : str
        What messages call the list when ``source`` is its content.

    Returns
    -------
    Table
        Rows with the columns of ``CAMERA_COLUMNS`` (units in their names, described in data/README.md), and notes.

    Raises
    ------
    InputError
        With every fault of the file.

    Notes
    -----
    ``CAMERA_RULES`` says what the cells of a row must agree on. Files that a row names are not opened here.

    References
    ----------
    SD bus modes: SD Association, bus-speed page. Bounds of the rates: common practice, no source.

    Examples
    --------
    >>> table = read_cameras(b"camera,cap_mbit_s\nQuay north,4\n")
    >>> table.rows[["camera", "cap_mbit_s", "scene"]].to_dict("records")
    [{'camera': 'Quay north', 'cap_mbit_s': 4.0, 'scene': 'unknown'}]
    """
    return read_table(source, CAMERA_COLUMNS, CAMERA_RULES, name)
