"""Every conversion factor of the library; no other file holds one.

Prefixes are decimal, as cards are sold and as speed classes are defined: 1 GB is 10^9 bytes. A binary size
(GiB) appears only where an operating system shows one. Multiply by a factor named ``A_PER_B`` to turn a
number of B into a number of A.
"""

BITS_PER_BYTE = 8
BYTES_PER_MB = 1e6
BYTES_PER_GB = 1e9
BYTES_PER_GIB = 2.0**30
BYTES_PER_KIB = 2.0**10
KIB_PER_MIB = 2.0**10
GB_PER_TB = 1e3
KBIT_PER_MBIT = 1e3
BITS_PER_MBIT = 1e6
PERCENT_PER_ONE = 100.0

MS_PER_S = 1e3
S_PER_MIN = 60.0
S_PER_H = 3600.0
H_PER_DAY = 24.0
H_PER_WEEK = 168
DAYS_PER_YEAR = 365.25
H_PER_YEAR = DAYS_PER_YEAR * H_PER_DAY

GIB_PER_GB = BYTES_PER_GB / BYTES_PER_GIB
MBYTE_PER_MBIT = 1 / BITS_PER_BYTE
KIB_PER_MBIT = BITS_PER_MBIT / BITS_PER_BYTE / BYTES_PER_KIB

GB_PER_H_AT_1_MBIT_S = S_PER_H * BITS_PER_MBIT / BITS_PER_BYTE / BYTES_PER_GB
"""0.45: the gigabytes that a stream of 1 Mbit/s writes in an hour."""
