"""The command ``handouts``: the fitting guide of a kind of housing, or a page for a phone for each camera of a site."""

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from edgestore.checks import refuse
from edgestore.progress import clock

if TYPE_CHECKING:
    from edgestore.plan.site import Site

Read = Callable[[argparse.Namespace], "Site"]

MOST_NAMED = 12
"""So many cameras or files are named, and the others counted."""

OF_HOUSING = ("housing", "slot", "facing", "work")
"""What is chosen for a kind of housing; of a site, its list says the housing and the page asks the rest."""


def add_handouts(command: argparse.ArgumentParser, read: Read) -> None:
    """Let a command take the words of ``handouts``; ``read`` reads the site that its words name."""
    command.add_argument(
        "--out", type=Path, metavar="FOLDER", help="folder for the files (default: handouts in the site)"
    )
    command.add_argument("--housing", help="without a site: kind of housing, as in camera lists (default: other)")
    command.add_argument("--slot", help="hinged metal latch, push-to-lock or slide-in (default: all three)")
    command.add_argument("--facing", help="towards you, sideways, down, up or hidden (default: all)")
    command.add_argument("--work", help="fit a first card, swap the card or remove it (default: fit)")
    command.add_argument("--language", default="en", help="language of the hand-outs: en or de (default: en)")
    command.add_argument("--no-pdf", action="store_true", help="do not write PDF (any browser prints the HTML)")
    command.set_defaults(run=lambda options: write(options, read))


def write(options: argparse.Namespace, read: Read) -> int:
    """Write the hand-outs that the words of the command line ask for, and say what was written."""
    from edgestore.checks import one_of
    from edgestore.training.fitting.guide import TYPICAL, WORKS, guide
    from edgestore.training.fitting.handouts import write_handouts
    from edgestore.training.fitting.language import LANGUAGES, say

    one_of("language", options.language, LANGUAGES)
    if options.cameras is not None:
        return _of_site(options, read)
    if options.out is None:
        raise refuse("--out", "nothing", "a path", "Give a folder, or the folder of a site for a page a camera.")
    chosen = guide(
        options.housing or "other", options.slot, options.facing, options.work or "fit", language=options.language
    )
    written = write_handouts(chosen, options.out, with_pdf=not options.no_pdf)
    print(f"{say(WORKS[chosen.work], chosen.language)}. {chosen.title}. {say(TYPICAL, chosen.language)}")
    print("Written: " + ", ".join(str(path) for path in written))
    return 0


def _first(names: list[str]) -> str:
    """Give the first names of a list, and say how many more there are."""
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _of_site(options: argparse.Namespace, read: Read) -> int:
    from edgestore.plan.site_plan import site_plan
    from edgestore.training.fitting.guide import TYPICAL
    from edgestore.training.fitting.handouts import write_phone_pages
    from edgestore.training.fitting.planned import planned_cameras

    given: list[Any] = [name for name in OF_HOUSING if getattr(options, name) is not None]
    if given:
        mend = "Leave it out: the camera list says the housing, and each page asks for the work and the slot."
        raise refuse(f"--{given[0]}", "a choice for one housing", "none beside a site", mend)
    site = read(options)
    with clock("Choosing the cards and writing the pages"):
        cameras = planned_cameras(site_plan(site, options.kinds, with_reasons=False), options.language)
        written = write_phone_pages(cameras, options.out, language=options.language)
    bring = sum(camera.bring for camera in cameras)
    print(f"{len(written)} pages for a phone, one a camera; {bring} cards to bring. {TYPICAL}")
    without = [camera.camera for camera in cameras if not camera.bring]
    if without:
        print(f"Without a card in the plan, and their pages say so and stop: {_first(without)}.")
    print(f"Written to {options.out}: {_first([path.name for path in written])}.")
    return 0
