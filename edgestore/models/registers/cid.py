"""Which card is this: the card identification register (CID)."""

from dataclasses import dataclass

from edgestore.models.registers._bits import Register
from edgestore.models.registers.crc import Crc7, register_crc7

FIRST_YEAR = 2000
"""The year of code 0 (SD Physical Layer Simplified Specification, Table 5-2, field MDT)."""


@dataclass(frozen=True, kw_only=True)
class Cid:
    """A card's identification.

    The maker stands in it as a number, which no published table explains, and as letters that it chose.

    Attributes
    ----------
    manufacturer_id : int
        MID, 0 to 255.
    oem_id : str
        OID, two letters; ? for what cannot be printed.
    product_name : str
        PNM, at most five letters.
    revision : str
        PRV, two digits as ``6.1``; a code above 9 stands as the hexadecimal digit that it is.
    serial : int
        PSN.
    reserved : int
        Bits 23 to 20, which are to be 0.
    manufacturing_year, manufacturing_month : int
        MDT; 1 is January, and no month has the codes 0 and 13 to 15.
    crc : Crc7
        Its checksum.
    """

    manufacturer_id: int
    oem_id: str
    product_name: str
    revision: str
    serial: int
    reserved: int
    manufacturing_year: int
    manufacturing_month: int
    crc: Crc7


def decoded_cid(cid_hex: str) -> Cid:
    """Fields of the card identification register of an SD card.

    Parameters
    ----------
    cid_hex : str
        The register, 32 hexadecimal digits.

    Returns
    -------
    Cid
        The fields; the serial number is a count without a unit.

    Raises
    ------
    InputError
        When the text is not 32 hexadecimal digits.

    Notes
    -----
    MID 127:120, OID 119:104, PNM 103:64, PRV 63:56, PSN 55:24, reserved 23:20, MDT 19:8 (year 19:12, month 11:8),
    CRC7 7:1. The CID of an eMMC has the same length and other fields.

    References
    ----------
    SD Physical Layer Simplified Specification v4.10, Table 5-2.

    Examples
    --------
    >>> cid = decoded_cid("02544d5341303447113533890900d371")
    >>> cid.manufacturing_month, cid.manufacturing_year, f"{cid.serial:#x}", cid.crc.state
    (3, 2013, '0x35338909', 'right')
    """
    register = Register("cid_hex", cid_hex, 128)
    return Cid(
        manufacturer_id=register.bits(127, 120),
        oem_id=register.characters(119, 104),
        product_name=register.characters(103, 64),
        revision=f"{register.bits(63, 60):x}.{register.bits(59, 56):x}",
        serial=register.bits(55, 24),
        reserved=register.bits(23, 20),
        manufacturing_year=FIRST_YEAR + register.bits(19, 12),
        manufacturing_month=register.bits(11, 8),
        crc=register_crc7(cid_hex),
    )
