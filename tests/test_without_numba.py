"""numba is an extra: only the simulated card uses it, and counts the same without it."""

import subprocess
import sys

import pytest

from edgestore.models.wear import CardDesign, random_writes, simulate
from edgestore.models.wear.mapping import MAPPINGS

WITHOUT = "import sys; sys.modules['numba'] = None\n"
"""Makes each later import of numba fail, as where it is not installed."""


def run(program: str) -> str:
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.landing
def test_all_modules_load_the_demo_site_is_planned_and_the_answer_says_how_to_get_numba(tmp_path):
    lists = ["data/ferry_terminal/cameras.csv", "--cards", "data/cards.csv"]
    arguments = ["plan", *lists, "--out", str(tmp_path / "plan")]
    told = run(f"""{WITHOUT}
import importlib, pkgutil, edgestore
for module in pkgutil.walk_packages(edgestore.__path__, "edgestore."):
    if not module.name.endswith("__main__"):
        importlib.import_module(module.name)
print(edgestore.flash_use(small_updates="no", passes=1).warnings)
from edgestore.__main__ import main
sys.exit(main({arguments}))
""")
    assert "edgestore[simulation]" in told.splitlines()[0]
    assert (tmp_path / "plan" / "plan.csv").exists()


def test_the_simulated_card_counts_the_same_without_numba():
    cards = [
        CardDesign(user_blocks=8, pages_per_block=4, spare_blocks=4, mapping=mapping, levelling="static", open_units=2)
        for mapping in MAPPINGS
    ]
    compiled = [simulate(card, random_writes(card.user_pages, 2000, seed=1), snapshots=3) for card in cards]
    program = f"""{WITHOUT}
from edgestore.models.wear.mapping import MAPPINGS
from edgestore.models.wear import CardDesign, random_writes, simulate
for card in {cards}:
    plain = simulate(card, random_writes(card.user_pages, 2000, seed=1), snapshots=3)
    print(plain.flash_pages.tolist(), plain.erase_history.tolist())
"""
    expected = [f"{card.flash_pages.tolist()} {card.erase_history.tolist()}" for card in compiled]
    assert len(expected) == 3
    assert run(program).splitlines() == expected


def test_the_package_loads_neither_scipy_nor_pandas_nor_numba():
    late = {"scipy.special", "scipy.optimize", "pandas", "numba"}
    assert run(f"import edgestore, sys; print({late} & {{*sys.modules}})").strip() == "set()"
