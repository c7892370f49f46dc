"""The commands; those that read what comes from a camera or a card stand in ``reading_commands.py``."""

import argparse
import datetime
import io
import os
import shlex
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

from edgestore._interrupt import INTERRUPTED, raise_from_now_on, stopped
from edgestore._interrupt import came as interrupt_came
from edgestore.accept_command import add_accept_command
from edgestore.checks import Fault, InputError
from edgestore.console import as_json, as_shown, full_text, summary
from edgestore.handouts_command import add_handouts
from edgestore.happened_command import add_happened
from edgestore.progress import cameras_bar, clock
from edgestore.reading_commands import add_reading_commands
from edgestore.terminal import columns, paragraph, say
from edgestore.text import MADE_WITH

if TYPE_CHECKING:
    from edgestore.plan.site import Site
    from edgestore.plan.site_plan import SitePlan
    from edgestore.plan.what_if import WhatIf

REFUSED = 2
FAILED = 1

OPTIONS = {"retention_days_max": "--max-retention-days"}
"""What may be asked on the command line under another name than that of :data:`edgestore.plan.requirements.WANTED`."""

FOLDERS = {"plan": "plan", "propose": "proposal", "handouts": "handouts", "happened": "happened"}
"""Where a command writes in the folder of a site."""

NAMED = {"cards": "the list of cards on offer", "out": "a folder to write to"}
"""What a command needs to be told that is given no folder of a site."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after ``edgestore``; those of the command line when left out.

    Returns
    -------
    int
        0 when all is well, 1 when a check failed or a clip could not be read, 2 when an input was refused, 130 after
        Ctrl-C; after the last two no file is half-written.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that cannot show a letter shows a question mark
            stream.reconfigure(errors="replace")
    options = _parser().parse_args(arguments)
    raise_from_now_on()
    try:
        code = _outcome(options)
    except BaseException as error:
        if not (isinstance(error, KeyboardInterrupt) or interrupt_came()):
            raise
        return stopped(f" {options.command}", error)
    return stopped(f" {options.command}") if interrupt_came() else code


def _outcome(options: argparse.Namespace) -> int:
    try:
        return int(options.run(options))
    except BrokenPipeError:  # whoever read the output has seen enough, as ``| head`` does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except InputError as error:
        print(f"edgestore {options.command} stops here, and nothing was written:", file=sys.stderr)
        for fault in error.faults:
            print(f"- {fault}", file=sys.stderr)
        return REFUSED


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="edgestore", description="Memory cards for cameras that record on their own.")
    parser.add_argument("--version", action="version", version=MADE_WITH)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    new = commands.add_parser("new", help="make a folder for a site of your own, with lists to fill in")
    new.add_argument("folder", type=Path, metavar="FOLDER", help="a new folder, or an empty one")
    new.add_argument("--csv", action="store_true", help="write the lists as CSV and the settings as TOML")
    new.set_defaults(run=_new)

    opening = commands.add_parser("open", help="open the workbook in a browser, served on this machine alone")
    opening.add_argument(
        "site", type=Path, nargs="?", metavar="FOLDER", help="start from the site in this folder (default: the demo)"
    )
    opening.add_argument("--lab", action="store_true", help="open it in JupyterLab, to read and change the notebooks")
    opening.add_argument("--no-browser", action="store_true", help="serve it and print its address")
    opening.add_argument("--port", type=int, help="port to serve on (default: a free one)")
    opening.set_defaults(run=_open)

    plan = commands.add_parser("plan", help="choose a card for each camera of a site")
    _listing(plan)
    plan.add_argument(
        "--out",
        type=Path,
        metavar="FOLDER",
        help="folder for plan.csv, candidates.csv, beliefs.csv, measure_first.csv, camera_side.csv, kinds.csv, "
        "spares.csv, visits.csv (default: folder plan in that of the site)",
    )
    plan.add_argument(
        "--compare",
        type=Path,
        metavar="OTHER",
        help="other settings, or another card list: what they would change; writes compared.csv",
    )
    _asking(plan)
    _telling(plan)
    plan.set_defaults(run=_plan)

    propose = commands.add_parser("propose", help="write the proposal of a site: document, spreadsheet, dates")
    _listing(propose)
    propose.add_argument(
        "--out",
        type=Path,
        metavar="FOLDER",
        help="folder for the pack: new, or with an earlier pack (default: folder proposal in that of the site)",
    )
    propose.add_argument(
        "--against",
        type=Path,
        action="append",
        default=[],
        metavar="OTHER",
        help="other settings, or another card list, to compare with the proposal; may be given three times",
    )
    _asking(propose)
    _telling(propose)
    propose.add_argument("--no-pdf", action="store_true", help="do not write the PDF (any browser prints the HTML)")
    propose.set_defaults(run=_propose)

    explain = commands.add_parser("explain", help="print how a figure of a proposal pack was worked out")
    explain.add_argument("pack", type=Path, metavar="PACK", help="a folder that edgestore propose wrote")
    explain.add_argument("camera", nargs="?", metavar="CAMERA", help="name of a camera (default: check the whole pack)")
    explain.add_argument("figure", nargs="?", metavar="FIGURE", help="name of a figure, for example chance_kept")
    explain.set_defaults(run=_explain)

    add_reading_commands(commands.add_parser)
    add_accept_command(commands.add_parser)

    handouts = commands.add_parser(
        "handouts", help="write the fitting guide for phone and print, for a housing or a site"
    )
    _listing(handouts, nargs="?")
    _asking(handouts)
    add_handouts(handouts, _site)

    happened = commands.add_parser("happened", help="hold what the cameras recorded against the plan")
    _listing(happened)
    _asking(happened)
    add_happened(happened, _site)

    verify = commands.add_parser("verify", help="recompute the outside check values")
    verify.add_argument(
        "--also", type=Path, action="append", default=[], metavar="FILE.toml", help="a file with checks of your own"
    )
    verify.add_argument("--all", action="store_true", help="list the checks that passed too")
    verify.set_defaults(run=_verify)
    return parser


def _listing(command: argparse.ArgumentParser, nargs: str | None = None) -> None:
    """Let a command read the lists of a site: those of its folder, or files."""
    lists = "folder of a site (edgestore new), or a camera list: CSV, XLSX, ODS (columns: data/README.md)"
    command.add_argument("cameras", type=Path, metavar="SITE", nargs=nargs, help=lists)
    command.add_argument("--cards", type=Path, metavar="CARDS", help="cards on offer (default: those of the folder)")
    settings = "requirements, costs, service log and texts of the document: TOML or a workbook (data/README.md)"
    command.add_argument("--settings", type=Path, metavar="SETTINGS", help=settings)
    kinds = "kinds of card: camera (default), group, site, or the largest number of kinds"
    command.add_argument("--kinds", default="camera", metavar="KINDS", help=kinds)


def _asking(command: argparse.ArgumentParser) -> None:
    """Let a command ask the site for something else than its settings do."""
    for name, unlike, text in (
        ("retention_days", "7", "days of footage wanted"),
        ("life_years", "3", "years a card is to last"),
        ("speed_margin", "10", "card's promised write rate over the camera's cap"),
        ("retention_days_max", "no limit", "longest retention that policy or law allows, in days"),
        ("assurance", "0.9", "chance asked that a card keeps all of this together"),
    ):
        option = OPTIONS.get(name, f"--{name.replace('_', '-')}")
        text = f"{text}, for the site (default: as in the settings, else {unlike})"
        command.add_argument(option, type=float, dest=name, metavar="NUMBER", help=text)


def _telling(command: argparse.ArgumentParser) -> None:
    """Let a command tell all, or tell it to a program, in place of the summary."""
    telling = command.add_mutually_exclusive_group()
    telling.add_argument("--full", action="store_true", help="print all tables, reasons, warnings and assumptions")
    telling.add_argument("--json", action="store_true", help="print the plan as one JSON object, for programs")


def _new(options: argparse.Namespace) -> int:
    from edgestore.new_site import write_new_site

    written = write_new_site(options.folder, as_csv=options.csv)
    print(f"Made: {', '.join(path.name for path in written)}, in")
    print(written[0].parent)
    plan = f"edgestore plan {shlex.quote(str(options.folder))}"
    say(f"Fill in the two lists and look through the settings, then: {plan}. README.txt says how.")
    return 0


def _open(options: argparse.Namespace) -> int:
    from edgestore.serving import serve

    serve(site=options.site, lab=options.lab, browser=not options.no_browser, port=options.port)
    return 0


def _plan(options: argparse.Namespace) -> int:
    from edgestore.plan.read import read_other
    from edgestore.plan.saved_beside import with_saved_answers
    from edgestore.plan.site_plan import site_plan
    from edgestore.plan.tables import write_plan
    from edgestore.plan.what_if import what_if

    site = _site(options)
    other = None if options.compare is None else _asks(read_other(site, options.compare), options)
    with clock("Choosing the cards"):
        plan = with_saved_answers(site_plan(site, options.kinds))
        change = None if other is None else what_if(plan, site_plan(other, options.kinds))
        written = write_plan(plan, options.out, None if change is None else change.compared)

    _tell(options, plan, written, change=change)
    return 0


def _propose(options: argparse.Namespace) -> int:
    from edgestore.documents.alternatives import Alternative
    from edgestore.documents.content import proposal
    from edgestore.documents.front import front_page
    from edgestore.documents.pack import pack, require_libraries
    from edgestore.plan.read import read_other
    from edgestore.plan.saved_beside import with_saved_answers
    from edgestore.plan.site_plan import site_plan

    require_libraries()  # told before the plan, which takes its time
    site = _site(options)
    others = {path: _asks(read_other(site, path), options) for path in options.against}
    front = front_page(site.settings.document, datetime.date.today())
    with clock("Choosing the cards and writing the proposal"):
        plan = with_saved_answers(site_plan(site, options.kinds))
        against = [
            Alternative(path.name, site_plan(other, options.kinds, with_reasons=False))
            for path, other in others.items()
        ]
        says = proposal(plan, front, site.settings.card_specification, against=against)
        made = pack(says, with_pdf=not options.no_pdf)
        written = made.write(options.out)

    stay = "" if plan.calendar is None else "; those in service stay until their own dates"
    dated = f"Dated {front.date}, the cards taken as fitted on that day{stay}."
    _tell(
        options, plan, written, last=[dated, f"Written: {', '.join(path.name for path in written)}."], first=made.notes
    )
    return 0


def _site(options: argparse.Namespace) -> "Site":
    """Read the lists of a site, telling so on the terminal when that takes over 2 s; it asks what the words ask."""
    from edgestore.inputs.site_folder import site_folder
    from edgestore.plan.read import read_lists

    if os.path.isdir(options.cameras):  # which is no folder either where one may not look
        found = site_folder(options.cameras, options.cards)
        options.out = options.out or found.folder / FOLDERS[options.command]
        options.cameras, options.cards = found.cameras, found.cards
        options.settings = options.settings or found.settings
    elif options.cards is None and not os.path.lexists(options.cameras):
        fault = Fault(
            str(options.cameras), "no such file or folder", "a camera list, or the folder of a site", "Check the path."
        )
        raise InputError([fault])
    missing = [option for option in NAMED if getattr(options, option) is None]
    if missing:
        mend = "Add it, or give the folder of a site, which has both: edgestore new FOLDER makes one."
        raise InputError(Fault(f"--{of}", "nothing", NAMED[of], mend) for of in missing)
    with clock("Reading the lists") as stop_clock:
        site = read_lists(options.cameras, options.cards, options.settings, cameras_bar(stop_clock))
    return _asks(site, options)


def _asks(site: "Site", options: argparse.Namespace) -> "Site":
    """Have a site ask what its settings ask, but for what the words of the command line do."""
    from edgestore.plan.requirements import Requirements

    return replace(site, requirements=Requirements(**{**site.settings.requirements, **_asked(options)}))


def _asked(options: argparse.Namespace) -> dict[str, float]:
    """What the words of the command line ask, by the names of :data:`edgestore.plan.requirements.WANTED`."""
    from edgestore.plan.requirements import WANTED

    return {name: value for name in WANTED if (value := getattr(options, name)) is not None}


def _tell(
    options: argparse.Namespace,
    plan: "SitePlan",
    written: Sequence[Path],
    *,
    change: "WhatIf | None" = None,
    first: Sequence[str] = (),
    last: Sequence[str] = (),
) -> None:
    """Print a plan as the words of the command line want it."""
    from edgestore.plan.requirements import who_keeps

    if options.json:
        print(as_json(plan, written, change))
        return
    keeping = [who_keeps(plan.site.cameras, plan.site.wanted, name) for name in _asked(options)]
    lines = [*filter(None, keeping), *last]
    if options.full:
        for line in full_text(plan, columns(), change=change, last=[*lines, *(f"Warning: {text}" for text in first)]):
            print(line)
        say(f"Written: {', '.join(path.name for path in written)}, in")
        print(options.out)
        return
    for line in summary(plan, options.out, columns(), first=first, change=change, last=lines):
        print(as_shown(line, sys.stdout))


def _explain(options: argparse.Namespace) -> int:
    from edgestore.documents.explained import explained

    with clock("Recomputing the figures"):
        said = explained(options.pack, options.camera, options.figure)
    for line in said.lines:
        for part in paragraph(line.lstrip(), columns(), indent=" " * (len(line) - len(line.lstrip()))) or [""]:
            print(part)
    return 0 if said.is_confirmed else FAILED


def _verify(options: argparse.Namespace) -> int:
    from edgestore.verification import as_text, own_check_files, read_checks, run

    results = run(read_checks([*own_check_files(), *options.also]))
    print(as_text(results, everything=options.all))
    return 0 if results["passed"].all() else FAILED


def run() -> NoReturn:
    """Run the command of the command line, and end the process with its code, whenever Ctrl-C comes."""
    try:
        code = main()
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the work is done and its code stands
    except KeyboardInterrupt:  # between the end of the work and that line
        code = stopped("")
    if code == INTERRUPTED:  # Python, left to itself, may end by the signal although it was caught
        with suppress(OSError):  # nobody reads any more
            sys.stdout.flush()
        os._exit(code)
    sys.exit(code)


if __name__ == "__main__":
    run()
