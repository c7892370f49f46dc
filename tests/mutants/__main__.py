"""Does the suite notice a small fault in a model? ``python tests/mutants`` puts one in after another, and says.

The tests of the models, the answers and the plan, the doctests and the outside check values are collected once. What
each of them reaches is measured once, and again where a source or a file of tests has changed. A mutant is put in
effect in a forked child, which runs the tests that reach it until one fails. Results are kept in ``.mutants/`` by the
content of the source, so that a run that is ended goes on, and a second one tries what is new or alive.

``--held-out 4`` draws, by that seed, from all that no draw had before, and keeps what was noticed at this first try.

The page ``docs/mutants.md`` is written at the end. The exit code is 1 where less than 95 % are killed, or one is alive
that ``equivalent.toml`` does not explain.
"""

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

import pytest
from draws import HeldOut, keep_held_out, key, of_each_module, of_the_rest, read_held_out
from explained import read_explained
from in_effect import mutant_trees
from mutants_page import as_page, is_enough, judged
from source_changes import sources
from trials import ALIVE, KILLED, Chosen, Trials

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
    parser.add_argument("--held-out", type=int, help="seed of a further draw from all that no draw had before")
    parser.add_argument("--count", type=int, default=400, help="mutants of that draw")
    parser.add_argument("--again", action="store_true", help="try those alone that were alive, with the tests of now")
    parser.add_argument("--explained", action="store_true", help="try those that are explained; none may be killed")
    parser.add_argument("--jobs", type=int, default=1, help="mutants that are tried at a time")
    parser.add_argument("--only", default="", help="part of the path of the modules that are tried; the page has all")
    options = parser.parse_args()
    held_out = read_held_out()
    if options.held_out is not None and (options.only or options.held_out in {draw.seed for draw in held_out}):
        parser.error("--held-out takes a seed that was not drawn before, and mutants of all modules")
    os.chdir(ROOT)
    folder = ROOT / ".mutants"
    folder.mkdir(exist_ok=True)
    offered = {file: [mutant for mutant, _ in mutant_trees(ROOT, file)] for file in sources(ROOT, CHOSEN)}
    explained = read_explained()
    first = of_each_module(offered, options.per_module, options.seed)
    draws = [(draw.seed, draw.count) for draw in held_out]
    if options.held_out is not None:
        draws.append((options.held_out, options.count))
    further = of_the_rest(offered, first, draws)
    drawn = first.union(*further)
    to_try = further[-1] if options.held_out is not None else drawn
    if options.again:
        to_try = {one.mutant for one in judged(ROOT, folder, drawn, explained) if one.outcome == ALIVE}
    if options.explained:
        to_try = {mutant for mutants in offered.values() for mutant in mutants if key(mutant) in explained}
    chosen = Chosen(tuple(file for file in offered if options.only in file), to_try, options.jobs)
    with tempfile.TemporaryDirectory() as temporary:
        quiet = ["-n0", "-q", "-s", "-p", "no:cacheprovider", "-p", "no:faulthandler"]
        trials = Trials(ROOT, folder, chosen, set() if options.explained else set(explained))
        ended = pytest.main(
            [*quiet, "--hypothesis-profile=mutants", f"--basetemp={temporary}/t", *TESTS], plugins=[trials]
        )
    if ended:
        return int(ended)
    if options.explained:
        wrong = [one.mutant for one in judged(ROOT, folder, to_try, {}) if one.outcome == KILLED]
        for mutant in wrong:
            print(f"explained, but killed: {mutant.file} {mutant.function}: {mutant.change}")
        return 1 if wrong else 0
    if options.held_out is not None:
        first_try = judged(ROOT, folder, further[-1], explained)
        alive = tuple(key(one.mutant) for one in first_try if one.outcome != KILLED)
        killed, today = len(first_try) - len(alive), time.strftime("%Y-%m-%d")
        held_out.append(HeldOut(options.held_out, options.count, today, killed, alive))
        keep_held_out(held_out)
    found = judged(ROOT, folder, drawn, explained)
    how = f"at most {options.per_module} of each module, by seed {options.seed}" if options.per_module else "all"
    if options.per_module:
        how += "".join(f", then {draw.count} of the rest, by seed {draw.seed}" for draw in held_out)
    counts = {file: len(mutants) for file, mutants in offered.items()}
    page = as_page(found, counts, how, held_out, explained)
    (ROOT / "docs" / "mutants.md").write_text(page, encoding="utf-8")
    return 0 if is_enough(found) else 1


if __name__ == "__main__":
    sys.exit(main())
