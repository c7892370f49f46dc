"""The sheet of what was decided with which inputs: where a reader changed one, the decision is no longer told."""

from collections.abc import Sequence
from dataclasses import replace

from edgestore.documents.spreadsheet import ROW, Column, letters

PLANNED = "As planned"
"""The hidden sheet with the inputs that the plan was made with, and what it decided."""

DECIDED = ("state", "chance_kept", "chance_kept_low", "chance_kept_high", "assured", "change_years")
OF_COST = ("visit", "cards")
"""Columns that the plan decides, and inputs that only the cost follows from."""

AGAIN = "run edgestore again"


def planned_columns(columns: Sequence[Column]) -> list[Column]:
    """Columns of that sheet: those of the cameras on which the choice rests, and what was decided."""
    return [replace(column, is_input=False) for column in columns if column.name in (*_inputs(columns), *DECIDED)]


def as_long_as_planned(columns: Sequence[Column], planned: Sequence[Column]) -> list[Column]:
    """Have what was decided told for the inputs that it was decided with, and no others."""
    cells = {name: f"'{PLANNED}'!${letter}{ROW}" for name, letter in letters(planned).items()}
    same = ",".join(f"[{name}]={cells[name]}" for name in _inputs(columns))
    told = []
    for column in columns:
        if column.name == DECIDED[0]:
            as_planned = ["yes"] * len(column.values)
            head = "Inputs are those of the plan"
            told.append(Column("as_planned", head, as_planned, "text", 12, f'=IF(AND({same}),"yes","no")'))
        if column.name in DECIDED:
            planned_value = f'IF({cells[column.name]}="","",{cells[column.name]})'
            column = replace(column, formula=f'=IF([as_planned]="yes",{planned_value},"{AGAIN}")')
        told.append(column)
    return told


def _inputs(columns: Sequence[Column]) -> list[str]:
    """Name the cells on which the choice rests, and that a reader may change."""
    return [column.name for column in columns if column.is_input and column.name not in OF_COST]
