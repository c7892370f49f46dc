"""The commands that read what comes from a camera or a card: ``measure``, ``registers`` and ``custody``."""

import argparse
import json
from collections.abc import Callable
from dataclasses import asdict
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgestore.checks import one_of, refuse
from edgestore.progress import clock
from edgestore.terminal import columns, paragraph, say, table_lines
from edgestore.text import MADE_WITH, counted, visible

if TYPE_CHECKING:
    from edgestore.answers.registers import CardSays

FAILED = 1


def add_reading_commands(add: Callable[..., argparse.ArgumentParser]) -> None:
    """Add these commands to those of the program.

    Parameters
    ----------
    add : callable
        Makes the parser of a command from its name and its help.
    """
    measure = add("measure", help="measure recorded clips: mean, peak, key frames")
    measure.add_argument("clips", type=Path, nargs="+", metavar="FILE_OR_FOLDER", help="clips, or folders of clips")
    measure.add_argument("--csv", type=Path, metavar="OUT.csv", help="file for a table with one row per clip")
    measure.add_argument("--zone", help="time zone of times in file names, for example Europe/Berlin (default: UTC)")
    measure.set_defaults(run=_measure)

    registers = add("registers", help="tell what a card says of itself, and what disagrees with its label")
    what = "text with the card's registers, as a boot log, or a copy of the folder that Linux shows of the card"
    registers.add_argument("source", type=Path, metavar="FILE_OR_FOLDER", help=what)
    registers.add_argument(
        "--card", metavar="KIND", help="name of the card in the card list, to compare with its label"
    )
    registers.add_argument("--cards", type=Path, metavar="CARDS", help="the card list, with --card")
    size = "size of the whole device, bytes, as a system shows it (default: what Linux says with the registers)"
    registers.add_argument("--device-bytes", type=float, metavar="NUMBER", help=size)
    registers.add_argument("--json", action="store_true", help="print it as one JSON object, for programs")
    registers.set_defaults(run=_registers)

    custody = add("custody", help="write the form that goes with footage that is handed over, with SHA-256 digests")
    files = "exported files, which are read and never changed (default: a form whose digests are to be filled in)"
    custody.add_argument("folder", type=Path, nargs="?", metavar="FOLDER", help=files)
    place = "folder for custody.html, custody.pdf and sha256sums.txt, outside of FOLDER"
    custody.add_argument("--out", type=Path, metavar="FORM", required=True, help=place)
    custody.add_argument("--by", metavar="NAME", default="", help="who runs the program (default: a line to fill in)")
    named = "the machine it runs on, and how far its clock is off (default: a line to fill in; it is never looked up)"
    custody.add_argument("--machine", metavar="TEXT", default="", help=named)
    custody.add_argument("--language", default="en", help="language of the form: en or de (default: en)")
    custody.add_argument("--no-pdf", action="store_true", help="do not write PDF (any browser prints the HTML)")
    custody.set_defaults(run=_custody)


def _measure(options: argparse.Namespace) -> int:
    from tqdm import tqdm

    from edgestore.inputs.footage import CLIP_SUFFIXES, FIRST_COLUMNS, read_footage
    from edgestore.output import write_whole
    from edgestore.plan.tables import as_csv, stamped

    if options.csv and options.csv.suffix.lower() in CLIP_SUFFIXES:  # as with --csv *.mp4
        raise refuse("--csv", str(options.csv), "a table to write, as measured.csv", "A clip is never overwritten.")
    bar = partial(tqdm, unit="clip", disable=None, leave=False)  # where nobody watches, no bar is drawn
    footage = read_footage(options.clips, options.zone, bar)
    if options.csv:
        write_whole(options.csv.parent, {options.csv.name: as_csv(stamped(footage.table), digits=10)})

    shown = footage.table[list(FIRST_COLUMNS)].iloc[: len(footage.clips)]
    print("\n".join(table_lines(shown.round(6), columns())), end="\n\n")
    if len(footage.clips) > 1:
        say(
            f"All clips: {footage.duration_s:.6g} s, mean {footage.mean_mbit_s:.6f} Mbit/s of video,"
            f" {footage.stored_mbit_s:.6f} Mbit/s as stored, highest second {footage.peak_1s_mbit_s:.6f} Mbit/s."
        )
    for text in footage.notes:
        say(f"Warning: {text}")
    if options.csv:
        print(f"Written: {options.csv}")
    return FAILED if footage.faults else 0


