"""Getting footage off a camera: copying its card, fetching over the link, and what locked clips take from the ring."""

from edgestore.models.export.copying import copy_h
from edgestore.models.export.fetching import fetch_h, footage_per_h, lost_in_fetch_h
from edgestore.models.export.locked import most_locked_gb, retention_with_locked_h
from edgestore.models.export.waiting import lost_in_wait_h

__all__ = [
    "copy_h",
    "fetch_h",
    "footage_per_h",
    "lost_in_fetch_h",
    "lost_in_wait_h",
    "most_locked_gb",
    "retention_with_locked_h",
]
