"""What the card saves, from plain numbers: the figures that people ask for, and the card that saves an asked share."""

from collections.abc import Sequence
from dataclasses import MISSING, dataclass, fields
from typing import Any

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.models.outage.outage import Outages, hidden_failure_fraction
from edgestore.models.outage.repair import ExponentialRepair, LognormalRepair, RepairLaw
from edgestore.models.outage.visits import WorkingHoursRepair
from edgestore.models.retention import capacity_gb_for_retention

LAWS: dict[str, type[RepairLaw]] = {
    "exponential": ExponentialRepair,
    "lognormal": LognormalRepair,
    "working hours": WorkingHoursRepair,
}
"""The laws by name, as plain numbers state them: their fields in order."""


def repair_law(law: str, numbers: Sequence[Any]) -> RepairLaw:
    """Law of repair times from plain numbers.

    Parameters
    ----------
    law : str
        A key of ``LAWS``.
    numbers : sequence of float or array_like
        The fields of that law in order: mean in h; median in h and sigma, a plain ratio; or visit delay in h, work in
        h and, if wanted, opening and closing in h since midnight and the count of working days.

    Returns
    -------
    RepairLaw
        A law of times in hours.

    Raises
    ------
    InputError
        When the law is unknown, takes another count of numbers, or a number is out of range.

    Notes
    -----
    :class:`ExponentialRepair`, :class:`LognormalRepair` and :class:`WorkingHoursRepair` say what each law means.

    References
    ----------
    As for those classes.

    Examples
    --------
    >>> repair_law("lognormal", [8, 1.2])
    LognormalRepair(repair_median_h=8.0, repair_sigma=1.2)
    """
    make: Any = LAWS[checks.one_of("law", law, LAWS)]
    takes = fields(make)
    given = tuple(numbers) if np.iterable(numbers) else ()
    if not sum(field.default is MISSING for field in takes) <= len(given) <= len(takes):
        names = ", ".join(field.name for field in takes)
        raise checks.refuse_value("numbers", numbers, f"what the law {law} is stated by: {names}")
    stated: RepairLaw = make(**{field.name: number for field, number in zip(takes, given, strict=False)})
    return stated


@dataclass(frozen=True, kw_only=True)
class OutageFigures:
    """What outages cost and what the card saves; each of the broadcast shape.

    Attributes
    ----------
    availability : float or ndarray
        Fraction of time in which the recorder works.
    outages_per_year, mean_outage_h : float or ndarray
        Outages a year and their mean length, h.
    chance_outlasts : float or ndarray
        Chance that an outage lasts longer than the card holds, 0 to 1.
    unsaved_fraction : float or ndarray
        Share of outages in which the card saves nothing: it has failed unnoticed, or the cause took the camera too.
    lost_without_card_h_per_year, lost_h_per_year : float or ndarray
        Footage lost in a year without a card and with this one, h.
    saved_fraction : float or ndarray
        Share of the footage of outages that the card saves, 0 to 1.
    """

    availability: Values
    outages_per_year: Values
    mean_outage_h: Values
    chance_outlasts: Values
    unsaved_fraction: Values
    lost_without_card_h_per_year: Values
    lost_h_per_year: Values
    saved_fraction: Values


