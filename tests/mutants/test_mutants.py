"""The faults that are put into the models are those that the page names, and they are in effect where a test looks."""

import ast
import importlib.util
import os
import sys
from pathlib import Path
from types import ModuleType

import pytest
from coverage import CoverageData
from draws import HeldOut, keep_held_out, of_each_module, of_the_rest, read_held_out, sample
from explained import read_explained
from in_effect import Loaded, NotImportedError, mutant_trees
from mutants_page import NOT_YET, Judged, as_page, is_enough, score
from reach import ByLine
from source_changes import KINDS, Mutant, mutants
from trials import ALIVE, KILLED, Result, Results, in_order

ROOT = Path(__file__).parents[2]


def changes(source: str, kind: str) -> list[str]:
    """Changes of one kind that a source offers."""
    return [mutant.change for mutant, _ in mutants("m.py", source) if mutant.kind == kind]


@pytest.mark.parametrize(
    ("kind", "expression", "expected"),
    [
        ("operator", "a + b", ["a + b -> a - b"]),
        ("operator", "a // b", ["a // b -> a / b"]),
        ("operator", "-a", ["-a -> a"]),
        ("operator", "a and b", ["a and b -> a or b"]),
        ("operator", "min(a, b)", ["min(a, b) -> max(a, b)"]),
        ("operator", "a.max()", ["a.max() -> a.min()"]),
        ("operator", "np.maximum(a, b)", ["np.maximum(a, b) -> np.minimum(a, b)"]),
        ("operator", "'text' + b", []),
        ("constant", "a ** 2", ["2 -> 3"]),
        ("constant", "a * 0.5", ["0.5 -> 0.65"]),  # x 1.1 + 0.1
        ("constant", "f(a, keep=True)", ["True -> False"]),
        ("constant", "f'a text with {a:.3f}'", []),
        ("constant", "zip(a, b, strict=True)", []),
        ("comparison", "a < b", ["a < b -> a <= b", "a < b -> a >= b"]),
        ("comparison", "a == b", ["a == b -> a != b"]),
        (
            "comparison",
            "0 <= a < b",
            [f"0 <= a < b -> {other}" for other in ("0 < a < b", "0 > a < b", "0 <= a <= b", "0 <= a >= b")],
        ),
        ("arguments", "f(a, b, c)", ["f(a, b, c) -> f(b, a, c)", "f(a, b, c) -> f(a, c, b)"]),
        ("arguments", "f(*a, b)", []),
        ("arguments", "f(a, a)", []),
        ("arguments", "max(a, b)", []),
        ("arguments", "np.clip(a, b, c)", ["np.clip(a, b, c) -> np.clip(a, c, b)"]),
        ("operator", "(a > b) * 1.0", []),
        ("term", "a + b", ["a + b -> a", "a + b -> b"]),
        ("term", "a * b", ["a * b -> a", "a * b -> b"]),
        ("term", "a / b", ["a / b -> a"]),
        ("term", "a or b or c", ["a or b or c -> b or c", "a or b or c -> a or c", "a or b or c -> a or b"]),
        ("term", "min(a, b)", ["min(a, b) -> a", "min(a, b) -> b"]),
    ],
)
def test_an_expression_is_changed_in_each_way_that_its_kind_names(kind, expression, expected):
    assert changes(f"def function(a, b, c):\n    return {expression}\n", kind) == expected


def test_a_returned_condition_is_negated():
    assert changes("def is_so(a) -> bool:\n    return f(a)\n", "condition") == ["f(a) -> not f(a)"]
    assert changes("def are_so(a) -> Flags:\n    return f(a)\n", "condition") == ["f(a) -> ~f(a)"]
    assert changes("def much(a) -> float:\n    return f(a)\n", "condition") == []


def test_a_sum_in_place_is_an_operator_too():
    assert changes("def function(a, b):\n    a += b\n    return a\n", "operator") == ["a += b -> a -= b"]


def test_methods_defaults_and_constants_of_the_module_are_changed_and_annotations_and_decorators_are_not():
    source = "LIMIT = 3\n@kept(4)\nclass A:\n    x: int = 5\n    @kept(6)\n    def f(self, a: 'Of[7]' = 8): return a\n"
    found = {(mutant.function, mutant.change) for mutant, _ in mutants("m.py", source)}
    assert found == {("LIMIT", "3 -> 4"), ("A.f", "8 -> 9")}


