"""Is this card what its label says, as far as its registers tell: what it says of itself, and what disagrees."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from edgestore import checks
from edgestore.inputs.card_list import listed_card
from edgestore.inputs.registers import Finding, Label, Registers, findings, read_registers
from edgestore.inputs.registers.findings import in_bytes
from edgestore.inputs.sheet import Source
from edgestore.models.registers import Cid, Csd, EmmcCid, EmmcCsd, EmmcLife, Scr, SdStatus
from edgestore.models.registers.emmc_card import YEARS
from edgestore.text import counted, grouped, number, visible
from edgestore.units import BYTES_PER_GB, BYTES_PER_KIB, KIB_PER_MIB

MAX_DEVICE_BYTES = 1e15
"""Above the largest SDUC card, 128 TB."""

SPARE_USED = {2: ": 80 % of them are used", 3: ": 90 % of them are used"}
"""What PRE_EOL_INFO means beyond its word (JESD84-B51, from memory)."""

ASSUMPTIONS = (
    "Registers are what the card says of itself. A false card may say anything: only writing all of it and reading it"
    " back proves its capacity. A finding is no verdict.",
    "No register of an SD card tells its wear. What a camera calls the health of a card is the estimate of the card's"
    " maker, by rules that are not published; it is not decoded here.",
    "The number of the maker (MID) stands as it is: the specification publishes no list of makers.",
)


@dataclass(frozen=True, kw_only=True)
class CardSays:
    """What a card says of itself.

    Attributes
    ----------
    card : Registers
        Its registers.
    label : Label
        What is printed on it, as far as it was given.
    device_bytes : float or None
        Size of the device, bytes, as given or as Linux says it; None when it is not known.
    table : DataFrame
        A row a field: ``register``, ``field`` and ``value``, in words.
    findings : tuple of Finding
        What disagrees, then remarks.
    sentence : str
        The answer in one or two sentences.
    assumptions, warnings : tuple of str
        What is taken for granted, and each disagreement in words.
    """

    card: Registers
    label: Label
    device_bytes: float | None
    table: pd.DataFrame
    findings: tuple[Finding, ...]
    sentence: str
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]


def card_says(
    source: Path | str | bytes,
    label: Label | None = None,
    device_bytes: float | None = None,
    *,
    name: str = "registers",
    today: date | None = None,
) -> CardSays:
    """What the registers of a card say, and what disagrees with its label or with the size of the device.

    Parameters
    ----------
    source : Path, str or bytes
        A text file or folder, or pasted text as bytes (:func:`edgestore.inputs.registers.read_registers`).
    label : Label, optional
        What is printed on the card.
    device_bytes : float, optional
        Size of the whole device as a system shows it, bytes; what Linux says with the registers when left out.
    name : str
        What messages call pasted text.
    today : date, optional
        Day after whose month no card was made; that of this machine when left out.

    Returns
    -------
    CardSays
        The fields in words, the findings and the sentence.

    Raises
    ------
    InputError
        When there is no register in the text, one is cut short, or there are two cards.

    Examples
    --------
    >>> says = card_says(b"csd: 400e00325b590000edc87f800a4040c3", Label(256.0))
    >>> says.sentence.replace("\N{NO-BREAK SPACE}", " ")
    'The card says: SDHC, 31.91 GB. 1 disagreement: capacity.'
    """
    label = label or Label()
    if device_bytes is not None:
        device_bytes = checks.one_whole("device_bytes", device_bytes, "bytes", at_least=1, at_most=MAX_DEVICE_BYTES)
    card = read_registers(source, name)
    found = tuple(findings(card, label, device_bytes, today=today))
    return CardSays(
        card=card,
        label=label,
        device_bytes=card.device_bytes if device_bytes is None else device_bytes,
        table=pd.DataFrame(_rows(card, device_bytes), columns=["register", "field", "value"]),
        findings=found,
        sentence=_sentence(card, found),
        assumptions=ASSUMPTIONS,
        warnings=tuple(str(finding) for finding in found if finding.is_doubt),
    )


def label_of(cards: Source, kind: str) -> Label:
    """What a card list says is printed on a kind of card.

    Parameters
    ----------
    cards : Path, str or bytes
        The card list.
    kind : str
        Name of the card in it.

    Returns
    -------
    Label
        Its capacity, GB, and its marks.

    Raises
    ------
    InputError
        When the list cannot be read, or has no such card.
    """
    row = listed_card(cards, kind)
    return Label(float(row["capacity_gb"]), tuple(row["speed_class"].split()))


def _sentence(card: Registers, found: tuple[Finding, ...]) -> str:
    said: list[str] = []
    if card.csd and card.csd.capacity_bytes is not None:
        said += [card.csd.family, in_bytes(card.csd.capacity_bytes).partition(" (")[0]]
    if card.status:
        status = card.status
        marks = (status.speed_mark, status.uhs_mark, status.video_mark, status.application_mark)
        said.append(" ".join(mark for mark in marks if mark and not mark.startswith("reserved")) or "no speed mark")
    if card.cid and 1 <= card.cid.manufacturing_month <= 12:
        said.append(f"made {card.cid.manufacturing_month:02}/{card.cid.manufacturing_year}")
    if card.life:
        said += [f"life used {card.life.used_a} (A), {card.life.used_b} (B), by its maker's estimate"]
    told = f"The {'eMMC' if card.is_emmc else 'card'} says: {', '.join(said) or 'nothing that is decoded here'}."
    doubts = [finding.about for finding in found if finding.is_doubt]
    if not doubts:
        return f"{told} Nothing disagrees in what was given."
    return f"{told} {counted(len(doubts), 'disagreement')}: {', '.join(dict.fromkeys(doubts))}."


def _rows(card: Registers, device_bytes: float | None) -> list[tuple[str, str, str]]:
    """Give each field in words."""
    parts = (
        ("CID", card.cid and _of_cid(card.cid)),
        ("CSD", card.csd and _of_csd(card.csd)),
        ("CID", card.emmc_cid and _of_emmc_cid(card.emmc_cid)),
        ("CSD", card.emmc_csd and _of_emmc_csd(card.emmc_csd)),
        ("SCR", card.scr and _of_scr(card.scr)),
        ("SD status", card.status and _of_status(card.status)),
        ("EXT_CSD", card.life and _of_life(card.life)),
        ("device", _of_device(card, device_bytes)),
    )
    return [
        (register, field, visible(str(value))) for register, values in parts for field, value in (values or {}).items()
    ]


def _of_cid(cid: Cid) -> dict[str, str]:
    return {
        "maker's number (MID)": f"0x{cid.manufacturer_id:02x}",
        "maker's letters (OID)": cid.oem_id,
        "product name": cid.product_name,
        "revision": cid.revision,
        "serial number": f"0x{cid.serial:08x}",
        "month of manufacture": f"{cid.manufacturing_month:02}/{cid.manufacturing_year}"
        if 1 <= cid.manufacturing_month <= 12
        else f"month code {cid.manufacturing_month} of {cid.manufacturing_year}",
        "checksum": cid.crc.state,
    }


def _of_csd(csd: Csd) -> dict[str, str]:
    protection = "for ever" if csd.is_write_protected else "for now" if csd.is_write_protected_for_now else "no"
    return {
        "version": str(csd.version) if csd.version else f"reserved (code {csd.structure_code})",
        "capacity": "not decoded" if csd.capacity_bytes is None else in_bytes(csd.capacity_bytes),
        "family": csd.family or "not known",
        "bus rate of a line": f"reserved (code 0x{csd.bus_code:02X})"
        if csd.bus_mbit_s is None
        else f"{csd.bus_mbit_s} Mbit/s, no write speed",
        "command classes": ", ".join(map(str, csd.command_classes)) or "none",
        "erase sector": _binary(csd.erase_sector_bytes),
        "marked as a copy": "yes" if csd.is_copy else "no",
        "write-protected": protection,
        "checksum": csd.crc.state,
    }


def _of_emmc_cid(cid: EmmcCid) -> dict[str, str]:
    month = f"{cid.manufacturing_month:02}" if 1 <= cid.manufacturing_month <= 12 else f"code {cid.manufacturing_month}"
    made = (
        f"{month}/{year}" + (f" if its EXT_CSD has revision {revision} or more" if revision else "")
        for year in cid.manufacturing_years
        for revision, span in YEARS.items()
        if year in span
    )
    return {
        "maker's number (MID)": f"0x{cid.manufacturer_id:02x}",
        "built in as (CBX)": cid.device_type,
        "maker's code (OID)": f"0x{cid.oem_id:02x}",
        "product name": cid.product_name,
        "revision": cid.revision,
        "serial number": f"0x{cid.serial:08x}",
        "month of manufacture": "; ".join(made),
        "checksum": cid.crc.state,
    }


def _of_emmc_csd(csd: EmmcCsd) -> dict[str, str]:
    protection = "for ever" if csd.is_write_protected else "for now" if csd.is_write_protected_for_now else "no"
    return {
        "capacity": "above 2 GB; its EXT_CSD has it" if csd.capacity_bytes is None else in_bytes(csd.capacity_bytes),
        "command classes": ", ".join(map(str, csd.command_classes)) or "none",
        "erase group": _binary(csd.erase_group_bytes),
        "write-protected": protection,
        "checksum": csd.crc.state,
    }


def _of_scr(scr: Scr) -> dict[str, str]:
    return {
        "specification version": scr.version,
        "copy protection of": scr.security,
        "data lines": " or ".join(map(str, scr.bus_widths_bits)) or "none",
        "erased data reads as": "1" if scr.ones_after_erase else "0",
        "commands": ", ".join(scr.commands) or "none",
    }


def _of_status(status: SdStatus) -> dict[str, str]:
    timeout = f"{status.erase_timeout_s} s for {counted(status.erase_units, 'unit')}, and {status.erase_offset_s} s"
    return {
        "speed class": status.speed_mark or "none",
        "UHS grade": status.uhs_mark or "none",
        "video class": status.video_mark or "none",
        "application class": status.application_mark or "none",
        "allocation unit": _unit(status.unit_bytes, status.unit_code),
        "UHS allocation unit": _unit(status.uhs_unit_bytes, status.uhs_unit_code),
        "video allocation unit": _unit(status.video_unit_bytes, 0),
        "erase time-out": timeout if status.erase_units and status.erase_timeout_s else "not told",
        "protected area": f"{grouped(str(status.protected_area_bytes))} (bytes on SDHC and larger cards)",
        "cache": "yes" if status.has_cache else "no",
        "command queue": counted(status.queue_depth, "command") if status.queue_depth else "no",
        "discard": "yes" if status.discards else "no",
    }


def _of_device(card: Registers, device_bytes: float | None) -> dict[str, str]:
    size = card.device_bytes if device_bytes is None else device_bytes
    started = card.started_bytes
    return ({} if size is None else {"size": in_bytes(size)}) | (
        {} if started is None else {"size when it was found": f"about {number(started / BYTES_PER_GB)} GB"}
    )


def _of_life(life: EmmcLife) -> dict[str, str]:
    return {
        "life used, type A": f"{life.used_a}, the maker's estimate",
        "life used, type B": f"{life.used_b}, the maker's estimate",
        "spare blocks": f"{life.pre_end_of_life}{SPARE_USED.get(life.pre_end_of_life_code, '')}",
    }


def _unit(size: int | None, code: int) -> str:
    return _binary(size) if size else f"reserved (code 0x{code:X})" if code else "not told"


def _binary(size: int) -> str:
    """Write a size that is a multiple of powers of two, as units of erasing are."""
    kib = size / BYTES_PER_KIB
    return f"{kib / KIB_PER_MIB:g} MiB" if kib >= KIB_PER_MIB else f"{kib:g} KiB" if kib >= 1 else f"{size} bytes"