def outage_figures(
    law: str,
    numbers: Sequence[Any],
    *,
    mtbf_h: Numbers,
    retention_h: Numbers,
    shared_cause_share: Numbers = 0.0,
    card_failures_per_year: Numbers = 0.0,
    inspected_every_days: Numbers = 365.0,
) -> OutageFigures:
    r"""What a card saves when the recorder fails, from plain numbers.

    Parameters
    ----------
    law : str
        Law of the length of an outage, a key of ``edgestore.models.outage.saved.LAWS``.
    numbers : sequence of float or array_like
        What the law is stated by, hours or a ratio, as for :func:`edgestore.models.outage.saved.repair_law`.
    mtbf_h : float or array_like
        Mean time from a repair to the next failure, h, above 0; infinite for a recorder that never fails.
    retention_h : float or array_like
        What the card holds, h, 0 or more; 0 is no card.
    shared_cause_share : float or array_like
        Share of outages whose cause takes the camera or the card too (mains loss, theft), 0 to 1.
    card_failures_per_year : float or array_like
        Failures of a card, a year, 0 or more; infinite for a card that fails at once.
    inspected_every_days : float or array_like
        Time between two inspections of the card, days, above 0.

    Returns
    -------
    OutageFigures
        Times in hours, chances and shares as fractions.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: u = 1 - (1 - \text{shared}) (1 - \text{failed}), \quad
        \text{saved} = (1 - u) \left( 1 - \frac{E[(D - R)^+]}{E[D]} \right)

    .. math:: \text{lost a year} = \frac{8766\,\mathrm{h}}{\mathrm{MTBF} + E[D]}
        \left( u\, E[D] + (1 - u)\, E[(D - R)^+] \right)

    with an outage of D and a card that holds R, h. The card saves nothing in u of the outages: the cause is shared, or
    the card has failed unnoticed (:func:`edgestore.models.outage.hidden_failure_fraction`), the two being independent.
    Where outages take no time, ``1 - u`` is saved. The others are the methods of
    :class:`edgestore.models.outage.Outages`. A card that fails during the outage itself is left out.

    References
    ----------
    As for :class:`edgestore.models.outage.Outages` and :func:`edgestore.models.outage.hidden_failure_fraction`.

    Examples
    --------
    >>> figures = outage_figures("lognormal", [8, 1.2], mtbf_h=17_520, retention_h=72)
    >>> print(f"{figures.chance_outlasts:.6f} {figures.lost_h_per_year:.3f} {figures.saved_fraction:.3f}")
    0.033549 0.962 0.883
    """
    outages = Outages(mtbf_h, repair_law(law, numbers))
    retention = checks.in_range("retention_h", retention_h, "h", at_least=0, mend="Give 0 for no card.")
    shared = checks.fraction("shared_cause_share", shared_cause_share)
    failures = checks.in_range("card_failures_per_year", card_failures_per_year, "a year", at_least=0, or_infinite=True)
    failed = hidden_failure_fraction(failures, inspected_every_days)
    checks.broadcastable(
        mtbf_h=mtbf_h,
        numbers=outages.repair.mean_h(),
        retention_h=retention,
        shared_cause_share=shared,
        card_failures_per_year=failed,
    )
    unsaved = 1 - (1 - shared) * (1 - failed)
    mean = outages.repair.mean_h()
    # Per hour of outage, not per year: a recorder that never fails has a saved share too.
    missed = outages.repair.excess_h(retention) / np.where(mean > 0, mean, 1.0)
    return OutageFigures(
        availability=outages.availability(),
        outages_per_year=outages.outages_per_year(),
        mean_outage_h=mean,
        chance_outlasts=outages.repair.survival(retention),
        unsaved_fraction=unsaved,
        lost_without_card_h_per_year=outages.lost_h_per_year(0.0),
        lost_h_per_year=outages.lost_h_per_year(retention, unsaved),
        saved_fraction=(1 - unsaved) * (1 - missed),
    )


