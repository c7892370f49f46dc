"""The rounds of a course: practice, and a test before and after it, of the same kinds and seeds with other numbers."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Round:
    """A round: its title, which number of each kind it asks, and whether it is a test."""

    title: str
    number: int
    is_test: bool


ROUNDS = {
    "practice": Round("Exercises", 1, is_test=False),
    "before": Round("Test before the course", 901, is_test=True),
    "after": Round("Test after the course", 902, is_test=True),
}
"""By key. Nobody who practises comes to the numbers of the tests, so that their questions are new to all."""

TESTS = {about.number for about in ROUNDS.values() if about.is_test}
"""Numbers of the exercises that are asked in a test alone."""
