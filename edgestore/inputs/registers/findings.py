"""What the registers of a card, its label and the size of the device do not agree on, in plain words.

A finding is no verdict: a sound card may differ from its label, and a false one may agree with it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from edgestore.inputs.registers.as_sent import Form
from edgestore.inputs.registers.reading import Registers
from edgestore.models.registers import Crc7
from edgestore.models.registers.crc import NOT_AVAILABLE, WRONG
from edgestore.models.registers.emmc import BEYOND
from edgestore.models.speed.classes import SPEED_CLASSES, implied_marks
from edgestore.text import grouped, percent
from edgestore.units import BYTES_PER_GB

LEAST_OF_LABEL, MOST_OF_LABEL = 0.95, 1.08
"""Real cards hold 96.7 to 102.9 % of their label (published dumps, docs/verification.md); a binary size 107.4 %."""

STARTED_WITHIN = 0.0051
"""Linux writes a size in three digits: 1.00 GiB may be 0.995 or 1.005."""

FAMILY_SINCE = {"SDSC": 2000, "SDHC": 2006, "SDXC": 2009, "SDUC": 2018}
"""Year of the specification that has the family: 1.0, 2.00, 3.00, 7.00 (from memory)."""

SDSC_MOST_BYTES = 1 << 32
"""An SDSC card with blocks of 2048 bytes (seen in published dumps; the specification ends at 2^31)."""

SDHC_LEAST_BYTES = 1 << 31
SDUC_LEAST_BYTES = 1 << 41
"""Capacities from which on a family is needed (SD Physical Layer Simplified Specification, section 3.3.2)."""

ALL_ONES = 0xFFFFFFFF
USED_UP = 3
"""PRE_EOL_INFO: urgent."""

MARK_FIELDS = {"C": "speed class", "U": "UHS grade", "V": "video class", "A": "application class"}

FORMS: dict[Form, str] = {
    "shifted": "one byte to the right: 00 stands before it, and its last byte with the checksum is lost",
    "short": "without its last byte, the checksum",
    "led": "with the byte 3f before it, the first of the card's answer",
    "turned": "with its four words from the last to the first",
    "turned and shifted": "with its four words from the last to the first and one byte to the right, the checksum lost",
    "half": "as its first four bytes alone; the others are the maker's own",
}
TEST_IT = "Write all of the card and read it back before you trust it with footage."


@dataclass(frozen=True)
class Finding:
    """One thing seen: what it is about, what was seen, what was expected, what it may mean, and what to do.

    ``is_doubt`` tells a disagreement from a remark on how the registers were printed.
    """

    about: str
    seen: str
    expected: str
    means: str
    do: str
    is_doubt: bool = True

    def __str__(self) -> str:
        return f"{self.about}: {self.seen}; expected: {self.expected}. {self.means} {self.do}"


@dataclass(frozen=True)
class Label:
    """What is printed on the card: capacity, GB, and speed marks; None and empty for what is not known."""

    capacity_gb: float | None = None
    marks: tuple[str, ...] = ()


def findings(
    card: Registers, label: Label | None = None, device_bytes: int | None = None, *, today: date | None = None
) -> list[Finding]:
    """Say what does not agree.

    Parameters
    ----------
    card : Registers
        The registers.
    label : Label, optional
        What is printed on the card.
    device_bytes : int, optional
        Size of the device, bytes, as a system shows it; what Linux says with the registers when left out.
    today : date, optional
        Day after whose month no card was made; that of this machine when left out.

    Returns
    -------
    list of Finding
        Disagreements first, then remarks; none when all agrees.
    """
    label = label or Label()
    size = card.device_bytes if device_bytes is None else device_bytes
    found = [
        *_blank(card),
        *_capacities(card, label, size),
        *_families(card),
        *_marks(card, label),
        *_checksums(card),
        *_month(card, today or date.today()),
        *_serial(card),
        *_linux(card),
        *_protection(card),
        *_wear(card),
        *_reserved(card),
        *_forms(card),
    ]
    return sorted(found, key=lambda finding: not finding.is_doubt)


def in_bytes(size: float) -> str:
    """Write a size in GB and in bytes."""
    return f"{size / BYTES_PER_GB:.4g} GB ({grouped(f'{size:.0f}')} bytes)"


def _told(size: float) -> str:
    """Write a size as it is known: a whole number of bytes, or three digits."""
    return in_bytes(size) if isinstance(size, int) else f"about {size / BYTES_PER_GB:.3g} GB"


def _blank(card: Registers) -> Iterator[Finding]:
    for register, digits in card.raw.items():
        if set(digits) in ({"0"}, {"f"}):
            yield Finding(
                register,
                f"every digit is {digits[0]}",
                "fields of a card",
                "The card did not answer, or the program printed memory that it had not filled.",
                "Read the card again in another slot; what is said of this register here means nothing.",
            )


def _capacities(card: Registers, label: Label, device_bytes: int | None) -> Iterator[Finding]:
    register_bytes = card.csd.capacity_bytes if card.csd else None
    label_bytes = None if label.capacity_gb is None else label.capacity_gb * BYTES_PER_GB
    told = (
        ("the CSD", register_bytes),
        ("the device", device_bytes),
        ("Linux, when it found the card,", card.started_bytes),
    )
    for who, size in told:
        if who != "the CSD" and (size == register_bytes or (who != "the device" and (register_bytes or device_bytes))):
            continue  # told once
        if label_bytes and size and not LEAST_OF_LABEL <= size / label_bytes <= MOST_OF_LABEL:
            is_less = size < label_bytes
            yield Finding(
                "capacity",
                f"{who} says {_told(size)}, {percent(size / label_bytes)} of the label's {label.capacity_gb:g} GB",
                f"{percent(LEAST_OF_LABEL)} of the label or more" if is_less else "about the label's capacity",
                "The card may be labelled wrongly, or be of another kind than the list says."
                if is_less
                else "The label may be another card's; a register that states more than the card holds loses footage.",
                f"Compare label and list. {TEST_IT}",
            )
    is_other = device_bytes is not None and device_bytes != register_bytes
    started = card.started_bytes if device_bytes is None else None
    if started is not None and register_bytes:
        is_other = abs(started / register_bytes - 1) > STARTED_WITHIN
    if register_bytes and is_other:
        yield Finding(
            "capacity",
            f"the device has {_told(device_bytes or started or 0)}, the CSD says {in_bytes(register_bytes)}",
            "the same size, since a system takes it from the CSD",
            "The size may be that of a partition, or of another device; a reader may not know cards so large.",
            f"Give the size of the whole device, read in the same slot. {TEST_IT}",
        )


def _families(card: Registers) -> Iterator[Finding]:
    if card.csd is None:
        return
    if card.csd.version is None:
        yield Finding(
            "family",
            f"CSD structure code {card.csd.structure_code}",
            "0, 1 or 2 (versions 1, 2 and 3)",
            "The code is reserved for SD cards, so that its capacity is not decoded. An eMMC has such a code.",
            "If it is an eMMC, read its files life_time and pre_eol_info; else read the card again.",
        )
    size, version = card.csd.capacity_bytes, card.csd.version
    least = {1: 0, 2: SDHC_LEAST_BYTES + 1, 3: SDUC_LEAST_BYTES + 1}
    most = {1: SDSC_MOST_BYTES, 2: SDUC_LEAST_BYTES, 3: 1 << 47}
    if version and size is not None and not least[version] <= size <= most[version]:
        wanted = (
            f"above {in_bytes(least[version] - 1)}" if size < least[version] else f"up to {in_bytes(most[version])}"
        )
        yield Finding(
            "family",
            f"{in_bytes(size)} in a CSD of version {version}",
            f"{wanted} for that version",
            "The register contradicts itself: it may have been changed, or read with an error.",
            f"Read the card again. {TEST_IT}",
        )
    if card.scr and version and card.scr.security in ("SDSC", "SDHC", "SDXC") and size:
        held = card.csd.family
        if card.scr.security != held and {card.scr.security, held} != {"SDXC", "SDUC"}:
            yield Finding(
                "family",
                f"the SCR is that of an {card.scr.security} card, the CSD that of an {held} card",
                "one family",
                "Some sound cards keep the SCR of a smaller one of their kind; so do cards whose capacity was changed.",
                TEST_IT,
            )


def _marks(card: Registers, label: Label) -> Iterator[Finding]:
    if card.status is None:
        return
    status = card.status
    held = {"C": status.speed_mark, "U": status.uhs_mark, "V": status.video_mark, "A": status.application_mark}
    for mark in label.marks:
        own = held[mark[0]]
        includes = implied_marks(own) if own in SPEED_CLASSES else {"A2": ("A1", "A2"), "A1": ("A1",)}.get(own, ())
        if mark in includes:
            continue
        told = own or f"no {MARK_FIELDS[mark[0]]}"
        yield Finding(
            "speed",
            f"the label says {mark}, the SD status {told}",
            f"{mark} or more in the field of the {MARK_FIELDS[mark[0]]}",
            "The card does not promise by itself what its label does. No mark of one family implies one of another.",
            "Count on the lower one, or measure the slowest second of a long write in the camera's own slot.",
        )


def _checksums(card: Registers) -> Iterator[Finding]:
    checked: list[tuple[str, Crc7]] = [
        (name, item.crc)
        for name, item in (
            ("CID", card.cid),
            ("CSD", card.csd),
            ("CID", card.emmc_cid),
            ("CSD", card.emmc_csd),
        )
        if item
    ]
    for register, crc in checked:
        if crc.state == WRONG and set(card.raw[register]) != {"f"}:
            yield Finding(
                f"checksum of the {register}",
                f"0x{crc.stored:02x}",
                f"0x{crc.computed:02x} for its other 15 bytes",
                "Digits may be mistyped or lost, the host may fill that byte, or somebody changed the register.",
                "Copy it again, and read the card in another slot before you believe its fields.",
            )
        elif crc.state == NOT_AVAILABLE and card.forms.get(register, "whole") == "whole":
            yield Finding(
                f"checksum of the {register}",
                "0",
                "a checksum; many hosts drop it",
                "It is not available, which is no fault of the card: whether the digits are right cannot be told.",
                "Nothing is to be done; a host that keeps the last byte would tell.",
                is_doubt=False,
            )


def _month(card: Registers, today: date) -> Iterator[Finding]:
    if card.cid is None:
        return
    year, month = card.cid.manufacturing_year, card.cid.manufacturing_month
    family = card.csd.family if card.csd else ""
    since = FAMILY_SINCE.get(family, FAMILY_SINCE["SDSC"])
    read_again = "Read the register again; ask the supplier when the card was made."
    if not 1 <= month <= 12:
        meaning = "No month has this code: the field was not filled, or the register is not as the card sent it."
        yield Finding("month of manufacture", f"month code {month} of {year}", "1 to 12", meaning, read_again)
    elif (year, month) > (today.year, today.month):
        meaning = "The field was filled wrongly, the register was read wrongly, or this machine's clock is behind."
        allowed = f"{today.month:02}/{today.year} or before"
        yield Finding("month of manufacture", f"{month:02}/{year}", allowed, meaning, read_again)
    elif year < since:
        meaning = (
            f"The specification that has {family or 'SD'} cards is younger: the field may have been left as it was."
        )
        yield Finding("month of manufacture", f"{month:02}/{year}", f"{since} or later", meaning, read_again)


def _serial(card: Registers) -> Iterator[Finding]:
    if card.cid and card.cid.serial in (0, ALL_ONES):
        yield Finding(
            "serial number",
            f"0x{card.cid.serial:08x}",
            "a number of its own for each card",
            "The maker did not number the card; such cards cannot be told apart, and come from lots without care.",
            "Compare with other cards of the lot; number the cards yourself.",
        )


def _linux(card: Registers) -> Iterator[Finding]:
    """What Linux decoded of the same card, beside our reading of its registers."""
    ours: dict[str, str] = {}
    if card.cid:
        ours["date"] = f"{card.cid.manufacturing_month:02}/{card.cid.manufacturing_year}"
        ours["serial"] = f"0x{card.cid.serial:08x}"
        ours["manfid"] = f"0x{card.cid.manufacturer_id:06x}"
    if card.status and card.status.unit_bytes:
        ours["preferred_erase_size"] = str(card.status.unit_bytes)
    for key, own in ours.items():
        told = card.stated.get(key)
        if told is not None and not _same(told, own):
            yield Finding(
                key,
                f"Linux says {told}, the register {own}",
                "the same, since Linux takes it from the register",
                "The lines or files may be of two cards, or one was changed by hand; Linux corrects some cards.",
                "Copy all files of the card again at one time.",
            )


def _same(told: str, own: str) -> bool:
    return int(told, 16) == int(own, 16) if told.lower().startswith("0x") else told == own


def _protection(card: Registers) -> Iterator[Finding]:
    if card.csd and (card.csd.is_write_protected or card.csd.is_write_protected_for_now):
        how = "for ever" if card.csd.is_write_protected else "for now"
        yield Finding(
            "write protection",
            f"the CSD says that the card is write-protected {how}",
            "a card that can be written",
            "A camera cannot record on it. Some cards protect themselves when they are worn out.",
            "Do not fit it." if card.csd.is_write_protected else "Take the protection away, or do not fit it.",
        )


def _wear(card: Registers) -> Iterator[Finding]:
    life = card.life
    if life and (BEYOND in (life.used_a_code, life.used_b_code) or life.pre_end_of_life_code in (2, USED_UP)):
        yield Finding(
            "wear",
            f"life used {life.used_a} (A) and {life.used_b} (B); spare blocks: {life.pre_end_of_life}",
            "less than all of the life, and spare blocks at normal",
            "It is the maker's estimate by a rule that no standard states; it tells a trend, no day.",
            "Plan its change now.",
        )


def _reserved(card: Registers) -> Iterator[Finding]:
    for what, told in _codes(card):
        yield Finding(
            what,
            told,
            "a code that the specification has",
            "It may be of a later specification, or a slip of the card's maker. It is not guessed.",
            "Ask the supplier, and do not count on that field.",
            is_doubt=False,
        )


def _codes(card: Registers) -> Iterable[tuple[str, str]]:
    """Codes that the specification leaves open."""
    fields: list[tuple[str, str]] = []
    if card.status:
        status = card.status
        marks = (status.speed_mark, status.uhs_mark, status.video_mark, status.application_mark)
        fields += list(zip(MARK_FIELDS.values(), marks, strict=True))
        if status.uhs_unit_code and status.uhs_unit_bytes is None:
            fields.append(("UHS allocation unit", f"reserved (code 0x{status.uhs_unit_code:X})"))
    if card.scr:
        fields += [("version of the specification", card.scr.version), ("security", card.scr.security)]
    if card.csd and card.csd.bus_mbit_s is None:
        fields.append(("bus rate", f"reserved (code 0x{card.csd.bus_code:02X})"))
    if card.cid and card.cid.reserved:
        fields.append(("reserved bits of the CID", f"reserved (code 0x{card.cid.reserved:X})"))
    return [(what, told) for what, told in fields if told.startswith("reserved")]


def _forms(card: Registers) -> Iterator[Finding]:
    for register, form in card.forms.items():
        if form in FORMS:
            yield Finding(
                f"print of the {register}",
                f"it looks printed {FORMS[form]}",
                "16 bytes as the card sent them" if register != "SCR" else "8 bytes as the card sent them",
                "Some boot loaders print it so. It was put right before it was decoded; the checksum cannot be told."
                if "shifted" in form or form == "short"
                else "Some programs print it so. It was put right before it was decoded.",
                "Nothing is to be done; what Linux shows of the same card would confirm it.",
                is_doubt=False,
            )
