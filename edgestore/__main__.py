"""The commands: ``edgestore open``, ``plan``, ``propose``, ``measure``, ``handouts`` and ``verify``."""

import argparse
import datetime
import io
import os
import signal
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn, TypeVar

from edgestore._interrupt import INTERRUPTED, raise_from_now_on, stopped
from edgestore._interrupt import came as interrupt_came
from edgestore.checks import InputError, refuse
from edgestore.text import MADE_WITH, chance

if TYPE_CHECKING:
    from edgestore.plan.site import Site

T = TypeVar("T")

REFUSED = 2
FAILED = 1

OPTIONS = {"retention_days_max": "--max-retention-days"}
"""What may be asked on the command line under another name than that of :data:`edgestore.plan.requirements.WANTED`."""

PATIENCE_S = 2.0
"""So long a command works in silence."""


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
        return stopped(f" {options.command}")
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

    opening = commands.add_parser("open", help="open the workbook in a browser, served on this machine alone")
    opening.add_argument("--lab", action="store_true", help="open it in JupyterLab, to read and change the notebooks")
    opening.add_argument("--no-browser", action="store_true", help="serve it and print its address")
    opening.add_argument("--port", type=int, help="port to serve on (default: a free one)")
    opening.set_defaults(run=_open)

    plan = commands.add_parser("plan", help="choose a card for each camera of a site")
    plan.add_argument("cameras", type=Path, metavar="CAMERAS.csv", help="camera list (columns: data/README.md)")
    plan.add_argument("--cards", type=Path, required=True, metavar="CARDS.csv", help="cards on offer")
    plan.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="FOLDER",
        help="gets plan.csv, candidates.csv, beliefs.csv, measure_first.csv, camera_side.csv, kinds.csv, spares.csv,"
        " visits.csv",
    )
    plan.add_argument(
        "--settings", type=Path, metavar="SITE.toml", help="wishes, groups, costs, service log (data/README.md)"
    )
    plan.add_argument(
        "--kinds", default="camera", metavar="KINDS", help="kinds of card: camera (default), group, site, or how many"
    )
    plan.add_argument(
        "--compare",
        type=Path,
        metavar="OTHER.toml",
        help="other settings, or another card list (.csv): tells what the same cameras get, and writes compared.csv",
    )
    _asking(plan)
    plan.set_defaults(run=_plan)

    propose = commands.add_parser("propose", help="write the proposal of a site: document, spreadsheet, dates")
    propose.add_argument("cameras", type=Path, metavar="CAMERAS.csv", help="camera list (columns: data/README.md)")
    propose.add_argument("--cards", type=Path, required=True, metavar="CARDS.csv", help="cards on offer")
    propose.add_argument(
        "--settings", type=Path, metavar="SITE.toml", help="what is wanted, prices, title, maker, logo"
    )
    propose.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="FOLDER",
        help="gets the pack: a new folder, or that of a former pack",
    )
    propose.add_argument(
        "--kinds", default="camera", help="a card for each camera, or one kind a group, for the site, or so many kinds"
    )
    _asking(propose)
    propose.add_argument("--no-pdf", action="store_true", help="leave the PDF out: any browser prints the HTML")
    propose.set_defaults(run=_propose)

    measure = commands.add_parser("measure", help="tell what recorded clips hold: mean, peak, key frames")
    measure.add_argument("clips", type=Path, nargs="+", metavar="FILE_OR_FOLDER", help="clips, or folders of clips")
    measure.add_argument("--csv", type=Path, metavar="OUT.csv", help="gets one row a file")
    measure.add_argument("--zone", help="time zone of times in file names, as Europe/Berlin (default: UTC)")
    measure.set_defaults(run=_measure)

    handouts = commands.add_parser("handouts", help="write the fitting guide, field cards and check sheet for print")
    handouts.add_argument("--out", type=Path, required=True, metavar="FOLDER", help="gets HTML and PDF")
    handouts.add_argument("--housing", default="other", help="kind of housing, as in camera lists (default: other)")
    handouts.add_argument("--slot", help="hinged metal latch, push-to-lock or slide-in (default: all three)")
    handouts.add_argument("--facing", help="towards you, sideways, down, up or hidden (default: all)")
    handouts.add_argument("--work", default="fit", help="fit a first card, swap the card or remove it (default: fit)")
    handouts.add_argument("--no-pdf", action="store_true", help="leave PDF out: any browser prints the HTML")
    handouts.set_defaults(run=_handouts)

    verify = commands.add_parser("verify", help="recompute the outside check values")
    verify.add_argument(
        "--also", type=Path, action="append", default=[], metavar="FILE.toml", help="checks of your own"
    )
    verify.set_defaults(run=_verify)
    return parser


