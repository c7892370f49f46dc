"""data/README.md keeps up with the files and with the columns that the lists declare."""

import csv
from pathlib import Path

import pytest

from edgestore.inputs.camera_list import CAMERA_COLUMNS, read_cameras
from edgestore.inputs.card_list import CARD_COLUMNS, read_cards
from edgestore.inputs.tables import Column

DATA = Path(__file__).parents[2] / "data"
README = (DATA / "README.md").read_text(encoding="utf-8").splitlines()
FILES = sorted(path.relative_to(DATA).as_posix() for path in DATA.rglob("*") if path.is_file())
TABLES = [name for name in FILES if name.endswith(".csv")]


def readme_row(column: Column) -> str:
    """Give the row that data/README.md has for a declared column."""
    bounds = {"above": column.above, "from": column.at_least, "to": column.at_most}
    limits = " ".join(f"{word} {bound:.10g}" for word, bound in bounds.items() if bound is not None)
    holds = ", ".join(column.words) or {"yes-no": "yes, no"}.get(column.kind) or f"{column.kind} {limits}".strip()
    default = "no" if column.default is False else column.default
    default = f"{default:g}" if isinstance(default, float) else default
    empty = "not allowed" if column.required else "allowed" if default is None else f"means {default}"
    return f"| `{column.name}` | {column.unit or '-'} | {holds} | {empty} | {column.help} |"


def section(title: str) -> list[str]:
    start = README.index(f"## {title}")
    end = next((n for n, line in enumerate(README[start + 1 :], start + 1) if line.startswith("## ")), len(README))
    return README[start:end]


@pytest.mark.parametrize("name", FILES)
def test_every_file_has_a_row_with_what_source_licence_and_date(name: str) -> None:
    rows = [line for line in section("Files") if line.startswith(f"| `{name}` |")]
    assert len(rows) == 1
    assert all(cell.strip() for cell in rows[0].strip("|").split("|"))
    assert rows[0].count("|") == 6


@pytest.mark.parametrize("name", [line.split("`")[1] for line in section("Files") if line.startswith("| `")])
def test_every_row_has_its_file(name: str) -> None:
    assert name in FILES


@pytest.mark.parametrize(
    ("title", "columns"), [("Camera list", CAMERA_COLUMNS), ("Card list", CARD_COLUMNS)], ids=["cameras", "cards"]
)
def test_declared_columns_stand_in_order_with_unit_bounds_and_meaning(title: str, columns: tuple[Column, ...]) -> None:
    rows = [line for line in section(title) if line.startswith("| `")]
    assert rows == [readme_row(column) for column in columns]


@pytest.mark.parametrize("name", TABLES)
def test_every_column_of_every_table_is_described(name: str) -> None:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    titles = {"ferry_terminal/cameras.csv": "Camera list", "cards.csv": "Card list"}
    described = {line.split("`")[1] for line in section(titles.get(name, name)) if line.startswith("| `")}
    assert set(header) <= described


def test_readme_says_that_the_lists_are_invented() -> None:
    rows = [line for line in section("Files") if "cameras.csv" in line or "cards.csv" in line]
    assert len(rows) == 2
    assert all("invented" in row and "CC0" in row for row in rows)


def test_demo_cameras_cover_all_housings_rates_and_ways_to_record() -> None:
    table = read_cameras(DATA / "ferry_terminal" / "cameras.csv")
    cameras = table.rows
    assert table.notes == ()
    assert len(cameras) == 14
    assert set(cameras["housing"]) == {
        "dome",
        "captive-cover dome",
        "gimbal dome",
        "bullet",
        "ptz dome",
        "ptz positioner",
        "box",
        "other",
    }
    known = cameras[["mean_mbit_s", "cap_mbit_s"]].notna()
    assert {tuple(row) for row in known.to_numpy().tolist()} == {(True, True), (True, False), (False, True)}
    assert set(cameras["recording"]) == {"continuous", "motion"}
    assert cameras["cap_mbit_s"].dropna().between(2, 16).all()
    assert {"high speed", "unknown"} <= set(cameras["slot_bus"])
    assert 32 in set(cameras["max_card_gb"])
    assert set(cameras["deletes_by_age"]) == {True, False}


def test_demo_cards_state_endurance_in_each_of_the_three_ways() -> None:
    table = read_cards(DATA / "cards.csv")
    cards = table.rows
    assert table.notes == ()
    assert len(cards) == 12
    assert (cards["capacity_gb"].min(), cards["capacity_gb"].max()) == (16, 512)
    assert cards["usable_fraction"].between(0.96, 0.98).all()
    ways = cards[["endurance_tbw", "rated_h", "pe_cycles"]].notna()
    assert (ways.sum(axis=1) == 1).all()
    assert ways.any().all()