def test_the_same_change_at_two_places_of_a_function_has_two_names():
    assert changes("def function(a):\n    return a[1] + a[1]\n", "constant") == ["1 -> 2", "1 -> 2 (2)"]


def test_each_tree_has_its_one_change_and_the_next_one_not():
    source = "def function(a, b):\n    return a * (b - 1)\n"
    bodies = [ast.unparse(tree.body[0].body[0]).removeprefix("return ") for _, tree in mutants("m.py", source)]
    expected = ["a / (b - 1)", "a", "b - 1", "a * (b + 1)", "a * b", "a * (b - 2)"]
    assert bodies == expected


MODEL = """
from functools import cached_property, lru_cache
LIMIT = 3
TWICE = 2 * LIMIT
PART = 12 / (LIMIT - 2)
@lru_cache
def kept(a, more=1):
    return a + more
class Card:
    @cached_property
    def size(self):
        return 7 - 4
def over():
    return TWICE
def least(a):
    return max(a, 0.5)[()]
"""


@pytest.fixture
def root(tmp_path, monkeypatch) -> Path:
    """A tree with a package of two modules that are imported: one copies what it uses of the other."""
    folder = tmp_path / "edgestore"
    folder.mkdir()
    for name, source in {"made_model": MODEL, "made_user": "from made_model import LIMIT, Card, kept\n"}.items():
        path = folder / f"{name}.py"
        path.write_text(source)
        specification = importlib.util.spec_from_file_location(name, path)
        module = importlib.util.module_from_spec(specification)
        monkeypatch.setitem(sys.modules, name, module)
        specification.loader.exec_module(module)
    return tmp_path


def put(root: Path, function: str, change: str) -> ModuleType:
    """Put a mutant of the made module in effect; give the module that imports it."""
    loaded = Loaded(root)
    trees = mutant_trees(root, "edgestore/made_model.py")
    mutant, tree = next(pair for pair in trees if (pair[0].function, pair[0].change) == (function, change))
    loaded.put_in_effect(mutant, tree)
    return sys.modules["made_user"]


def test_a_mutant_is_in_effect_behind_an_import_and_a_cache(root):
    assert sys.modules["made_user"].kept(5) == 6
    assert put(root, "kept", "a + more -> a - more").kept(5) == 4


def test_a_mutant_of_a_default_is_in_effect(root):
    assert put(root, "kept", "1 -> 2").kept(5) == 7


def test_a_mutant_of_a_property_is_in_effect(root):
    assert put(root, "Card.size", "7 - 4 -> 7 + 4").Card().size == 11


def test_a_mutant_of_a_constant_is_in_effect_where_it_was_copied_to_and_in_what_follows_from_it(root):
    assert put(root, "LIMIT", "3 -> 4").LIMIT == 4
    assert sys.modules["made_model"].over() == 8


def test_a_constant_that_cannot_be_worked_out_leaves_a_file_that_cannot_be_imported(root):
    with pytest.raises(NotImportedError, match="division by zero"):
        put(root, "PART", "2 -> 3")


def test_a_change_that_python_warns_of_is_put_in_effect_and_fails_where_it_is_run(root):
    put(root, "least", "max(a, 0.5) -> 0.5")
    with pytest.raises(TypeError, match="not subscriptable"):
        sys.modules["made_model"].least(1)


def test_a_file_that_is_not_imported_is_refused(root):
    (root / "edgestore" / "other.py").write_text("def f(a):\n    return -a\n")
    mutant, tree = next(mutant_trees(root, "edgestore/other.py"))
    with pytest.raises(LookupError, match="not imported"):
        Loaded(root).put_in_effect(mutant, tree)