def _registers(options: argparse.Namespace) -> int:
    from edgestore.answers.registers import card_says, label_of

    if (options.card is None) != (options.cards is None):
        given, missing = ("--card", "--cards") if options.cards is None else ("--cards", "--card")
        raise refuse(missing, "nothing", f"a value, since {given} is given", "A label is a card of a card list.")
    label = None if options.card is None else label_of(options.cards, options.card)
    says = card_says(options.source, label, options.device_bytes)
    if options.json:
        print(json.dumps(_as_record(says), indent=1, allow_nan=False))
        return 0
    say(visible(says.sentence))
    register = ""
    for row in says.table.itertuples():
        if row.register != register:
            register = str(row.register)
            print(f"\n{register}")
        for line in paragraph(f"{row.field}: {row.value}", columns(), indent="  "):
            print(line)
    for heading, is_doubt in (("Disagreements:", True), ("Remarks:", False)):
        told = [finding for finding in says.findings if finding.is_doubt is is_doubt]
        for number, finding in enumerate(told):
            print(*([f"\n{heading}"] if number == 0 else []), sep="", end="\n" if number == 0 else "")
            for line in paragraph(f"- {visible(str(finding))}", columns()):
                print(line)
    print("\nAssumptions:")
    for text in says.assumptions:
        for line in paragraph(f"- {text}", columns()):
            print(line)
    return 0


def _custody(options: argparse.Namespace) -> int:
    from edgestore.documents.card_record import check_texts
    from edgestore.documents.custody import check_unwritten, noticed, write_custody
    from edgestore.documents.language import language
    from edgestore.inputs.exported import read_exported
    from edgestore.inputs.settings import LANGUAGES

    check_texts(by=options.by, machine=options.machine)
    spoken = language(one_of("--language", options.language, LANGUAGES))
    check_unwritten(options.out)  # before hours of reading
    exported = None
    if options.folder is not None:
        if options.out.resolve().is_relative_to(options.folder.resolve()):
            mend = "Name a folder elsewhere: nothing is written beside what is handed over."
            raise refuse("--out", str(options.out), f"a folder outside of {options.folder}", mend)
        with clock("Reading the files"):
            exported = read_exported(options.folder)
    written = write_custody(
        options.out,
        exported,
        datetime.now(UTC),
        by=options.by,
        machine=options.machine,
        language=spoken,
        with_pdf=not options.no_pdf,
    )
    if exported is not None:
        say(f"{counted(len(exported.files), 'file')} read, and nothing written to the folder.")
        for text in noticed(exported):
            say(f"Warning: {text}")
    say("Fill the form in with a pen, and have each hand-over signed. It is no legal advice.")
    print(f"Written: {', '.join(str(path) for path in written)}")
    return 0


def _as_record(says: "CardSays") -> dict[str, Any]:
    """Give the answer as an object for programs."""
    card = says.card
    fields = {
        "cid": card.cid,
        "csd": card.csd,
        "scr": card.scr,
        "sd_status": card.status,
        "emmc_cid": card.emmc_cid,
        "emmc_csd": card.emmc_csd,
        "emmc_life": card.life,
    }
    return {
        "made_with": MADE_WITH,
        "sentence": says.sentence,
        "registers": dict(card.raw),
        "printed": dict(card.forms),
        **{name: None if part is None else asdict(part) for name, part in fields.items()},
        "device_bytes": says.device_bytes,
        "linux": dict(card.stated),
        "label": asdict(says.label),
        "findings": [asdict(finding) for finding in says.findings],
        "assumptions": list(says.assumptions),
    }
