"""Finished English sentences of a plan in another language, by the patterns that a catalogue has of them."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

SENTENCE, PART = "sentence", "part"
"""The contexts (gettext) of a pattern: an English sentence with its values in braces, and what may be such a value."""

VALUE = re.compile(r"\{(\w+)\}")
COUNT = re.compile(r"n\d?")
"""The name of a value that is one figure; any other may be names, or a part with a pattern of its own."""

LISTS = {"reasons", "ways", "price", "things", "others", "rest", "title"}
"""Names of values that may hold semicolons."""

FIGURE, PHRASE, LIST = (
    r"[\d.,\u00a0]*\d",
    r"(?:(?!\. [A-Z\U000f0000-\U000ffffd]|;).)+?",
    r"(?:(?!\. [A-Z\U000f0000-\U000ffffd]).)+?",
)
"""What may stand for a value: none goes over the end of a sentence."""

MOST_WORDS = 2
"""Words of values that a sentence may have and no pattern, as a currency; with more of them it is not told."""

WORD = re.compile(r"[^\W\d_\U000f0000-\U000ffffd]{2,}")
ENDS = re.compile("(?<=[.!?]) (?=[A-Z\U000f0000-\U000ffffd])")
"""Space between two sentences."""

SEPARATORS = ("; or ", "; ", ", ", " and ", " or ", " to ")
DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
UNIT = re.compile(r"(\d) (?=(?:%|°C|GB|TB|Mbit/s|Mbyte/s|h|s|Tagen?|Jahren?)(?!\w))")

FIRST_SIGN = 0xF0000
"""From here on signs of no script (Unicode, private use) stand for names, so that no word of a name is translated."""


@dataclass(frozen=True)
class Pattern:
    """A sentence with values in braces, and the same in the other language."""

    english: str
    other: str

    @cached_property
    def opening(self) -> str:
        """What a text begins with that this may be the pattern of."""
        return self.english.partition("{")[0].partition(" ")[0]

    @cached_property
    def letters(self) -> int:
        """How much of it is fixed."""
        return len(VALUE.sub("", self.english))

    def values(self, text: str) -> dict[str, str] | None:
        """Give the values with which the pattern is a text; None where it is not."""
        if not text.startswith(self.opening):
            return None
        found = self._expression.fullmatch(text)
        return found.groupdict() if found else None

    @cached_property
    def _expression(self) -> re.Pattern[str]:
        parts = VALUE.split(self.english)
        for at in range(0, len(parts), 2):
            parts[at] = re.escape(parts[at]).replace(r"\ ", "[ \u00a0]")
        for at in range(1, len(parts), 2):
            name = parts[at]
            kind = FIGURE if COUNT.fullmatch(name) else LIST if name in LISTS else PHRASE
            parts[at] = f"(?P<{name}>{kind})"
        return re.compile("".join(parts), flags=re.DOTALL)


class Said(str):
    """What stands for a value; ``{names:weiteren}`` in a catalogue gives a word of it that has one letter less so."""

    __slots__ = ()

    def __format__(self, inflected: str) -> str:
        return re.sub(rf"\b{re.escape(inflected[:-1])}\b", inflected, self) if inflected else str(self)


class Sentences:
    """Sentences in another language.

    Parameters
    ----------
    entries : iterable of (str, str, str)
        Context of each pattern, the pattern in English and in the other language; the one with the most fixed letters
        goes first.
    figures, date : callable
        How figures and dates are written.
    """

    def __init__(
        self, entries: Iterable[tuple[str, str, str]], figures: Callable[[str], str], date: Callable[[str], str]
    ) -> None:
        made = sorted(((context, Pattern(*pattern)) for context, *pattern in entries), key=lambda one: -one[1].letters)
        self._any = [pattern for _, pattern in made]
        self._whole = [pattern for context, pattern in made if context == SENTENCE]
        self._figures, self._date = figures, date

    def of(self, text: str, names: Collection[str] = ()) -> Iterator[tuple[str, bool]]:
        """Give a text in this language, sentence by sentence, and whether each could be told.

        Names stay as they are. What no pattern fits stays English.
        """
        masked, signs = _masked(text, names)
        whole = self._one(masked, self._whole)
        said = [(masked, whole)]
        if whole is None:
            said = [(one, self._one(one, self._whole)) for one in ENDS.split(masked)]
        for english, other in said:
            yield _unmasked(english if other is None else other, signs), other is not None

    def _one(self, text: str, patterns: list[Pattern]) -> str | None:
        """Give a sentence in this language; None where no pattern fits, or values hold words that none fits."""
        if text.endswith(".") and (whole := self._one(text[:-1], patterns)) is not None:
            return f"{whole}."
        for pattern in patterns:
            if (values := pattern.values(text)) is None:
                continue
            told = {name: self._value(value) for name, value in values.items()}
            if sum(left for _, left in told.values()) <= MOST_WORDS:
                said = pattern.other.format(**{name: Said(value) for name, (value, _) in told.items()})
                return UNIT.sub("\\1\u00a0", said)
        return None

    def _value(self, text: str) -> tuple[str, int]:
        """Give a value in this language, and how many of its words stayed as they were."""
        if (said := self._one(text, self._any)) is not None:
            return said, 0
        for separator in SEPARATORS:
            if separator in text:
                between = self._one(separator.strip(), self._any)
                joined = separator if between is None else separator.replace(separator.strip(), between)
                parts = [self._value(part) for part in text.split(separator)]
                return joined.join(part for part, _ in parts), sum(left for _, left in parts)
        return DAY.sub(lambda day: self._date(day[0]), self._figures(text)), len(WORD.findall(text))


def _masked(text: str, names: Collection[str]) -> tuple[str, list[str]]:
    """Put a sign for each name in a text, the longest names first."""
    signs = sorted((name for name in names if name and name in text), key=len, reverse=True)
    if not signs:
        return text, signs
    expression = re.compile("|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in signs))
    return expression.sub(lambda name: chr(FIRST_SIGN + signs.index(name[0])), text), signs


def _unmasked(text: str, signs: list[str]) -> str:
    for at, name in enumerate(signs):
        text = text.replace(chr(FIRST_SIGN + at), name)
    return text
