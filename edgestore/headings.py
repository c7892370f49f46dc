"""Names of columns as a reader meets them: words, with the unit in brackets."""

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
    "chance_kept": "Chance that all is kept",
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
    "cost_over_horizon": "Cost over the horizon",
    "cards_over_horizon": "Cards over the horizon",
    "passes_per_year": "Times overwritten a year",
    "peak_1s_mbit_s": "Peak second (Mbit/s)",
    "pe_cycles": "PE (cycles)",
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
    >>> [heading(name) for name in ("mean_mbit_s", "visit_group", "cost_per_year", "mbit_s", "Lane 1")]
    ['Mean (Mbit/s)', 'Visit group', 'Cost a year', 'Mbit/s', 'Lane 1']
    """
    if name in HEADINGS:
        return HEADINGS[name]
    if not name.islower() or " " in name:
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
