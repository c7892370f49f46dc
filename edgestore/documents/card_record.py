"""The record of a card that was checked: JSON, one page of HTML, and a row in the register of checked cards."""

import csv
import hashlib
import io
import json
import math
import re
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from enum import Enum
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from edgestore.answers.card_check import CheckedCard, Verdict, Weight
from edgestore.answers.registers import CardSays
from edgestore.checks import Fault, InputError
from edgestore.inputs.cards_checked import CHECKED_COLUMNS, read_cards_checked
from edgestore.inputs.names import printable
from edgestore.look import filled
from edgestore.output import locked, write_whole
from edgestore.plan.tables import formula_free
from edgestore.text import MADE_WITH, number, visible
from edgestore.units import BYTES_PER_GB, BYTES_PER_MB

TEMPLATE = Path(__file__).with_name("template")

REGISTER = "cards_checked.csv"
"""The register of checked cards, beside the records."""

LONGEST = 100
"""Letters of a serial number, a kind or a name (our choice), as of an entry in the service log."""

STATES = {Verdict.ACCEPTED: "assured", Verdict.UNDECIDED: "doubtful", Verdict.REFUSED: "not-served"}
"""How the page shows a verdict: as the other documents show what is served."""

WEIGHTS = {Weight.REFUSES: "refuses the card", Weight.LEAVES_OPEN: "leaves it open", Weight.TELLS: "for information"}


@dataclass(frozen=True, kw_only=True)
class CardRecord:
    """What is kept of the check of a card.

    Attributes
    ----------
    answer : CheckedCard
        What was measured, and the verdict.
    when : datetime
        When the check ended, UTC.
    kind, serial, by, camera : str
        Name of the card in the card list, its serial number, who checked it, the camera that it is planned for: as
        given, each may be empty.
    says : CardSays or None
        What its registers say, where they were given.
    """

    answer: CheckedCard
    when: datetime
    kind: str = ""
    serial: str = ""
    by: str = ""
    camera: str = ""
    says: CardSays | None = None

    def __post_init__(self) -> None:
        """Refuse texts that no register can hold."""
        check_texts(kind=self.kind, serial=self.serial, by=self.by)

    @property
    def name(self) -> str:
        """How its files are called: by the moment and the serial number."""
        safe = re.sub(r"[^A-Za-z0-9-]+", "_", self.serial or self.kind).strip("_")[:LONGEST]
        return "_".join(filter(None, ("card_check", f"{self.when:%Y%m%dT%H%M%SZ}", safe)))


def check_texts(**texts: str) -> None:
    """Refuse texts that a register of cards cannot hold: of several lines, too long, or taken for a formula."""
    faults = []
    for what, text in texts.items():
        if len(text) > LONGEST or not text.isprintable() or text != text.strip():
            faults.append(Fault(f"--{what}", repr(text[:LONGEST]), f"at most {LONGEST} letters on one line"))
        elif formula_free(text) != text:
            mend = "Begin with a letter or a digit: a spreadsheet takes this for a formula."
            faults.append(Fault(f"--{what}", repr(text), "a text without = + - @ at its start or after ; or ,", mend))
    if faults:
        raise InputError(faults)


def as_json(record: CardRecord) -> bytes:
    """The record as one JSON object; what was not measured is null."""
    answer, says = record.answer, record.says
    check = answer.check
    told = {
        "made_with": MADE_WITH,
        "when": record.when.astimezone(UTC).isoformat(timespec="seconds"),
        "by": record.by,
        "card": {"kind": record.kind, "serial": record.serial, **asdict(answer.label)},
        "camera": {"name": record.camera, "peak_mbit_s": answer.peak_mbit_s},
        "verdict": answer.verdict,
        "sentence": answer.sentence,
        "reasons": [asdict(reason) for reason in answer.reasons],
        "results": {
            **asdict(check),
            "mbyte_s": check.mbyte_s,
            "slowest_second_mbyte_s": check.slowest_second_mbyte_s,
            "longest_stall_s": check.longest_stall_s,
        },
        "registers": None
        if says is None
        else {
            "raw": dict(says.card.raw),
            "fields": says.table.to_dict("records"),
            "findings": [asdict(finding) for finding in says.findings],
        },
    }
    return json.dumps(_plain(told), indent=1, ensure_ascii=False, allow_nan=False).encode(errors="replace")


def _plain(value: Any) -> Any:
    """A value as JSON can hold it."""
    if isinstance(value, dict):
        return {str(_plain(key)): _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, Enum):
        return value.value
    return None if isinstance(value, float) and not math.isfinite(value) else value


def page(record: CardRecord) -> str:
    """The record as one page of HTML that holds everything it shows; every text is escaped."""
    environment = Environment(loader=FileSystemLoader(TEMPLATE), autoescape=True, undefined=StrictUndefined)
    style = Markup(filled((TEMPLATE / "page.css").read_text(encoding="utf-8")))  # our own file
    says = record.says
    return environment.get_template("card_record.html.j2").render(
        css=style,
        made_with=MADE_WITH,
        record=record,
        answer=record.answer,
        state=STATES[record.answer.verdict],
        weights=WEIGHTS,
        about=_about(record),
        results=results(record.answer),
        registers=[] if says is None else says.table.to_dict("records"),
        visible=visible,
    )


def _about(record: CardRecord) -> list[tuple[str, str]]:
    label, peak = record.answer.label, record.answer.peak_mbit_s
    rows = [
        ("Card", record.kind or "not told"),
        ("Serial number", record.serial or "not told"),
        ("Label", "not compared" if label.capacity_gb is None else f"{number(label.capacity_gb)} GB"),
        ("Camera", record.camera or "not told"),
        ("Camera's peak", "" if peak is None else f"{number(peak)} Mbit/s"),
        ("Mounted at", record.answer.check.place),
        ("Checked", f"{record.when:%Y-%m-%d %H:%M} UTC"),
        ("By", record.by or "not told"),
    ]
    return [(what, visible(text)) for what, text in rows if text]