def retention_h_for_fraction(
    law: str, numbers: Sequence[Any], saved_fraction: Numbers, *, unsaved_fraction: Numbers = 0.0
) -> Values:
    r"""Retention that saves an asked share of the footage of outages: an inverse of :func:`outage_figures`.

    Parameters
    ----------
    law : str
        Law of the length of an outage, a key of ``edgestore.models.outage.saved.LAWS``.
    numbers : sequence of float or array_like
        What the law is stated by, hours or a ratio, as for :func:`edgestore.models.outage.saved.repair_law`.
    saved_fraction : float or array_like
        Share of the footage of outages that is to be saved, 0 to 1.
    unsaved_fraction : float or array_like
        Share of outages in which the card saves nothing, 0 to 1.

    Returns
    -------
    float or ndarray
        Retention in h, of the broadcast shape; infinite where no card saves so much.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    The root R of

    .. math:: (1 - \text{unsaved}) \left( 1 - \frac{E[(D - R)^+]}{E[D]} \right) = \text{asked}

    for an outage D. Exponential, with none unsaved: ``-mean ln(1 - asked)``. How often the
    recorder fails does not matter. To be fetched over a slow link the card must hold ``1 / min(1, s)`` times as much:
    :func:`edgestore.models.outage.useful_retention_h`.

    References
    ----------
    As for :class:`edgestore.models.outage.Outages`.

    Examples
    --------
    >>> print(f"{retention_h_for_fraction('exponential', [24], 0.95):.1f}")
    71.9
    """
    wanted = checks.fraction("saved_fraction", saved_fraction)
    unsaved = checks.fraction("unsaved_fraction", unsaved_fraction)
    checks.broadcastable(saved_fraction=wanted, unsaved_fraction=unsaved)
    within_reach = np.asarray(wanted <= 1 - np.asarray(unsaved))
    share = np.minimum(wanted / np.where(np.asarray(unsaved) < 1, 1 - np.asarray(unsaved), 1.0), 1.0)
    hours = repair_law(law, numbers).hours_for_fraction(share)
    return np.where(within_reach, hours, np.inf)[()]


def capacity_gb_for_fraction(
    law: str,
    numbers: Sequence[Any],
    saved_fraction: Numbers,
    *,
    bitrate_mbit_s: Numbers,
    recorded_fraction: Numbers = 1.0,
    usable_fraction: Numbers = 1.0,
    unsaved_fraction: Numbers = 0.0,
) -> Values:
    r"""Capacity that saves an asked share of the footage of outages.

    Parameters
    ----------
    law : str
        Law of the length of an outage, a key of ``edgestore.models.outage.saved.LAWS``.
    numbers : sequence of float or array_like
        What the law is stated by, hours or a ratio, as for :func:`edgestore.models.outage.saved.repair_law`.
    saved_fraction : float or array_like
        Share of the footage of outages that is to be saved, 0 to 1.
    bitrate_mbit_s : float or array_like
        Mean rate while recording, Mbit/s, above 0.
    recorded_fraction : float or array_like
        Fraction of time recorded during an outage, above 0 and at most 1.
    usable_fraction : float or array_like
        Fraction of the capacity that formatting and firmware leave, above 0 and at most 1.
    unsaved_fraction : float or array_like
        Share of outages in which the card saves nothing, 0 to 1.

    Returns
    -------
    float or ndarray
        Capacity printed on the card, GB, of the broadcast shape; infinite where no card saves so much.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{capacity} = \frac{R \times \text{rate} \times 0.45\,\mathrm{GB/h} \times
        \text{recorded}}{\text{usable}}

    with R the :func:`retention_h_for_fraction`: :func:`edgestore.models.retention.capacity_gb_for_retention` of it.

    References
    ----------
    As for those functions.

    Examples
    --------
    >>> print(f"{capacity_gb_for_fraction('exponential', [24], 0.95, bitrate_mbit_s=4):.0f}")
    129
    """
    an_hour_gb = capacity_gb_for_retention(
        1.0, bitrate_mbit_s, recorded_fraction=recorded_fraction, usable_fraction=usable_fraction
    )
    retention = retention_h_for_fraction(law, numbers, saved_fraction, unsaved_fraction=unsaved_fraction)
    checks.broadcastable(  # here, since the retention has no labels
        saved_fraction=saved_fraction,
        bitrate_mbit_s=bitrate_mbit_s,
        recorded_fraction=recorded_fraction,
        usable_fraction=usable_fraction,
        unsaved_fraction=unsaved_fraction,
        numbers=retention,
    )
    return np.asarray(retention * an_hour_gb)[()]
