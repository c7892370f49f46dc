"""The conversion factors, against the definitions of the SI prefixes, the byte and the Julian year."""

import pytest

from edgestore import units


def test_prefixes_are_decimal():
    assert units.BYTES_PER_GB == 10**9
    assert units.GB_PER_TB == 10**3
    assert units.BITS_PER_MBIT == 10**6
    assert units.KBIT_PER_MBIT == 10**3


def test_a_byte_has_eight_bits():
    assert units.BITS_PER_BYTE == 8
    assert units.MBYTE_PER_MBIT == 0.125


def test_one_mbit_is_122_kib():
    # 10^6 / 8 = 125 000 bytes; / 1024.
    assert units.KIB_PER_MBIT == 122.0703125


def test_only_the_gib_is_binary():
    assert units.BYTES_PER_GIB == 1024**3
    # 1000^3 / 1024^3 = 0.931323: the "missing 7 %" that an operating system shows.
    assert round(units.GIB_PER_GB, 6) == 0.931323
    # 300 GB = 279.397 GiB.
    assert round(300 * units.GIB_PER_GB, 3) == 279.397


def test_hours_days_and_years():
    assert units.S_PER_H == 60 * 60
    assert units.H_PER_DAY == 24
    assert units.H_PER_WEEK == 7 * 24
    # Four years of 365 days and one leap day.
    assert units.DAYS_PER_YEAR == (4 * 365 + 1) / 4


def test_one_mbit_s_writes_0_45_gb_in_an_hour():
    # 10^6 bit/s x 3600 s / 8 = 450 000 000 bytes.
    assert pytest.approx(0.45, rel=1e-15) == units.GB_PER_H_AT_1_MBIT_S