def _asking(command: argparse.ArgumentParser) -> None:
    """Let a command ask the site for something else than its settings do."""
    for name, unlike, text in (
        ("retention_days", "7", "days of footage wanted"),
        ("life_years", "3", "years a card is to last"),
        ("speed_margin", "10", "card's write rate over the camera's peak"),
        ("retention_days_max", "no limit", "most days that policy or law allows"),
        ("assurance", "0.9", "chance asked that a card keeps all of this"),
    ):
        option = OPTIONS.get(name, f"--{name.replace('_', '-')}")
        text = f"{text}, for the site (default: as in the settings, else {unlike})"
        command.add_argument(option, type=float, dest=name, metavar="NUMBER", help=text)


def _open(options: argparse.Namespace) -> int:
    from edgestore.serving import serve

    serve(lab=options.lab, browser=not options.no_browser, port=options.port)
    return 0


def _plan(options: argparse.Namespace) -> int:
    from edgestore.plan.read import read_other
    from edgestore.plan.site_plan import site_plan
    from edgestore.plan.tables import write_plan
    from edgestore.plan.visit_calendar import VISITS_ASSUMPTION
    from edgestore.plan.what_if import what_if

    site = _site(options)
    other = None if options.compare is None else _asks(read_other(site, options.compare), options)
    with _clock("Choosing the cards"):
        plan = site_plan(site, options.kinds)
        change = None if other is None else what_if(plan, site_plan(other, options.kinds))
        written = write_plan(plan, options.out, None if change is None else change.compared)

    print(plan.table.drop(columns=["reason", "against_cap"]).to_string(index=False), end="\n\n")
    for title, column in (("Why", "reason"), ("What knowing the mean changes", "against_cap")):
        print(f"{title}:")
        for camera, text in zip(plan.plan["camera"], plan.plan[column], strict=True):
            _say(f"{camera}: {text}")
        print()
    print("What to find out first:")
    for text in plan.measure_first.sentences:
        _say(text)
    print()
    print("What other settings of the cameras would change:")
    for text in plan.camera_side.sentences:
        _say(text)
    print()
    print("Kinds of card:")
    if not plan.front.table.empty:
        print(plan.front.table.to_string(index=False, float_format="{:.0f}".format))
    _say(plan.front.sentence)
    print()
    for which, spares in (("planned cards", plan.spares), ("cards in service", plan.spares_in_service)):
        if spares is not None and not spares.empty:
            print(f"Spares of the {which} for {site.settings.service.lead_days:g} days:")
            print(spares.to_string(index=False, float_format="{:.3f}".format), end="\n\n")
    if plan.calendar is not None:
        print("Next changes of the cards in service:")
        holds = [chance(known) if known == known else "" for known in plan.calendar["chance_retention"]]
        table = plan.calendar.drop(columns="change_when_new").assign(chance_retention=holds)
        print(table.to_string(index=False, float_format="{:.1f}".format), end="\n\n")
    if plan.visits.next_visits:
        print("Next visits:")
        for text in plan.visits.next_visits:
            _say(text)
        print()
    if change is not None:
        print(f"With {options.compare.name} in place of what is planned here:")
        _say(change.sentence)
        for text in (*change.lines, *change.warnings):
            print(text)
        print()
    _say(plan.sentence)
    for text in (plan.visits.sentence, *plan.visits.replacements.sentences):
        _say(text)
    _say_who_keeps(options, site)
    for text in plan.warnings:
        _say(f"Warning: {text}")
    for text in (*plan.assumptions, VISITS_ASSUMPTION):
        _say(f"Assumption: {text}")
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


def _propose(options: argparse.Namespace) -> int:
    from edgestore.documents.content import proposal
    from edgestore.documents.front import front_page
    from edgestore.documents.pack import pack
    from edgestore.plan.site_plan import site_plan

    site = _site(options)
    front = front_page(site.settings.document, datetime.date.today())
    with _clock("Choosing the cards and writing the proposal"):
        plan = site_plan(site, options.kinds)
        made = pack(proposal(plan, front, site.settings.card_specification), with_pdf=not options.no_pdf)
        written = made.write(options.out)

    _say(plan.sentence)
    _say_who_keeps(options, site)
    for text in (*made.notes, *plan.warnings):
        _say(f"Warning: {text}")
    stay = "" if plan.calendar is None else "; those in service stay until their own dates"
    print(f"Dated {front.date}, the cards taken as fitted on that day{stay}.")
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


def _site(options: argparse.Namespace) -> "Site":
    """Read the lists of a site, telling so on the terminal when that takes over 2 s; it asks what the words ask."""
    from edgestore.plan.read import read_lists

    with _clock("Reading the lists") as stop_clock:
        site = read_lists(options.cameras, options.cards, options.settings, _cameras_bar(stop_clock))
    return _asks(site, options)


