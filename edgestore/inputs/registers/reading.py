"""A file, a text or a folder of Linux -> the registers of one card, decoded. Writes nothing."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.registers.as_sent import Form
from edgestore.inputs.registers.dump import EXT_CSD, STARTED, STATED, Collected, Dump, dumped, read_dump
from edgestore.models.registers import (
    Cid,
    Csd,
    EmmcCid,
    EmmcCsd,
    EmmcLife,
    Scr,
    SdStatus,
    decoded_cid,
    decoded_csd,
    decoded_emmc_cid,
    decoded_emmc_csd,
    decoded_scr,
    decoded_sd_status,
    emmc_life,
)
from edgestore.models.registers.csd import SECTOR_BYTES
from edgestore.plain_file import plain_file

MOST_TEXT_BYTES = 1_000_000
"""A boot log has some hundred kilobytes (common practice, no source)."""

MOST_ENTRY_BYTES = 8_192
"""A file that Linux shows of a card has at most a page of memory, 4096 bytes (common practice, no source)."""

REGISTER_FILES = {"cid": "CID", "csd": "CSD", "scr": "SCR", "ssr": "SSR", "ext_csd": EXT_CSD}
BYTES_PER_UNIT = {"M": 1 << 20, "G": 1 << 30, "T": 1 << 40}
BYTE_DIGITS = 2
PRE_EOL_INFO, LIFE_TIME_A, LIFE_TIME_B = 267, 268, 269
"""Bytes of the EXT_CSD (JESD84-B51, from memory)."""

WANTED = "a text file, or the folder that Linux shows of a card"
MEND = "Paste the registers into a text file, or copy the folder /sys/block/mmcblk0/device with its files."


@dataclass(frozen=True, kw_only=True)
class Registers:
    """The registers of one card.

    Attributes
    ----------
    name : str
        Name of the file or folder.
    raw : mapping of str to str
        Digits of each register that was found, as the card sent it: CID, CSD, SCR, SSR, EXT_CSD.
    forms : mapping of str to str
        How each was printed, as :data:`edgestore.inputs.registers.as_sent.Form`.
    stated : mapping of str to str
        What Linux says of the card beside them, file by file.
    is_emmc : bool
        Whether it is an eMMC, whose CID and CSD have other fields.
    cid, csd, scr, status, emmc_cid, emmc_csd, life
        The fields of what was found; None for the others.
    device_bytes : int or None
        Size of the device as the system sees it, bytes; None when it is not told.
    started_bytes : float or None
        The same from the line in which Linux tells that it found the card, in three digits.
    """

    name: str
    raw: Mapping[str, str]
    forms: Mapping[str, Form]
    stated: Mapping[str, str]
    is_emmc: bool
    cid: Cid | None
    csd: Csd | None
    scr: Scr | None
    status: SdStatus | None
    emmc_cid: EmmcCid | None
    emmc_csd: EmmcCsd | None
    life: EmmcLife | None
    device_bytes: int | None
    started_bytes: float | None


def read_registers(source: Path | str | bytes, name: str = "registers") -> Registers:
    """Read the registers of one card.

    Parameters
    ----------
    source : Path, str or bytes
        Path of a text file or of a folder, or the content of such a file: registers in hexadecimal digits, the lines of
        a boot log, or a copy of the folder that Linux shows of a card (files cid, csd, scr, ssr and others).
    name : str
        What messages call the text when ``source`` is its content.

    Returns
    -------
    Registers
        What was found, decoded.

    Raises
    ------
    InputError
        With every fault: where (file and line), what was found, what is allowed.

    Examples
    --------
    >>> card = read_registers(b"csd: 400e00325b590000edc87f800a4040c3")
    >>> card.csd.capacity_bytes
    31914983424
    """
    if isinstance(source, bytes):
        dump = read_dump(_text(source, name, MOST_TEXT_BYTES), name)
    else:
        name = Path(source).name or str(source)
        dump = _folder(Path(source)) if os.path.isdir(source) else _file(Path(source), name)
    if dump.faults:
        raise InputError(dict.fromkeys(dump.faults))
    return _decoded(dump, name)


def _file(path: Path, name: str) -> Dump:
    content = plain_file(path, str(path), MOST_TEXT_BYTES, WANTED, MEND)
    return read_dump(_text(content, name, MOST_TEXT_BYTES), name)


def _text(content: bytes, name: str, most_bytes: int) -> str:
    """Give the text of a file: UTF-8, or UTF-16 with its mark, as some terminals save it."""
    plain_file(content, name, most_bytes, WANTED)
    is_wide = content.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        text = content.decode("utf-16" if is_wide else "utf-8-sig")
    except UnicodeDecodeError:
        text = "\0"
    if "\0" in text:
        raise refuse(name, "bytes that are not text", WANTED, "Save it as text in UTF-8.")
    if not text.strip():
        raise refuse(name, "nothing in it", WANTED, MEND)
    return text


def _folder(folder: Path) -> Dump:
    """Read the files that Linux shows of a card; others in the folder are left alone."""
    collected = Collected(folder.name or str(folder))
    stated: dict[str, str] = {}
    for entry, register in REGISTER_FILES.items():
        text = _entry(folder / entry, collected)
        digits = text.lower().removeprefix("0x")
        if digits and set(digits) <= set("0123456789abcdef"):
            collected.add(register, digits, 1)
        elif text:
            found = f"{len(text)} letters that are not all hexadecimal digits"
            collected.faults.append(Fault(str(folder / entry), found, "the register in hexadecimal digits", MEND))
    for key, pattern in STATED.items():
        if key != "size" and (text := _entry(folder / key, collected)):
            value = pattern.search(f"{key}:{text}")
            if value:
                stated[key] = value[1]
            else:
                collected.faults.append(Fault(str(folder / key), f"{text[:40]!r}", f"what Linux writes as {key}", MEND))
    for size in (folder / "size", *sorted(folder.glob("block/*/size"))[:1]):
        text = _entry(size, collected)
        if text.isascii() and text.isdigit():
            stated["size"] = text
        elif text:
            collected.faults.append(Fault(str(size), f"{text[:40]!r}", "a number of sectors of 512 bytes", MEND))
    return dumped(collected, stated)


def _entry(path: Path, collected: Collected) -> str:
    """Give the content of a small file; nothing when there is none."""
    if not os.path.lexists(path):
        return ""
    try:
        content = plain_file(path, str(path), MOST_ENTRY_BYTES, "a file that Linux shows of a card", MEND)
        return _text(content, str(path), MOST_ENTRY_BYTES).strip()
    except InputError as error:
        collected.faults += error.faults
        return ""


def _decoded(dump: Dump, name: str) -> Registers:
    raw = dump.registers
    is_emmc = dump.stated.get("type", "").upper() == "MMC" or EXT_CSD in raw or "life_time" in dump.stated
    of_sd, of_emmc = ({}, raw) if is_emmc else (raw, {})
    return Registers(
        name=name,
        raw=raw,
        forms=dump.forms,
        stated=dump.stated,
        is_emmc=is_emmc,
        cid=decoded_cid(of_sd["CID"]) if "CID" in of_sd else None,
        csd=decoded_csd(of_sd["CSD"]) if "CSD" in of_sd else None,
        scr=decoded_scr(of_sd["SCR"]) if "SCR" in of_sd else None,
        status=decoded_sd_status(of_sd["SSR"]) if "SSR" in of_sd else None,
        emmc_cid=decoded_emmc_cid(of_emmc["CID"]) if "CID" in of_emmc else None,
        emmc_csd=decoded_emmc_csd(of_emmc["CSD"]) if "CSD" in of_emmc else None,
        life=_life(dump),
        started_bytes=_started_bytes(dump.stated.get(STARTED, "")),
        device_bytes=int(dump.stated["size"]) * SECTOR_BYTES if "size" in dump.stated else None,
    )


def _started_bytes(told: str) -> float | None:
    """Size of which Linux says, as ``58.0 GiB``, that it found it; in bytes."""
    number, _, unit = told.partition(" ")
    return float(number) * BYTES_PER_UNIT[unit.strip()[0].upper()] if told else None


def _life(dump: Dump) -> EmmcLife | None:
    """Give the wear that an eMMC estimates, from its files or from its extended register."""
    life_time, spare = dump.stated.get("life_time", ""), dump.stated.get("pre_eol_info", "0x00")
    if EXT_CSD in dump.registers:
        byte = {at: dump.registers[EXT_CSD][BYTE_DIGITS * at :][:BYTE_DIGITS] for at in range(LIFE_TIME_B + 1)}
        life_time, spare = f"0x{byte[LIFE_TIME_A]} 0x{byte[LIFE_TIME_B]}", f"0x{byte[PRE_EOL_INFO]}"
    return emmc_life(life_time, spare) if life_time else None
