"""Sites under laws drawn anew, and how many the loop finds: ``python tests/benchmarks/loop_closed.py [SITES [SEED]]``.

Of each site: random failures of its kinds of card, and the listed mean that is wrong, of a camera whose history was
saved. The bar is nine in ten; the interval beside each count is the exact binomial one (Clopper and Pearson), nineteen
in twenty.
"""

import shutil
import sys
import tempfile
from pathlib import Path

import numpy as np
from scipy.stats import binomtest

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS / "plan"), str(TESTS / "inputs")]

from varied_site import FIRST_FRESH, varied  # noqa: E402, the folders of tests are no package


def told(name, found):
    """Print a coverage with its interval."""
    found = np.asarray(found)
    interval = binomtest(int(found.sum()), len(found)).proportion_ci(method="exact")
    band = f"({interval.low:.3f} to {interval.high:.3f})"
    print(f"{name:46s} {found.sum():5d} of {len(found):5d}: {found.mean():.3f} {band}")


def main(sites, seed):
    """Run the sites and print what was found."""
    with tempfile.TemporaryDirectory() as folder:
        found = []
        for n in range(sites):
            place = Path(folder) / str(n)
            place.mkdir()
            found.append(varied(seed + n, place))
            shutil.rmtree(place)
            print(
                f"seed {seed + n}: random {found[-1].finds_random}, wrong mean {found[-1].finds_means[0]}", flush=True
            )
    wrong = np.array([of.finds_means[0] for of in found])
    told("random failures, first kind of each site", [of.finds_random[0] for of in found])
    told("wrong mean", wrong)
    told("both", wrong & [of.finds_random[0] for of in found])
    told("random failures, all kinds", np.concatenate([of.finds_random for of in found]))
    others = [(of.finds_means[1:], of.on_events[1:], of.has_history[1:]) for of in found]
    means, on_events, has_history = (np.concatenate(of) for of in zip(*others, strict=True))
    told("other means, without a break, with a history", means[~on_events & has_history])
    told("other means, without a break and history", means[~on_events & ~has_history])
    told("other means, on events with a history", means[on_events & has_history])
    told("other means, on events without a history", means[on_events & ~has_history])
    for name, of_row in (("random failures", "random"), ("wrong mean", "means")):
        rows = np.array([getattr(of, of_row)[0] for of in found])
        below, above = (rows[:, 0] < rows[:, 1]).sum(), (rows[:, 0] > rows[:, 2]).sum()
        width = np.median(rows[:, 2] / rows[:, 1])
        print(f"{name}: truth below the band {below}, above {above}; the band is a factor of {width:.2f} wide")


if __name__ == "__main__":
    main(*(int(word) for word in (sys.argv[1:] + ["100", str(FIRST_FRESH)][len(sys.argv) - 1 :])))
