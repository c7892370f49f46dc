"""Draws published check values by chance, to be looked up anew: ``python tests/second_reading.py SEED``.

What the last draw found stands in docs/verification_second_reading.md.
"""

import argparse
import random

from edgestore.verification import Check, own_check_files, read_checks


def drawn(seed: int, count: int) -> list[Check]:
    """Draw ``count`` of the published checks, the same ones for the same seed and the same checks."""
    published = [check for check in read_checks(own_check_files()) if check.kind == "published"]
    return random.Random(seed).sample(published, count)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("seed", type=int)
    parser.add_argument("--count", type=int, default=20)
    arguments = parser.parse_args()
    for number, check in enumerate(drawn(arguments.seed, arguments.count), start=1):
        print(f"{number}. {check.file}: {check.fact}")
        print(f"   {check.quantity} {check.part} {check.inputs}")
        print(f"   {check.expected} +- {check.tolerance:g} {check.unit}")
        print(f"   {check.source}")
