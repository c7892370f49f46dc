"""The Arrhenius law against published factors, and what it must do whatever the numbers."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.wear import arrhenius_factor, equivalent_temperature_c, unpowered_keep_years
from edgestore.models.wear.heat import DETRAPPING_EV

temperatures = st.floats(-40, 125)
energies = st.floats(0.1, 1.5)


@pytest.mark.parametrize(
    ("use_c", "stress_c", "activation_ev", "factor", "digits"),
    [
        (40, 100, 1.1, 702, 0.5),  # Hetzler 2014
        (35, 70, 0.323, 3.46, 0.005),  # Yang 2007, Example 7.1
        (60, 100, 1.2, 88.295746, 1e-4),  # documentation of the library reliability
        (25, 30, 1.1, 2.026, 5e-4),  # a table of JEDEC's has 105 / 52 weeks = 2.02
    ],
)
def test_published_factors(use_c, stress_c, activation_ev, factor, digits):
    assert arrhenius_factor(use_c, stress_c, activation_ev) == pytest.approx(factor, abs=digits)


@pytest.mark.parametrize(("bake_h", "bake_c"), [(96, 66), (500, 52)])
def test_the_bakes_of_the_standard_stand_for_a_year_at_30_degrees(bake_h, bake_c):
    # JESD218: 96 h at 66 and 500 h at 52 degrees Celsius. The formula closes within 5 %: 0.957 and 0.986 of 8766 h.
    assert unpowered_keep_years(bake_c) * 8766 == pytest.approx(bake_h, rel=0.05)


def test_half_the_time_at_25_and_half_at_55_acts_as_49_4():
    assert equivalent_temperature_c([25, 55], [1, 1]) == pytest.approx(49.4, abs=0.05)


@given(temperatures, temperatures, temperatures, energies)
def test_two_steps_are_one_and_there_and_back_is_none(first, second, third, energy):
    both = arrhenius_factor(first, second, energy) * arrhenius_factor(second, third, energy)
    assert both == pytest.approx(arrhenius_factor(first, third, energy), rel=1e-9)
    assert arrhenius_factor(first, first, energy) == 1


@given(temperatures, st.floats(0.1, 70), energies)
def test_warmer_is_faster_and_keeps_less_long(storage, warmer, energy):
    assert arrhenius_factor(storage, storage + warmer, energy) > 1
    assert unpowered_keep_years(storage + warmer, activation_ev=energy) < unpowered_keep_years(
        storage, activation_ev=energy
    )


@given(temperatures, st.floats(0.1, 10), temperatures, energies)
def test_at_the_rated_temperature_the_time_is_the_rated_one(rated_c, years, storage, energy):
    assert unpowered_keep_years(rated_c, rated_years=years, rated_c=rated_c, activation_ev=energy) == years
    twice = unpowered_keep_years(storage, rated_years=2 * years, rated_c=rated_c, activation_ev=energy)
    assert twice == pytest.approx(
        2 * unpowered_keep_years(storage, rated_years=years, rated_c=rated_c, activation_ev=energy), rel=1e-12
    )


@given(st.lists(st.tuples(temperatures, st.floats(0.1, 24)), min_size=1, max_size=6), energies)
def test_the_equivalent_temperature_lies_between_the_mean_and_the_hottest(parts, energy):
    celsius, hours = np.array(parts).T
    one = equivalent_temperature_c(celsius, hours, energy)
    # 1 / T averages to a harmonic mean, from which the rates lift it.
    harmonic = hours.sum() / (hours / (celsius + 273.15)).sum() - 273.15
    assert harmonic - 1e-9 <= one <= celsius.max() + 1e-9


@given(st.lists(st.tuples(temperatures, st.floats(0.1, 24)), min_size=1, max_size=6), energies)
def test_as_much_happens_at_the_equivalent_temperature(parts, energy):
    celsius, hours = np.array(parts).T
    happened = (arrhenius_factor(25, celsius, energy) * hours).sum()
    steady = arrhenius_factor(25, equivalent_temperature_c(celsius, hours, energy), energy) * hours.sum()
    assert steady == pytest.approx(happened, rel=1e-9)


def test_days_stand_in_rows_and_energies_beside_them():
    days = np.array([[20.0, 30.0], [20.0, 50.0], [40.0, 50.0]])
    alone = [equivalent_temperature_c(day, [8, 16], energy) for day, energy in zip(days, [0.5, 1.1, 1.1], strict=True)]
    assert equivalent_temperature_c(days, [8, 16], [0.5, 1.1, 1.1]) == pytest.approx(alone, rel=1e-12)
    assert isinstance(equivalent_temperature_c([20, 30], [8, 16]), float)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: arrhenius_factor(298, 25),
            "use_c: is 298[^;]*; .*-60 or more and at most 200 degrees C.* Kelvin",
        ),
        (lambda: arrhenius_factor(25, -61), "stress_c: is -61"),
        (lambda: arrhenius_factor(25, 30, 0), "activation_ev: is 0 eV; must be above 0 and at most 3 eV"),
        (lambda: arrhenius_factor(25, 30, 106), "activation_ev: is 106[^;]*; .* kJ/mol is divided by 96.5"),
        (lambda: arrhenius_factor([20, 25], [30, 40, 50]), r"shapes: found use_c \(2,\), stress_c \(3,\)"),
        (lambda: unpowered_keep_years(float("nan")), "storage_c: is nan"),
        (lambda: unpowered_keep_years(25, rated_years=0), "rated_years: is 0 years; must be above 0 years"),
        (lambda: unpowered_keep_years(25, rated_years=1, rated_c=300), "rated_c: is 300"),
        (lambda: equivalent_temperature_c(["warm"], [1]), "temperatures_c: is 'warm'"),
        (lambda: equivalent_temperature_c([20, 30], [0, 0]), "hours: found parts that sum to 0 h"),
        (lambda: equivalent_temperature_c([20, 30], [[1, 2], [0, 0]]), "hours: found parts that sum to 0 h"),
        (lambda: equivalent_temperature_c([20, 30], [-1, 2]), "hours: is -1 h; must be 0 or more h"),
        (lambda: equivalent_temperature_c([20, 30, 40], [1, 2]), r"shapes: found temperatures_c \(3,\), hours \(2,\)"),
    ],
)
def test_what_cannot_be_is_refused_by_name(call, message):
    with pytest.raises(InputError, match=message):
        call()


def test_only_the_shares_of_the_time_count():
    assert equivalent_temperature_c([25, 55], [0.25, 0.25]) == pytest.approx(equivalent_temperature_c([25, 55], [9, 9]))


def test_where_no_energy_is_said_it_is_that_of_charge_that_leaks():
    assert arrhenius_factor(40, 55) == arrhenius_factor(40, 55, DETRAPPING_EV)
