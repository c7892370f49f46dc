"""The check after fitting, and how a card that passed it gets into the service log. Writes that one file.

The log names cameras and cards, never people: who did the work is not needed to learn how long cards last, and initials
are personal data. The printed sheet has a line for a signature, kept as the site keeps its papers.
"""

import csv
import io
import os
import tomllib
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from edgestore.checks import Fault, InputError, one_of, refuse
from edgestore.inputs.service_log import SERVICE_COLUMNS, WHYS, read_service_log
from edgestore.inputs.sheet import Sheet, read_sheet
from edgestore.output import locked, write_whole
from edgestore.plain_file import MOST_LIST_BYTES, plain_file
from edgestore.plan.tables import formula_free
from edgestore.training.fitting.cautions import Caution, cautions_for

COLUMNS = tuple(column.name for column in SERVICE_COLUMNS)

LONGEST = 100
"""Letters of a name."""


@dataclass(frozen=True)
class Check:
    """One thing to see after fitting: its key, title, how it is done, and the keys of the cautions that apply."""

    key: str
    title: str
    text: str
    cautions: tuple[str, ...]

    @property
    def warnings(self) -> tuple[Caution, ...]:
        """The cautions that stand beside the check."""
        return cautions_for(self.cautions)


def _read() -> tuple[Check, ...]:
    rows = tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))["check"]
    return tuple(Check(**{**row, "cautions": tuple(row["cautions"])}) for row in rows)


CHECKS = _read()


@dataclass(frozen=True)
class Fitted:
    """A card that was fitted: where, which kind, on which day; ``why_removed`` of the one that was in the camera."""

    camera: str
    card: str
    day: date
    serial: str = ""
    why_removed: str = ""


def record(fitted: Fitted, done: Collection[str], log: Path, today: date) -> Path:
    """Put a fitted card into the service log.

    Parameters
    ----------
    fitted : Fitted
        The card.
    done : collection of str
        Keys of ``CHECKS`` that were seen to be right; all are needed.
    log : Path
        The service log, CSV; made, with its folder, when it does not exist.
    today : date
        The day of writing: no date in the log is after it.

    Returns
    -------
    Path
        The log.

    Raises
    ------
    InputError
        When a check is open, the card cannot be entered, or the log has a fault; the file stays as it was.

    Notes
    -----
    The rows of a log that is there are kept to the letter, its separators and encoding too; only the row of a card that
    is taken out gets its day and reason.
    """
    if not os.path.lexists(log):
        entered(fitted, done, None, today, log.name)  # an entry that is refused makes no folder
    with locked(log):  # another page may enter a card at this moment
        is_there = os.path.lexists(log)
        old = plain_file(log, str(log), MOST_LIST_BYTES, "a CSV file", "Name the log.") if is_there else None
        new = entered(fitted, done, old, today, log.name)
        return write_whole(log.parent, {log.name: new})[0]


def entered(fitted: Fitted, done: Collection[str], log: bytes | None, today: date, name: str = "service log") -> bytes:
    """Give a service log with one more card in it.

    Parameters
    ----------
    fitted : Fitted
        The card.
    done : collection of str
        Keys of ``CHECKS`` that were seen to be right; all are needed.
    log : bytes or None
        The log so far; none for a new one.
    today : date
        The day of writing.
    name : str
        What messages call the log.

    Returns
    -------
    bytes
        The whole log.

    Raises
    ------
    InputError
        With all that is wrong with the entry, or with the log.

    Examples
    --------
    >>> card = Fitted("Quay", "plain", date(2026, 3, 2), serial="0001")
    >>> entered(card, [check.key for check in CHECKS], None, date(2026, 3, 2)).decode().splitlines()
    ['camera,card,fitted,removed,why,serial', 'Quay,plain,2026-03-02,,,0001']
    """
    faults = [*_open_checks(done), *_entry_faults(fitted, today)]
    if faults:
        raise InputError(faults)
    if log is None:
        log = (",".join(COLUMNS) + "\n").encode()
        sheet, codec, rows = _header_only(name), "utf-8", pd.DataFrame(columns=list(COLUMNS))
    else:
        rows = read_service_log(log, today, name, today).rows
        sheet, _ = read_sheet(log, name, COLUMNS)
        codec = _codec(log, sheet)
    _serial_is_free(rows, fitted, name)
    in_service = _in_service(rows, fitted, name)
    text = _taken_out(log.decode(codec), sheet, in_service, fitted)
    cells = {"camera": fitted.camera, "card": fitted.card, "fitted": fitted.day.isoformat(), "serial": fitted.serial}
    _has_columns(sheet, [column for column, cell in cells.items() if cell])
    end = "\r\n" if "\r\n" in text else "\n"
    text += ("" if text.endswith(("\n", "\r")) else end) + _row(
        [cells.get(head, "") for head in sheet.header], sheet, end
    )
    try:
        new = text.encode(codec)
    except UnicodeEncodeError:
        found = f"letters that {sheet.encoding} cannot hold"
        raise refuse(name, found, "a log in UTF-8", "Save the log as CSV (UTF-8) first.") from None
    read_service_log(new, today, name, today)
    return new


