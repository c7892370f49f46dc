"""The command ``happened``: what the cameras of a site did, from their saved answers, held against the plan."""

import argparse
from collections.abc import Callable
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from edgestore.checks import refuse
from edgestore.inputs.saved_answers import ANSWERS_FOLDER
from edgestore.progress import clock
from edgestore.terminal import columns, say, table_lines

if TYPE_CHECKING:
    from edgestore.plan.site import Site

Read = Callable[[argparse.Namespace], "Site"]

SHOWN = ["Camera", "Verdict", "Planned, days", "Achieved, days", "Asked, days"]
"""Columns that are printed; the files have all."""

UNREAD = 1
"""The code of the command where an answer could not be read; the others are judged."""


def add_happened(command: argparse.ArgumentParser, read: Read) -> None:
    """Give the command its words.

    Parameters
    ----------
    command : ArgumentParser
        Its parser, which reads the lists of a site already.
    read : callable
        Gives the site that the words of the command line name.
    """
    text = f"folder of saved answers, YYYY-MM-DD/CAMERA.xml (default: folder {ANSWERS_FOLDER} beside the camera list)"
    command.add_argument("--answers", type=Path, metavar="FOLDER", help=text)
    text = "folder for what_happened.csv and what was learnt (default: folder happened in that of the site)"
    command.add_argument("--out", type=Path, metavar="FOLDER", help=text)
    command.set_defaults(run=lambda options: tell(options, read))


def tell(options: argparse.Namespace, read: Read) -> int:
    """Print what happened, and write it."""
    from edgestore.output import write_folder
    from edgestore.plan.happened_tables import TABLES
    from edgestore.plan.next_actions import NOTHING, WHEN, how_to_save
    from edgestore.plan.site_plan import site_plan
    from edgestore.plan.tables import as_csv
    from edgestore.plan.what_happened import what_happened

    site = read(options)
    folder = options.answers or options.cameras.parent / ANSWERS_FOLDER
    if not folder.is_dir():
        mend = "Save what the cameras answer (data/README.md), or name the folder: --answers FOLDER."
        raise refuse("--answers", f"no folder {folder}", "a folder of saved answers", mend)
    with clock("Holding the answers against the plan"):
        happened = what_happened(site_plan(site, options.kinds, with_reasons=False), folder)
        files = {f"{name}.csv": as_csv(table) for name, table in happened.tables.items()}
        written = write_folder(options.out, files, "edgestore happened")
    say(happened.sentence)
    print()
    print("\n".join(table_lines(happened.showing(shown=TABLES[1]).table[SHOWN], columns())), end="\n\n")
    for (when, what), alike in groupby(happened.actions, lambda action: (action.when, action.what)):
        if when != WHEN[NOTHING]:
            say(f"{', '.join(action.camera for action in alike)}, {when}: {what}")
    idle = [of.camera for of in happened.actions if of.rank == NOTHING]
    if idle:
        say(f"Nothing to do now: {', '.join(idle)}.")
    if how := how_to_save(happened.actions):
        say(how)
    print()
    for text in happened.warnings:
        say(f"Warning: {text}")
    say(f"Written: {', '.join(path.name for path in written)}, in")
    print(options.out)
    return UNREAD if happened.answers.unread else 0
