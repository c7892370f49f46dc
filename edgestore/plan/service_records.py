"""What the service log teaches about the life of each kind of card: failures, and cards that did not fail."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from edgestore.answers.ages import Survival
from edgestore.models.life.law import CardLife
from edgestore.plan.card_life import AGE_STEP, CardKind, places
from edgestore.text import counted, number

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

COMMON = 0.5
"""Part of the doubt about random failures, as variance of their logarithm, that all kinds of a site share: its heat,
its power, its hands (our guess). The rest is each kind's own."""

STRANGE = 0.05
"""Chance that the records of one kind tell nothing of the others: a bad lot (our guess)."""

AT_ONCE = 500
"""Records computed at once: more of them would only fill the memory."""


@dataclass(frozen=True)
class Records:
    """Cards of one kind in service: arrays of shape (cards,) where nothing else is said.

    Attributes
    ----------
    years : ndarray
        Age at its failure, or when last seen working; above 0.
    failed : ndarray of bool
        Whether it failed.
    wear_life_years : ndarray, shape (nodes,)
        Years until the stated endurance is written, as they may be.
    chance : ndarray, shape (cards, nodes)
        Chance of each of them under the camera of the card.
    """

    years: Array
    failed: Flags
    wear_life_years: Array
    chance: Array

    @property
    def told(self) -> str:
        """How many failed in how many years."""
        return f"{counted(int(self.failed.sum()), 'failure')} in {number(float(self.years.sum()))} card-years"


def log_likelihood(kind: CardKind, records: Records) -> Array:
    """Logarithm of the likelihood of records for each combination of what is not known of a kind; (e, r, w).

    Notes
    -----
    Of a card that failed the density of its life counts, of another the chance to have lived so long. Cards are
    independent of one another, given the kind; a write amplification that is not known is taken as each card's own.
    """
    worn_out = np.asarray(np.gradient(1 - kind.not_worn, AGE_STEP, axis=0))
    random, weak = kind.random_per_year[:, None], kind.weak_fraction
    total = np.zeros(kind.chance.shape)
    for start in range(0, len(records.years), AT_ONCE):
        rows = slice(start, start + AT_ONCE)
        years, failed = (field[rows, None, None, None] for field in (records.years, records.failed.astype(float)))
        below, _ = places(np.log(records.years[rows, None] / records.wear_life_years) + AGE_STEP / 2)
        sound, wears = (
            np.einsum("cn,cne->ce", records.chance[rows], table[below])[..., None, None]
            for table in (kind.not_worn, worn_out)
        )
        early = weak * np.exp(-years / CardLife.early_mean_years)
        main = (1 - weak) * np.exp(-random * years)
        dies = early / CardLife.early_mean_years + main * (random * sound + wears / years)
        likely = failed * dies + (1 - failed) * (early + main * sound)
        total += np.log(np.maximum(likely, np.finfo(float).tiny)).sum(axis=0)
    return total


def without_themselves(kind: CardKind, records: Records) -> Survival:
    """Chance that cards of one kind in service work at an age, by all records of the kind but their own.

    Parameters
    ----------
    kind : CardKind
        What is known of it by all records, those of the cards among them.
    records : Records
        The cards, which work; fewer than ``AT_ONCE`` at a time are a matter of the memory.

    Returns
    -------
    callable
        The chance that each works at an age of its own, years; both of shape (cards,).

    Notes
    -----
    That a card works at its age has taught its kind already, and its next date says it again. So what is known of the
    kind is divided by the likelihood of the card's own record, combination by combination, which is Bayes' rule
    backwards: what is left is what the kind would be without it.
    """
    random, weak = kind.random_per_year, kind.weak_fraction

    def parts(years: Array) -> tuple[Array, Array, Array]:
        """Of those weak the part that is left, of the others those not failed at random (c, r), and not worn (c, e)."""
        with np.errstate(divide="ignore"):
            below, above = places(np.log(years)[:, None] - np.log(records.wear_life_years))
        not_worn = np.einsum("cn,cne->ce", records.chance * (1 - above), kind.not_worn[below])
        not_worn += np.einsum("cn,cne->ce", records.chance * above, kind.not_worn[below + 1])
        return np.exp(-years / CardLife.early_mean_years), np.exp(-np.outer(years, random)), not_worn

    early, not_failed, not_worn = parts(records.years)
    sound = not_worn[:, :, None] * not_failed[:, None, :]
    works = weak * early[:, None, None, None] + (1 - weak) * sound[..., None]
    others = np.divide(kind.chance, np.maximum(works, np.finfo(float).tiny, out=works), out=works)
    others /= others.sum(axis=(1, 2, 3), keepdims=True)
    is_weak, is_sound = (others @ weak).sum(axis=(1, 2)), others @ (1 - weak)

    def survival(years: Array) -> Array:
        early, not_failed, not_worn = parts(years)
        sound = (is_sound @ not_failed[:, :, None])[:, :, 0] * not_worn
        return np.asarray(is_weak * early + sound.sum(axis=1))

    return survival


