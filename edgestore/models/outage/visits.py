"""How long an outage lasts when repairs wait for somebody to come, in working hours only."""

from dataclasses import KW_ONLY, dataclass

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.outage.repair import Floats, RepairLaw
from edgestore.units import H_PER_DAY, H_PER_WEEK

DAYS_PER_WEEK = round(H_PER_WEEK / H_PER_DAY)


@dataclass(frozen=True)
class WorkingHoursRepair(RepairLaw):
    r"""Outages that end when somebody has come, and people come in working hours only.

    Parameters
    ----------
    visit_delay_h : float or array_like
        Time from the failure until somebody could be there, by the clock, h, 0 or more.
    work_h : float or array_like
        Time that the repair takes, h, 0 or more; once begun it is finished.
    opens_h, closes_h : float
        Working hours of a day, h since midnight, 0 to 24.
    days : int
        Working days of a week, 1 to 7, from its first day on.

    Raises
    ------
    InputError
        With every field that cannot be used.

    Notes
    -----
    Failures fall on all hours of the week alike. With the shortest outage ``b = delay + work`` and the stretches ``g``
    in which nobody works (nights, one weekend), S is 1 below b, and from b on

    .. math:: S(t) = \frac{\sum_g (g - (t - b))^+}{168\,\mathrm{h}}

    .. math:: E[(D - R)^+] = (b - R)^+ + \frac{\sum_g \left( \left( g - (R - b)^+ \right)^+ \right)^2}
        {2 \times 168\,\mathrm{h}}

    Exact: no table of hours is needed. Holidays are
    not in it; a long weekend is a week with fewer working days.

    References
    ----------
    Arithmetic; derived here, checked by quadrature over the week.

    Examples
    --------
    Nobody works for 63 h from Friday 17:00 to Monday 8:00; a failure right after closing waits them all:

    >>> law = WorkingHoursRepair(visit_delay_h=0, work_h=2)
    >>> print(law.outage_h(4 * 24 + 17), law.longest_h, f"{law.mean_h():.3f}")
    65.0 65.0 16.491
    """

    visit_delay_h: Values
    work_h: Values
    _: KW_ONLY
    opens_h: float = 8.0
    closes_h: float = 17.0
    days: int = 5

    def __post_init__(self) -> None:
        in_day = {"at_least": 0, "at_most": H_PER_DAY}
        self._keep(
            visit_delay_h=("h", {"at_least": 0}),
            work_h=("h", {"at_least": 0}),
            opens_h=("h", in_day),
            closes_h=("h", in_day),
            days=("days", {"at_least": 1, "at_most": DAYS_PER_WEEK}),
        )
        for name in ("opens_h", "closes_h", "days"):
            if np.ndim(getattr(self, name)):
                raise checks.refuse(name, f"shape {np.shape(getattr(self, name))}", "one number")
        if self.days % 1:
            raise checks.refuse_value("days", self.days, "whole days", unit="days")
        if not self.opens_h < self.closes_h:
            raise checks.refuse(
                "opens_h", self.opens_h, f"before closes_h, {self.closes_h:g} h", "Give the hours of one day."
            )

    @property
    def longest_h(self) -> Values:
        """The longest outage, h: it begins so that somebody could come right after the last closing of the week."""
        return self.visit_delay_h + self.work_h + self._closed_h().max()

    def outage_h(self, failed_at_h: Numbers) -> Values:
        """Length in h of an outage that begins at an hour since the start of a week, 0 or more."""
        could_come = (self._hours(failed_at_h) + self.visit_delay_h) % H_PER_WEEK
        opens, closes = self._opens_and_closes_h()
        # The first closing that is still to come; the weekend leads to the next week's first day.
        day = np.searchsorted(closes, could_come, side="right")
        waits = np.maximum(np.append(opens, H_PER_WEEK + opens[0])[day] - could_come, 0.0)
        return (self.visit_delay_h + self.work_h + waits)[()]

    def survival(self, hours: Numbers) -> Values:
        """Fraction of outages, 0 to 1, that last longer than ``hours``, 0 or more."""
        beyond = self._beyond_h(hours)
        return np.where(beyond < 0, 1.0, self._left_h(beyond).sum(axis=-1) / H_PER_WEEK)[()]

    def excess_h(self, hours: Numbers) -> Values:
        """Mean time in h that an outage lasts beyond ``hours``, 0 or more, all outages counted."""
        beyond = self._beyond_h(hours)
        waits = (self._left_h(np.maximum(beyond, 0.0)) ** 2).sum(axis=-1) / 2 / H_PER_WEEK
        return (np.maximum(-beyond, 0.0) + waits)[()]

    def draw_h(self, failed_at_h: Floats, generator: np.random.Generator) -> Floats:
        """Give the lengths of outages, h: their beginnings decide, nothing is drawn."""
        return np.asarray(self.outage_h(failed_at_h))

    def _opens_and_closes_h(self) -> tuple[Floats, Floats]:
        midnights = H_PER_DAY * np.arange(self.days, dtype=np.float64)
        return midnights + self.opens_h, midnights + self.closes_h

    def _closed_h(self) -> Floats:
        """Lengths of the stretches of a week in which nobody works, h."""
        opens, closes = self._opens_and_closes_h()
        return np.asarray(np.append(opens[1:], H_PER_WEEK + opens[0]) - closes)

    def _beyond_h(self, hours: Numbers) -> Values:
        """How far a time lies beyond the shortest outage, h."""
        return np.asarray(self._hours(hours) - (self.visit_delay_h + self.work_h))

    def _left_h(self, beyond: Floats) -> Floats:
        return np.asarray(np.maximum(self._closed_h() - beyond[..., np.newaxis], 0.0))
