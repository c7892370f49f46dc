"""How long the card lasts: what it may write in its life over what the camera writes in a year."""

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import DAYS_PER_YEAR, GB_PER_H_AT_1_MBIT_S, GB_PER_TB, H_PER_DAY

WEAR_ALONE = (
    "Life is wear alone, spread evenly over the card. Early failures, heat and power cuts come on top; beyond some ten"
    " years they decide, not wear (common practice, no source)."
)
"""What every answer about life says of itself."""


def writes_gb_day(bitrate_mbit_s: Numbers, recorded_fraction: Numbers = 1.0) -> Values:
    r"""Volume that a camera writes in a day.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Volume in GB a day, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{written a day} = \text{rate} \times 0.45\,\mathrm{GB/h} \times 24\,\mathrm{h} \times \text{recorded}

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> print(f"{writes_gb_day(1):.1f}")
    10.8
    """
    bitrate = checks.bitrate_mbit_s(bitrate_mbit_s)
    recorded = checks.fraction("recorded_fraction", recorded_fraction, above=0)
    checks.broadcastable(bitrate_mbit_s=bitrate, recorded_fraction=recorded)
    return bitrate * recorded * GB_PER_H_AT_1_MBIT_S * H_PER_DAY


def writes_tb_year(bitrate_mbit_s: Numbers, recorded_fraction: Numbers = 1.0) -> Values:
    r"""Volume that a camera writes in a year of 365.25 days.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Volume in TB a year, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{written a year} = \frac{\text{rate} \times 0.45\,\mathrm{GB/h} \times 24\,\mathrm{h}
        \times \text{recorded} \times 365.25}{1000}

    This is :func:`writes_gb_day` times 365.25, in TB of 1000 GB.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> print(f"{writes_tb_year(1):.4f}")
    3.9447
    """
    return writes_gb_day(bitrate_mbit_s, recorded_fraction) * DAYS_PER_YEAR / GB_PER_TB


def endurance_tbw_from_cycles(capacity_gb: Numbers, pe_cycles: Numbers, write_amplification: Numbers = 1.0) -> Values:
    r"""Volume that a host may write to a card whose flash bears a number of program/erase cycles.

    Parameters
    ----------
    capacity_gb : float or array_like
        Capacity, GB, above 0.
    pe_cycles : float or array_like
        Program/erase cycles that each block bears, above 0.
    write_amplification : float or array_like
        Flash writes over host writes, a plain ratio, 1 or more.

    Returns
    -------
    float or ndarray
        Endurance in TB written by the host, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{endurance} = \frac{\text{capacity} \times \text{cycles}}{1000 \times \text{amplification}}

    with wear spread evenly over the card. For a card of which nothing is known
    the amplification lies between 1 and what :func:`edgestore.models.wear.write_amplification_camera` gives for the
    camera.

    References
    ----------
    The definition of terabytes written: JEDEC JESD218.

    Examples
    --------
    >>> endurance_tbw_from_cycles(128, 3000)
    384.0
    """
    capacity = checks.capacity_gb(capacity_gb)
    cycles = checks.in_range("pe_cycles", pe_cycles, "cycles", above=0)
    amplification = checks.in_range("write_amplification", write_amplification, at_least=1)
    checks.broadcastable(capacity_gb=capacity, pe_cycles=cycles, write_amplification=amplification)
    return capacity * cycles / amplification / GB_PER_TB


def endurance_tbw_from_hours(rated_h: Numbers, rated_mbit_s: Numbers) -> Values:
    r"""Volume that stands behind a rating in hours of recording.

    Parameters
    ----------
    rated_h : float or array_like
        Hours of recording that the card is rated for, above 0.
    rated_mbit_s : float or array_like
        Bit rate at which the rating holds, Mbit/s, above 0.

    Returns
    -------
    float or ndarray
        Endurance in TB written by the host, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{endurance} = \frac{\text{hours} \times \text{rate} \times 0.45\,\mathrm{GB/h}}{1000}

    Hours without a bit rate say nothing.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> print(f"{endurance_tbw_from_hours(20000, 26):.1f}")
    234.0
    """
    hours = checks.in_range("rated_h", rated_h, "h", above=0)
    rate = checks.bitrate_mbit_s(rated_mbit_s, "rated_mbit_s")
    checks.broadcastable(rated_h=hours, rated_mbit_s=rate)
    return hours * rate * GB_PER_H_AT_1_MBIT_S / GB_PER_TB


def passes_per_year(capacity_gb: Numbers, bitrate_mbit_s: Numbers, recorded_fraction: Numbers = 1.0) -> Values:
    r"""How often a year the camera writes the whole card over.

    Parameters
    ----------
    capacity_gb : float or array_like
        Capacity, GB, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Passes a year, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{cycles a year} = \frac{1000 \times \text{written a year}}{\text{capacity}}

    with :func:`writes_tb_year` above, TB, and the capacity in GB.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> print(f"{passes_per_year(64, 4):.1f}")
    246.5
    """
    capacity = checks.capacity_gb(capacity_gb)
    written = writes_tb_year(bitrate_mbit_s, recorded_fraction)
    checks.broadcastable(capacity_gb=capacity_gb, bitrate_mbit_s=bitrate_mbit_s, recorded_fraction=recorded_fraction)
    return written * GB_PER_TB / capacity


def life_years(endurance_tbw: Numbers, bitrate_mbit_s: Numbers, recorded_fraction: Numbers = 1.0) -> Values:
    r"""Time until a camera has written what a card may write in its life.

    Parameters
    ----------
    endurance_tbw : float or array_like
        Endurance, TB written by the host, above 0.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded, above 0 and at most 1.

    Returns
    -------
    float or ndarray
        Life in years of 365.25 days, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{life} = \frac{\text{endurance}}{\text{written a year}}

    with :func:`writes_tb_year` below. Wear alone: a card may fail sooner for other reasons.

    References
    ----------
    The definition of terabytes written: JEDEC JESD218.

    Examples
    --------
    >>> print(f"{life_years(234, 4):.2f}")
    14.83
    """
    endurance = checks.in_range("endurance_tbw", endurance_tbw, "TB", above=0)
    written = writes_tb_year(bitrate_mbit_s, recorded_fraction)
    checks.broadcastable(
        endurance_tbw=endurance_tbw, bitrate_mbit_s=bitrate_mbit_s, recorded_fraction=recorded_fraction
    )
    return endurance / written


def writes_tb_year_for_life(endurance_tbw: Numbers, life_years: Numbers) -> Values:
    r"""Volume a year that a card bears for a wanted life: the inverse of :func:`life_years`.

    Parameters
    ----------
    endurance_tbw : float or array_like
        Endurance, TB written by the host, above 0.
    life_years : float or array_like
        Wanted life, years, above 0.

    Returns
    -------
    float or ndarray
        Volume in TB a year, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{writes a year} = \frac{\text{endurance}}{\text{life}}

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> writes_tb_year_for_life(100, 5)
    20.0
    """
    endurance = checks.in_range("endurance_tbw", endurance_tbw, "TB", above=0)
    life = checks.in_range("life_years", life_years, "years", above=0)
    checks.broadcastable(endurance_tbw=endurance, life_years=life)
    return endurance / life