def learnt(before: CardKind, records: Mapping[str, Records]) -> tuple[CardKind, dict[str, CardKind]]:
    """What records teach about kinds of card.

    Parameters
    ----------
    before : CardKind
        What was known of any kind.
    records : mapping of str to Records
        The records by kind.

    Returns
    -------
    tuple
        What is known now of a kind without records, and by its name of each kind that has some.

    Notes
    -----
    Bayes' rule on the grid. The logarithm of a kind's random failures is a part that all kinds share, normal with
    ``COMMON`` of the variance, and one of its own; what the other kinds' records say of the shared part is counted by
    summing over it. A kind whose records are strange to the others, with chance ``STRANGE``, says nothing of them.
    """
    if not records:
        return before, {}
    likely = {name: _scaled(log_likelihood(before, of_kind)) for name, of_kind in records.items()}
    joint = _shared(before)
    alone = before.chance / before.chance.sum(axis=(0, 2))[:, None]
    says = {name: _message(joint, np.einsum("erw,erw->r", alone, values)) for name, values in likely.items()}

    def known(chance: Array, others: Sequence[str], basis: str) -> CardKind:
        share = np.exp(_less_most(sum((says[name] for name in others), np.zeros(joint.shape[1]))))
        random = joint @ share / joint.sum(axis=1)
        whole = chance * random[:, None]
        return replace(before, chance=whole / whole.sum(), basis=basis)

    kinds = {
        name: known(
            before.chance * likely[name], [o for o in records if o != name], f"assumed, with {records[name].told}"
        )
        for name in records
    }
    others = f"assumed, with the service log of {counted(len(records), 'other kind')}"
    return known(before.chance, list(records), others), kinds


def _shared(kind: CardKind) -> Array:
    """Chance of each number of random failures together with each value of the shared part; (r, shared)."""
    chance = kind.chance.sum(axis=(0, 2))
    score = _scores(chance)
    common = np.linspace(score[0] * COMMON, score[-1] * COMMON, len(score))
    # Given the whole, the shared part is normal about its share of it.
    near = np.exp(-((common - COMMON * score[:, None]) ** 2) / (2 * COMMON * (1 - COMMON)))
    return np.asarray(chance[:, None] * near / near.sum(axis=1, keepdims=True))


def _scores(chance: Array) -> Array:
    """Standard deviations from the median at evenly spaced points of a normal law, by their chances."""
    place = np.arange(len(chance))
    mean = chance @ place
    return np.asarray((place - mean) / np.sqrt(chance @ (place - mean) ** 2))


def _message(joint: Array, likely_by_random: Array) -> Array:
    """Logarithm of what one kind's records say of the shared part."""
    given = joint.T @ likely_by_random / joint.sum(axis=0)
    return np.asarray(np.log((1 - STRANGE) * given + STRANGE * likely_by_random.mean()))


def _scaled(log_likely: Array) -> Array:
    return np.asarray(np.exp(_less_most(log_likely)))


def _less_most(values: Array) -> Array:
    return np.asarray(values - values.max())
