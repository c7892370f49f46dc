"""Which eMMC is this, and how is it read and erased: its CID and CSD, whose fields differ from those of an SD card."""

from dataclasses import dataclass

from edgestore.models.registers._bits import Register
from edgestore.models.registers.crc import Crc7, register_crc7

FIRST_YEAR = 1997
"""The year of code 0 in the first round (field MDT; the Linux kernel, mmc_decode_cid)."""

ROUND_YEARS = 16

YEARS = {0: range(1997, 2013), 5: range(2013, 2026), 9: range(2026, 2039)}
"""What the codes can mean, by the revision of the EXT_CSD from which on each range is meant (JESD84-B51B, by the table
in the Linux kernel's change "mmc: core: Adjust MDT beyond 2025", read)."""

DEVICE_TYPES = {0: "removable card", 1: "BGA (soldered)", 2: "package on package"}
"""CBX (JESD84-B51, from memory)."""

IN_EXT_CSD = 0xFFF
"""C_SIZE of a device above 2 GB: its capacity is in the EXT_CSD."""


@dataclass(frozen=True, kw_only=True)
class EmmcCid:
    """Identification of an eMMC.

    Attributes
    ----------
    manufacturer_id : int
        MID, 0 to 255.
    device_type : str
        CBX: how it is built in.
    oem_id : int
        OID, 0 to 255.
    product_name : str
        PNM, at most six letters.
    revision : str
        PRV, two digits as ``1.0``.
    serial : int
        PSN.
    manufacturing_month : int
        MDT; 1 is January.
    manufacturing_years : tuple of int
        What the code of the year means, by the ranges of ``YEARS``: of these it is the last whose revision its EXT_CSD
        has reached.
    crc : Crc7
        Its checksum.
    """

    manufacturer_id: int
    device_type: str
    oem_id: int
    product_name: str
    revision: str
    serial: int
    manufacturing_month: int
    manufacturing_years: tuple[int, ...]
    crc: Crc7


@dataclass(frozen=True, kw_only=True)
class EmmcCsd:
    """Data of an eMMC.

    Attributes
    ----------
    structure_code, specification_code : int
        CSD_STRUCTURE, 3 says that the EXT_CSD tells it; SPEC_VERS, 4 is version 4 and later.
    capacity_bytes : int or None
        Capacity, bytes; None above 2 GB, where the EXT_CSD tells it.
    command_classes : tuple of int
        CCC: the classes of commands that it knows.
    read_block_bytes, write_block_bytes : int
        2 to the power of READ_BL_LEN and WRITE_BL_LEN, bytes.
    erase_group_bytes : int
        Erase group, bytes; the EXT_CSD may state a larger one.
    is_write_protected, is_write_protected_for_now : bool
        PERM_WRITE_PROTECT, TMP_WRITE_PROTECT.
    crc : Crc7
        Its checksum.
    """

    structure_code: int
    specification_code: int
    capacity_bytes: int | None
    command_classes: tuple[int, ...]
    read_block_bytes: int
    write_block_bytes: int
    erase_group_bytes: int
    is_write_protected: bool
    is_write_protected_for_now: bool
    crc: Crc7


def decoded_emmc_cid(cid_hex: str) -> EmmcCid:
    """Fields of the identification register of an eMMC.

    Parameters
    ----------
    cid_hex : str
        The register, 32 hexadecimal digits.

    Returns
    -------
    EmmcCid
        The fields; the serial number is a count without a unit.

    Raises
    ------
    InputError
        When the text is not 32 hexadecimal digits.

    Notes
    -----
    MID 127:120, CBX 113:112, OID 111:104, PNM 103:56, PRV 55:48, PSN 47:16, MDT 15:8 (month 15:12, year 11:8), CRC7
    7:1. Four bits hold the year, so they are used again every 16 years: which round is meant, the revision of the
    EXT_CSD says.

    References
    ----------
    The Linux kernel, mmc_decode_cid (version 2 and later). CBX: JESD84-B51 (from memory). The rounds of
    years: JESD84-B51B, as the kernel's change "mmc: core: Adjust MDT beyond 2025" tells it.

    Examples
    --------
    >>> cid = decoded_emmc_cid("1501004d384731474303dc0db061506f")
    >>> cid.product_name, f"{cid.serial:#x}", cid.manufacturing_month, cid.manufacturing_years, cid.crc.state
    ('M8G1GC', '0xdc0db061', 5, (1997, 2013, 2029), 'right')
    """
    register = Register("cid_hex", cid_hex, 128)
    code = register.bits(11, 8)
    years = (year for span in YEARS.values() for year in span if (year - FIRST_YEAR) % ROUND_YEARS == code)
    device = register.bits(113, 112)
    return EmmcCid(
        manufacturer_id=register.bits(127, 120),
        device_type=DEVICE_TYPES.get(device, f"reserved (code 0x{device:X})"),
        oem_id=register.bits(111, 104),
        product_name=register.characters(103, 56),
        revision=f"{register.bits(55, 52):x}.{register.bits(51, 48):x}",
        serial=register.bits(47, 16),
        manufacturing_month=register.bits(15, 12),
        manufacturing_years=tuple(years),
        crc=register_crc7(cid_hex),
    )


def decoded_emmc_csd(csd_hex: str) -> EmmcCsd:
    """Fields of the data register of an eMMC.

    Parameters
    ----------
    csd_hex : str
        The register, 32 hexadecimal digits.

    Returns
    -------
    EmmcCsd
        The fields; the capacity is a count of bytes.

    Raises
    ------
    InputError
        When the text is not 32 hexadecimal digits.

    Notes
    -----
    CSD_STRUCTURE 127:126, SPEC_VERS 125:122, CCC 95:84, READ_BL_LEN 83:80, C_SIZE 73:62, C_SIZE_MULT 49:47,
    ERASE_GRP_SIZE 46:42, ERASE_GRP_MULT 41:37, WRITE_BL_LEN 25:22, PERM_WRITE_PROTECT 13, TMP_WRITE_PROTECT 12, CRC7
    7:1. Capacity: ``(C_SIZE + 1) 2^(C_SIZE_MULT + 2) 2^READ_BL_LEN``; C_SIZE of all ones says that the EXT_CSD tells
    it. Erase group: ``(ERASE_GRP_SIZE + 1) (ERASE_GRP_MULT + 1) 2^WRITE_BL_LEN``.

    References
    ----------
    The Linux kernel, mmc_decode_csd. The two write protections: JESD84-B51 (from memory).

    Examples
    --------
    >>> csd = decoded_emmc_csd("d02701320f5903fff6dbffef8e40400d")
    >>> csd.capacity_bytes, csd.erase_group_bytes, csd.command_classes
    (None, 524288, (0, 2, 4, 5, 6, 7))
    """
    register = Register("csd_hex", csd_hex, 128)
    size = register.bits(73, 62)
    read_block_bytes, write_block_bytes = 1 << register.bits(83, 80), 1 << register.bits(25, 22)
    return EmmcCsd(
        structure_code=register.bits(127, 126),
        specification_code=register.bits(125, 122),
        capacity_bytes=None if size == IN_EXT_CSD else (size + 1 << register.bits(49, 47) + 2) * read_block_bytes,
        command_classes=tuple(place for place in range(12) if register.bit(84 + place)),
        read_block_bytes=read_block_bytes,
        write_block_bytes=write_block_bytes,
        erase_group_bytes=(register.bits(46, 42) + 1) * (register.bits(41, 37) + 1) * write_block_bytes,
        is_write_protected=register.bit(13),
        is_write_protected_for_now=register.bit(12),
        crc=register_crc7(csd_hex),
    )
