"""What temperature does to flash: a factor between two temperatures, and how long an unpowered card keeps its data."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values

BOLTZMANN_EV_PER_K = 8.617333262e-5
"""CODATA 2018."""

KELVIN_AT_0_C = 273.15

DETRAPPING_EV = 1.1
"""Activation energy of charge that leaks from flash cells (JEDEC JESD218 and JEP122, from memory). Other mechanisms
have other energies, and the apparent one of three-dimensional flash varies."""

KEPT_YEARS, KEPT_C = 1.0, 30.0
"""What JEDEC JESD218B asks of drives of the client class at the end of their endurance: data kept for a year at 30
degrees Celsius without power. A card meets it only where its data sheet says so."""


def arrhenius_factor(use_c: Numbers, stress_c: Numbers, activation_ev: Numbers = DETRAPPING_EV) -> Values:
    r"""How many times faster a thermally driven process runs at one temperature than at another.

    Parameters
    ----------
    use_c : float or array_like
        Temperature in use, degrees Celsius, -60 to 200.
    stress_c : float or array_like
        Temperature compared with it, degrees Celsius, -60 to 200.
    activation_ev : float or array_like
        Activation energy, eV, above 0 and at most 3: it decides the ratio.

    Returns
    -------
    float or ndarray
        Rate at ``stress_c`` over rate at ``use_c``, a plain ratio, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{factor} =
        \exp\left( \frac{E_a}{k} \left( \frac{1}{T_\text{use}} - \frac{1}{T_\text{stress}} \right) \right)

    with the activation energy, eV, k = 8.617333262e-5 eV/K and the temperatures in kelvin. One mechanism with one
    energy, which real flash is not: between 40 and 100 degrees Celsius, where the formula says 702 at 1.1 eV, 13 was
    measured (Hetzler 2014). Compare with it, set no date by it. It speaks of keeping data, not of program/erase cycles:
    those wear by another mechanism.

    References
    ----------
    Hetzler 2014 for 702 and 13; JEDEC JEP122 (from memory).

    Examples
    --------
    >>> print(f"{arrhenius_factor(25, 30):.2f}")
    2.03
    """
    use, stress = _temperature("use_c", use_c), _temperature("stress_c", stress_c)
    energy = _energy(activation_ev)
    checks.broadcastable(use_c=use, stress_c=stress, activation_ev=energy)
    return np.exp(energy / BOLTZMANN_EV_PER_K * (1 / (use + KELVIN_AT_0_C) - 1 / (stress + KELVIN_AT_0_C)))


def equivalent_temperature_c(temperatures_c: Numbers, hours: Numbers, activation_ev: Numbers = DETRAPPING_EV) -> Values:
    r"""Steady temperature at which as much happens as under a temperature that changes.

    Parameters
    ----------
    temperatures_c : array_like
        Temperature in each part of the time, degrees Celsius, -60 to 200.
    hours : array_like
        Length of each part, h, 0 or more, with a sum above 0; same last axis.
    activation_ev : float or array_like
        Activation energy, eV, above 0 and at most 3: it decides the ratio of rates. Shape without the last axis.

    Returns
    -------
    float or ndarray
        Temperature in degrees Celsius; the last axis is averaged away.

    Raises
    ------
    InputError
        When a number is missing or out of range, or all parts have no length.

    Notes
    -----
    .. math:: T_\text{mean} = \left( -\frac{k}{E_a} \ln
        \frac{\sum_i \text{hours}_i\, e^{-E_a / (k T_i)}}{\sum_i \text{hours}_i} \right)^{-1} - 273.15

    with the temperatures T in kelvin, k and the activation energy as for :func:`arrhenius_factor`. The rate is
    averaged, not the temperature: the hot hours decide. Limits as for
    :func:`arrhenius_factor`. How warm it is inside a camera is yours to measure: no published figure was found.

    References
    ----------
    Arithmetic on the Arrhenius law.

    Examples
    --------
    >>> print(f"{equivalent_temperature_c([25, 55], [12, 12]):.1f}")
    49.4
    """
    temperature = _temperature("temperatures_c", temperatures_c)
    length = checks.in_range("hours", hours, "h", at_least=0)
    energy = np.asarray(_energy(activation_ev))
    checks.broadcastable(temperatures_c=temperature, hours=length, activation_ev=energy[..., np.newaxis])
    kelvin, length = np.broadcast_arrays(np.asarray(temperature) + KELVIN_AT_0_C, length)
    if np.any(length.sum(axis=-1) <= 0):
        raise checks.refuse("hours", "parts that sum to 0 h", "parts that sum to more than 0 h")
    hottest = kelvin.max(axis=-1)
    per_k = energy / BOLTZMANN_EV_PER_K
    rates = np.exp(per_k[..., np.newaxis] * (1 / hottest[..., np.newaxis] - 1 / kelvin))
    mean_rate = (rates * length).sum(axis=-1) / length.sum(axis=-1)
    return 1 / (1 / hottest - np.log(mean_rate) / per_k) - KELVIN_AT_0_C


def unpowered_keep_years(
    storage_c: Numbers,
    *,
    rated_years: Numbers = KEPT_YEARS,
    rated_c: Numbers = KEPT_C,
    activation_ev: Numbers = DETRAPPING_EV,
) -> Values:
    r"""How long a worn card keeps its data without power, by a stated time and the Arrhenius law: no guarantee.

    Parameters
    ----------
    storage_c : float or array_like
        Temperature of the store, degrees Celsius, -60 to 200.
    rated_years : float or array_like
        Time stated for a card at the end of its endurance, years, above 0.
    rated_c : float or array_like
        Temperature at which that holds, degrees Celsius, -60 to 200.
    activation_ev : float or array_like
        Activation energy, eV, above 0 and at most 3: it decides the ratio of rates.

    Returns
    -------
    float or ndarray
        Time in years, of the broadcast shape: to compare stores with, never a date.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    .. math:: \text{time} = \text{rated time} \times \exp\left( \frac{E_a}{k} \left( \frac{1}{T_\text{storage}}
        - \frac{1}{T_\text{rated}} \right) \right)

    with the factor of :func:`arrhenius_factor`, temperatures in kelvin. What the standard states is the rated time at
    the rated temperature, for drives that are rated under it; memory cards are not unless they say so. All else is the
    model's, whose limits stand at :func:`arrhenius_factor`; cells also lose charge within hours of writing, which it
    leaves out (DOI 10.1145/3224432). Footage wanted as evidence is copied off the card and checked, at once.

    References
    ----------
    JEDEC JESD218B for the year at 30 degrees Celsius.

    Examples
    --------
    >>> print(f"{unpowered_keep_years(30):.2f} {unpowered_keep_years(40):.2f}")
    1.00 0.26
    """
    years = checks.in_range("rated_years", rated_years, "years", above=0)
    storage, rated = _temperature("storage_c", storage_c), _temperature("rated_c", rated_c)
    energy = _energy(activation_ev)
    checks.broadcastable(storage_c=storage, rated_years=years, rated_c=rated, activation_ev=energy)
    return years * arrhenius_factor(storage, rated, energy)


def _temperature(name: str, value: Numbers) -> Values:
    mend = "Kelvin less 273.15 are degrees Celsius."
    return checks.in_range(name, value, "degrees Celsius", at_least=-60, at_most=200, mend=mend)


def _energy(value: Numbers) -> Values:
    mend = "An energy in kJ/mol is divided by 96.5."
    return checks.in_range("activation_ev", value, "eV", above=0, at_most=3, mend=mend)
