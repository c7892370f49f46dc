"""What is taken for known where nothing is: one line for each unknown, which the table ``[beliefs]`` may override."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from edgestore.checks import refuse
from edgestore.inputs.tables import Column
from edgestore.models.life.law import CardLife
from edgestore.models.lots.batch import MOST_CORRELATION
from edgestore.models.uncertainty.laws import Z_90
from edgestore.models.wear.mapping import KINDS_OF_MAPPING

GUESS = "our guess"
PRACTICE = "common practice, no source"

EARLY_QUANTILE = 0.03
"""Functional failures that JESD218, the standard for solid-state drives, allows at most when the rating is used up."""

MEDIAN_OVER_EARLY = float(CardLife(1, failed_at_endurance=EARLY_QUANTILE, wear_shape=3).life_quantile_years(0.5))
"""Half of the cards are worn out at so many times a rating at which 3 % are: 2.83 with a Weibull shape of 3."""


@dataclass(frozen=True)
class Belief:
    """One unknown: half of the values are below its median, one in ten below ``low``, one in ten above ``high``.

    Attributes
    ----------
    name, help, unit : str
        Its key in ``[beliefs]``, what it is, and the unit of its ends.
    low, high : float
        The ends: alike where it is known.
    source : str
        Where they are from, or that they are our guess.
    at_least, at_most : float
        Bounds of what may be stated.
    is_even : bool
        Whether all values between are equally likely; else their logarithm is normal.
    is_share : bool
        Whether it is one number, the chance of something, and not a range.
    """

    name: str
    help: str
    unit: str
    low: float
    high: float
    source: str
    at_least: float
    at_most: float
    is_even: bool = False
    is_share: bool = False

    @property
    def median(self) -> float:
        """Half of the values are below."""
        return (self.low + self.high) / 2 if self.is_even else float(np.sqrt(self.low * self.high))

    @property
    def sigma(self) -> float:
        """Standard deviation of the logarithm."""
        return float(np.log(self.high / self.low) / (2 * Z_90))


MAPPING_BELIEFS = {mapping: f"maps_by_{mapping.replace(' ', '_')}" for mapping in KINDS_OF_MAPPING}
"""The belief about each way in which a card may map."""

BELIEFS = (
    Belief(
        "listed_mean",
        "ratio of the true mean rate to the listed one",
        "",
        1 / 1.3,
        1.3,
        GUESS,
        0.01,
        100,
    ),
    Belief(
        "other_hours",
        "ratio of the mean rate in the hours of the day without footage to that in the hours with footage",
        "",
        1 / 2.8,
        2.8,
        "busy over quiet picture at one quality with a key frame every 2 s, data/measured: 2.5 to 3.2",
        0.01,
        100,
    ),
    Belief(
        "other_days",
        "ratio of the mean rate on the days of the week without footage to that on the days with footage",
        "",
        1 / 1.3,
        1.3,
        GUESS,
        0.01,
        100,
    ),
    Belief(
        "other_weeks",
        "ratio of the mean rate of the year to that of the weeks with footage",
        "",
        1 / 1.07,
        1.07,
        GUESS,
        0.01,
        100,
    ),
    Belief(
        "full_card",
        "ratio of what a full card holds when it is read back to the usable capacity of its kind",
        "",
        0.95,
        1 / 0.95,
        GUESS,
        0.1,
        2,
    ),
    Belief(
        "listed_events",
        "ratio of the true events an hour to the listed ones",
        "",
        1 / 1.5,
        1.5,
        GUESS,
        0.01,
        100,
    ),
    Belief(
        "update_interval",
        "time between two updates of file tables, for a camera that does not state it",
        "s",
        1.0,
        60.0,
        GUESS,
        0.1,
        3600,
    ),
    *(
        Belief(
            name,
            f"share of the cards of unknown write amplification that map by {mapping}; the three shares count in "
            "proportion",
            "",
            1 / len(KINDS_OF_MAPPING),
            1 / len(KINDS_OF_MAPPING),
            GUESS,
            0,
            1,
            is_even=True,
            is_share=True,
        )
        for mapping, name in MAPPING_BELIEFS.items()
    ),
    Belief(
        "stated_endurance",
        "ratio of the endurance that half of the cards reach to the one stated, in TB, hours or cycles",
        "",
        1.0,
        round(MEDIAN_OVER_EARLY, 1),
        "1: the rating is a median; 2.8: it is reached by all but 3 % of the cards (JESD218), at a Weibull shape of 3",
        0.1,
        10,
    ),
    Belief(
        "wear_shape",
        "spread of wear-out between cards, Weibull shape",
        "",
        2.2,
        3.8,
        PRACTICE,
        1,
        10,
        is_even=True,
    ),
    Belief(
        "random_per_year",
        "failures for other reasons than wear",
        "a year",
        0.01 / 3,
        0.03,
        f"middle {PRACTICE}; within a factor of 3, {GUESS}",
        0.0001,
        2,
    ),
    Belief(
        "weak_fraction",
        "share of the cards that are weak from the start: 1 % on average",
        "",
        0.0023,
        0.0207,
        f"mean {PRACTICE}; within a factor of 3, {GUESS}",
        0.0001,
        0.5,
    ),
    Belief(
        "batch_correlation",
        "correlation of weak cards that were bought together: where one is weak, another of the same batch is with so "
        "much more chance; 0 is independent",
        "",
        0.1,
        0.1,
        f"{GUESS}; the beta factor of IEC 61508-6, the part of failures with a common cause, is 2 to 10 % in practice",
        0,
        MOST_CORRELATION,
        is_even=True,
        is_share=True,
    ),
)
"""What is taken for known of every camera and card of which nothing better is."""

BELIEF_KEYS = tuple(
    Column(
        belief.name,
        "number" if belief.is_share else "range",
        belief.help,
        belief.unit,
        default=f"{belief.low:.3g}" if belief.is_share else f"{belief.low:.3g} to {belief.high:.3g}",
        at_least=belief.at_least,
        at_most=belief.at_most,
    )
    for belief in BELIEFS
)


@dataclass(frozen=True)
class Beliefs:
    """All beliefs of a site, by name; those that the settings state say so as their source."""

    lines: tuple[Belief, ...] = BELIEFS

    @classmethod
    def stated(cls, values: Mapping[str, tuple[float, float] | float], source: str) -> "Beliefs":
        """Take the ends, or shares, that a file states in place of those of their lines; ``source`` is its name.

        Raises
        ------
        InputError
            When no way to map is left to a card.
        """
        ends = {name: value if isinstance(value, tuple) else (value, value) for name, value in values.items()}
        stated = cls(
            tuple(
                replace(b, low=ends[b.name][0], high=ends[b.name][1], source=source) if b.name in ends else b
                for b in BELIEFS
            )
        )
        if not any(stated[name].median for name in MAPPING_BELIEFS.values()):
            allowed, where = "one of them above 0", f"{source}, [beliefs] {', '.join(MAPPING_BELIEFS.values())}"
            raise refuse(where, "0 in all of them", allowed, "Every card maps in one of these ways.")
        return stated

    @property
    def mapping_shares(self) -> dict[str, float]:
        """Part of the cards of unknown write amplification that map in each of ``KINDS_OF_MAPPING``; 1 in all."""
        shares = {mapping: self[name].median for mapping, name in MAPPING_BELIEFS.items()}
        return {mapping: share / sum(shares.values()) for mapping, share in shares.items()}

    def __getitem__(self, name: str) -> Belief:
        """Give the belief of a name."""
        return next(belief for belief in self.lines if belief.name == name)
