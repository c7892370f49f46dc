"""Mutants that no test needs to notice, with the reason: read from ``equivalent.toml``."""

import tomllib
from pathlib import Path

EXPLAINED = Path(__file__).with_name("equivalent.toml")

Key = tuple[str, str, str]
"""File, function and change."""


def read_explained(path: Path = EXPLAINED) -> dict[Key, tuple[str, bool]]:
    """Why each mutant stays alive, and whether nothing that anybody can see differs."""
    tables = tomllib.loads(path.read_text(encoding="utf-8"))
    return {
        (entry["file"], entry["function"], change): (entry["reason"], kind == "equivalent")
        for kind in ("equivalent", "accepted")
        for entry in tables.get(kind, ())
        for change in entry["changes"]
    }