def _open_checks(done: Collection[str]) -> list[Fault]:
    keys = [check.key for check in CHECKS]
    for key in done:
        one_of("check", key, keys)
    mend = "Check it, then tick it. A card that fails a check is not in service."
    return [Fault(check.title, "not ticked", "ticked", mend) for check in CHECKS if check.key not in done]


def _entry_faults(fitted: Fitted, today: date) -> list[Fault]:
    faults = []
    for what, text, needed in (
        ("camera", fitted.camera, True),
        ("card", fitted.card, True),
        ("serial", fitted.serial, False),
    ):
        allowed = f"a text of at most {LONGEST} letters on one line"
        if (needed and not text.strip()) or len(text) > LONGEST or not (text.isprintable()) or text != text.strip():
            faults.append(
                Fault(what, repr(text[:LONGEST]) if text else "nothing", allowed, f"Give the {what} by its name.")
            )
        elif formula_free(text) != text:
            mend = "Begin with a letter or a digit: a spreadsheet takes this for a formula."
            faults.append(Fault(what, repr(text), "a text without = + - @ at its start or after ; or ,", mend))
    if fitted.day > today:
        faults.append(Fault("fitted", fitted.day.isoformat(), f"{today.isoformat()} or before", "Correct the day."))
    if fitted.why_removed and fitted.why_removed not in WHYS:
        faults.append(Fault("why removed", repr(fitted.why_removed), ", ".join(WHYS)))
    return faults


def _serial_is_free(rows: pd.DataFrame, fitted: Fitted, name: str) -> None:
    """Refuse a serial number that is in service: one card is in one camera."""
    same = rows["serial"].map(_plain) == _plain(fitted.serial)
    there = rows[same & (rows["serial"] != "") & rows["removed"].isna()]
    if len(there):
        row = there.iloc[0]
        found = f"in service in camera {row['camera']!r} since {row['fitted']:%Y-%m-%d} ({row['card']})"
        mend = (
            "Read the number on the card again. If it is that card, it is already entered, or it was moved: then "
            "first enter, in the row of that camera, the day on which it was taken out and why."
        )
        raise refuse(f"{name}, serial {fitted.serial!r}", found, "the serial of a card that is in no camera", mend)


def _in_service(rows: pd.DataFrame, fitted: Fitted, name: str) -> int | None:
    """Give the place of the row of the card that is in the camera, which needs a reason to be taken out."""
    same = rows["camera"].map(_plain) == _plain(fitted.camera)
    at = list(rows.index[same & rows["removed"].isna()])
    where = f"{name}, camera {fitted.camera!r}"
    if len(at) > 1:
        mend = "Enter by hand which of them was taken out."
        raise refuse(where, f"{len(at)} cards in service", "one at most", mend)
    if at and not fitted.why_removed:
        row = rows.loc[at[0]]
        found = f"a card in service since {row['fitted']:%Y-%m-%d} ({row['card']})"
        raise refuse(where, found, "no card in service", f"Say why it was taken out: {', '.join(WHYS)}.")
    if fitted.why_removed and not at:
        mend = "Leave the reason empty, or correct the name of the camera."
        raise refuse(where, f"no card that could be taken out ({fitted.why_removed})", "a card in service", mend)
    return at[0] if at else None


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


def _taken_out(text: str, sheet: Sheet, place: int | None, fitted: Fitted) -> str:
    """Give the text of the log with the day and the reason in one row; all else stays to the letter."""
    if place is None:
        return text
    _has_columns(sheet, ["removed", "why"])
    line = list(sheet.rows)[place]
    cells = dict(zip(sheet.header, sheet.rows[line], strict=True))
    cells |= {"removed": fitted.day.isoformat(), "why": fitted.why_removed}
    lines = list(io.StringIO(text, newline=""))
    reader = csv.reader(lines[line - 1 :], delimiter=sheet.delimiter)
    next(reader)
    last = lines[line - 2 + reader.line_num]
    end = last[len(last.rstrip("\r\n")) :]
    lines[line - 1 : line - 1 + reader.line_num] = [_row(list(cells.values()), sheet, end)]
    return "".join(lines)


def _has_columns(sheet: Sheet, columns: list[str]) -> None:
    missing = [column for column in columns if column not in sheet.header]
    if missing:
        mend = "Add them to the header of the log" + (", or leave the serial empty." if "serial" in missing else ".")
        raise refuse(sheet.name, f"no column {', '.join(missing)}", f"a log with {', '.join(COLUMNS)}", mend)


def _row(cells: list[str], sheet: Sheet, end: str) -> str:
    file = io.StringIO()
    csv.writer(file, delimiter=sheet.delimiter, lineterminator=end).writerow(cells)
    return file.getvalue()


def _codec(log: bytes, sheet: Sheet) -> str:
    """Give the codec that reads the log and writes the same bytes, its mark at the start included."""
    if sheet.encoding == "UTF-16":
        return "utf-16-le" if log.startswith(b"\xff\xfe") else "utf-16-be"
    return {"UTF-8": "utf-8", "Windows-1252": "cp1252"}[sheet.encoding]


def _header_only(name: str) -> Sheet:
    return Sheet(name, "UTF-8", ",", 1, list(COLUMNS), {})
