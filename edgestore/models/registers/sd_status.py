"""Which speeds does this card promise, and in which units is it erased: the SD status (SSR in Linux)."""

from dataclasses import dataclass

from edgestore.models.registers._bits import Register, coded

SPEED_MARKS = {0: "", 1: "C2", 2: "C4", 3: "C6", 4: "C10"}
"""SPEED_CLASS (Table 4-45 of version 9.10)."""

UHS_MARKS = {0: "", 1: "U1", 3: "U3"}
"""UHS_SPEED_GRADE (Table 4-52 of version 9.10)."""

VIDEO_MARKS = {0: "", 6: "V6", 10: "V10", 30: "V30", 60: "V60", 90: "V90"}
"""VIDEO_SPEED_CLASS: the code is the class (section 4.10.2)."""

APPLICATION_MARKS = {0: "", 1: "A1", 2: "A2"}
"""APP_PERF_CLASS (section 4.10.2)."""

BUS_WIDTHS_BITS = {0: 1, 2: 4}

UNIT_KIB = (
    16,
    32,
    64,
    128,
    256,
    512,
    1 << 10,
    2 << 10,
    4 << 10,
    8 << 10,
    12 << 10,
    16 << 10,
    24 << 10,
    32 << 10,
    64 << 10,
)
UNIT_BYTES = {code: kib << 10 for code, kib in enumerate(UNIT_KIB, start=1)}
"""AU_SIZE (Table 4-47 of version 9.10)."""

LEAST_UHS_UNIT_CODE = 7
"""UHS_AU_SIZE leaves the codes of less than 1 MiB unused (section 4.10.2)."""


@dataclass(frozen=True, kw_only=True)
class SdStatus:
    """What a card says of its speeds and of how it is erased.

    A mark is empty where the card promises nothing of the kind, and says so where its code is reserved.

    Attributes
    ----------
    bus_width_bits : int or None
        Data lines in use when it was read; None when the code is reserved.
    is_secured : bool
        SECURED_MODE.
    card_type_code : int
        SD_CARD_TYPE; 0 is a card that is read and written.
    protected_area_bytes : int
        SIZE_OF_PROTECTED_AREA, bytes on SDHC and larger cards; on SDSC cards it counts blocks.
    speed_mark, uhs_mark, video_mark, application_mark : str
        As printed on cards: C10, U1, V30, A1.
    move_mbyte_s : int
        PERFORMANCE_MOVE, Mbyte/s; 0 is not defined, 255 is without limit.
    unit_code, uhs_unit_code : int
        AU_SIZE and UHS_AU_SIZE; 0 is not defined.
    unit_bytes, uhs_unit_bytes, video_unit_bytes : int or None
        Allocation units, bytes; None when not defined, or when the code is reserved.
    erase_units : int
        ERASE_SIZE: allocation units erased at a time; 0 is not told.
    erase_timeout_s, erase_offset_s : int
        Time-out for these, and what is added to it, s.
    queue_depth : int
        Commands that the card can queue; 0: none.
    has_cache, discards, erases_in_full : bool
        Cache, DISCARD_SUPPORT and FULE_SUPPORT.
    """

    bus_width_bits: int | None
    is_secured: bool
    card_type_code: int
    protected_area_bytes: int
    speed_mark: str
    uhs_mark: str
    video_mark: str
    application_mark: str
    move_mbyte_s: int
    unit_code: int
    unit_bytes: int | None
    uhs_unit_code: int
    uhs_unit_bytes: int | None
    video_unit_bytes: int | None
    erase_units: int
    erase_timeout_s: int
    erase_offset_s: int
    queue_depth: int
    has_cache: bool
    discards: bool
    erases_in_full: bool


def decoded_sd_status(status_hex: str) -> SdStatus:
    """Fields of the status of an SD card.

    Parameters
    ----------
    status_hex : str
        The status, 128 hexadecimal digits, bit 511 first.

    Returns
    -------
    SdStatus
        The fields; erase units are a count of allocation units.

    Raises
    ------
    InputError
        When the text is not 128 hexadecimal digits.

    Notes
    -----
    DAT_BUS_WIDTH 511:510, SECURED_MODE 509, SD_CARD_TYPE 495:480, SIZE_OF_PROTECTED_AREA 479:448, SPEED_CLASS 447:440,
    PERFORMANCE_MOVE 439:432, AU_SIZE 431:428, ERASE_SIZE 423:408, ERASE_TIMEOUT 407:402, ERASE_OFFSET 401:400,
    UHS_SPEED_GRADE 399:396, UHS_AU_SIZE 395:392, VIDEO_SPEED_CLASS 391:384, VSC_AU_SIZE 377:368 (MiB),
    APP_PERF_CLASS 339:336, PERFORMANCE_ENHANCE 335:328 (queue depth 335:331, cache 330), DISCARD 313, FULE 312.
    A mark of one family implies nothing in another: each is a field of its own. No field tells wear.

    References
    ----------
    SD Physical Layer Simplified Specification v4.10, section 4.10.2; v9.10, Tables 4-45, 4-47 and 4-52, as read by
    others. Fields below bit 392: open code that cites v5.00 and v7.10 of the same section.

    Examples
    --------
    >>> status = decoded_sd_status("0000000005000000040090000f051c00" + 96 * "0")
    >>> status.speed_mark, status.uhs_mark, status.unit_bytes, status.erase_timeout_s
    ('C10', 'U1', 4194304, 1)
    """
    register = Register("status_hex", status_hex, 512)
    unit_code, uhs_unit_code, video_unit_mib = register.bits(431, 428), register.bits(395, 392), register.bits(377, 368)
    return SdStatus(
        bus_width_bits=BUS_WIDTHS_BITS.get(register.bits(511, 510)),
        is_secured=register.bit(509),
        card_type_code=register.bits(495, 480),
        protected_area_bytes=register.bits(479, 448),
        speed_mark=coded(register.bits(447, 440), SPEED_MARKS),
        uhs_mark=coded(register.bits(399, 396), UHS_MARKS),
        video_mark=coded(register.bits(391, 384), VIDEO_MARKS),
        application_mark=coded(register.bits(339, 336), APPLICATION_MARKS),
        move_mbyte_s=register.bits(439, 432),
        unit_code=unit_code,
        unit_bytes=UNIT_BYTES.get(unit_code),
        uhs_unit_code=uhs_unit_code,
        uhs_unit_bytes=UNIT_BYTES.get(uhs_unit_code) if uhs_unit_code >= LEAST_UHS_UNIT_CODE else None,
        video_unit_bytes=(video_unit_mib << 20) or None,
        erase_units=register.bits(423, 408),
        erase_timeout_s=register.bits(407, 402),
        erase_offset_s=register.bits(401, 400),
        queue_depth=register.bits(335, 331),
        has_cache=register.bit(330),
        discards=register.bit(313),
        erases_in_full=register.bit(312),
    )
