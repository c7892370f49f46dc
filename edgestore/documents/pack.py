"""The proposal pack: every file of it made in memory, then written into one folder, whole or not at all."""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from edgestore.checks import refuse
from edgestore.documents.alternatives import ALTERNATIVES
from edgestore.documents.content import Proposal
from edgestore.documents.fonts import without_a_font
from edgestore.documents.page import page
from edgestore.documents.pdf import pdf
from edgestore.documents.specification import specification_table
from edgestore.documents.untested import untested_card
from edgestore.output import write_folder
from edgestore.plan.beliefs_table import beliefs_table
from edgestore.plan.tables import as_csv, departing, with_bill
from edgestore.plan.untested_band import BAND

HTML, PDF, WORKBOOK, DIARY = "proposal.html", "proposal.pdf", "plan.xlsx", "visits.ics"
"""The files of a pack. No name of the user's is in them."""

LIBRARIES = ("xlsxwriter", "icalendar", "weasyprint")
"""What the extra installs; without the last the pack has no PDF."""

MEND = "Install the extra: pip install 'edgestore[proposal]'"


@dataclass(frozen=True)
class Pack:
    """The files of a pack by name, and the warnings."""

    files: dict[str, bytes]
    notes: tuple[str, ...]

    def write(self, folder: Path) -> list[Path]:
        """Write the files (:func:`edgestore.output.write_folder`)."""
        return write_folder(folder, self.files, "edgestore propose")


def missing_libraries() -> tuple[str, ...]:
    """Give the libraries of the extra ``proposal`` that are not installed."""
    return tuple(name for name in LIBRARIES if find_spec(name) is None)


def require_libraries() -> None:
    """Refuse to go on where a library is missing without which there is no pack."""
    if missing := [name for name in missing_libraries() if name != "weasyprint"]:
        raise refuse("pack", f"no {', '.join(missing)}", "the libraries that write it", MEND)


def pack(proposal: Proposal, with_pdf: bool = True) -> Pack:
    """Make every file of a pack.

    Parameters
    ----------
    proposal : Proposal
        What is proposed.
    with_pdf : bool
        Whether to print the document as PDF, which needs WeasyPrint and libraries of the system.

    Returns
    -------
    Pack
        The files, the same bytes for the same proposal and fonts, and the warnings.

    Raises
    ------
    InputError
        When a library of the extra ``proposal`` is missing, or the PDF is wanted and WeasyPrint does not run.
    """
    try:
        from edgestore.documents.diary import diary
        from edgestore.documents.kept_inputs import CONTENTS, contents, kept_inputs
        from edgestore.documents.workbook import workbook
    except ImportError as error:
        raise refuse("pack", f"no {error.name}", "the libraries that write it", MEND) from None

    html = page(proposal)
    files = {HTML: html.encode()}
    notes = []
    if with_pdf:
        files[PDF] = pdf(html)
        missing = without_a_font(html)
        if missing:
            signs = ", ".join(f"{letter} (U+{ord(letter):04X})" for letter in missing[:10])
            more = f" and {len(missing) - 10} more" if len(missing) > 10 else ""
            notes.append(
                f"No font of this machine has {signs}{more}: the PDF shows a box there, the other files are right."
                " Install a font that has them and run this again."
            )
    plan = proposal.plan
    made = {
        "plan": with_bill(plan, proposal.visits.bill).join(plan.untested_band[BAND]),
        "beliefs": beliefs_table(plan.site),
        "untested_card": untested_card(plan.site.settings.beliefs, proposal.language),
        "specification": specification_table(proposal.specifications),
    }
    if plan.calendar is not None:
        made["replacements"] = proposal.visits.replacements.table  # from the date of the document on
    if proposal.against:
        made[ALTERNATIVES.removesuffix(".csv")] = proposal.alternatives
    written = {f"{name}.csv": as_csv(table) for name, table in departing(made, plan).items()}
    dates = diary(proposal.visits, proposal.front, proposal.plan.site.override)
    files |= {WORKBOOK: workbook(proposal), **written, DIARY: dates, **kept_inputs(proposal)}
    files[CONTENTS] = contents(files)
    return Pack(files, tuple(notes))
