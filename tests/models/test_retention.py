"""How long a card holds at a steady rate, against arithmetic by hand and one published storage sum."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import retention_h
from edgestore.models.retention import bitrate_mbit_s_for_retention, capacity_gb_for_retention

capacities = st.floats(0.1, 4000)
rates = st.floats(0.01, 1000)
fractions = st.floats(0.001, 1)


def test_32_gb_hold_17_8_hours_of_4_mbit_s():
    # 32e9 bytes x 8 = 256e9 bits; / 4e6 bit/s = 64 000 s = 160/9 h.
    assert retention_h(32, 4) == pytest.approx(160 / 9, rel=1e-14)


def test_the_saying_of_40_hours_needs_a_mean_of_1_8_mbit_s():
    # 256e9 bits / (40 x 3600 s) = 1 777 778 bit/s: 0.444 of a cap of 4 Mbit/s.
    mean = bitrate_mbit_s_for_retention(40, 32)
    assert mean == pytest.approx(16 / 9, rel=1e-14)
    assert mean / 4 == pytest.approx(0.444, abs=5e-4)


def test_the_storage_sum_of_the_unified_facilities_criteria():
    # UFC 4-021-02NF (2006), section 4-8.2: 25 kB x 6 frames/s fill 389 GB in 30 days.
    # 0.15 MB/s = 1.2 Mbit/s; x 2 592 000 s = 388 800 MB.
    assert capacity_gb_for_retention(30 * 24, 25e3 * 8 * 6 / 1e6) == pytest.approx(388.8, rel=1e-12)


def test_a_quarter_of_the_time_recorded_holds_four_times_as_long():
    assert retention_h(32, 4, recorded_fraction=0.25) == pytest.approx(4 * 160 / 9, rel=1e-14)


def test_what_formatting_keeps_is_lost_to_retention():
    # A card sold as 32 GB with 31 914 983 424 bytes: x 8 / 4e6 bit/s = 63 829.97 s = 17.7305 h.
    held = retention_h(32, 4, usable_fraction=31_914_983_424 / 32e9)
    assert held == pytest.approx(17.7305, abs=5e-5)


def test_by_default_the_whole_card_is_used_all_the_time():
    assert retention_h(64, 2) == retention_h(64, 2, recorded_fraction=1, usable_fraction=1)
    assert capacity_gb_for_retention(9, 2) == capacity_gb_for_retention(9, 2, recorded_fraction=1, usable_fraction=1)
    assert bitrate_mbit_s_for_retention(9, 64) == bitrate_mbit_s_for_retention(
        9, 64, recorded_fraction=1, usable_fraction=1
    )


@given(capacities.filter(lambda gb: gb <= 2000), rates, fractions, fractions)
def test_twice_the_capacity_holds_twice_as_long(capacity, rate, recorded, usable):
    once = retention_h(capacity, rate, recorded, usable)
    assert retention_h(2 * capacity, rate, recorded, usable) == pytest.approx(2 * once, rel=1e-12)


@given(capacities, rates.filter(lambda rate: rate <= 125))
def test_a_rate_in_bytes_taken_for_bits_is_wrong_by_a_factor_of_8(capacity, rate):
    assert retention_h(capacity, rate) == pytest.approx(8 * retention_h(capacity, 8 * rate), rel=1e-12)


@given(capacities, rates, fractions, fractions)
def test_capacity_for_the_time_held_is_the_capacity(capacity, rate, recorded, usable):
    hours = retention_h(capacity, rate, recorded, usable)
    assert capacity_gb_for_retention(hours, rate, recorded_fraction=recorded, usable_fraction=usable) == pytest.approx(
        capacity, rel=1e-12
    )


@given(capacities, rates, fractions, fractions)
def test_rate_for_the_time_held_is_the_rate(capacity, rate, recorded, usable):
    hours = retention_h(capacity, rate, recorded, usable)
    assert bitrate_mbit_s_for_retention(
        hours, capacity, recorded_fraction=recorded, usable_fraction=usable
    ) == pytest.approx(rate, rel=1e-12)


def test_retention_falls_with_rate_and_recorded_time_and_grows_with_what_is_usable():
    grid = np.linspace(0.01, 1, 500)
    assert np.all(np.diff(retention_h(64, 1000 * grid)) < 0)
    assert np.all(np.diff(retention_h(64, 4, recorded_fraction=grid)) < 0)
    assert np.all(np.diff(retention_h(64, 4, usable_fraction=grid)) > 0)
    assert np.all(np.diff(retention_h(4000 * grid, 4)) > 0)


def test_every_capacity_meets_every_rate():
    # Hours: GB x 8000 / (Mbit/s x 3600).
    held = retention_h(np.array([[9.0], [18.0], [36.0]]), np.array([1.0, 2.0, 4.0, 8.0]))
    assert held == pytest.approx(np.array([[20, 10, 5, 2.5], [40, 20, 10, 5], [80, 40, 20, 10]]), rel=1e-14)