def _asks(site: "Site", options: argparse.Namespace) -> "Site":
    """Have a site ask what its settings ask, but for what the words of the command line do."""
    from edgestore.plan.requirements import Requirements

    return replace(site, requirements=Requirements(**{**site.settings.requirements, **_asked(options)}))


def _asked(options: argparse.Namespace) -> dict[str, float]:
    """What the words of the command line ask, by the names of :data:`edgestore.plan.requirements.WANTED`."""
    from edgestore.plan.requirements import WANTED

    return {name: value for name in WANTED if (value := getattr(options, name)) is not None}


def _say_who_keeps(options: argparse.Namespace, site: "Site") -> None:
    """Say in a line for each number of the command line which groups and cameras it does not move."""
    from edgestore.plan.requirements import who_keeps

    for name in _asked(options):
        if text := who_keeps(site.cameras, site.wanted, name):
            _say(text)


def _cameras_bar(before: Callable[[], None]) -> Callable[[Sequence[T]], Iterable[T]]:
    """Give a progress bar on the terminal for cameras whose files are read, shown when that takes over 2 s."""
    from tqdm import tqdm

    def bar(cameras: Sequence[T]) -> Iterable[T]:
        before()
        doing = "Reading the files of the cameras"
        return tqdm(cameras, desc=doing, unit="camera", delay=PATIENCE_S, disable=None, leave=False)

    return bar


@contextmanager
def _clock(doing: str) -> Iterator[Callable[[], None]]:
    """Tell on the terminal what is done and for how long, from 2 s on; gives what ends that sooner."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    done, since, terminal = threading.Event(), time.monotonic(), sys.stderr

    def tell() -> None:
        line, wait_s = "", PATIENCE_S
        while not done.wait(wait_s):
            line, wait_s = f"{doing}: {time.monotonic() - since:.0f} s", PATIENCE_S / 2
            print(f"\r{line}", end="", file=terminal, flush=True)
        print(f"\r{' ' * len(line)}\r" if line else "", end="", file=terminal, flush=True)

    teller = threading.Thread(target=tell, daemon=True)

    def stop() -> None:
        done.set()
        teller.join()

    teller.start()
    try:
        yield stop
    finally:
        stop()


def _measure(options: argparse.Namespace) -> int:
    from tqdm import tqdm

    from edgestore.inputs.footage import CLIP_SUFFIXES, FIRST_COLUMNS, read_footage
    from edgestore.output import write_whole
    from edgestore.plan.tables import as_csv, stamped

    if options.csv and options.csv.suffix.lower() in CLIP_SUFFIXES:  # as with --csv *.mp4
        raise refuse("--csv", str(options.csv), "a table to write, as measured.csv", "A clip is never written over.")
    bar = partial(tqdm, unit="clip", disable=None, leave=False)  # where nobody watches, no bar is drawn
    footage = read_footage(options.clips, options.zone, bar)
    if options.csv:
        write_whole(options.csv.parent, {options.csv.name: as_csv(stamped(footage.table), digits=10)})

    shown = footage.table[list(FIRST_COLUMNS)].iloc[: len(footage.clips)]
    print(shown.to_string(index=False, float_format="{:.6f}".format, na_rep=""), end="\n\n")
    if len(footage.clips) > 1:
        _say(
            f"All clips: {footage.duration_s:.6g} s, mean {footage.mean_mbit_s:.6f} Mbit/s of video,"
            f" {footage.stored_mbit_s:.6f} Mbit/s as stored, highest second {footage.peak_1s_mbit_s:.6f} Mbit/s."
        )
    for text in footage.notes:
        _say(f"Warning: {text}")
    if options.csv:
        print(f"Written: {options.csv}")
    return FAILED if footage.faults else 0


def _handouts(options: argparse.Namespace) -> int:
    from edgestore.training.fitting.guide import TYPICAL, WORKS, guide
    from edgestore.training.fitting.handouts import write_handouts

    chosen = guide(options.housing, options.slot, options.facing, options.work)
    written = write_handouts(chosen, options.out, with_pdf=not options.no_pdf)
    print(f"{WORKS[chosen.work]}. {chosen.title}. {TYPICAL}")
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


def _verify(options: argparse.Namespace) -> int:
    from edgestore.verification import as_text, own_check_files, read_checks, run

    results = run(read_checks([*own_check_files(), *options.also]))
    print(as_text(results))
    return 0 if results["passed"].all() else FAILED


def _say(text: str) -> None:
    print(textwrap.fill(text, 100, subsequent_indent="    ", break_long_words=False, break_on_hyphens=False))


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
