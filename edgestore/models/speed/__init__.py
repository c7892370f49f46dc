"""Whether a card keeps up: what its marks promise, what waits while it stalls."""

from edgestore.models.speed.backlog import catch_up_s, largest_backlog_mb, write_mbyte_s_for_buffer
from edgestore.models.speed.classes import (
    SpeedClass,
    guaranteed_write_mbyte_s,
    implied_marks,
    min_write_mbyte_s,
    speed_margin,
    write_mbyte_s_for_margin,
)
from edgestore.models.speed.stalls import (
    KeepsUp,
    keeps_up,
    stall_buffer_mb,
    stall_s_for_buffer,
    sustained_write_mbyte_s,
)

__all__ = [
    "KeepsUp",
    "SpeedClass",
    "catch_up_s",
    "guaranteed_write_mbyte_s",
    "implied_marks",
    "keeps_up",
    "largest_backlog_mb",
    "min_write_mbyte_s",
    "speed_margin",
    "stall_buffer_mb",
    "stall_s_for_buffer",
    "sustained_write_mbyte_s",
    "write_mbyte_s_for_buffer",
    "write_mbyte_s_for_margin",
]
