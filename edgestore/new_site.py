"""A folder for a site of one's own: lists and settings to fill in, a page that says how, and the demo as an example."""

import shutil
import tempfile
from pathlib import Path

from edgestore.bundled import bundled
from edgestore.checks import not_opened, refuse
from edgestore.inputs.camera_list import CAMERA_COLUMNS
from edgestore.inputs.card_list import CARD_COLUMNS
from edgestore.inputs.names import printable
from edgestore.inputs.saved_answers import ANSWERS_FOLDER
from edgestore.new_lists import blank_csv, blank_workbook
from edgestore.new_settings import blank_settings, settings_workbook
from edgestore.text import MADE_WITH

EXAMPLE = "example"
"""The folder of the demo in a new one."""

FIRST_SHOWN = ("camera", "place", "mean_mbit_s", "cap_mbit_s", "scene", "recording", "slot_bus", "max_card_gb", "lift")
"""Columns of the camera list that most sites fill in; the others follow."""

README = """\
A site of your own, made by {made_with}

1. Fill in cameras.{suffix}: a row a camera. Name it, and give the mean or the cap of its rate, in Mbit/s, or both.
   All other columns may stay empty: what is not known is then taken as a range.
2. Fill in cards.{suffix}: a row a card on offer, with its capacity in GB and, from its data sheet, its endurance in one
   way: TB written, hours at a rate, or erase cycles. Where costs are to be counted, its price too.
{settings}

Each heading has a note that says what belongs there. The folder {example} has lists and settings of a ferry terminal,
filled in; look there for how it is done. Its names, numbers and prices are invented.

Then, in the folder that holds this one:

  edgestore plan {folder}       chooses the cards, and tells in 30 lines which, what to buy and what to find out first
  edgestore propose {folder}    writes the proposal: document, spreadsheet and dates
  edgestore open {folder}       opens the workbook in a browser, with this site in it
  edgestore happened {folder}   later: holds what the cameras recorded against the plan

For the last, save what each camera answers to ONVIF's GetRecordingSummary, and to FindEvents where it can, as XML in
the folder {answers}: {answers}/2026-11-20/CAMERA.xml, by the day of saving and the name in the list; several files of
one camera in a folder of its name. State the service log and its day in [service] of the settings too.

Until both lists have a row these commands say what is missing. Nothing leaves this machine.

Working at height, near mains or inside a sealed housing can hurt: read the safety notes of the workbook before a visit,
and keep to local codes and licensed practice.
"""


SETTINGS_AS = {
    "xlsx": "3. Look through settings.xlsx: it has a row per setting, with its meaning, its allowed values and what "
    "an empty one means.\n   Fill in what the cards must do, and what a visit costs. For a group of cameras "
    "copy a row and name the group.",
    "csv": "3. Open site.toml in a text editor: fill in what the cards must do, and what a visit costs. Text after "
    "# is not read.",
}
"""What the page says of the settings, by what the lists are."""


def write_new_site(folder: Path, *, as_csv: bool = False) -> list[Path]:
    """Make a folder to fill in.

    Parameters
    ----------
    folder : Path
        The folder; it must not exist, or be empty.
    as_csv : bool
        Write the lists as CSV and the settings as TOML, in place of workbooks.

    Returns
    -------
    list of Path
        What stands in it now: files, and the folder of the example.

    Raises
    ------
    InputError
        When there is something in the folder already, or it cannot be written to; then nothing is.
    """
    folder = folder.expanduser().resolve()
    try:
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            mend = "Name a new folder: existing files are never overwritten."
            raise refuse(printable(str(folder)), "a file, or a folder that is not empty", "a new or empty folder", mend)
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".edgestore-", dir=folder.parent) as aside:
            new = Path(aside) / folder.name
            _fill(new, as_csv)
            new.replace(folder)
    except OSError as error:
        mend = "Choose a folder that you may write to."
        raise refuse(printable(str(folder)), not_opened(error), "a folder to write", mend) from None
    return sorted(folder.iterdir())


def _fill(folder: Path, as_csv: bool) -> None:
    suffix = "csv" if as_csv else "xlsx"
    shutil.copytree(bundled("data") / "ferry_terminal", folder / EXAMPLE)
    shutil.copyfile(bundled("data") / "cards.csv", folder / EXAMPLE / "cards.csv")
    first = [column for name in FIRST_SHOWN for column in CAMERA_COLUMNS if column.name == name]
    cameras = [*first, *(column for column in CAMERA_COLUMNS if column.name not in FIRST_SHOWN)]
    for name, columns in (("cameras", cameras), ("cards", CARD_COLUMNS)):
        content = blank_csv(columns) if as_csv else blank_workbook(name.capitalize(), columns)
        (folder / f"{name}.{suffix}").write_bytes(content)
    (folder / ANSWERS_FOLDER).mkdir()
    if as_csv:
        (folder / "site.toml").write_text(blank_settings(), encoding="utf-8")
    else:
        (folder / "settings.xlsx").write_bytes(settings_workbook())
    words = {"made_with": MADE_WITH, "suffix": suffix, "settings": SETTINGS_AS[suffix]}
    about = README.format(**words, example=EXAMPLE, answers=ANSWERS_FOLDER, folder=folder.name)
    (folder / "README.txt").write_text(about, encoding="utf-8")
