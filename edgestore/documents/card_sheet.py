"""The sheet of the cards offered: what each promises, and what it writes in a slot of each bus."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from edgestore.documents.spreadsheet import Column
from edgestore.models.speed.classes import BUS_MBYTE_S, guaranteed_write_mbyte_s
from edgestore.models.wear.mapping import UPDATE_INTERVAL_S
from edgestore.plan.rates import card_endurance_tbw, is_amplification_unknown

BUSES = (*BUS_MBYTE_S, "unknown")

CARD_HEADS: Mapping[str, tuple[str, str, float]] = {
    "number": ("No.", "count", 6),
    "card": ("Card", "text", 28),
    "capacity_gb": ("Capacity", "gb", 11),
    "usable_fraction": ("Usable part", "fraction", 9),
    "endurance_by_camera": ("Lowest endurance follows from the camera", "text", 12),
    "endurance_low_tbw": ("Endurance, lowest", "tb", 12),
    "endurance_high_tbw": ("Endurance, highest", "tb", 12),
    "price": ("Price", "price", 9),
}


def card_columns(cards: pd.DataFrame) -> list[Column]:
    """Columns of the sheet, a row for each card of a list, by number."""
    by_camera = is_amplification_unknown(cards)
    low, high = card_endurance_tbw(cards, 1.0, UPDATE_INTERVAL_S)
    known = cards.assign(
        number=np.arange(1, len(cards) + 1),
        endurance_by_camera=np.where(by_camera, "yes", "no"),
        endurance_low_tbw=np.where(by_camera, np.nan, low),
        endurance_high_tbw=high,
    )
    columns = [Column(name, head, list(known[name]), form, width) for name, (head, form, width) in CARD_HEADS.items()]
    marks = [text.split() for text in cards["speed_class"]]
    for bus in BUSES:
        promised = [guaranteed_write_mbyte_s(m, None if bus == "unknown" else bus) for m in marks]
        columns.append(Column(bus, bus, promised, "write", 14))
    return columns
