"""What the site asks of a card in every camera."""

from dataclasses import dataclass

from edgestore import checks
from edgestore.models.speed import TRADE_MARGIN


@dataclass(frozen=True)
class Requirements:
    """What every card of a site must reach.

    Parameters
    ----------
    retention_days : float
        Days of footage wanted, above 0.
    life_years : float
        Years wanted until the card is worn out, above 0.
    speed_margin : float
        Card's promised write rate over the camera's peak rate, a plain ratio, above 0. The default is the trade's
        rule of ten (common practice, no source).
    retention_days_max : float, optional
        Most days that policy or law lets the site keep, not below ``retention_days``; none when left out.

    Raises
    ------
    InputError
        With every requirement that cannot be used.
    """

    retention_days: float = 7.0
    life_years: float = 3.0
    speed_margin: float = TRADE_MARGIN
    retention_days_max: float | None = None

    def __post_init__(self) -> None:
        faults: list[checks.Fault] = []
        for name, unit in (("retention_days", "days"), ("life_years", "years"), ("speed_margin", "")):
            faults += _faults(name, getattr(self, name), unit)
        if self.retention_days_max is not None:
            faults += _faults("retention_days_max", self.retention_days_max, "days")
        if not faults and self.retention_days_max is not None and self.retention_days_max < self.retention_days:
            found = f"{self.retention_days_max:g} days"
            allowed = f"{self.retention_days:g} days or more, the retention wanted"
            faults.append(
                checks.Fault("retention_days_max", found, allowed, "Ask for less or have the policy changed.")
            )
        if faults:
            raise checks.InputError(faults)


def _faults(name: str, value: float, unit: str) -> tuple[checks.Fault, ...]:
    try:
        checks.in_range(name, value, unit, above=0, at_most=10_000)
    except checks.InputError as error:
        return error.faults
    return ()
