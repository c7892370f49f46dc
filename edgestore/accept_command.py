"""The command ``accept``: check a mounted card, say what it is, keep a record."""

import argparse
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgestore.checks import refuse
from edgestore.terminal import columns, paragraph, say
from edgestore.text import counted, number, span, visible
from edgestore.units import BYTES_PER_GB, BYTES_PER_MB, S_PER_MIN

if TYPE_CHECKING:
    from edgestore.answers.card_check import Label
    from edgestore.answers.registers import CardSays
    from edgestore.documents.card_record import CardRecord
    from edgestore.inputs.bench.check import CardCheck

NOT_ACCEPTED = 1

TYPICAL_MBYTE_S = (10.0, 90.0)
"""Between these most cards in most readers write and are read (common practice, no source)."""

CAUTIONS = (
    "Warning: never check a card that may be evidence: the check changes the card. Footage on it is not touched, but"
    " copy it first: a card that lies about its capacity may write over it.",
    "Warning: hold the card by its edges and discharge yourself first (a wrist strap where there is one); let the check"
    " end, or stop it with Ctrl-C, before you take the card out.",
)


def add_accept_command(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add this command to those of the program.

    Parameters
    ----------
    add : callable
        Makes the parser of a command from its name and its help.
    """
    accept = add("accept", help="check a mounted card: does it keep what is written to it, is it fast enough")
    accept.add_argument("folder", type=Path, nargs="?", metavar="FOLDER", help="where the card is mounted")
    accept.add_argument("--quick", action="store_true", help="try some places only; this alone accepts no card")
    for name, kind, default, metavar, text in (
        ("--probes", int, 66, "N", "places that --quick tries (default: 66)"),
        ("--leave", float, 0.0, "GB", "free space to leave (default: 0)"),
        ("--card", str, None, "KIND", "name of the card in the card list, for its label"),
        ("--cards", Path, None, "CARDS", "the card list, with --card"),
        ("--camera", str, None, "NAME", "camera that the card is planned for, with --site"),
        ("--site", Path, None, "SITE", "folder of that camera's site, with --camera"),
        ("--peak", float, None, "MBIT_S", "highest rate of the camera (default: that of --camera)"),
        ("--rate", float, None, "MBIT_S", "rate at which a camera's own pattern is tried (default: that of --camera)"),
        ("--registers", Path, None, "FILE", "what the card says of itself, as edgestore registers reads it"),
        ("--serial", str, "", "TEXT", "serial number (default: that in the registers)"),
        ("--by", str, "", "NAME", "who checks it; a name is personal data, and may be left out"),
        ("--out", Path, None, "FOLDER", "gets the record, as JSON and HTML, and a row in cards_checked.csv"),
    ):
        accept.add_argument(name, type=kind, default=default, metavar=metavar, help=text)
    accept.add_argument("--any-folder", action="store_true", help="check a folder that is no mount point, as a trial")
    accept.add_argument("--clean", action="store_true", help="remove what an earlier check left, and do nothing else")
    protocol = "write a sheet to --out: how to measure a card's write amplification on a spare; check nothing"
    accept.add_argument("--protocol", action="store_true", help=protocol)
    fit = "read the filled-in file of --protocol and print the write amplification with its range; check nothing"
    accept.add_argument("--fit", type=Path, metavar="FILE", help=fit)
    accept.add_argument("--json", action="store_true", help="print the record as one JSON object, for programs")
    accept.set_defaults(run=_accept)


def _accept(options: argparse.Namespace) -> int:
    if options.protocol:
        return _protocol(options)
    if options.fit is not None:
        return _fit(options)
    if options.folder is None:
        raise refuse("FOLDER", "nothing", "the folder where the card is mounted", "Name it after edgestore accept.")
    if not sys.platform.startswith("linux"):
        mend = "Check the card on a machine with Linux; edgestore registers works everywhere."
        raise refuse("edgestore accept", sys.platform, "Linux", mend)
    from edgestore.checks import in_range, one_whole
    from edgestore.inputs.bench.check import FULL, MOST_PROBES, QUICK, check_card, remove_left
    from edgestore.inputs.bench.own_folder import NAME
    from edgestore.inputs.bench.place import checked_place

    checked_place(options.folder, any_folder=options.any_folder or options.clean)
    if options.clean:
        had_one = os.path.lexists(options.folder / NAME)
        remove_left(options.folder, any_folder=True)
        say("Removed what an earlier check left." if had_one else "No check left anything there.")
        return 0
    label, says = _label(options), _says(options)
    peak, rate, interval = _camera(options)
    from edgestore.answers.card_check import Verdict, checked_card
    from edgestore.documents.card_record import CardRecord, as_json, can_record, check_texts, write_record

    in_range("--leave", options.leave, "GB", at_least=0)
    one_whole("--probes", options.probes, "places", at_least=1, at_most=MOST_PROBES)
    serial = options.serial or (f"0x{says.card.cid.serial:08x}" if says and says.card.cid else "")
    check_texts(card=options.card or "", serial=serial, by=options.by)
    if options.out is not None:
        if options.out.resolve().is_relative_to(options.folder.resolve()):
            mend = "Keep the record on the machine: the card goes to its camera, and a card that fails takes it along."
            raise refuse("--out", visible(str(options.out)), "a folder that is not on the card", mend)
        can_record(options.out)
    for line in () if options.json else CAUTIONS:
        say(line)

    def begun(asked: "CardCheck", is_resumed: bool) -> None:
        for line in () if options.json else _before(options, label, asked, is_resumed=is_resumed):
            say(line)

    with _told_what_stays(options.folder / NAME), _bars() as progress:
        check = check_card(
            options.folder,
            mode=QUICK if options.quick else FULL,
            leave_gb=options.leave,
            probes=options.probes,
            rate_mbit_s=rate,
            update_interval_s=interval,
            any_folder=options.any_folder,
            begun=begun,
            progress=progress,
        )
    answer = checked_card(check, label, peak, says=() if says is None else says.warnings)
    record = CardRecord(
        answer=answer,
        when=datetime.now(UTC),
        kind=options.card or "",
        serial=serial,
        by=options.by,
        camera=options.camera or "",
        says=says,
    )
    written = []
    try:
        written = [] if options.out is None else write_record(record, options.out)
    finally:  # hours of checking are told even where the record cannot be written
        if options.json:
            print(as_json(record).decode())
        else:
            _tell(record)
    if written:
        print(f"\nWritten: {', '.join(path.name for path in written)}, in\n{options.out}", file=sys.stderr)
    return 0 if answer.verdict is Verdict.ACCEPTED else NOT_ACCEPTED


def _protocol(options: argparse.Namespace) -> int:
    """Write the sheet for measuring write amplification, on any system."""
    from edgestore.documents.amplification_sheet import write_amplification_sheet

    if options.out is None:
        raise refuse("--out", "nothing", "a folder", "Give the folder that gets the sheet.")
    if options.folder is not None:
        mend = "Leave the folder of the card out: the sheet is written, and no card is checked."
        raise refuse("FOLDER", visible(str(options.folder)), "none beside --protocol", mend)
    sheet, readings = write_amplification_sheet(options.out)
    say(f"Written: {visible(str(sheet))}. Print it, and use a spare card: the test wears it.")
    say(f"Type the readings into {visible(str(readings))}, then give that file to edgestore accept --fit.")
    return 0


def _fit(options: argparse.Namespace) -> int:
    """Say the write amplification that a filled-in sheet gives."""
    from edgestore.answers.amplification import fitted_amplification

    if options.folder is not None:
        mend = "Leave the folder of the card out: the readings are worked out, and no card is checked."
        raise refuse("FOLDER", visible(str(options.folder)), "none beside --fit", mend)
    for line in fitted_amplification(options.fit).lines:
        say(line)
    return 0


def _both(options: argparse.Namespace, one: str, other: str, why: str) -> bool:
    """Whether two options that go together are given; refused where one alone is."""
    given = [name for name in (one, other) if getattr(options, name) is not None]
    if len(given) == 1:
        missing = other if given == [one] else one
        raise refuse(f"--{missing}", "nothing", f"a value, since --{given[0]} is given", why)
    return bool(given)


def _label(options: argparse.Namespace) -> "Label":
    from edgestore.answers.card_check import Label, label_of

    if _both(options, "card", "cards", "A label is a card of a card list."):
        return label_of(options.cards, options.card)
    return Label()


def _says(options: argparse.Namespace) -> "CardSays | None":
    from edgestore.answers.registers import card_says, label_of

    if options.registers is None:
        return None
    return card_says(options.registers, None if options.card is None else label_of(options.cards, options.card))


def _camera(options: argparse.Namespace) -> tuple[float | None, float | None, float]:
    """Peak and planned rate of the camera, Mbit/s, and the time between its small updates, s."""
    from edgestore.checks import MAX_BITRATE_MBIT_S, in_range

    for name in ("peak", "rate"):
        if getattr(options, name) is not None:
            in_range(f"--{name}", getattr(options, name), "Mbit/s", at_least=0.01, at_most=MAX_BITRATE_MBIT_S)
    if not _both(options, "camera", "site", "A camera is a row of the camera list of a site."):
        return options.peak, options.rate, 5.0
    from edgestore.inputs.site_folder import site_folder
    from edgestore.plan.read import read_lists

    found = site_folder(options.site)
    site = read_lists(found.cameras, found.cards, found.settings)
    row = site.rates[(site.cameras["camera"] == options.camera).to_numpy()]
    if row.empty:
        names = ", ".join(visible(name) for name in site.cameras["camera"].head(20))
        raise refuse("--camera", repr(options.camera), f"a camera of the list: {names}", "Write its name as there.")
    peak, planned, interval = row[["peak_mbit_s", "planned_mbit_s", "update_interval_s"]].iloc[0].astype(float)
    return options.peak or float(peak), options.rate or float(planned), float(interval)


def _before(options: argparse.Namespace, label: "Label", asked: "CardCheck", *, is_resumed: bool) -> Iterator[str]:
    """What will be written, what is kept free, how long that takes, and what it wears."""
    from edgestore.answers.card_check import full_writes
    from edgestore.inputs.bench.check import QUICK_BYTES
    from edgestore.inputs.bench.own_folder import NAME

    what = visible(str(options.folder / NAME))
    if options.quick:
        size = min(QUICK_BYTES, asked.asked_bytes) / BYTES_PER_GB
        places = counted(options.probes, "place")
        yield f"A quick check of {places} writes {number(size)} GB or a little more to {what}."
        yield "It reserves the free space meanwhile, where the file system can, and removes its files at the end."
        return
    size = asked.asked_bytes / BYTES_PER_GB
    if is_resumed:
        yield f"A check that was stopped is gone on with: of {number(size)} GB, what is written in {what} stays."
    else:
        yield f"The check writes {number(size)} GB to {what}, reads all back and removes it."
    kept = number(asked.kept_free_bytes / BYTES_PER_GB)
    left = " and for what is to be left" if options.leave else ""
    yield f"It keeps {kept} GB free meanwhile: for small updates, a camera's own pattern and its notes{left}."
    slow, fast = TYPICAL_MBYTE_S
    slow = min(slow, label.min_write_mbyte_s or slow)
    took = _times(*(2 * asked.asked_bytes / (rate * BYTES_PER_MB) for rate in (fast, slow)))
    yield f"To write and read that takes some {took}, at {number(fast)} to {number(slow)} Mbyte/s."
    yield "Small updates, and a camera's own pattern where its rate is told, take a minute more; Ctrl-C stops it all."
    if label.capacity_gb:
        yield f"It costs the card {full_writes(size / label.capacity_gb, label)}."
    else:
        yield "It costs the card one full write at most."


def _times(least_s: float, most_s: float) -> str:
    """From one time to another, in minutes, or in seconds where both are less than one."""
    in_s = most_s < S_PER_MIN
    unit, least, most = ("s", least_s, most_s) if in_s else ("min", least_s / S_PER_MIN, most_s / S_PER_MIN)
    return f"{span(least, most)} {unit}"


@contextmanager
def _told_what_stays(left: Path) -> Iterator[None]:
    """Have a Ctrl-C say what is still on the card, and how to go on."""
    try:
        yield
    except KeyboardInterrupt:
        if os.path.lexists(left):
            stays = f"{visible(str(left))} stays on the card: the same command goes on with it, --clean removes it."
            raise KeyboardInterrupt(stays) from None
        raise KeyboardInterrupt("Nothing of the check is left on the card.") from None


@contextmanager
def _bars() -> Iterator[Callable[[str, int, int], None]]:
    """Progress bars on the terminal, one for each thing that is done, with the time left."""
    from tqdm import tqdm

    shown: dict[str, Any] = {}

    def progress(what: str, done: int, of: int) -> None:
        if what not in shown:
            for bar in shown.values():
                bar.close()
            in_places = what == "Probing"
            shown[what] = tqdm(
                desc=what,
                total=of,
                initial=0 if in_places else done,
                unit="place" if in_places else "B",
                unit_scale=not in_places,
                disable=None,
                leave=False,
            )
        shown[what].update(done - shown[what].n)

    try:
        yield progress
    finally:
        for bar in shown.values():
            bar.close()


def _tell(record: "CardRecord") -> None:
    from edgestore.documents.card_record import results

    answer = record.answer
    print()
    say(visible(answer.sentence))
    for heading, lines in (
        ("Results:", [f"{what}: {text}" for what, text in results(answer)]),
        ("Reasons:", [f"{reason.name} ({reason.weight.value}): {reason.text}" for reason in answer.reasons]),
    ):
        print(f"\n{heading}")
        for text in lines:
            for line in paragraph(f"- {visible(text)}", columns()):
                print(line)
