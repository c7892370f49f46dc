"""The language of a document: its fixed texts from a catalogue (gettext), its dates and numbers. Reads them only.

English is what the code and the template hold; a catalogue is ``languages/CODE.po`` beside this file.
"""

import datetime
import gettext
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from edgestore.checks import refuse
from edgestore.documents.sentences import Sentences

CATALOGUES = Path(__file__).with_name("languages")

ENGLISH = "en"
STAYS, GOES_ON = "\ue000", "\ue001"
"""Signs (Unicode, private use) around what stayed English in a text that is told before it is marked up."""

MEND = "Install the extra: pip install 'edgestore[proposal]'"

POINT = re.compile(r"(?<![\d.])(\d+)\.(\d+)(?![\d.])")
"""A decimal figure, and neither a date nor the number of a version."""


@dataclass(frozen=True)
class Language:
    """A language: its code (ISO 639-1), its catalogue, patterns of what a plan says, and names that stay.

    What the catalogue lacks stays English.
    """

    code: str
    catalogue: gettext.NullTranslations
    patterns: tuple[tuple[str, str, str], ...] = ()
    names: frozenset[str] = frozenset()

    def knowing(self, names: Iterable[str]) -> "Language":
        """Give the same language, in which these names stay as they are in what is told."""
        return replace(self, names=frozenset(names))

    def parts(self, text: str) -> list[tuple[str, bool]]:
        """Give what a plan says in English in this language, by sentences, and whether each is in it now."""
        return list(self._sentences.of(text, self.names)) if self.patterns else [(text, self.code == ENGLISH)]

    def tell(self, text: str) -> str:
        """Give what a plan says in English in this language, as far as the catalogue has it."""
        return " ".join(part for part, _ in self.parts(text))

    def tell_marked(self, text: str) -> str:
        """Give the same, with what stayed English between ``STAYS`` and ``GOES_ON``."""
        return " ".join(part if is_told else f"{STAYS}{part}{GOES_ON}" for part, is_told in self.parts(text))

    @cached_property
    def _sentences(self) -> Sentences:
        return Sentences(self.patterns, self.figures, self.date)

    def say(self, text: str, /, **values: object) -> str:
        """Give a fixed text in this language, with values in its braces."""
        said = self.catalogue.gettext(text)
        return said.format(**values) if values else said

    def many(self, one: str, several: str, count: float) -> str:
        """Give a count with its noun; ``one`` and ``several`` are English texts with ``{n}`` for the count."""
        from edgestore.text import grouped

        said = self.catalogue.ngettext(one, several, 1 if count == 1 else 2)
        return said.format(n=self.figures(grouped(f"{count:g}")))

    def figures(self, text: Any) -> str:
        """Write the decimal figures of a text as this language does."""
        point = "." if self.code == ENGLISH else self._decimal
        return str(text) if point == "." else POINT.sub(rf"\1{point}\2", str(text))

    def date(self, day: datetime.date | str) -> str:
        """Write a date, or one in ISO form, as this language does; in English in ISO form."""
        if self.code == ENGLISH or not day:
            return str(day)
        from babel.dates import format_date

        return str(format_date(datetime.date.fromisoformat(str(day)), "dd.MM.yyyy", locale=self.code))

    @property
    def _decimal(self) -> str:
        from babel.numbers import get_decimal_symbol

        return str(get_decimal_symbol(self.code))


IN_ENGLISH = Language(ENGLISH, gettext.NullTranslations())


@cache
def language(code: str) -> Language:
    """Give a language by its code.

    Parameters
    ----------
    code : str
        One of :data:`edgestore.inputs.settings.LANGUAGES`.

    Returns
    -------
    Language
        With its catalogue.

    Raises
    ------
    InputError
        When babel, which reads catalogues, is not installed.
    """
    if code == ENGLISH:
        return IN_ENGLISH
    try:
        from babel.messages.mofile import write_mo
        from babel.messages.pofile import read_po
    except ImportError as error:
        raise refuse("language", f"no {error.name}", "the library that reads catalogues", MEND) from None
    with (CATALOGUES / f"{code}.po").open("rb") as file:
        catalogue = read_po(file, locale=code)
    made = io.BytesIO()
    write_mo(made, catalogue)
    made.seek(0)
    patterns = tuple((entry.context, str(entry.id), str(entry.string)) for entry in catalogue if entry.context)
    return Language(code, gettext.GNUTranslations(made), patterns)
