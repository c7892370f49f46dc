"""numba is an extra: only the simulated card uses it, and counts the same without it."""

import subprocess
import sys

import pytest

WITHOUT = "import sys; sys.modules['numba'] = None\n"
"""Makes each later import of numba fail, as where it is not installed."""


def run(program: str) -> str:
    done = subprocess.run([sys.executable, "-c", WITHOUT + program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_all_modules_load_without_numba():
    run("""
import importlib, pkgutil, edgestore
for module in pkgutil.walk_packages(edgestore.__path__, "edgestore."):
    if not module.name.endswith("__main__"):
        importlib.import_module(module.name)
""")


def test_the_demo_site_is_planned_without_numba(tmp_path):
    arguments = [
        "plan",
        "data/ferry_terminal/cameras.csv",
        "--cards",
        "data/cards.csv",
        "--out",
        str(tmp_path / "plan"),
    ]
    run(f"from edgestore.__main__ import main; sys.exit(main({arguments}))")
    assert (tmp_path / "plan" / "plan.csv").exists()


@pytest.mark.parametrize("mapping", ["page", "unit", "unit with log"])
def test_the_simulated_card_counts_the_same_without_numba(mapping):
    program = f"""
from edgestore.models.wear.simulated_card import CardDesign, random_writes, simulate
card = CardDesign(8, 4, 4, {mapping!r}, levelling="dynamic", open_units=2)
run = simulate(card, random_writes(card.user_pages, 2000, seed=1), snapshots=3)
print(run.flash_pages.tolist(), run.erase_history.tolist())
"""
    compiled = subprocess.run(
        [sys.executable, "-c", "import sys\n" + program], capture_output=True, text=True, check=True
    )
    assert run(program) == compiled.stdout


def test_the_answer_without_numba_says_how_to_get_it():
    told = run("from edgestore import flash_use; print(flash_use('page', small_updates='no', passes=1).warnings)")
    assert "edgestore[simulation]" in told


def test_the_package_loads_neither_scipy_nor_pandas_nor_numba():
    loaded = subprocess.run(
        [
            sys.executable,
            "-c",
            "import edgestore, sys; print({'scipy.special', 'scipy.optimize', 'pandas', 'numba'} & {*sys.modules})",
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    assert loaded.stdout.strip() == "set()"
