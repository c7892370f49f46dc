"""How large is this card by its own account, and how is it erased: the card-specific data register (CSD)."""

from dataclasses import dataclass

from edgestore.models.registers._bits import Register
from edgestore.models.registers.crc import Crc7, register_crc7

SECTOR_BYTES = 512
UNIT_BYTES = 512 << 10
"""C_SIZE of versions 2 and 3 counts 512 KiB (SD Physical Layer Simplified Specification, section 5.3.3)."""

SDXC_BYTES = 1 << 35
"""The least capacity of an SDXC card: 67 108 864 sectors (section 5.3.3)."""

BUS_MBIT_S = {0x32: 25, 0x5A: 50, 0x0B: 100, 0x2B: 200}
"""TRAN_SPEED: the rate of one data line at most, never a write speed (section 5.3.2)."""

VERSIONS = {0: 1, 1: 2, 2: 3}
"""CSD_STRUCTURE (Table 5-3; version 3 as the Linux kernel reads it)."""


@dataclass(frozen=True, kw_only=True)
class Csd:
    """A card's data.

    Attributes
    ----------
    structure_code : int
        CSD_STRUCTURE: 0, 1 and 2 are versions 1, 2 and 3; 3 is reserved.
    version : int or None
        Version of the register's layout; None when its code is reserved.
    capacity_bytes : int or None
        Capacity, bytes; None when the version is not known.
    family : str
        SDSC, SDHC, SDXC or SDUC, by version and capacity; empty when the version is not known.
    bus_code : int
        TRAN_SPEED.
    bus_mbit_s : int or None
        Its rate of one data line, Mbit/s; None when the code is reserved.
    command_classes : tuple of int
        CCC: the classes of commands that the card knows.
    read_block_bytes, write_block_bytes : int
        2 to the power of READ_BL_LEN and WRITE_BL_LEN, bytes.
    erases_single_blocks : bool
        ERASE_BLK_EN.
    erase_sector_bytes : int
        SECTOR_SIZE, in write blocks, as bytes.
    is_copy, is_write_protected, is_write_protected_for_now : bool
        COPY, PERM_WRITE_PROTECT, TMP_WRITE_PROTECT.
    crc : Crc7
        Its checksum.
    """

    structure_code: int
    version: int | None
    capacity_bytes: int | None
    family: str
    bus_code: int
    bus_mbit_s: int | None
    command_classes: tuple[int, ...]
    read_block_bytes: int
    write_block_bytes: int
    erases_single_blocks: bool
    erase_sector_bytes: int
    is_copy: bool
    is_write_protected: bool
    is_write_protected_for_now: bool
    crc: Crc7


def decoded_csd(csd_hex: str) -> Csd:
    """Fields of the card-specific data register of an SD card, of its versions 1, 2 and 3.

    Parameters
    ----------
    csd_hex : str
        The register, 32 hexadecimal digits.

    Returns
    -------
    Csd
        The fields; the capacity is a count of bytes.

    Raises
    ------
    InputError
        When the text is not 32 hexadecimal digits.

    Notes
    -----
    CSD_STRUCTURE 127:126, TRAN_SPEED 103:96, CCC 95:84, READ_BL_LEN 83:80, ERASE_BLK_EN 46, SECTOR_SIZE 45:39,
    WRITE_BL_LEN 25:22, COPY 14, PERM_WRITE_PROTECT 13, TMP_WRITE_PROTECT 12, CRC7 7:1. Capacity: version 1
    ``(C_SIZE + 1) 2^(C_SIZE_MULT + 2) 2^READ_BL_LEN`` with C_SIZE 73:62 and C_SIZE_MULT 49:47; version 2
    ``(C_SIZE + 1) 512 KiB`` with C_SIZE 69:48, version 3 with 75:48. Version 1 is of SDSC cards; some with blocks of
    2048 bytes hold 4 GB. Version 2 is of SDHC cards, and from 2^35 bytes on of SDXC cards; version 3 of SDUC cards.

    References
    ----------
    SD Physical Layer Simplified Specification v4.10, section 5.3 and Table 5-3. Version 3: the Linux kernel,
    mmc_decode_csd.

    Examples
    --------
    >>> csd = decoded_csd("400e00325b590000edc87f800a4040c3")
    >>> csd.capacity_bytes, csd.family
    (31914983424, 'SDHC')
    """
    register = Register("csd_hex", csd_hex, 128)
    version = VERSIONS.get(register.bits(127, 126))
    capacity_bytes = _capacity_bytes(register, version)
    write_block_bytes = 1 << register.bits(25, 22)
    return Csd(
        structure_code=register.bits(127, 126),
        version=version,
        capacity_bytes=capacity_bytes,
        family=_family(version, capacity_bytes),
        bus_code=register.bits(103, 96),
        bus_mbit_s=BUS_MBIT_S.get(register.bits(103, 96)),
        command_classes=tuple(place for place in range(12) if register.bit(84 + place)),
        read_block_bytes=1 << register.bits(83, 80),
        write_block_bytes=write_block_bytes,
        erases_single_blocks=register.bit(46),
        erase_sector_bytes=(register.bits(45, 39) + 1) * write_block_bytes,
        is_copy=register.bit(14),
        is_write_protected=register.bit(13),
        is_write_protected_for_now=register.bit(12),
        crc=register_crc7(csd_hex),
    )


def _capacity_bytes(register: Register, version: int | None) -> int | None:
    if version is None:
        return None
    if version == 1:
        return (register.bits(73, 62) + 1) << register.bits(49, 47) + 2 + register.bits(83, 80)
    return (register.bits(69 if version == 2 else 75, 48) + 1) * UNIT_BYTES


def _family(version: int | None, capacity_bytes: int | None) -> str:
    if version is None or capacity_bytes is None:
        return ""
    if version == 2:
        return "SDXC" if capacity_bytes >= SDXC_BYTES else "SDHC"
    return "SDSC" if version == 1 else "SDUC"
