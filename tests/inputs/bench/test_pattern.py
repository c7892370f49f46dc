"""The pattern differs at every place, and a block tells what it is."""

from hypothesis import given
from hypothesis import strategies as st

from edgestore.inputs.bench.pattern import BLOCK_BYTES, Fault, Pattern

blocks = st.integers(0, 2**40)


def made(seed, block, count=1):
    data = memoryview(bytearray(count * BLOCK_BYTES))
    Pattern(seed).write(data, block)
    return data


def wrong(seed, data, block):
    return Pattern(seed).wrong(data, block, memoryview(bytearray(len(data))))


@given(st.integers(0, 2**62), blocks, blocks)
def test_two_places_differ_and_one_is_always_the_same(seed, one, other):
    assert made(seed, one) == made(seed, one)
    assert one == other or made(seed, one) != made(seed, other)


@given(st.integers(0, 2**62), blocks, blocks)
def test_what_was_written_for_another_place_is_known_by_it(seed, block, other):
    found = wrong(seed, made(seed, other), block)
    if block == other:
        assert found == []
    else:
        [one] = found
        assert (one.fault, one.block, one.holds) == (Fault.WRAPPED, block, other)


@given(blocks, st.integers(0, 8 * BLOCK_BYTES - 1))
def test_any_flipped_bit_is_found_and_counted(block, bit):
    data = made(7, block, 3)
    data[BLOCK_BYTES + bit // 8] ^= 1 << bit % 8
    [one] = wrong(7, data, block)
    assert (one.fault, one.block, one.bits) == (Fault.CORRUPT, block + 1, 1)


def test_what_was_never_written_and_what_another_seed_wrote_are_told_apart():
    assert wrong(7, memoryview(bytearray(BLOCK_BYTES)), 5)[0].fault is Fault.LOST
    assert wrong(7, memoryview(bytearray(b"\xff" * BLOCK_BYTES)), 5)[0].fault is Fault.LOST
    assert wrong(7, made(8, 5), 5)[0].fault is Fault.CORRUPT
