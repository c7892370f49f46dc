"""What the card saves when the recorder or the link is gone: closed forms over all outages."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from edgestore import checks
from edgestore.checks import Fault, InputError, Numbers, Values
from edgestore.models.outage.repair import MixedRepair, RepairLaw
from edgestore.units import DAYS_PER_YEAR, H_PER_YEAR


def availability(mtbf_h: Numbers, repair_mean_h: Numbers) -> Values:
    r"""Fraction of time in which a repairable part works.

    Parameters
    ----------
    mtbf_h : float or array_like
        Mean time from a repair to the next failure, h, above 0; infinite for a part that never fails.
    repair_mean_h : float or array_like
        Mean length of an outage, h, 0 or more.

    Returns
    -------
    float or ndarray
        Fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{availability} = \frac{\mathrm{MTBF}}{\mathrm{MTBF} + \mathrm{MTTR}}

    with the mean time between failures and the mean length of an outage, whatever the laws of the two times. The outage
    counts from the failure, so the time until somebody notices and the way there belong to it.

    References
    ----------
    Alternating renewal process: any textbook of reliability.

    Examples
    --------
    >>> print(f"{availability(17_520, 24):.5f}")
    0.99863
    """
    return 1 / (1 + _down_per_up(mtbf_h, repair_mean_h))


def away_fraction(mtbf_h: Numbers, repair_mean_h: Numbers) -> Values:
    r"""Fraction of time in which the recorder is down: what a card records that writes only then.

    Parameters
    ----------
    mtbf_h : float or array_like
        Mean time from a repair to the next failure, h, above 0; infinite for a part that never fails.
    repair_mean_h : float or array_like
        Mean length of an outage, h, 0 or more.

    Returns
    -------
    float or ndarray
        Fraction, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{away} = \frac{\mathrm{MTTR}}{\mathrm{MTBF} + \mathrm{MTTR}}

    with the mean time between failures and the mean length of an outage. As ``recorded_fraction`` of
    :func:`edgestore.models.wear.life_years` it says how little such a card wears; times the fraction recorded by events
    where recording follows events. The price: what happened before the camera noticed that the recorder is down is on
    no card, and a card that has failed is noticed less soon. A life of hundreds of years means that wear no longer
    decides.

    References
    ----------
    As for :func:`availability`.

    Examples
    --------
    >>> from edgestore.models.wear import life_years
    >>> away = away_fraction(17_520, 24)
    >>> print(f"{away:.6f} {life_years(100, 4):.1f} {life_years(100, 4, away):.0f}")
    0.001368 6.3 4633
    """
    down_per_up = _down_per_up(mtbf_h, repair_mean_h)
    return down_per_up / (1 + down_per_up)


def hidden_failure_fraction(failures_per_year: Numbers, inspected_every_days: Numbers) -> Values:
    r"""Chance that a card is found dead when it is needed, since nobody looked since it failed.

    Parameters
    ----------
    failures_per_year : float or array_like
        Failures of a card, a year, 0 or more; infinite for a card that fails at once.
    inspected_every_days : float or array_like
        Time between two inspections that would find it and replace it, days, above 0.

    Returns
    -------
    float or ndarray
        Fraction of time, 0 to 1, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{hidden} = 1 - \frac{1 - e^{-x}}{x}, \quad x = \text{rate} \times \text{interval}

    with the rate a year and the interval in years of 365.25 days; 0 at x = 0. Nearly ``x / 2`` while that is small. A
    camera that reports a failed card is an inspection every few minutes.

    References
    ----------
    The mean unavailability of a part tested at intervals: IEC 61508-6, annex B (from memory).

    Examples
    --------
    Two in a hundred fail a year; looked at once a year, one in a hundred is dead at any time:

    >>> print(f"{hidden_failure_fraction(0.02, 365.25):.4f}")
    0.0099
    """
    from scipy.special import exprel

    rate = checks.in_range("failures_per_year", failures_per_year, "a year", at_least=0, or_infinite=True)
    days = checks.in_range("inspected_every_days", inspected_every_days, "days", above=0)
    checks.broadcastable(failures_per_year=rate, inspected_every_days=days)
    return 1 - exprel(-rate * days / DAYS_PER_YEAR)


@dataclass(frozen=True)
class Outages:
    r"""Outages of one repairable part, or of several in series. Numbers or arrays that broadcast.

    Parameters
    ----------
    mtbf_h : float or array_like
        Mean time from a repair to the next failure, h, above 0; infinite for a part that never fails.
    repair : RepairLaw
        Law of the length of an outage, from :func:`edgestore.models.outage.saved.repair_law`.

    Raises
    ------
    InputError
        When the time is missing or out of range, or the law is none.

    Notes
    -----
    .. math:: \text{outages a year} = \frac{8766\,\mathrm{h}}{\mathrm{MTBF} + E[D]}

    .. math:: \text{lost a year} = \text{outages a year} \times \left( u\, E[D] + (1 - u)\, E[(D - R)^+] \right)

    with u the share of outages in which the card saves nothing. Of an outage D the card, a ring that holds the last R
    hours, saves the last R and loses what goes beyond. Hours are hours by the clock.

    References
    ----------
    Renewal reward process: any textbook; the mean excess of each law stands with the law.

    Examples
    --------
    >>> from edgestore.models.outage import ExponentialRepair
    >>> recorder = Outages(17_520, ExponentialRepair(24))
    >>> print(f"{recorder.lost_h_per_year(0):.2f} {recorder.lost_h_per_year(72):.4f}")
    11.99 0.5970
    """

    mtbf_h: Values
    repair: RepairLaw

    def __post_init__(self) -> None:
        faults: list[Fault] = []
        try:
            mtbf = _mtbf_h(self.mtbf_h)
            object.__setattr__(self, "mtbf_h", mtbf if isinstance(mtbf, float) else np.asarray(mtbf))
        except InputError as error:
            faults += error.faults
        if not isinstance(self.repair, RepairLaw):
            faults.append(Fault("repair", repr(self.repair), "a law of repair times, such as ExponentialRepair(24)"))
        if faults:
            raise InputError(faults)
        checks.broadcastable(mtbf_h=self.mtbf_h, repair=self.repair.mean_h())

    @classmethod
    def in_series(cls, *parts: "Outages") -> Self:
        """Outages of parts that must all work, such as recorder and link.

        Notes
        -----
        Rates add, each kind of outage keeps its share and its law; a part does not fail while another is down. When
        parts can, outages that overlap run into one: with rates and repairs as usual that is less than one in a
        hundred, and the simulation has it.
        """
        if not parts:
            raise checks.refuse("parts", "none", "one or more")
        rates = [1 / np.asarray(part.mtbf_h) for part in parts]
        total = np.asarray(sum(rates))
        never = total == 0
        # Of parts that never fail each is as good as another.
        shares = [np.where(never, 1 / len(parts), rate / np.where(never, 1.0, total)) for rate in rates]
        mtbf = np.where(never, np.inf, 1 / np.where(never, 1.0, total))
        return cls(mtbf[()], MixedRepair(tuple(part.repair for part in parts), tuple(shares)))

    def availability(self) -> Values:
        """Fraction of time, 0 to 1, in which all works."""
        return availability(self.mtbf_h, self.repair.mean_h())

    def outages_per_year(self) -> Values:
        """Outages in a year of 365.25 days."""
        return H_PER_YEAR / (self.mtbf_h + self.repair.mean_h())

    def lost_h_per_year(self, retention_h: Numbers, unsaved_fraction: Numbers = 0.0) -> Values:
        """Footage that is lost in a year, h by the clock.

        Parameters
        ----------
        retention_h : float or array_like
            What the card holds, h, 0 or more; 0 is no card. To be fetched over the network:
            :func:`edgestore.models.outage.useful_retention_h`.
        unsaved_fraction : float or array_like
            Share of outages in which the card saves nothing, 0 to 1.
        """
        unsaved = checks.fraction("unsaved_fraction", unsaved_fraction)
        excess, mean = self.repair.excess_h(_retention_h(retention_h)), self.repair.mean_h()
        return self.outages_per_year() * (unsaved * mean + (1 - unsaved) * excess)

    def lost_by_hour_h_per_year(self, hours: Numbers, retention_h: Numbers, unsaved_fraction: Numbers = 0.0) -> Values:
        """Footage of each hour of an outage that is lost in a year, h: which hours the card gives back.

        Parameters
        ----------
        hours : float or array_like
            Beginning of the hour, h since the failure, 0 or more: 0 is the first hour, which the card loses first.
        retention_h, unsaved_fraction
            As for :meth:`lost_h_per_year`, which is the sum over all hours.

        Notes
        -----
        The moment t of an outage is lost if the outage goes on for R more: ``S(t + R)``, its integral over an hour is
        ``E[(D - R - h)+] - E[(D - R - h - 1)+]``.
        """
        start = np.asarray(checks.in_range("hours", hours, "h", at_least=0))
        retention = np.asarray(_retention_h(retention_h))
        unsaved = checks.fraction("unsaved_fraction", unsaved_fraction)

        def within(begin: Values) -> Values:
            return self.repair.excess_h(begin) - self.repair.excess_h(begin + 1)

        lost = unsaved * within(start) + (1 - unsaved) * within(start + retention)
        return self.outages_per_year() * lost


def _mtbf_h(mtbf_h: Numbers) -> Values:
    mend = "Give infinity for a part that never fails."
    return checks.in_range("mtbf_h", mtbf_h, "h", above=0, or_infinite=True, mend=mend)


def _retention_h(retention_h: Numbers) -> Values:
    return checks.in_range("retention_h", retention_h, "h", at_least=0, mend="Give 0 for no card.")


def _down_per_up(mtbf_h: Numbers, repair_mean_h: Numbers) -> Values:
    mtbf = _mtbf_h(mtbf_h)
    repair = checks.in_range("repair_mean_h", repair_mean_h, "h", at_least=0)
    checks.broadcastable(mtbf_h=mtbf, repair_mean_h=repair)
    return repair / mtbf
