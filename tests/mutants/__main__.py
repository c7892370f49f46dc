"""Does the suite notice a small fault in a model? ``python tests/mutants`` puts one in after another, and says.

The tests of the models, the answers and the plan, the doctests and the outside check values are collected once. What
each of them reaches is measured once, and again where a source or a file of tests has changed. A mutant is put in
effect in a forked child, which runs the tests that reach it until one fails. Results are kept in ``.mutants/`` by the
content of the source, so that a run that is ended goes on, and a second one tries what is new or alive.

The page ``docs/mutants.md`` is written at the end. The exit code is 1 where less than 95 % are killed, or one is alive
that ``equivalent.toml`` does not explain.
"""

import argparse
import os
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from explained import read_explained
from mutants_page import as_page, is_enough, judged
from source_changes import sources
from trials import Chosen, Trials

ROOT = Path(__file__).parents[2]
CHOSEN = (
    *("edgestore/models", "edgestore/answers"),
    *(f"edgestore/plan/{name}.py" for name in ("choice", "assured", "least_cost", "change_age")),
)
TESTS = (
    *("tests/models", "tests/answers", "tests/plan", "tests/mutants/outside_rows.py"),
    *("edgestore/models", "edgestore/answers", "edgestore/plan"),
    "tests/inputs/bench/test_check.py",  # of answers/card_check
)


def main() -> int:
    """Try the mutants, write the page, and say whether that is enough."""
    parser = argparse.ArgumentParser(prog="python tests/mutants", description=__doc__.partition("\n")[0])
    parser.add_argument("--per-module", type=int, default=15, help="mutants of each module, drawn by the seed; 0: all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1, help="mutants that are tried at a time")
    parser.add_argument("--only", default="", help="part of the path of the modules that are tried; the page has all")
    options = parser.parse_args()
    os.chdir(ROOT)
    folder = ROOT / ".mutants"
    folder.mkdir(exist_ok=True)
    files = tuple(sources(ROOT, CHOSEN))
    chosen = Chosen(files, options.per_module, options.seed, options.jobs)
    explained = read_explained()
    tried = replace(chosen, files=tuple(file for file in files if options.only in file))
    with tempfile.TemporaryDirectory() as temporary:
        quiet = ["-n0", "-q", "-s", "-p", "no:cacheprovider", "-p", "no:faulthandler"]
        trials = Trials(ROOT, folder, tried, set(explained))
        ended = pytest.main(
            [*quiet, "--hypothesis-profile=mutants", f"--basetemp={temporary}/t", *TESTS], plugins=[trials]
        )
    if ended:
        return int(ended)
    found, offered = judged(ROOT, folder, chosen, explained)
    (ROOT / "docs" / "mutants.md").write_text(as_page(found, offered, chosen, explained), encoding="utf-8")
    return 0 if is_enough(found) else 1


if __name__ == "__main__":
    sys.exit(main())
