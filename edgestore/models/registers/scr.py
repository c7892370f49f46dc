"""Which version of the specification does this card follow: the SD configuration register (SCR)."""

from dataclasses import dataclass

from edgestore.models.registers._bits import Register, coded

EARLY_VERSIONS = {
    (0, 0, 0, 0): "1.0",
    (1, 0, 0, 0): "1.10",
    (2, 0, 0, 0): "2.00",
    (2, 1, 0, 0): "3.0",
    (2, 1, 1, 0): "4",
}
LATE_VERSIONS = {1: "5", 2: "6", 3: "7", 4: "8", 5: "9"}
"""By SD_SPEC, SD_SPEC3, SD_SPEC4 and SD_SPECX (Table 5-19 of version 9.10; 8 and 9 from memory)."""

SECURITY = {0: "none", 1: "not used", 2: "SDSC", 3: "SDHC", 4: "SDXC"}
"""SD_SECURITY: copy protection, by the family that it was made for (section 5.6)."""

COMMANDS = {0: "CMD20", 1: "CMD23", 2: "CMD48/49", 3: "CMD58/59"}
"""CMD_SUPPORT, bits 32 to 35 (section 5.6)."""


@dataclass(frozen=True, kw_only=True)
class Scr:
    """A card's configuration.

    Attributes
    ----------
    structure_code : int
        SCR_STRUCTURE; 0 is the one that is defined.
    version : str
        Version of the physical layer specification, or that its codes are reserved.
    security : str
        SD_SECURITY.
    bus_widths_bits : tuple of int
        Data lines that the card can use: 1, 4.
    ones_after_erase : bool
        DATA_STAT_AFTER_ERASE.
    commands : tuple of str
        CMD_SUPPORT.
    """

    structure_code: int
    version: str
    security: str
    bus_widths_bits: tuple[int, ...]
    ones_after_erase: bool
    commands: tuple[str, ...]


def decoded_scr(scr_hex: str) -> Scr:
    """Fields of the configuration register of an SD card.

    Parameters
    ----------
    scr_hex : str
        The register, 16 hexadecimal digits.

    Returns
    -------
    Scr
        The fields; bus widths are a count of data lines.

    Raises
    ------
    InputError
        When the text is not 16 hexadecimal digits.

    Notes
    -----
    SCR_STRUCTURE 63:60, SD_SPEC 59:56, DATA_STAT_AFTER_ERASE 55, SD_SECURITY 54:52, SD_BUS_WIDTHS 51:48 (bit 48: one
    line, bit 50: four), SD_SPEC3 47, SD_SPEC4 42, SD_SPECX 41:38, CMD_SUPPORT 35:32; the rest is the maker's own.

    References
    ----------
    SD Physical Layer Simplified Specification v9.10, section 5.6 and Table 5-19, as read by others.

    Examples
    --------
    >>> decoded_scr("02B5848300000000").version
    '6'
    """
    register = Register("scr_hex", scr_hex, 64)
    specified = (register.bits(59, 56), register.bits(47, 47), register.bits(42, 42), register.bits(41, 38))
    return Scr(
        structure_code=register.bits(63, 60),
        version=_version(*specified),
        security=coded(register.bits(54, 52), SECURITY),
        bus_widths_bits=tuple(lines for lines, place in ((1, 48), (4, 50)) if register.bit(place)),
        ones_after_erase=register.bit(55),
        commands=tuple(name for place, name in COMMANDS.items() if register.bit(32 + place)),
    )


def _version(spec: int, spec3: int, spec4: int, spec_x: int) -> str:
    if (spec, spec3) == (2, 1) and spec_x in LATE_VERSIONS:
        return LATE_VERSIONS[spec_x]
    codes = (spec, spec3, spec4, spec_x)
    return EARLY_VERSIONS.get(codes, f"reserved (codes {', '.join(map(str, codes))})")
