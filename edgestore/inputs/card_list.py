"""The cards on offer: what a card list may hold, as a table of columns and of rules. Reads one CSV file."""

from typing import Any

import pandas as pd

from edgestore.checks import MAX_BITRATE_MBIT_S, MAX_CAPACITY_GB, MAX_PRICE, refuse
from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Column, Rule, Table, read_table
from edgestore.models.lots.batch import MOST_CARDS
from edgestore.models.speed.classes import APPLICATION_MARKS, SPEED_CLASSES
from edgestore.units import GB_PER_H_AT_1_MBIT_S, GB_PER_TB, GIB_PER_GB

SOLD_SIZES_GB = (8, 16, 32, 64, 128, 256, 512, 1000, 1024)
"""Sizes that are printed on cards (common practice, no source)."""

SAME_SIZE = 0.003
"""How near a capacity comes to a sold size in GiB before it is taken for one."""

SMALL_CARD_GB = 4.0
"""Below this a capacity may be in TB, or a thousands separator was read as a decimal mark."""

USABLE_FRACTION = 1.0
"""Part of the printed capacity that is counted where nothing states it, as by hand from the label (common practice, no
source). Formatting and firmware leave a little less."""

MAX_PE_CYCLES = 200_000.0
"""Twice what the best flash of the FAST'16 field study is rated for (100 000)."""

MAX_WRITE_AMPLIFICATION = 100_000.0
"""One sector of 512 bytes for which a unit of 64 MiB is written costs 131 072 (our choice)."""

LEAST = 1e-3
"""No card bears less, in TB, h, Mbit/s or cycles (our choice): sums with far smaller figures overflow."""

MOST_TRIED = float(MOST_CARDS)
"""As :mod:`edgestore.models.lots.batch` takes."""

TRIAL_FINDS = 0.5
"""Part of the weak cards that a trial finds where the list does not say (our guess)."""

_TRIED = ("tried_cards", "weak_found")
_ENDURANCE = ("endurance_tbw", "rated_h", "rated_mbit_s", "pe_cycles")
_AMPLIFICATION = ("write_amplification_low", "write_amplification_high")
_AMPLIFICATION_MEND = "Leave both empty when it is not known."

CARD_COLUMNS = (
    Column(
        "card",
        "text",
        "name of the card; each name once, and no two that look alike",
        required=True,
        unique=True,
        mend="Name the card.",
    ),
    Column(
        "capacity_gb",
        "number",
        "capacity printed on the card",
        unit="GB",
        required=True,
        at_least=0.5,
        at_most=MAX_CAPACITY_GB,
        mend="Write 64, not 64000 (MB) or 0.064 (TB).",
    ),
    Column(
        "usable_fraction",
        "number",
        "fraction of the capacity that formatting and firmware leave",
        default=USABLE_FRACTION,
        above=0.5,
        at_most=1,
        mend="A percentage is divided by 100.",
    ),
    Column(
        "speed_class",
        "choices",
        "all speed marks printed on the card, separated by spaces; A1 and A2 promise nothing about video",
        required=True,
        words=(*SPEED_CLASSES, *APPLICATION_MARKS),
        mend="Write the marks separated by spaces, as C10 U1 V10. UHS-I is the card's bus and not a speed class: write "
        "U1 or U3, as the card shows it.",
    ),
    Column("endurance_tbw", "number", "what may be written in the card's life", unit="TB", at_least=LEAST),
    Column("rated_h", "number", "or: rated hours of recording, at rated_mbit_s", unit="h", at_least=LEAST),
    Column(
        "rated_mbit_s",
        "number",
        "the rate at which rated_h holds",
        unit="Mbit/s",
        at_least=LEAST,
        at_most=MAX_BITRATE_MBIT_S,
        mend="Write 26 for 26000 kbit/s.",
    ),
    Column(
        "pe_cycles",
        "number",
        "or: program/erase cycles that the flash bears",
        unit="cycles",
        at_least=LEAST,
        at_most=MAX_PE_CYCLES,
    ),
    Column(
        _AMPLIFICATION[0],
        "number",
        "flash writes over host writes at best, beside pe_cycles",
        at_least=1,
        at_most=MAX_WRITE_AMPLIFICATION,
        mend=_AMPLIFICATION_MEND,
    ),
    Column(
        _AMPLIFICATION[1],
        "number",
        "flash writes over host writes at worst, beside pe_cycles",
        at_least=1,
        at_most=MAX_WRITE_AMPLIFICATION,
        mend=_AMPLIFICATION_MEND,
    ),
    Column(
        "price",
        "number",
        "price of one card, all in one currency",
        unit="currency units",
        at_least=0,
        at_most=MAX_PRICE,
    ),
    Column(
        _TRIED[0],
        "number",
        "cards of this kind, drawn at random, that a check tried (edgestore accept)",
        unit="cards",
        at_least=0,
        at_most=MOST_TRIED,
    ),
    Column(
        _TRIED[1],
        "number",
        "cards of those tried that it found bad",
        unit="cards",
        at_least=0,
        at_most=MOST_TRIED,
    ),
    Column(
        "trial_finds",
        "number",
        "part of the weak cards that such a trial finds; those that die within months show only in part",
        default=TRIAL_FINDS,
        above=0,
        at_most=1,
        mend="A percentage is divided by 100.",
    ),
)


def _looks_like_gib(capacity_gb: float) -> bool:
    """Tell whether a capacity is a size that cards are sold in, as an operating system shows it."""
    return any(abs(capacity_gb / (size_gb * GIB_PER_GB) - 1) <= SAME_SIZE for size_gb in SOLD_SIZES_GB)


def _promises_no_video(marks: str) -> bool:
    """Tell whether all marks are about operations a second."""
    return bool(marks) and set(marks.split()) <= set(APPLICATION_MARKS)


