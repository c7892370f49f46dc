"""How a register was printed -> the register as the card sent it. Opens no file."""

from typing import Literal, TypeAlias

from edgestore.models.registers import decoded_cid, register_crc7
from edgestore.models.registers.crc import RIGHT, WRONG
from edgestore.models.registers.csd import BUS_MBIT_S

Form: TypeAlias = Literal["whole", "shifted", "short", "led", "turned", "turned and shifted", "half"]
"""As the card sent it; a 00 before it and its last byte lost; its last byte left out; the first byte of the answer, 3f,
before it; its four words from the last to the first; both; the first half of an SCR alone."""

DIGITS = {"CID": (32, 30, 34), "CSD": (32, 30, 34), "SCR": (16, 8), "SSR": (128,), "EXT_CSD": (1024,)}
"""Hexadecimal digits that a register has whole, and in other forms."""

ANSWER_STARTS = "3f"
"""The first byte of an answer of the form R2 (SD Physical Layer Simplified Specification, section 4.9.3)."""

WORD_DIGITS = 8


def fits(register: str, digits: str) -> bool:
    """Whether a register may have been printed as these digits: as many as it has, or as another form has."""
    whole, *others = DIGITS[register]
    is_led = digits.lower().startswith(ANSWER_STARTS)
    return len(digits) == whole or (len(digits) in others and (len(digits) < whole or is_led))


def as_sent(register: str, digits: str, words: int = 1) -> tuple[str, Form]:
    """Give a register as the card sent it, as far as its digits show that.

    Parameters
    ----------
    register : str
        A key of ``DIGITS``.
    digits : str
        Its hexadecimal digits as printed, which fit (:func:`fits`).
    words : int
        In how many groups they were printed; four may have been printed from the last to the first.

    Returns
    -------
    tuple of str and str
        The digits, as many as the register has, and how they were printed; what makes no sense either way is given as
        it was printed.
    """
    whole = DIGITS[register][0]
    if register not in ("CID", "CSD", "SCR"):
        return digits, "whole"
    if register == "SCR":
        return digits.ljust(whole, "0"), "whole" if len(digits) == whole else "half"
    if len(digits) < whole:
        return f"{digits}00", "short"
    if len(digits) > whole:
        return digits[2:], "led"
    turned = "".join(digits[at : at + WORD_DIGITS] for at in range(whole - WORD_DIGITS, -1, -WORD_DIGITS))
    readings: list[tuple[str, Form]] = [(digits, "whole"), (f"{digits[2:]}00", "shifted")]
    if words * WORD_DIGITS == whole:
        readings += [(turned, "turned"), (f"{turned[2:]}00", "turned and shifted")]
    lost = {"shifted": digits, "turned and shifted": turned}
    sound = (
        (reading, form)
        for reading, form in readings
        if _is_sound(register, reading) and lost.get(form, "00").startswith("00")
    )
    return next(sound, readings[0])


def looks_like_csd(digits: str) -> bool:
    """Whether digits are rather those of a CSD than of a CID: a bus rate of the specification stands in its place."""
    return any(_is_csd(reading) for reading in (digits, digits[2:]))


def _is_csd(digits: str) -> bool:
    structure, bus_code = int(digits[:2] or "0", 16), int(digits[6:8] or "0", 16)
    return structure & 0x3F == 0 and bus_code in BUS_MBIT_S


def _is_sound(register: str, digits: str) -> bool:
    """Whether a register makes sense: a checksum that is right, or one that is missing and fields that may be."""
    state = register_crc7(digits).state
    if state in (RIGHT, WRONG):
        return state == RIGHT
    if register == "CSD":
        return _is_csd(digits)
    cid = decoded_cid(digits)
    return cid.reserved == 0 and 1 <= cid.manufacturing_month <= 12
