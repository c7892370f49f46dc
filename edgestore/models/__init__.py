"""Pure functions of numbers and arrays, a package a question; no pandas, no files, no plots."""

from edgestore.models import export, life, lots, outage, rate, registers, retention, speed, uncertainty, upkeep, wear

__all__ = [
    "export",
    "life",
    "lots",
    "outage",
    "rate",
    "registers",
    "retention",
    "speed",
    "uncertainty",
    "upkeep",
    "wear",
]
