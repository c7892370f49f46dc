"""Registers put together field by field, by the bit numbers of the specification."""

from edgestore.models.registers import crc7


def register(bits: int, fields: dict[tuple[int, int], int]) -> str:
    """Put a register together from the numbers of its fields, by their highest and lowest bit."""
    value = 0
    for (high, low), number in fields.items():
        assert 0 <= number < 2 ** (high - low + 1)
        value |= number << low
    return f"{value:0{bits // 4}x}"


def closed(digits: str) -> str:
    """Close a register with its checksum and the bit that is always 1."""
    return f"{digits[:-2]}{crc7(digits[:-2]) * 2 + 1:02x}"
