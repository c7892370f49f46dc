"""The language of the fitting guide: English as its data has it, or a table of translations by the English text."""

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from edgestore.checks import one_of

ENGLISH = "en"

LANGUAGES = (ENGLISH, *sorted(path.stem.partition(".")[2] for path in Path(__file__).parent.glob("guide.*.toml")))
"""Codes (ISO 639-1): English, and each that has a file ``guide.CODE.toml`` beside this one."""


@cache
def translations(language: str, of: str = "guide") -> Mapping[str, str]:
    """Give the texts of a language by the English text: of the ``guide``, or those ``drawn`` in its pictures."""
    if one_of("language", language, LANGUAGES) == ENGLISH:
        return {}
    path = Path(__file__).with_name(f"{of}.{language}.toml")
    return dict(tomllib.loads(path.read_text(encoding="utf-8"))["texts"])


def say(text: str, language: str = ENGLISH, **values: object) -> str:
    """Give a fixed text in a language, with values in its braces; what has no translation stays English."""
    said = translations(language).get(text, text)
    return said.format(**values) if values else said


def say_drawn(words: str, language: str = ENGLISH) -> str:
    """Give words of a drawing in a language, their lines broken as they are drawn."""
    return translations(language, "drawn").get(words, words)
