"""What is assumed of an untested card, in the language of the document: for its table and for the file of the pack."""

import re
from typing import Any

import pandas as pd

from edgestore.documents.language import Language
from edgestore.inputs.beliefs import Beliefs
from edgestore.plan.untested_card import untested_card_table
from edgestore.text import NO_BREAK

THOUSANDS = re.compile(r"(?<=\d) (?=\d{3}(?!\d))")
"""Space within a figure, where no line may end."""

WORDS = ("assumed", "unit", "basis", "published", "read_in", "carried_over", "counted", "replaced_by")
"""Columns of texts."""


def untested_card(of: Beliefs, language: Language) -> pd.DataFrame:
    """The table of :func:`edgestore.plan.untested_card.untested_card_table` with its texts in a language.

    Parameters
    ----------
    of : Beliefs
        The beliefs of a site.
    language : Language
        Language of the texts; the names of the columns stay, as in every file.

    Returns
    -------
    DataFrame
        As there.
    """
    table = untested_card_table(of)
    told = {name: [text and THOUSANDS.sub(NO_BREAK, language.say(text)) for text in table[name]] for name in WORDS}
    return table.assign(**told)


def told_rows(of: Beliefs, language: Language) -> list[dict[str, Any]]:
    """Its rows for a table to read: the same texts, and ``range`` with its unit; shares and rates in percent."""
    rows = untested_card(of, language)
    told = []
    for row, unit in zip(rows.to_dict("records"), untested_card_table(of)["unit"], strict=True):
        ends = (f"{row[end]:g}" for end in ("low", "high"))
        span = language.say(" to ").join(dict.fromkeys(ends))
        told.append(
            {str(name): text for name, text in row.items()}
            | {"range": f"{span}{NO_BREAK}{row['unit']}" if unit else span}
        )
    return told