CARD_RULES = (
    Rule(
        ("capacity_gb",),
        lambda rows: rows["capacity_gb"].map(_looks_like_gib),
        "the size printed on the card",
        "It looks like GiB: an operating system's 29.8 GiB is a 32 GB card.",
    ),
    Rule(
        ("capacity_gb",),
        lambda rows: rows["capacity_gb"] < SMALL_CARD_GB,
        f"capacity_gb is under {SMALL_CARD_GB:g} GB",
        "Make sure that it is neither in TB nor written with a thousands separator.",
        is_note=True,
    ),
    Rule(
        ("usable_fraction",),
        lambda rows: rows["usable_fraction"] == 1,
        "all of the capacity is counted as room for footage",
        "Give usable_fraction: format such a card in the camera, and divide the GB that it shows as free by those"
        " printed on the card. Formatting leaves a little less than all, and some cameras keep a part free.",
        is_note=True,
    ),
    Rule(
        ("speed_class",),
        lambda rows: rows["speed_class"].map(_promises_no_video),
        "at least one mark of C, U or V",
        "A1 and A2 promise operations a second, nothing about video.",
    ),
    Rule(
        _ENDURANCE,
        lambda rows: rows[list(_ENDURANCE)].isna().all(axis=1),
        "endurance in one way or more",
        "Give endurance_tbw, or rated_h with rated_mbit_s, or pe_cycles, from the card's data sheet.",
    ),
    Rule(
        ("endurance_tbw", "capacity_gb"),
        lambda rows: rows["endurance_tbw"] * GB_PER_TB / rows["capacity_gb"] > MAX_PE_CYCLES,
        f"what writes the card over {MAX_PE_CYCLES:.0f} times at most",
        "It looks like GB: write 117 for 117000 GB.",
    ),
    Rule(
        ("rated_h", "rated_mbit_s", "capacity_gb"),
        lambda rows: (
            rows["rated_h"] * rows["rated_mbit_s"] * GB_PER_H_AT_1_MBIT_S / rows["capacity_gb"] > MAX_PE_CYCLES
        ),
        f"what writes the card over {MAX_PE_CYCLES:.0f} times at most",
        "It looks like minutes or seconds: write 10000 for 600000 minutes.",
    ),
    Rule(
        ("rated_h", "rated_mbit_s"),
        lambda rows: rows["rated_h"].isna() != rows["rated_mbit_s"].isna(),
        "both or neither",
        "Hours of recording say nothing without the rate at which they hold.",
    ),
    Rule(
        _AMPLIFICATION,
        lambda rows: rows[_AMPLIFICATION[0]].isna() != rows[_AMPLIFICATION[1]].isna(),
        "both or neither",
        _AMPLIFICATION_MEND,
    ),
    Rule(
        _AMPLIFICATION,
        lambda rows: rows[_AMPLIFICATION[0]] > rows[_AMPLIFICATION[1]],
        "low at most high",
        "Swap them.",
    ),
    Rule(
        _TRIED,
        lambda rows: (rows[list(_TRIED)] % 1 > 0).any(axis=1),
        "whole numbers of cards",
        "Count the cards.",
    ),
    Rule(
        _TRIED,
        lambda rows: rows[_TRIED[1]].fillna(0) > rows[_TRIED[0]].fillna(0),
        "weak_found at most tried_cards",
        "Give how many were tried, the bad ones among them.",
    ),
    Rule(
        (*_AMPLIFICATION, "pe_cycles"),
        lambda rows: rows[_AMPLIFICATION[0]].notna() & rows["pe_cycles"].isna(),
        "write amplification counts with pe_cycles",
        "Its value here is not used.",
        is_note=True,
    ),
    Rule(
        _ENDURANCE,
        lambda rows: rows[["endurance_tbw", "rated_h", "pe_cycles"]].notna().sum(axis=1) > 1,
        "endurance in more than one way",
        "endurance_tbw is used before the others, rated_h before pe_cycles.",
        is_note=True,
    ),
)


def read_cards(source: Source, name: str = "card list") -> Table:
    r"""Read a card list.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the CSV file, or its content.
    name : str
        What messages call the list when ``source`` is its content.

    Returns
    -------
    Table
        Rows with the columns of ``CARD_COLUMNS`` (units in their names, described in data/README.md), and notes.

    Raises
    ------
    InputError
        With every fault of the file.

    Notes
    -----
    ``CARD_RULES`` says what the cells of a row must agree on.

    References
    ----------
    Speed marks: edgestore.models.speed.classes. Sold sizes: common practice, no source.

    Examples
    --------
    >>> table = read_cards(b"card;capacity_gb;speed_class;endurance_tbw\nplain 64 GB;64;u1 c10;38,4\n")
    >>> table.rows[["card", "speed_class", "endurance_tbw"]].to_dict("records")
    [{'card': 'plain 64 GB', 'speed_class': 'U1 C10', 'endurance_tbw': 38.4}]
    """
    return read_table(source, CARD_COLUMNS, CARD_RULES, name)


def listed_card(source: Source, kind: str) -> "pd.Series[Any]":
    """The row of one kind of card in a list.

    Parameters
    ----------
    source : Path, str or bytes
        The card list.
    kind : str
        Name of the card in it.

    Returns
    -------
    Series
        Its row, with the columns of ``CARD_COLUMNS``.

    Raises
    ------
    InputError
        When the list cannot be read, or has no such card.
    """
    rows = read_cards(source).rows
    found = rows[rows["card"] == kind]
    if found.empty:
        raise refuse("card", repr(kind), f"a card of the list: {', '.join(rows['card'])}", "Write its name as there.")
    return found.iloc[0]
