"""Registers of a memory card: what its identification, data, configuration and status say, field by field."""

from edgestore.models.registers.cid import Cid, decoded_cid
from edgestore.models.registers.crc import Crc7, crc7, register_crc7
from edgestore.models.registers.csd import Csd, decoded_csd
from edgestore.models.registers.emmc import EmmcLife, emmc_life
from edgestore.models.registers.emmc_card import EmmcCid, EmmcCsd, decoded_emmc_cid, decoded_emmc_csd
from edgestore.models.registers.scr import Scr, decoded_scr
from edgestore.models.registers.sd_status import SdStatus, decoded_sd_status

__all__ = [
    "Cid",
    "Crc7",
    "Csd",
    "EmmcCid",
    "EmmcCsd",
    "EmmcLife",
    "Scr",
    "SdStatus",
    "crc7",
    "decoded_cid",
    "decoded_csd",
    "decoded_emmc_cid",
    "decoded_emmc_csd",
    "decoded_scr",
    "decoded_sd_status",
    "emmc_life",
    "register_crc7",
]
