"""The sheets of a plan's workbook that say how each figure was worked out, and where each requirement is answered."""

from edgestore.documents.content import Proposal
from edgestore.documents.figures import figures
from edgestore.documents.requirement_trace import requirement_trace
from edgestore.documents.spreadsheet import Column

FIGURES, REQUIREMENTS = "Figures", "Requirements"


def figure_columns(currency: str) -> list[Column]:
    """Columns of the figures: name, meaning, unit, formula, source, and the file of the pack that states it."""
    rows = list(figures().values())
    return [
        Column("name", "Figure", [row.name for row in rows], width=24),
        Column("means", "What it is", [row.means for row in rows], "words", 40),
        Column("unit", "Unit", [row.unit_in(currency) for row in rows], width=12),
        Column("formula", "How it is worked out", [row.words for row in rows], "words", 70),
        Column("source", "Source", [row.source for row in rows], "words", 40),
        Column("file", "Stated in", [row.file or "a step on the way" for row in rows], "words", 18),
    ]


def requirement_columns(proposal: Proposal) -> list[Column]:
    """Columns of the requirements: what is asked, of what, where it is answered, by what evidence."""
    table = requirement_trace(proposal)
    heads = {
        "asks": ("What is asked", 50),
        "of": ("By", 36),
        "where": ("Where it is answered", 44),
        "evidence": ("Evidence", 44),
    }
    return [Column(name, head, table[name].tolist(), "words", width) for name, (head, width) in heads.items()]
