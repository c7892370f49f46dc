"""The kinds of exercise, and the one that a seed gives."""

from collections.abc import Callable
from dataclasses import dataclass

from edgestore.checks import in_range, one_of
from edgestore.training.exercises import backup, cases, labels, statements, sums
from edgestore.training.exercises.draws import Draws, checked_seed
from edgestore.training.exercises.questions import Exercise


@dataclass(frozen=True)
class Kind:
    """A kind of exercise: its title, and how one is made from draws."""

    title: str
    make: Callable[[Draws], Exercise | None]


KINDS = {
    "what_is_recorded": Kind("What is recorded, and why", statements.what_is_recorded),
    "hours_held": Kind("Hours that a card holds", sums.hours_held),
    "capacity_wanted": Kind("Capacity for some days", sums.capacity_wanted),
    "gib_shown": Kind("GB and GiB", sums.gib_shown),
    "gb_on_screen": Kind("GB on a screen", labels.gb_on_screen),
    "mbyte_s_needed": Kind("Mbit/s and Mbyte/s", sums.mbyte_s_needed),
    "cap_for_label": Kind("What a label promises", labels.cap_for_label),
    "motion_part": Kind("Part of the time on motion", sums.motion_part),
    "writes_a_year": Kind("Writes in a year", sums.writes_a_year),
    "life_by_endurance": Kind("Life by endurance", sums.life_by_endurance),
    "life_by_hours": Kind("Life by rated hours", sums.life_by_hours),
    "backup_or_alone": Kind("Backup, or alone", backup.backup_or_alone),
    "choose_card": Kind("Choose a card", cases.choose_card),
    "spot_fault": Kind("Find the fault", statements.spot_fault),
    "prove_it": Kind("Proof", statements.prove_it),
}
"""All kinds, in the order of the lessons."""


def exercise(kind: str, seed: int, number: int = 1) -> Exercise:
    """Give the exercise that belongs to a kind, a seed and a number.

    Parameters
    ----------
    kind : str
        A key of ``KINDS``.
    seed : int
        The learner's seed, 0 to 999 999.
    number : int
        Which one of that kind, 1 or more.

    Returns
    -------
    Sum or Case
        The same at every call, on every machine.

    Raises
    ------
    InputError
        When there is no such kind, or a number is out of range.

    Notes
    -----
    Draws again until the answer is clear: no rounding in doubt, and no two answers that could be taken for each other.

    Examples
    --------
    >>> exercise("hours_held", 1).unit
    'hours'
    """
    one_of("kind", kind, KINDS)
    in_range("number", number, at_least=1)
    draws = Draws(kind, checked_seed(seed), number)
    while True:
        made = KINDS[kind].make(draws)
        if made is not None and made.is_clear():
            return made
