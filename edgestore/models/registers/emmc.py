"""How far is this eMMC worn, by its maker's estimate: the two fields of its extended register that tell it."""

import re
from dataclasses import dataclass

from edgestore.checks import refuse_value
from edgestore.models.registers._bits import coded

TENTH_PERCENT = 10
"""An estimate counts tenths of the life (JESD84-B51, EXT_CSD bytes 268 and 269, from memory)."""

BEYOND = 0x0B

LIFE_USED = {0: "not defined", BEYOND: "above 100 %"} | {
    code: f"{(code - 1) * TENTH_PERCENT} to {code * TENTH_PERCENT} %" for code in range(1, BEYOND)
}

PRE_END_OF_LIFE = {
    0: "not defined",
    1: "normal",
    2: "warning",
    3: "urgent",
}
"""EXT_CSD byte 267: normal, 80 % and 90 % of the spare blocks used (JESD84-B51, from memory)."""

_CODES = re.compile(r"\s*0x([0-9a-f]{1,2})(?:\s+0x([0-9a-f]{1,2}))?\s*", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class EmmcLife:
    """What an eMMC estimates of its own wear: its maker's figure, by a rule that no standard states.

    Attributes
    ----------
    used_a, used_b : str
        Life used of memory of type A and B, in tenths; which memory these are, the maker decides.
    used_a_code, used_b_code, pre_end_of_life_code : int
        The codes.
    pre_end_of_life : str
        How many spare blocks are used.
    """

    used_a: str
    used_a_code: int
    used_b: str
    used_b_code: int
    pre_end_of_life: str
    pre_end_of_life_code: int


def emmc_life(life_time: str, pre_eol_info: str = "0x00") -> EmmcLife:
    """Wear of an eMMC as it estimates it.

    Parameters
    ----------
    life_time : str
        DEVICE_LIFE_TIME_EST_TYP_A and B as Linux shows them, ``0x01 0x02``.
    pre_eol_info : str
        PRE_EOL_INFO, ``0x01``.

    Returns
    -------
    EmmcLife
        The estimates, each a share of the life in tenths, with their codes.

    Raises
    ------
    InputError
        When a text is not such codes.

    Notes
    -----
    Code n of 1 to 10 says that (n - 1) x 10 to n x 10 % of the life are used, 11 more than all; 0 is not defined, and
    what is above is reserved. No register of an SD card has such a field.

    References
    ----------
    JESD84-B51, EXT_CSD bytes 267 to 269 (from memory); Linux kernel, files life_time and pre_eol_info of a card.

    Examples
    --------
    >>> life = emmc_life("0x02 0x01", "0x01")
    >>> life.used_a, life.used_b, life.pre_end_of_life
    ('10 to 20 %', '0 to 10 %', 'normal')
    """
    wanted = "two codes as 0x01 0x02"
    found = _CODES.fullmatch(life_time) if isinstance(life_time, str) else None
    if not found or found[2] is None:
        raise refuse_value("life_time", life_time, wanted)
    spare = _CODES.fullmatch(pre_eol_info) if isinstance(pre_eol_info, str) else None
    if not spare or spare[2] is not None:
        raise refuse_value("pre_eol_info", pre_eol_info, "a code as 0x01")
    used_a, used_b, spare_code = int(found[1], 16), int(found[2], 16), int(spare[1], 16)
    return EmmcLife(
        used_a=coded(used_a, LIFE_USED),
        used_a_code=used_a,
        used_b=coded(used_b, LIFE_USED),
        used_b_code=used_b,
        pre_end_of_life=coded(spare_code, PRE_END_OF_LIFE),
        pre_end_of_life_code=spare_code,
    )
