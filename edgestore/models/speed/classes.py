"""Does the card keep up: what a speed mark promises in a given slot, and the margin over the camera's peak."""

from collections.abc import Iterable
from dataclasses import dataclass

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import BITS_PER_BYTE, MBYTE_PER_MBIT

BUS_MBYTE_S = {
    "default": 12.5,
    "high speed": 25.0,
    "sdr50": 50.0,
    "ddr50": 50.0,
    "sdr104": 104.0,
    "uhs-ii": 156.0,
}
"""Ceiling of each SD bus mode, Mbyte/s (SD Association, bus-speed page; UHS-II full duplex)."""


@dataclass(frozen=True)
class SpeedClass:
    """One speed class: the least sequential write rate it promises and the slowest bus that it is defined on."""

    family: str
    min_write_mbyte_s: float
    bus: str


SPEED_CLASSES = {
    "C2": SpeedClass("C", 2.0, "default"),
    "C4": SpeedClass("C", 4.0, "default"),
    "C6": SpeedClass("C", 6.0, "default"),
    "C10": SpeedClass("C", 10.0, "high speed"),
    "U1": SpeedClass("U", 10.0, "sdr50"),
    "U3": SpeedClass("U", 30.0, "sdr50"),
    "V6": SpeedClass("V", 6.0, "high speed"),
    "V10": SpeedClass("V", 10.0, "high speed"),
    "V30": SpeedClass("V", 30.0, "sdr50"),
    "V60": SpeedClass("V", 60.0, "uhs-ii"),
    "V90": SpeedClass("V", 90.0, "uhs-ii"),
}
"""C: SD Physical Layer Simplified Specification v4.10, Table 4-59; U and V: SD Association, speed-class page."""

APPLICATION_MARKS = ("A1", "A2")
"""Marks that promise operations a second, not a rate for video."""

TRADE_MARGIN = 10.0
"""The trade's rule: a card's class is ten times the stream (common practice, no source)."""


def min_write_mbyte_s(mark: str) -> float:
    """Least sequential write rate that a speed mark promises.

    Parameters
    ----------
    mark : str
        A key of ``SPEED_CLASSES``, as ``"V30"``.

    Returns
    -------
    float
        Rate in Mbyte/s.

    Raises
    ------
    InputError
        When the mark is not a speed class.

    Notes
    -----
    Looked up in ``SPEED_CLASSES``. The promise holds for long sequential writes into whole allocation units of a card
    formatted to the SD file system, with the bus kept busy; not for scattered small writes.

    References
    ----------
    SD Physical Layer Simplified Specification v4.10, section 4.13 and Table 4-59; SD Association, speed classes.

    Examples
    --------
    >>> min_write_mbyte_s("U3")
    30.0
    """
    checks.one_of("mark", mark, SPEED_CLASSES, "Write a mark as printed on the card, as V30.")
    return SPEED_CLASSES[mark].min_write_mbyte_s


def implied_marks(mark: str) -> tuple[str, ...]:
    """Marks whose promise is included in a mark's own: the lower ones of its family, and itself.

    Parameters
    ----------
    mark : str
        A key of ``SPEED_CLASSES``.

    Returns
    -------
    tuple of str
        Marks in rising order of rate.

    Raises
    ------
    InputError
        When the mark is not a speed class.

    Notes
    -----
    Looked up in ``SPEED_CLASSES``: the marks of the same family whose rate is no higher. Across families nothing is
    implied: no clause of the specification says that a V30 card is a U3 card, though both promise 30 Mbyte/s.

    References
    ----------
    SD Physical Layer Simplified Specification v4.10, section 4.10.2.

    Examples
    --------
    >>> implied_marks("V30")
    ('V6', 'V10', 'V30')
    """
    rate = min_write_mbyte_s(mark)
    family = SPEED_CLASSES[mark].family
    return tuple(m for m, c in SPEED_CLASSES.items() if c.family == family and c.min_write_mbyte_s <= rate)


