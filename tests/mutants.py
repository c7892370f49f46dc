"""Seeded mutants of the models: does the suite notice a wrong sign, factor, comparison or default?

``python tests/mutants.py --count 100`` copies the tree and changes one operator or number of one function of the models
at a time. It runs the tests named after the function's module with its doctests, then all tests of the models and the
outside check values, and prints whether one of them failed. ``--tree`` names another checkout: the same seed chooses
the same mutants there, as far as both have them, so that two states of the suite can be compared.
"""

import argparse
import ast
import os
import random
import resource
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

import pytest

# What the tests import, here once for all mutants: to import it takes longer than most tests.
for _library in ("pandas", "scipy.integrate", "scipy.optimize", "scipy.stats"):
    import_module(_library)

SWAPS: dict[type, type] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Lt: ast.GtE,
    ast.GtE: ast.Lt,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
}
MODELS = Path("edgestore", "models")
MOST_CPU_S = 600
"""A mutant that runs longer never ends, and is noticed."""
MOST_BYTES = 8_000_000_000
"""A mutant that wants more memory is noticed too."""
UNABLE = 100
"""How a child ends in which pytest itself could not run."""


@dataclass(frozen=True, order=True)
class Mutant:
    """One change in one function; its file is not part of it, since files move."""

    function: str
    place: int
    change: str


def changes(function: ast.FunctionDef) -> Iterator[tuple[ast.AST, str]]:
    """Give every place of a function that can be changed, in a fixed order, and the change in words."""
    for node in ast.walk(function):
        if isinstance(node, ast.BinOp) and type(node.op) in SWAPS:
            yield node, f"{type(node.op).__name__} to {SWAPS[type(node.op)].__name__}"
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPS:
            yield node, f"{type(node.ops[0]).__name__} to {SWAPS[type(node.ops[0])].__name__}"
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield node, f"{node.value:g} to {moved(node.value):g}"


def moved(number: float) -> float:
    return number * 1.1 + 0.1


def functions(tree: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Give the functions and methods of a file, by name."""
    for node in tree.body:
        owner, inner = (f"{node.name}.", node.body) if isinstance(node, ast.ClassDef) else ("", [node])
        yield from ((owner + item.name, item) for item in inner if isinstance(item, ast.FunctionDef))


def mutants(tree: Path) -> dict[Mutant, Path]:
    """Give all mutants of the models of a tree, each with its file."""
    return {
        Mutant(name, place, change): path
        for path in sorted((tree / MODELS).rglob("*.py"))
        for name, function in functions(ast.parse(path.read_text(encoding="utf-8")))
        for place, (_, change) in enumerate(changes(function))
    }


def mutated(source: str, mutant: Mutant) -> str:
    """Give the source of a file with one mutant in it."""
    tree = ast.parse(source)
    node, _ = list(changes(dict(functions(tree))[mutant.function]))[mutant.place]
    if isinstance(node, ast.BinOp):
        node.op = SWAPS[type(node.op)]()
    elif isinstance(node, ast.Compare):
        node.ops[0] = SWAPS[type(node.ops[0])]()
    elif isinstance(node, ast.Constant):
        node.value = moved(node.value)
    return ast.unparse(tree)


def fails(tree: Path, tests: list[str]) -> bool:
    """Run tests of a tree in a child that has imported the libraries already; say whether one failed or never ended."""
    child = os.fork()
    if child == 0:
        ended = UNABLE
        try:
            with Path(os.devnull).open("w") as nowhere:
                os.dup2(nowhere.fileno(), 1)
                os.dup2(nowhere.fileno(), 2)
            os.chdir(tree)
            sys.path[0] = str(tree)
            sys.dont_write_bytecode = True
            resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_S, MOST_CPU_S))
            resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))  # a loop without end may fill the machine
            ended = pytest.main(["-n0", "-q", "-x", "-p", "no:cacheprovider", *tests])
        finally:
            os._exit(ended)
    _, status = os.waitpid(child, 0)
    ended = os.waitstatus_to_exitcode(status)
    if ended > 2 and ended != pytest.ExitCode.NO_TESTS_COLLECTED:
        raise RuntimeError(f"pytest ended with {ended} on {tests}")
    return ended not in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)


def tests_of(tree: Path, path: Path) -> Iterator[list[str]]:
    """Give the tests of a file of the models, those that fail soonest first."""
    own = (tree / "tests" / "models").rglob(f"test_{path.stem.removeprefix('_')}*.py")
    yield [*sorted(map(str, own)), str(path)]
    yield ["tests/models", "tests/verification/test_own_checks.py", "-k", "not up_to_date and not moved_beyond"]


def main() -> None:
    """Try the mutants and say of each whether a test failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--tree", type=Path, default=Path(__file__).parents[1])
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tree = Path(folder) / "tree"
        shutil.copytree(options.tree, tree, ignore=shutil.ignore_patterns(".git", ".venv", ".hypothesis"))
        offered = mutants(tree)
        chosen = sorted(offered, key=lambda mutant: random.Random(f"{options.seed} {mutant}").random())[: options.count]
        killed = 0
        for mutant in chosen:
            path = offered[mutant]
            source = path.read_text(encoding="utf-8")
            path.write_text(mutated(source, mutant), encoding="utf-8")
            is_killed = any(fails(tree, tests) for tests in tests_of(tree, path))
            path.write_text(source, encoding="utf-8")
            killed += is_killed
            print("killed" if is_killed else "ALIVE ", mutant.function, mutant.place, mutant.change, flush=True)
    print(f"{killed} of {len(chosen)} mutants killed")


if __name__ == "__main__":
    main()
