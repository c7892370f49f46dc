"""Write amplification from a filled-in sheet, by either way, worked out by hand; and what is said of it."""

import pytest

from edgestore import InputError
from edgestore.answers.amplification import fitted_amplification

COUNTED = "host_tb = [0.4, 1.2, 2.0]\ncounter = [100, 124, 150]\ncounted_gb = 64\n"
# A reading each TB: 30 Mbyte/s up to 6 TB, 15 from 7 TB on.
WORN = f"host_tb = {list(range(1, 11))}\nmbyte_s = {[30] * 6 + [15] * 4}\ncapacity_gb = 64\npe_cycles = [100, 300]\n"


def fitted(text):
    return fitted_amplification(text.encode())


def test_by_the_counter_it_is_the_first_and_the_last_reading_give_or_take_a_step():
    # 50 cycles of 64 GB while 1.6 TB were written, a cycle either way: 49 x 64 / 1600 and 51 x 64 / 1600.
    made = fitted(COUNTED)
    assert made.by_counter == pytest.approx((1.96, 2.04))
    assert made.by_wear is None
    assert made.lines == (
        "By the erase counter: write amplification 1.96 to 2.04.",
        "Enter in the card list, beside pe_cycles: write_amplification_low = 1.96, write_amplification_high = 2.04.",
    )


def test_a_coarser_counter_and_looks_that_lie_apart_widen_the_range():
    # Shown in steps of 10 cycles: 40 x 64 / 1600 to 60 x 64 / 1600.
    assert fitted(COUNTED + "counter_step = 10").by_counter == pytest.approx((1.6, 2.4))
    # Watched until it changes, so that no step is lost, with a look every 100 GB: 50 x 64 over 1700 and over 1500.
    watched = fitted(COUNTED + "counter_step = 0\nhost_step_gb = 100").by_counter
    assert watched == pytest.approx((3200 / 1700, 3200 / 1500))


def test_by_wear_it_is_the_cycles_of_the_card_over_what_was_written_until_it_slowed_down():
    # 64 GB x 100 cycles over 7 TB, and x 300 over 6 TB.
    made = fitted(WORN)
    assert made.by_wear == pytest.approx((6.4 / 7, 3.2))
    assert made.by_counter is None
    assert made.lines == (
        "The rate fell from 30 to 15 Mbyte/s between 6 and 7 TB written.",
        "By wear to the slow-down: write amplification 0.914 to 3.2. A slow-down may have another cause.",
        "Enter in the card list, beside pe_cycles: write_amplification_low = 1, write_amplification_high = 3.2.",
    )


def test_a_card_may_bear_more_cycles_than_the_largest_card_has_gigabytes():
    # 64 GB x 6000 cycles over 7 TB, and x 10 000 over 6 TB.
    assert fitted(WORN.replace("[100, 300]", "[6000, 10000]")).by_wear == pytest.approx((384 / 7, 640 / 6))


def test_of_both_ways_the_counter_is_entered():
    both = WORN + f"counter = {[*range(100, 1000, 100), 1000]}\ncounted_gb = 64"
    made = fitted(both)
    # 900 cycles of 64 GB over 9 TB: 6.4, and a cycle either way.
    assert made.by_counter == pytest.approx((899 * 64 / 9000, 901 * 64 / 9000))
    assert len(made.lines) == 4
    assert made.lines[-1].endswith("write_amplification_low = 6.39, write_amplification_high = 6.41.")


@pytest.mark.parametrize(("cycles", "is_used"), [(23, False), (24, True)])
def test_below_1_it_is_not_to_be_used(cycles, is_used):
    # With a cycle more, 24 x 64 / 1600 = 0.96 and 25 x 64 / 1600 = 1.
    made = fitted(f"host_tb = [0, 1.6]\ncounter = [0, {cycles}]\ncounted_gb = 64")
    assert made.lines[-1].startswith("Enter in the card list" if is_used else "Warning: below 1")


def test_volumes_that_do_not_rise_are_refused():
    with pytest.raises(InputError, match="host_tb: found volumes that do not rise; allowed: rising volumes"):
        fitted("host_tb = [1.6, 1.6]\ncounter = [0, 24]\ncounted_gb = 64")


def test_less_than_a_gigabyte_may_have_been_written():
    # 10 cycles of 0.4 GB while 0.5 GB were written, a cycle either way.
    assert fitted("host_tb = [0, 0.0005]\ncounter = [0, 10]\ncounted_gb = 0.4").by_counter == pytest.approx((7.2, 8.8))