def guaranteed_write_mbyte_s(marks: Iterable[str], slot_bus: str | None = None) -> float:
    """Write rate that a card's marks promise in a slot of a given bus.

    Parameters
    ----------
    marks : iterable of str
        All speed marks printed on the card; ``APPLICATION_MARKS`` count for nothing here.
    slot_bus : str, optional
        Fastest bus mode of the camera's slot, a key of ``BUS_MBYTE_S``; without it the bus sets no limit.

    Returns
    -------
    float
        Rate in Mbyte/s; 0 when no mark of the card is defined on so slow a bus.

    Raises
    ------
    InputError
        When a mark or the bus is unknown.

    Notes
    -----
    The highest rate among the marks that count, looked up in ``SPEED_CLASSES``. A mark counts when its class is defined
    on the slot's bus; a higher mark brings the lower ones of its family with it. A U1 card in a slot without UHS
    promises nothing by that mark. A camera older than a class may not ask the card for it: an old camera may get only
    the Class 10 or U1 rate of a V30 card.

    References
    ----------
    SD Physical Layer Simplified Specification v4.10, sections 4.10.2 and 4.13; SD Association, bus speeds.

    Examples
    --------
    >>> guaranteed_write_mbyte_s(["C10", "V60"], "sdr104")
    30.0
    >>> guaranteed_write_mbyte_s(["U1"], "high speed")
    0.0
    """
    if slot_bus is not None:
        checks.one_of("slot_bus", slot_bus, BUS_MBYTE_S, "Leave it out when the slot's bus is not known.")
    marks = checks.listed("marks", marks, "a list of marks", "Write it as ['C10', 'V30'].")
    ceiling = BUS_MBYTE_S[slot_bus] if slot_bus is not None else float("inf")
    classes = [
        SPEED_CLASSES[implied] for mark in marks if mark not in APPLICATION_MARKS for implied in implied_marks(mark)
    ]
    return max((c.min_write_mbyte_s for c in classes if BUS_MBYTE_S[c.bus] <= ceiling), default=0.0)


def speed_margin(write_mbyte_s: Numbers, bitrate_mbit_s: Numbers) -> Values:
    r"""How many times over a card's write rate carries a stream.

    Parameters
    ----------
    write_mbyte_s : float or array_like
        Rate that the card promises, Mbyte/s, 0 or more.
    bitrate_mbit_s : float or array_like
        Peak rate of the stream, Mbit/s, above 0: the cap, not the mean.

    Returns
    -------
    float or ndarray
        Margin, a plain ratio, of the broadcast shape; below 1 the card cannot keep up.

    Raises
    ------
    InputError
        When a rate is missing or out of range.

    Notes
    -----
    .. math:: \text{margin} = \frac{8 \times \text{write}}{\text{bit rate}}

    Eight bits a byte.

    References
    ----------
    Arithmetic.

    Examples
    --------
    >>> speed_margin(10, 8)
    10.0
    """
    write = checks.in_range("write_mbyte_s", write_mbyte_s, "Mbyte/s", at_least=0)
    bitrate = checks.bitrate_mbit_s(bitrate_mbit_s)
    checks.broadcastable(write_mbyte_s=write, bitrate_mbit_s=bitrate)
    return write * BITS_PER_BYTE / bitrate


def write_mbyte_s_for_margin(bitrate_mbit_s: Numbers, speed_margin: Numbers = TRADE_MARGIN) -> Values:
    r"""Write rate that a card must promise for a stream and a margin: the inverse of :func:`speed_margin`.

    Parameters
    ----------
    bitrate_mbit_s : float or array_like
        Peak rate of the stream, Mbit/s, above 0.
    speed_margin : float or array_like
        Wanted margin, a plain ratio, above 0; the trade's rule is 10.

    Returns
    -------
    float or ndarray
        Rate in Mbyte/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{write} = \frac{\text{bit rate}}{8} \times \text{margin}

    References
    ----------
    The default margin: common practice, no source.

    Examples
    --------
    >>> write_mbyte_s_for_margin(8)
    10.0
    """
    bitrate = checks.bitrate_mbit_s(bitrate_mbit_s)
    margin = checks.in_range("speed_margin", speed_margin, above=0)
    checks.broadcastable(bitrate_mbit_s=bitrate, speed_margin=margin)
    return bitrate * MBYTE_PER_MBIT * margin
