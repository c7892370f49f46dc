"""Writes, endurance and life, against arithmetic by hand and published figures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import endurance_tbw_from_hours
from edgestore.models.wear import (
    endurance_tbw_from_cycles,
    life_years,
    passes_per_year,
    writes_gb_day,
    writes_tb_year,
    writes_tb_year_for_life,
)

capacities = st.floats(1, 4000)
rates = st.floats(0.01, 1000)
fractions = st.floats(0.001, 1)
endurances = st.floats(0.1, 1e5)


def test_1_mbit_s_writes_10_8_gb_a_day_and_3_94_tb_a_year():
    # 10^6 bit/s / 8 x 86 400 s = 10.8e9 bytes; x 365 d = 3.942 TB, x 365.25 d = 3.9447 TB.
    assert writes_gb_day(1) == pytest.approx(10.8, rel=1e-14)
    assert writes_tb_year(1) * 365 / 365.25 == pytest.approx(3.942, rel=1e-12)
    assert writes_tb_year(1) == pytest.approx(3.9447, rel=1e-12)


def test_a_quarter_of_the_time_writes_a_quarter():
    assert writes_gb_day(4, 0.25) == pytest.approx(10.8, rel=1e-14)
    assert writes_tb_year(4, 0.25) == pytest.approx(3.9447, rel=1e-12)


def test_128_gb_of_3000_cycles_bear_384_tb():
    # A trade article on terabytes written: 128 GB x 3000 cycles at a write amplification of 1.
    assert endurance_tbw_from_cycles(128, 3000) == pytest.approx(384, rel=1e-14)


def test_small_writes_into_large_pages_cut_the_endurance():
    # The same article: 512 bytes into a page of 8 kB is an amplification of 16. 384 / 16 = 24 TB.
    assert endurance_tbw_from_cycles(128, 3000, write_amplification=8192 / 512) == pytest.approx(24, rel=1e-14)


@pytest.mark.parametrize(("hours", "tb"), [(10_000, 117), (20_000, 234)])
def test_a_rating_in_hours_at_26_mbit_s_is_a_volume(hours, tb):
    # 10 000 h x 3600 s x 26e6 bit/s / 8 = 117e12 bytes.
    assert endurance_tbw_from_hours(hours, 26) == pytest.approx(tb, rel=1e-14)


def test_at_its_rated_rate_a_card_lasts_its_rated_hours():
    # 20 000 h / 8766 h a year = 2.28154 years.
    assert life_years(endurance_tbw_from_hours(20_000, 26), 26) == pytest.approx(2.28154, abs=5e-6)


def test_64_gb_are_written_over_246_times_a_year_at_4_mbit_s():
    # 4 x 3.9447 TB = 15 778.8 GB; / 64 GB = 246.54.
    assert passes_per_year(64, 4) == pytest.approx(246.54375, rel=1e-12)


def test_life_of_a_card_of_known_cycles_and_amplification():
    # 128 GB x 3000 / 1.1 = 349.0909 TB; / (4 x 3.9447 TB a year) = 22.1240 years.
    endurance = endurance_tbw_from_cycles(128, 3000, 1.1)
    assert life_years(endurance, 4) == pytest.approx(22.1240, abs=5e-5)
    assert life_years(endurance, 4, recorded_fraction=0.5) == pytest.approx(44.2480, abs=1e-4)


@given(capacities.filter(lambda gb: gb <= 2000), st.floats(1, 1e5), rates, fractions)
def test_twice_the_capacity_halves_the_passes_and_doubles_the_life(capacity, cycles, rate, recorded):
    passes = passes_per_year(capacity, rate, recorded)
    assert passes_per_year(2 * capacity, rate, recorded) == pytest.approx(passes / 2, rel=1e-12)
    life = life_years(endurance_tbw_from_cycles(capacity, cycles), rate, recorded)
    twice = life_years(endurance_tbw_from_cycles(2 * capacity, cycles), rate, recorded)
    assert twice == pytest.approx(2 * life, rel=1e-12)


@given(capacities, st.floats(1, 1e5), rates, fractions)
def test_a_life_of_passes_is_the_cycles(capacity, cycles, rate, recorded):
    life = life_years(endurance_tbw_from_cycles(capacity, cycles), rate, recorded)
    assert life * passes_per_year(capacity, rate, recorded) == pytest.approx(cycles, rel=1e-12)


@given(endurances, rates, fractions)
def test_the_volume_a_year_for_the_life_is_the_volume_a_year(endurance, rate, recorded):
    life = life_years(endurance, rate, recorded)
    assert writes_tb_year_for_life(endurance, life) == pytest.approx(writes_tb_year(rate, recorded), rel=1e-12)


@given(endurances, rates.filter(lambda rate: rate <= 125))
def test_a_rate_in_bytes_taken_for_bits_is_wrong_by_a_factor_of_8(endurance, rate):
    assert life_years(endurance, rate) == pytest.approx(8 * life_years(endurance, 8 * rate), rel=1e-12)


def test_life_falls_with_rate_recorded_time_and_amplification_and_grows_with_endurance():
    grid = np.linspace(0.01, 1, 300)
    assert np.all(np.diff(life_years(100, 1000 * grid)) < 0)
    assert np.all(np.diff(life_years(100, 4, grid)) < 0)
    assert np.all(np.diff(life_years(100 * grid, 4)) > 0)
    assert np.all(np.diff(endurance_tbw_from_cycles(64, 3000, 1 + grid)) < 0)
    assert np.all(np.diff(writes_tb_year_for_life(100, grid)) < 0)