def test_a_mutant_of_a_model_changes_its_published_value():
    # A card of 32 GB at 4 Mbit/s holds 64 000 s; the mutant is in effect in a child, as in a trial.
    from edgestore.models.retention import retention_h

    trees = mutant_trees(ROOT, "edgestore/models/retention.py")
    mutant, tree = next(pair for pair in trees if pair[0].function == "retention_h" and pair[0].kind == "operator")
    child = os.fork()
    if child == 0:
        try:
            Loaded(ROOT).put_in_effect(mutant, tree)
            os._exit(abs(retention_h(32, 4) - 64_000 / 3600) > 0.1)
        finally:
            os._exit(2)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 1
    assert retention_h(32, 4) == pytest.approx(64_000 / 3600)


def test_the_tests_of_a_line_are_those_that_run_it_or_share_what_runs_it_or_else_use_it(tmp_path):
    (tmp_path / "edgestore").mkdir()
    source = "LIMIT = 3\ndef half(a):\n    return a / LIMIT\ndef other(b=4):\n    return 5\n"
    (tmp_path / "edgestore" / "m.py").write_text(source)
    data = CoverageData(str(tmp_path / "lines.sqlite"))
    for context, lines in {"": [1, 2, 4], "test_a": [3], "fixture x": [5]}.items():
        data.set_context(context)
        data.add_lines({str(tmp_path / "edgestore" / "m.py"): lines})
    (tmp_path / "test_m.py").write_text("assert LIMIT == 3\n")
    reached = ByLine(tmp_path, data, {"fixture x": ["test_b", "test_c"]}, ["test_m.py::test_d"])
    assert reached.tests("edgestore/m.py", 3, "half") == {"test_a"}
    assert reached.tests("edgestore/m.py", 5, "other") == {"test_b", "test_c"}
    assert reached.tests("edgestore/m.py", 4, "other") == {"test_b", "test_c"}
    assert reached.tests("edgestore/m.py", 1, "LIMIT") == {"test_a", "test_m.py::test_d"}


class Item:
    """A test as far as its order is concerned."""

    def __init__(self, nodeid: str) -> None:
        self.nodeid, self.path = nodeid, Path(nodeid.partition("::")[0])


class Lines:
    """Every line is run by the same tests."""

    def __init__(self, tests: list[str]) -> None:
        self._tests = tests

    def tests(self, *_: object) -> list[str]:
        return self._tests


def test_a_modules_own_tests_run_first_then_the_quickest_file():
    seconds = {"test_slow.py::a": 3.0, "test_quick.py::b": 0.1, "test_m.py::c": 9.0, "test_m.py::d": 8.0}
    items = {test: Item(test) for test in seconds}
    tests = in_order(Mutant("edgestore/m.py", "f", "1 -> 2", "constant", 1), Lines([*seconds, "gone"]), seconds, items)
    assert [test.nodeid[-1] for test in tests] == ["d", "c", "b", "a"]


MUTANTS = [Mutant("m.py", "f", f"{n} -> {n + 1}", "constant", n) for n in range(40)]


def test_a_larger_sample_has_all_of_a_smaller_one_and_none_means_all():
    few, more = sample(MUTANTS, 5, seed=1), sample(MUTANTS, 20, seed=1)
    assert len(few) == 5
    assert set(few) < set(more)
    assert sample(MUTANTS, 5, seed=2) != few
    assert sample(MUTANTS, 0, seed=1) == sorted(MUTANTS)


def test_no_two_draws_have_a_mutant_in_common():
    others = [Mutant("n.py", "f", f"{n} -> {n + 1}", "constant", n) for n in range(6)]
    offered = {"m.py": MUTANTS, "n.py": others}
    first = of_each_module(offered, 5, seed=1)
    second, third = of_the_rest(offered, first, [(2, 20), (3, 30)])
    assert (len(first), len(second), len(third)) == (10, 20, 16)  # 46 in all
    assert len(first | second | third) == 46


ALIVE_AT_FIRST = (("m.py", "f", "0 -> 1"), ("m.py", "f", "1 -> 2"))


def test_a_held_out_draw_is_kept_as_it_was(tmp_path):
    draws = [HeldOut(2, 12, "2026-01-01", 10, ALIVE_AT_FIRST)]
    keep_held_out(draws, tmp_path / "held_out.json")
    assert read_held_out(tmp_path / "held_out.json") == draws
    assert read_held_out(tmp_path / "none.json") == []


