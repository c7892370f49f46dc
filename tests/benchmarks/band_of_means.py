"""How wide the band of an ordinary mean is: ``python tests/benchmarks/band_of_means.py [CAMERAS]``, some 5 s."""

import sys
from pathlib import Path

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "plan"), str(TESTS / "inputs")]

from ordinary_means import BELIEVED, SITES, covered  # noqa: E402, the folders of tests are no package


def main(cameras):
    """Print in how many the truth is within the band, by the laws of the simulated sites and as is believed."""
    for name, laws in (("as the simulated sites", SITES), ("as is believed", BELIEVED)):
        alone, learnt, width = covered(1, laws, cameras)
        print(f"{name}: card alone {alone:.3f}, learnt {learnt:.3f}, band a factor of {width:.2f} wide")


if __name__ == "__main__":
    main(int((sys.argv[1:] or ["4000"])[0]))
