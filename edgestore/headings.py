"""Names of columns as a reader meets them: words, with the unit in brackets."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

DIGITS = 6
"""So many decimals of a figure are written at most."""

UNITS = {
    "tb_year": "TB a year",
    "gb_day": "GB a day",
    "h_per_year": "h a year",
    "per_year": "a year",
    "per_h": "an hour",
    "per_day": "a day",
    "mbit_s": "Mbit/s",
    "mbyte_s": "Mbyte/s",
    "days": "days",
    "years": "years",
    "cycles": "cycles",
    "gb": "GB",
    "tbw": "TBW",
    "tb": "TB",
    "mb": "MB",
    "fps": "pictures/s",
    "px": "px",
    "h": "h",
    "s": "s",
    "c": "degrees Celsius",
}
"""What a name may end in, and the unit that this says; of two that fit the longer counts."""

HEADINGS = {
    "done_h": "In hand after (h)",
    "held_after_h": "Card then holds (h)",
    "chance_kept": "Chance that all is kept",
    "chance_retention": "Chance to hold enough",
    "chance_maximum": "Chance to hold no longer than allowed",
    "chance_speed": "Chance to keep up",
    "assumed": "What is assumed",
    "published": "Published figures nearest to it",
    "read_in": "Where these were read",
    "carried_over": "How they were carried over",
    "counted": "How it is counted",
    "replaced_by": "What would replace it",
    "nine_in_ten_years": "Nine in ten last (years)",
    "change_years": "Changed after (years)",
    "rate_basis": "Rates from",
    "against_cap": "Against the cap alone",
    "capacity_gb_wanted": "Capacity wanted (GB)",
    "p10_life_years_from": "One in ten worn out by, from (years)",
    "p10_life_years_to": "One in ten worn out by, to (years)",
    "chance_outlasts": "Chance that an outage outlasts the card",
    "unsaved_fraction": "Part of the outages that is not saved",
    "saved_fraction": "Part saved",
    "lost_h_per_year_by_hand": "Lost, card brought in by hand (h a year)",
    "chance_order_changes": "Chance that the order changes",
    "likely_order": "Then ordered, most likely",
    "planned_changes": "Planned changes",
    "chance_works": "Chance that it works until then",
    "cost_per_year": "Cost a year (currency units)",
    "cost_over_horizon": "Cost over the horizon (currency units)",
    "cards_over_horizon": "Cards over the horizon",
    "passes_per_year": "Times overwritten a year",
    "peak_1s_mbit_s": "Peak second (Mbit/s)",
    "pe_cycles": "PE (cycles)",
    "frames_per_s": "Frames a second",
    "key_frame_s": "Key frame every (s)",
    "key_share": "Share of the key frames",
    "sd_mbit_s": "Standard deviation (Mbit/s)",
    "chance_of_3_years": "Chance to last 3 years",
    "p10_life_years": "One in ten worn out by (years)",
    "unpowered_keep_years": "Keeps its data without power (years)",
    "chance_outlasts_72_h": "Chance that an outage lasts longer than 72 h",
    "retention_h_that_saves_95_percent": "Retention that saves 95 % (h)",
    "dead_when_needed": "Card dead when needed",
    "over_least": "Times the lowest",
    "share_of_cheapest_age": "Share of the cheapest age",
    "each_cost_per_year": "Each by itself, cost a year (currency units)",
    "together_years": "All together after (years)",
    "together_cost_per_year": "All together, cost a year (currency units)",
    "most_over_mean": "Most erases over the mean",
    "fifo_form": "Oldest first, by formula",
    "fifo_simulated": "Oldest first, simulated",
    "greedy_form": "Emptiest first, by formula",
    "greedy_simulated": "Emptiest first, simulated",
    "unit_one_open": "By unit, one open",
    "unit_with_log": "By unit with log",
    "mean_over_cap": "Mean over the cap",
    "card_at_cap": "Card by the cap alone",
    "retention_days_at_cap": "Retention at the cap (days)",
    "first_to_fail": "Fails first",
    "other_from_mbit_s": "Other card from (Mbit/s)",
    "all_hold": "All hold",
}
"""Names that say more in other words than in their own."""


def heading(name: str) -> str:
    """Write the name of a column for a reader.

    Parameters
    ----------
    name : str
        The name as a table has it, its unit at the end: ``retention_days``. A name that is no such word stays.

    Returns
    -------
    str
        Its words, with the unit in brackets.

    Examples
    --------
    >>> [heading(name) for name in ("mean_mbit_s", "visit_group", "lost_h_per_year", "mbit_s", "Lane 1")]
    ['Mean (Mbit/s)', 'Visit group', 'Lost (h a year)', 'Mbit/s', 'Lane 1']
    >>> heading("change_years by ladder")
    'Changed after (years) by ladder'
    """
    if name in HEADINGS:
        return HEADINGS[name]
    first, blank, rest = name.partition(" ")
    if "_" in first and blank:
        return f"{heading(first)} {rest}"
    if not name.islower() or blank:
        return name
    fits = [end for end in UNITS if name == end or name.endswith(f"_{end}")]
    if not fits:
        return words(name)
    end = max(fits, key=len)
    unit, base = UNITS[end], name.removesuffix(end).removesuffix("_")
    if not base:
        return unit[0].upper() + unit[1:]
    return f"{words(base)} {unit}" if unit.startswith("a") else f"{words(base)} ({unit})"


def words(name: str) -> str:
    """Write a name as words, the first with a capital."""
    return name.replace("_", " ").capitalize()


def headed(table: pd.DataFrame) -> pd.DataFrame:
    """Head a table in words, for a reader, and write its cells so.

    Parameters
    ----------
    table : DataFrame
        A table whose columns and rows have names of the program, or words already.

    Returns
    -------
    DataFrame
        The same with the names of columns, of rows that are columns elsewhere, and of what they are of, as
        :func:`heading` writes them, the first letter a capital. What is not known is blank, true is yes, and rows that
        are only counted from 0 have no number.

    Examples
    --------
    >>> import pandas as pd
    >>> list(headed(pd.DataFrame({"mean_mbit_s": [4.0], "change_years": [6.75]})))
    ['Mean (Mbit/s)', 'Changed after (years)']
    """

    def told(name: object) -> object:
        written = heading(name) if isinstance(name, str) else ""
        return written[0].upper() + written[1:] if written else name

    def told_row(name: object) -> object:
        return told(name) if "_" in str(name) else name

    written = table.apply(_written).rename(index=told_row, columns=told).rename_axis(index=told, columns=told)
    is_counted = written.index.name is None and written.index.dtype.kind == "i" and 0 in written.index
    return written.set_axis([""] * len(written)) if is_counted else written


def _written(column: pd.Series) -> pd.Series:
    """Write a column as text where it says whether, or where some of its figures are not known."""
    if column.dtype.kind == "b":
        return column.map({True: "yes", False: "no"})
    if column.dtype.kind != "f" or column.notna().all():
        return column
    figures = [f"{value:.{DIGITS}f}".rstrip("0") for value in column.dropna()]
    digits = max((len(figure.partition(".")[2]) for figure in figures), default=0)
    return column.astype(object).map(lambda value: f"{value:.{digits}f}" if value == value else "")
