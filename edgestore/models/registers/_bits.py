"""A register as one whole number, its fields cut out by the bit numbers that the specification prints."""

import string
from collections.abc import Mapping

from edgestore.checks import refuse, refuse_value

BITS_PER_DIGIT = 4
"""A hexadecimal digit."""


class Register:
    """A register, whose bit 0 is the last bit of its last hexadecimal digit.

    Parameters
    ----------
    name : str
        Name of the argument, for messages.
    text : str
        The register in hexadecimal, without spaces or 0x.
    bits : int
        Bits that it has.
    """

    def __init__(self, name: str, text: str, bits: int) -> None:
        digits = bits // BITS_PER_DIGIT
        self.text = hexadecimal(name, text)
        if len(text) != digits:
            mend = "Copy the whole register; each byte has two digits."
            raise refuse(name, f"{len(text)} hexadecimal digits", f"{digits} hexadecimal digits", mend)
        self._value = int(text, 16)

    def bits(self, high: int, low: int) -> int:
        """Number in the bits ``high`` to ``low``, both counted in."""
        return self._value >> low & (1 << high - low + 1) - 1

    def bit(self, place: int) -> bool:
        """Whether a bit is set."""
        return bool(self.bits(place, place))

    def characters(self, high: int, low: int) -> str:
        """Text in the bits ``high`` to ``low``, without blanks and zeros at its end; ? for what cannot be printed."""
        raw = self.bits(high, low).to_bytes((high - low + 1 + 7) >> 3, "big").rstrip(b"\0 ")
        return "".join(chr(byte) if chr(byte).isprintable() and byte < 0x7F else "?" for byte in raw)


def hexadecimal(name: str, text: str) -> str:
    """Give a text back when it is hexadecimal digits alone, whole bytes of them."""
    wanted = "hexadecimal digits, two for each byte"
    if not isinstance(text, str):
        raise refuse_value(name, text, wanted)
    if not text or len(text) % 2 or not set(text) <= set(string.hexdigits):
        raise refuse_value(name, text, wanted, "Leave out spaces, 0x and colons.")
    return text


def coded(code: int, known: Mapping[int, str]) -> str:
    """What a code stands for; a code that the specification leaves open is told as reserved, with its number."""
    return known.get(code, f"reserved (code 0x{code:X})")