def results(answer: CheckedCard) -> list[tuple[str, str]]:
    """What was measured, in words: pairs of what and how much.

    Parameters
    ----------
    answer : CheckedCard
        A card that was checked.

    Returns
    -------
    list of tuple of str
        GB, Mbyte/s, ms and s; only what was measured.
    """
    check = answer.check
    rows = [
        ("Size of the file system", f"{number(check.size_bytes / BYTES_PER_GB)} GB"),
        (
            "Written",
            f"{number(check.bytes_written / BYTES_PER_GB)} GB of {number(check.asked_bytes / BYTES_PER_GB)} GB asked",
        ),
        ("Kept free while it was written", f"{number(check.kept_free_bytes / BYTES_PER_GB)} GB"),
    ]
    if check.read is not None:
        rows.append(("Came back as written", f"{number(check.read.kept_bytes / BYTES_PER_GB)} GB"))
        if check.read.seconds > 0:
            rate = check.read.bytes_read / check.read.seconds / BYTES_PER_MB
            rows.append(("Read and compared", f"{number(rate)} Mbyte/s"))
    if check.probed is not None:
        rows.append(("Places tried", f"{check.probed.probes}, {check.probed.false_probes} of them false"))
    if not math.isnan(check.mbyte_s):
        rows.append(("Sequential write", f"{number(check.mbyte_s)} Mbyte/s"))
    if not math.isnan(check.slowest_second_mbyte_s):
        rows.append(("Slowest second", f"{number(check.slowest_second_mbyte_s)} Mbyte/s"))
    if not math.isnan(check.longest_stall_s):
        rows.append(("Longest time for one write", f"{number(check.longest_stall_s)} s"))
    if check.updates_ms:
        middle, most = (_quantile(check.updates_ms, part) for part in (0.5, 0.99))
        rows.append(("Small updates", f"half within {number(middle)} ms, 99 % within {number(most)} ms"))
    if check.recorded is not None:
        tried = check.recorded
        text = (
            f"{number(tried.seconds)} s; {number(tried.latest_s)} s behind at worst, {number(tried.backlog_mbyte)} MB"
        )
        rows.append(("The camera's own pattern", f"{text} waiting"))
    return rows


def _quantile(values: tuple[float, ...], part: float) -> float:
    in_order = sorted(values)
    return in_order[min(int(part * len(in_order)), len(in_order) - 1)]


def write_record(record: CardRecord, folder: Path) -> list[Path]:
    """Write the record into a folder, and its row into the register there; others may write to it at the same time.

    Parameters
    ----------
    record : CardRecord
        The record.
    folder : Path
        Where to write; made when it does not exist.

    Returns
    -------
    list of Path
        The record as JSON and as HTML, and the register.

    Raises
    ------
    InputError
        When the folder cannot be written to, or what stands in the register cannot be read: then nothing is written.
    """
    content, register = as_json(record), folder / REGISTER
    with locked(register):
        old = register.read_bytes() if register.exists() else None
        new = registered(record, content, old)
        name, number_of_name = record.name, 1
        while (folder / f"{name}.json").exists() or (folder / f"{name}.html").exists():
            number_of_name += 1
            name = f"{record.name}_{number_of_name}"
        html = page(record).encode(errors="replace")
        return write_whole(folder, {f"{name}.json": content, f"{name}.html": html, REGISTER: new})


def can_record(folder: Path) -> None:
    """Refuse a folder that cannot be written to, or whose register cannot be read, before the work is done."""
    register = folder / REGISTER
    with locked(register):
        if register.exists():
            _register(register.read_bytes())


def registered(record: CardRecord, content: bytes, register: bytes | None) -> bytes:
    """The register with one more row: what stood in it stays, byte for byte.

    Parameters
    ----------
    record : CardRecord
        The record.
    content : bytes
        The record as JSON, of which the digest is entered.
    register : bytes or None
        The register so far; none for a new one.

    Returns
    -------
    bytes
        The whole register.

    Raises
    ------
    InputError
        When the register cannot be read, or has other columns.
    """
    columns = [column.name for column in CHECKED_COLUMNS]
    if register is not None:
        _register(register)
    old = register or (",".join(columns) + "\n").encode()
    cells = {
        "date": f"{record.when:%Y-%m-%d}",
        "serial": record.serial,
        "card": record.kind,
        "verdict": record.answer.verdict.value,
        "size_gb": f"{record.answer.check.size_bytes / BYTES_PER_GB:.6g}",
        "by": record.by,
        "record_sha256": hashlib.sha256(content).hexdigest(),
    }
    row = io.StringIO()
    csv.writer(row, lineterminator="\r\n" if b"\r\n" in old else "\n").writerow([cells[name] for name in columns])
    end = b"" if old.endswith(b"\n") else b"\n"
    new = old + end + row.getvalue().encode()
    read_cards_checked(new, REGISTER)
    return new


def _register(content: bytes) -> None:
    """Refuse a register that cannot be read, or has other columns."""
    read_cards_checked(content, REGISTER)
    columns = ",".join(column.name for column in CHECKED_COLUMNS)
    first = content.decode("utf-8-sig", errors="replace").splitlines()[0]
    if first != columns:
        mend = "Write to another folder, or put the columns back as they were."
        raise InputError([Fault(REGISTER, printable(first), columns, mend)])
