"""The kinds of exercise, and the one that a seed gives."""

from collections.abc import Callable
from dataclasses import dataclass

from edgestore.checks import in_range, one_of
from edgestore.training.exercises import backup, cases, labels, statements, sums
from edgestore.training.exercises.draws import Draws, checked_seed
from edgestore.training.exercises.questions import Exercise
from edgestore.training.exercises.texts import texts


@dataclass(frozen=True)
class Kind:
    """A kind of exercise: its title, and how one is made from draws."""

    title: str
    make: Callable[[Draws], Exercise | None]


_MAKES: dict[str, Callable[[Draws], Exercise | None]] = {
    "what_is_recorded": statements.what_is_recorded,
    "hours_held": sums.hours_held,
    "capacity_wanted": sums.capacity_wanted,
    "gib_shown": sums.gib_shown,
    "gb_on_screen": labels.gb_on_screen,
    "mbyte_s_needed": sums.mbyte_s_needed,
    "cap_for_label": labels.cap_for_label,
    "motion_part": sums.motion_part,
    "writes_a_year": sums.writes_a_year,
    "life_by_endurance": sums.life_by_endurance,
    "life_by_hours": sums.life_by_hours,
    "backup_or_alone": backup.backup_or_alone,
    "choose_card": cases.choose_card,
    "spot_fault": statements.spot_fault,
    "prove_it": statements.prove_it,
}

KINDS = {kind: Kind(texts("cases")["titles"][kind], make) for kind, make in _MAKES.items()}
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
