"""The register of cards that were checked, and what it says of the cards in a service log. Reads one CSV file."""

from collections.abc import Iterator

import pandas as pd

from edgestore.inputs.sheet import Source
from edgestore.inputs.tables import Column, Table, read_table
from edgestore.text import counted, short, visible

ACCEPTED, UNDECIDED, REFUSED = "accepted", "not decided", "refused"
VERDICTS = (ACCEPTED, UNDECIDED, REFUSED)
"""What is said of a card."""

NAMED = 5
"""So many cards are named in a warning; the others are counted."""

LONGEST = 40
"""Letters of a serial number or a camera that a warning repeats."""

CHECKED_COLUMNS = (
    Column("date", "date", "day of the check (UTC)", required=True),
    Column("serial", "text", "serial number of the card, as in the service log"),
    Column("card", "text", "kind of card, by the name in the card list"),
    Column("verdict", "choice", "what the check says of it", required=True, words=VERDICTS),
    Column("size_gb", "number", "size of its file system", unit="GB", at_least=0),
    Column("by", "text", "who checked it, as given"),
    Column("record_sha256", "text", "digest of the record (JSON)"),
)


def read_cards_checked(source: Source, name: str = "cards checked") -> Table:
    r"""Read a register of cards that were checked.

    Parameters
    ----------
    source : Path, str or bytes
        Path of the CSV file, or its content.
    name : str
        What messages call the register when ``source`` is its content.

    Returns
    -------
    Table
        Rows with the columns of ``CHECKED_COLUMNS``, and notes; a row a check, the last of a card counts.

    Raises
    ------
    InputError
        With every fault of the file.

    Examples
    --------
    >>> read_cards_checked(b"date,serial,verdict\n2026-03-01,0x1a2b,accepted\n").rows["verdict"].tolist()
    ['accepted']
    """
    return read_table(source, CHECKED_COLUMNS, (), name)


def not_accepted(log: pd.DataFrame, checked: pd.DataFrame) -> Iterator[str]:
    """Warnings of cards in service which no check accepted.

    Parameters
    ----------
    log : DataFrame
        Rows of a service log (:func:`edgestore.inputs.service_log.read_service_log`).
    checked : DataFrame
        Rows of a register (:func:`read_cards_checked`).

    Yields
    ------
    str
        A warning each for cards that were refused, not decided, not checked, and for cards without a serial number.

    Notes
    -----
    Of a card that was checked several times the last check counts: the latest day, and of one day the last row. Serial
    numbers are compared without regard to capitals.
    """
    last = checked.sort_values("date", kind="stable")
    verdicts = dict(zip(last["serial"].map(_key), last["verdict"], strict=True))
    fitted = log[log["removed"].isna()]
    said = fitted["serial"].map(_key).map(lambda key: verdicts.get(key, "not checked") if key else "no serial number")
    for verdict, told in (
        (REFUSED, "a check refused"),
        (UNDECIDED, "a check left undecided"),
        ("not checked", "the register of checked cards does not have"),
    ):
        rows = fitted[said == verdict]
        if len(rows):
            yield f"{counted(len(rows), 'card')} in service that {told}: {_named(rows)}."
    if count := int((said == "no serial number").sum()):
        yield f"{counted(count, 'card')} in service without a serial number: whether a check accepted it is not known."


def _key(serial: str) -> str:
    return serial.strip().casefold()


def _named(rows: pd.DataFrame) -> str:
    names = [
        f"{short(visible(str(row.serial)), LONGEST)} in {short(visible(str(row.camera)), LONGEST)}"
        for row in rows.head(NAMED).itertuples()
    ]
    more = len(rows) - len(names)
    return "; ".join(names) + (f"; {more} more" if more else "")
