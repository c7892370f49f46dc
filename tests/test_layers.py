"""The map of the house: an import never points upwards, and a conversion factor lives in one file only."""

import ast
import sys
from functools import cache
from pathlib import Path

import edgestore

PACKAGE = Path(edgestore.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))

# From the ground up; what is not named here is the top, which may import all.
FLOORS = [
    {"units", "checks", "text", "output", "plain_file", "bundled", "headings", "look"},
    {"models"},
    {"inputs"},
    {"answers"},
    {"plan"},
    {"figures", "drawings", "verification"},
    {"panels", "documents", "training"},
]
TOP = len(FLOORS)

# Percent, Mbit and byte, byte and binary prefix, second to year, and the gigabytes of 1 Mbit/s in an hour.
FACTORS = {8, 0.125, 100, 1000, 0.001, 1024, 1e6, 1e9, 60, 3600, 24, 168, 8766, 86400, 365, 365.25, 0.45, 10.8}


def floor(room: str) -> int:
    return next((number for number, rooms in enumerate(FLOORS) if room in rooms), TOP)


def room(path: Path) -> str:
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imports(tree: ast.Module, path: Path) -> set[str]:
    """Give the full dotted names of all that a file imports, wherever in the file it does so."""
    package = ("edgestore", *path.relative_to(PACKAGE).parent.parts)
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            base = ".".join([*above, *([node.module] if node.module else [])])
            found |= {f"{base}.{alias.name}" for alias in node.names}
    return found


def rooms_imported(tree: ast.Module, path: Path) -> set[str]:
    """Give the rooms of edgestore that a file imports; a public name, taken from the top, is of the models."""
    rooms = {path.stem for path in PACKAGE.glob("*.py")} | {path.name for path in PACKAGE.iterdir() if path.is_dir()}
    inner = [name.split(".") for name in imports(tree, path) if name.split(".")[0] == "edgestore"]
    return {parts[1] if len(parts) > 1 and parts[1] in rooms else "models" for parts in inner}


def factors_in_arithmetic(tree: ast.Module) -> list[str]:
    """Give the products, quotients and powers in which a conversion factor stands as a bare number."""
    return [
        f"line {node.lineno}: {ast.unparse(node)}"
        for node in ast.walk(tree)
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div | ast.FloorDiv | ast.Mod | ast.Pow)
        for side in (node.left, node.right)
        if isinstance(side, ast.Constant) and isinstance(side.value, int | float) and side.value in FACTORS
    ]


def files(*names: str) -> dict[Path, ast.Module]:
    """Give every file of some rooms, or of all, with what it says."""
    chosen = [path for path in FILES if not names or room(path) in names]
    assert {room(path) for path in chosen} >= set(names)
    return {path: parsed(path) for path in chosen}


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def test_a_file_imports_nothing_from_a_floor_above():
    above = {
        (str(path), name)
        for path, tree in files().items()
        for name in rooms_imported(tree, path)
        if floor(name) > floor(room(path))
    }
    assert above == set()


def test_the_ground_floor_imports_only_numpy_scipy_and_itself():
    own = {"units", "checks", "models"}
    for path, tree in files("models", "units", "checks").items():
        allowed = {*sys.stdlib_module_names, "numpy", "scipy"}
        if path.name == "_translation_layer.py":
            allowed.add("numba")
        for name in imports(tree, path):
            first, *rest = name.split(".")
            assert first in allowed or (first == "edgestore" and rest and rest[0] in own), f"{path}: {name}"


def test_the_verification_imports_what_it_checks_and_no_face():
    checked = {"whole.py": {"inputs", "plan", "bundled"}, "quantities.py": {"answers"}}
    for path, tree in files("verification").items():
        rooms = rooms_imported(tree, path)
        usual = {"units", "checks", "output", "plain_file", "models", "verification"}
        assert rooms <= usual | checked.get(path.name, set()), path


def test_no_conversion_factor_stands_outside_units():
    rooms = ("checks", "text", "models", "inputs", "answers", "plan", "verification", "figures", "drawings", "panels")
    found = {str(path): factors_in_arithmetic(tree) for path, tree in files(*rooms, "documents", "training").items()}
    assert {path: factors for path, factors in found.items() if factors} == {}


def test_an_upward_import_would_be_found_in_whatever_form():
    path = PACKAGE / "models" / "example.py"
    for line in (
        "import edgestore.inputs.tables",
        "from edgestore.inputs import tables",
        "from edgestore import inputs",
        "from ..inputs.tables import read",
        "def f():\n    from edgestore.inputs.tables import read",
    ):
        assert rooms_imported(ast.parse(line), path) == {"inputs"}
    assert rooms_imported(ast.parse("from . import bitrate\nfrom edgestore import retention_h"), path) == {"models"}


def test_a_bare_factor_would_be_found_on_either_side():
    bare = "a = rate * 8\nb = 3600.0 * h / 1e3\nc = n // 24\nd = f'{100 * share:g} %'\ne = 1024**3\nf = part / 100"
    assert len(factors_in_arithmetic(ast.parse(bare))) == 7
    assert factors_in_arithmetic(ast.parse("a = 1000\nb = rate * BITS_PER_BYTE\nc = x + 24\nd = y * 7")) == []