def test_the_interval_of_a_draw_is_wilsons_without_the_equivalent_ones():
    # 10 of 11, z = 1.96: (p + z^2/2n -+ z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n) with p = 0.9091:
    # (0.9091 + 0.1746 -+ 1.96 * sqrt(0.007513 + 0.007937)) / 1.3492 = (1.0837 -+ 0.2436) / 1.3492
    draw = HeldOut(2, 12, "2026-01-01", 10, ALIVE_AT_FIRST)
    explained = {ALIVE_AT_FIRST[0]: ("Nothing differs.", True), ALIVE_AT_FIRST[1]: ("Not worth a test.", False)}
    assert draw.tried(explained) == 11
    assert draw.interval(explained) == pytest.approx((0.6227, 0.9838), abs=2e-4)
    page = as_page([], {"m.py": 40}, "4 by seed 1", [draw], explained)
    assert "| 2 | 2026-01-01 | 12 | 1 | 10 | 90.9% | 62.3% to 98.4% |" in page


def test_a_result_is_found_again_for_the_same_content_alone(tmp_path):
    path = tmp_path / "results.jsonl"
    one = Result("abc", MUTANTS[0], KILLED, 3, 0.5, "test_a", "2026-01-01")
    Results(path).add(one)
    assert Results(path).of("abc", MUTANTS[0]) == one
    assert Results(path).of("changed", MUTANTS[0]) is None


def outcomes(killed: int, equivalent: int, explained: int, alive: int) -> list[Judged]:
    words = {KILLED: killed, "equivalent": equivalent, "alive, explained": explained, ALIVE: alive}
    return [Judged(MUTANTS[0], outcome, None) for outcome, count in words.items() for _ in range(count)]


def test_equivalent_mutants_do_not_count():
    assert score(outcomes(killed=9, equivalent=5, explained=0, alive=1)) == 0.9


def test_what_is_not_tried_yet_is_told_and_says_nothing_of_the_score():
    found = [*outcomes(killed=9, equivalent=0, explained=0, alive=1), Judged(MUTANTS[1], NOT_YET, None)]
    assert score(found) == 0.9
    page = as_page(found, {"m.py": 40}, "11 by seed 1", [], {})
    assert "11 of 40 mutants, of which 1 are not" in page
    assert "| `m.py` | 40 | 10 | 9 | 0 | 1 | 90% |" in page


@pytest.mark.parametrize(
    ("found", "enough"),
    [
        (outcomes(killed=19, equivalent=3, explained=1, alive=0), True),  # 19 / 20 = 95 %
        (outcomes(killed=18, equivalent=3, explained=1, alive=0), False),  # 18 / 19 = 94.7 %
        (outcomes(killed=99, equivalent=0, explained=0, alive=1), False),  # one that nobody explains
        ([*outcomes(killed=99, equivalent=0, explained=0, alive=0), Judged(MUTANTS[0], NOT_YET, None)], False),
    ],
)
def test_enough_is_95_percent_killed_and_the_others_explained(found, enough):
    assert is_enough(found) is enough


def test_the_page_names_each_mutant_that_is_alive_and_counts_by_module():
    found = outcomes(killed=3, equivalent=0, explained=0, alive=1)
    page = as_page(found, {"m.py": 40}, "4 by seed 1", [], {})
    assert "| `m.py` | 40 | 4 | 3 | 0 | 1 | 75% |" in page
    assert "- `m.py`, `f`: `0 -> 1`. alive." in page
    assert all(f"| {kind} |" in page for kind in KINDS)


def test_the_page_says_nothing_of_the_rest_where_all_are_drawn():
    draw = HeldOut(seed=2, count=20, date="2026-11-27", killed=19, alive=())
    rest, none = (as_page(outcomes(4, 0, 0, 0), {"m.py": count}, "all", [draw], {}) for count in (40, 4))
    assert "of the 36 that were never drawn are killed." in rest
    assert ["by now all are drawn." in page for page in (rest, none)] == [False, True]


def test_no_mutant_that_is_explained_is_out_of_date():
    explained = set(read_explained())
    offered = {
        (mutant.file, mutant.function, mutant.change)
        for file in {file for file, _, _ in explained}
        for mutant, _ in mutant_trees(ROOT, file)
    }
    assert explained - offered == set()
