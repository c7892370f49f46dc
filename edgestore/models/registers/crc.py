"""Are these bytes as the card sent them: the checksum of 7 bits that closes a register and each command."""

from dataclasses import dataclass

from edgestore.models.registers._bits import Register, hexadecimal

POLYNOMIAL = 0b1001
"""x^7 + x^3 + 1 without its highest term (SD Physical Layer Simplified Specification, section 4.5)."""

RIGHT, WRONG, NOT_AVAILABLE = "right", "wrong", "not available"


@dataclass(frozen=True)
class Crc7:
    """The checksum that a register holds, that of its other bytes, and what both say: ``state``.

    A stored 0 that does not fit is *not available*: many hosts drop the checksum and leave a last byte of 00 or 01.
    """

    stored: int
    computed: int
    state: str


def crc7(message_hex: str) -> int:
    """Checksum of 7 bits of a message, as commands and registers of SD cards end with.

    Parameters
    ----------
    message_hex : str
        The bytes before the checksum, in hexadecimal.

    Returns
    -------
    int
        Checksum, 0 to 127, a count without a unit. The byte sent is twice that, plus 1.

    Raises
    ------
    InputError
        When the text is not whole bytes in hexadecimal.

    Notes
    -----
    The remainder of the message times x^7 by x^7 + x^3 + 1, the highest bit first, from 0.

    References
    ----------
    SD Physical Layer Simplified Specification, section 4.5.

    Examples
    --------
    GO_IDLE_STATE (CMD0) is sent as 40 00 00 00 00 95:

    >>> f"{crc7('4000000000') * 2 + 1:02x}"
    '95'
    """
    remainder = 0
    for byte in bytes.fromhex(hexadecimal("message_hex", message_hex)):
        for place in range(7, -1, -1):
            out = remainder >> 6 ^ byte >> place & 1
            remainder = (remainder << 1 & 0x7F) ^ (POLYNOMIAL if out else 0)
    return remainder


def register_crc7(register_hex: str) -> Crc7:
    """Checksum that a register of 16 bytes holds, beside that of its first 15 bytes.

    Parameters
    ----------
    register_hex : str
        A CID or CSD, 32 hexadecimal digits.

    Returns
    -------
    Crc7
        Both checksums, each a count without a unit, and whether they agree.

    Raises
    ------
    InputError
        When the text is not 32 hexadecimal digits.

    Notes
    -----
    Bits 7 to 1 are compared; bit 0, always 1 on the bus, is not, since hosts clear it.

    References
    ----------
    SD Physical Layer Simplified Specification, Table 5-2 and section 4.5. Hosts that drop it: common
    practice, no source.

    Examples
    --------
    >>> register_crc7("400e00325b590000edc87f800a4040c3").state
    'right'
    >>> register_crc7("400e00325b590000edc87f800a404000").state
    'not available'
    """
    register = Register("register_hex", register_hex, 128)
    stored, computed = register.bits(7, 1), crc7(register_hex[:-2])
    state = RIGHT if stored == computed else NOT_AVAILABLE if stored == 0 else WRONG
    return Crc7(stored, computed, state)
