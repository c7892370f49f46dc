"""The spreadsheet computes what the library computes, and no text of the user's is ever a formula."""

import io
import subprocess
import zipfile
from dataclasses import replace
from functools import cache

import numpy as np
import openpyxl
import pandas as pd
import pytest
from proposals import DEMO, HOSTILE, HOSTILE_TITLE, demo, hostile, program

from edgestore import retention_h
from edgestore.documents.workbook import FACTORS, workbook
from edgestore.look import LIGHT, STATES
from edgestore.models.speed import speed_margin
from edgestore.models.wear import life_years
from edgestore.plan.rates import card_endurance_tbw
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.tables import tables
from edgestore.units import H_PER_DAY

HEADS = {
    "Mean rate": "planned_mbit_s",
    "Lowest mean": "low_mbit_s",
    "Highest mean": "high_mbit_s",
    "Peak rate": "peak_mbit_s",
    "Recorded part of the time": "recorded_fraction",
    "Holds, as planned": "retention_days",
    "Holds, at least": "retention_days_low",
    "Holds, at most": "retention_days_high",
    "Flash used up after, as planned": "life_years",
    "Flash used up after, at worst": "life_years_low",
    "Flash used up after, at best": "life_years_high",
    "Speed margin": "speed_margin",
    "Meets all at the planned rate": "meets",
    "Cards expected over the horizon": "cards_over_horizon",
    "Cost over the horizon, credits": "cost",
}
COMPUTED = list(HEADS.values())[5:]


def opened(content, values=False):
    return openpyxl.load_workbook(io.BytesIO(content), data_only=values)


def cameras(book):
    heads, *rows = book["Cameras"].iter_rows(values_only=True)
    return pd.DataFrame(rows, columns=heads).rename(columns=HEADS)


def edited(camera, changes, card=None):
    """Give the workbook of the demo with some numbers of a camera changed, and its card."""
    book = opened(workbook(demo()))
    sheet = book["Cameras"]
    place = {cell.value: cell.column for cell in sheet[1]}
    row = next(cell.row for cell in sheet["B"] if cell.value == camera)
    if card is not None:
        number = list(demo().plan.site.offered["card"]).index(card) + 1
        changes = {**changes, "Number of the card (sheet Cards)": number}
    for head, value in changes.items():
        sheet.cell(row, place[head]).value = value
    return book


@cache
def limited():
    """Plan the demo site where policy allows no more than eight days."""
    lists = read_lists(*DEMO)
    asked = {"retention_days": 3.0, "retention_days_max": 8.0}
    return site_plan(replace(lists, settings=replace(lists.settings, requirements=asked, groups={})))


@cache
def locked():
    """Plan the demo site where three cameras have locked clips."""
    lists = read_lists(*DEMO)
    parts = np.zeros(len(lists.cameras))
    parts[:3] = 0.25, 0.5, 0.1
    return site_plan(replace(lists, cameras=lists.cameras.assign(locked_fraction=parts)))


ANOTHER = {
    "Mean rate": 1.7,
    "Lowest mean": 1.1,
    "Highest mean": 3.3,
    "Peak rate": 5.5,
    "Cards expected over the horizon": 4,
    "Recorded part of the time": 0.4,
}
SLOW = {"Mean rate": 0.25, "Highest mean": 4, "Time between updates of file tables": 5}
BOOKS = {
    "as it is": lambda: opened(workbook(demo())),
    "another rate and card": lambda: edited("Quay south", ANOTHER, "long-life 64 GB"),
    "no amplification stated": lambda: edited("Quay south", SLOW, "plain 16 GB"),
    "no cap": lambda: edited("Marshalling yard", {"Mean rate": 3}),
    "a limit by policy": lambda: opened(workbook(replace(demo(), plan=limited()))),
    "locked clips": lambda: opened(workbook(replace(demo(), plan=locked()))),
    "hostile": lambda: opened(workbook(hostile())),
}


@pytest.fixture(scope="module")
def recomputed(tmp_path_factory):
    """Save workbooks without any value beside their formulas, and let LibreOffice compute them all in one run."""
    office = program("soffice", "libreoffice-calc-nogui")
    folder = tmp_path_factory.mktemp("workbooks")
    for name, book in BOOKS.items():
        book().save(folder / f"{name}.xlsx")
    words = ["--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *map(str, folder.glob("*.xlsx"))]
    own_profile = f"-env:UserInstallation=file://{folder}/office_profile"
    subprocess.run([office, own_profile, *words], check=True, capture_output=True, timeout=240)
    return {name: openpyxl.load_workbook(folder / "out" / f"{name}.xlsx", data_only=True) for name in BOOKS}


def as_numbers(column):
    return pd.to_numeric(column.replace({"": np.nan, "yes": 1, "no": 0})).astype(float).to_numpy()


def same(table, plan):
    expected = plan.assign(meets=as_planned(plan))
    for name in COMPUTED:
        np.testing.assert_allclose(as_numbers(table[name]), expected[name].astype(float), rtol=1e-9, err_msg=name)


def as_planned(plan):
    """Whether the card chosen, if any, does at the planned rate all that is asked, whatever the chance."""
    most = plan["wanted_retention_days_max"].fillna(np.inf)
    too_long = (plan["retention_days_high"] > most) & (plan["retention_days"] < most)  # else footage is deleted by age
    enough = (plan["retention_days"] >= plan["wanted_retention_days"]) & (
        plan["life_years"] >= plan["wanted_life_years"]
    )
    return plan["meets"] & enough & (plan["speed_margin"] >= plan["wanted_speed_margin"]) & ~too_long


def test_the_states_have_the_colours_and_marks_of_the_look_and_the_cells_the_word_alone():
    sheet = opened(workbook(demo()))["Cameras"]
    rules = {rule.formula[0]: rule.dxf for cells in sheet.conditional_formatting for rule in cells.rules}
    for word, state in STATES.items():
        shown = rules[f'"{word}"']
        assert shown.font.color.rgb[-6:].lower() == LIGHT[state.colour].removeprefix("#")
        assert shown.numFmt.formatCode == f'"{state.mark} "@'


@pytest.mark.slow
@pytest.mark.landing
def test_libreoffice_computes_the_numbers_of_the_library(recomputed):
    book = recomputed["as it is"]
    same(cameras(book), demo().plan.plan)
    cards = list(cameras(book)["Card"].fillna(""))
    assert cards == list(demo().plan.plan["card"])


@pytest.mark.slow
@pytest.mark.landing
def test_a_changed_rate_and_a_changed_card_are_computed_as_the_library_does(recomputed):
    table = cameras(recomputed["another rate and card"])
    got = table[table["Camera"] == "Quay south"].iloc[0]
    offered = demo().plan.site.offered
    card = list(offered["card"]).index("long-life 64 GB")
    low, high = (ends[card] for ends in card_endurance_tbw(offered, 1.7, 5.0))
    gb, usable = offered.iloc[card][["capacity_gb", "usable_fraction"]]
    assert got["Card"] == "long-life 64 GB"
    assert got["retention_days"] == pytest.approx(retention_h(gb, 1.7, 0.4, usable) / H_PER_DAY)
    assert got["retention_days_low"] == pytest.approx(retention_h(gb, 3.3, 0.4, usable) / H_PER_DAY)
    assert got["retention_days_high"] == pytest.approx(retention_h(gb, 1.1, 0.4, usable) / H_PER_DAY)
    assert got["life_years"] == pytest.approx(life_years(low, 1.7, 0.4))
    assert got["life_years_high"] == pytest.approx(life_years(high, 1.1, 0.4))
    assert got["speed_margin"] == pytest.approx(speed_margin(10, 5.5))
    # Four cards at 22 with a tenth of spares are 96.8; three visits with lifting gear at 260 are 780.
    assert got["cost"] == pytest.approx(876.8)
    others = table["Camera"] != "Quay south"
    same(table[others], demo().plan.plan[others.to_numpy()])


@pytest.mark.slow
@pytest.mark.landing
def test_a_card_that_states_no_amplification_is_computed_from_rate_and_update_interval(recomputed):
    table = cameras(recomputed["no amplification stated"])
    got = table[table["Camera"] == "Quay south"].iloc[0]
    # 16 GB x 800 cycles = 12.8 TB; by unit 778/13 at 0.25 Mbit/s, 920/155 at 4 Mbit/s
    assert got["life_years"] == pytest.approx(life_years(12.8 * 13 / 778, 0.25))
    assert got["life_years_low"] == pytest.approx(life_years(12.8 * 155 / 920, 4))


@pytest.mark.slow
@pytest.mark.landing
def test_without_a_cap_the_margin_follows_the_mean(recomputed):
    table = cameras(recomputed["no cap"])
    # U3 V30 promises 30 Mbyte/s: 240 Mbit/s over 3
    assert table.loc[table["Camera"] == "Marshalling yard", "speed_margin"].item() == pytest.approx(80)


@pytest.mark.slow
@pytest.mark.landing
def test_a_limit_by_policy_is_computed_too(recomputed):
    assert limited().plan["retention_days"].max() == 8
    same(cameras(recomputed["a limit by policy"]), limited().plan)


@pytest.mark.slow
@pytest.mark.landing
def test_what_locked_clips_leave_is_computed_too(recomputed):
    same(cameras(recomputed["locked clips"]), locked().plan)


def test_the_part_held_by_locked_clips_is_an_input_where_there_are_some_and_no_column_else():
    head = "Part of the usable space held by locked clips"
    table = cameras(opened(workbook(replace(demo(), plan=locked()))))
    assert table[head].tolist()[:4] == [0.25, 0.5, 0.1, 0]
    assert head not in cameras(opened(workbook(demo())))


def test_the_value_beside_each_formula_is_that_of_the_library():
    same(cameras(opened(workbook(demo()), values=True)), demo().plan.plan)


DECIDED = ("Decided by chance", "Chance to keep all", "Changed at the age of")


def decided_as_in(table, plan):
    assert list(table[DECIDED[0]].fillna("")) == list(plan["state"])
    whole = np.floor(100 * plan["chance_kept"].astype(float) + 1e-9) / 100  # as it is told everywhere
    for head, expected in zip(DECIDED[1:], (whole, plan["change_years"]), strict=True):
        np.testing.assert_allclose(as_numbers(table[head]), expected.astype(float), err_msg=head)


def test_what_was_decided_is_told_and_the_workbook_says_that_it_does_not_compute_it_anew():
    book = opened(workbook(demo()), values=True)
    decided_as_in(cameras(book), demo().plan.plan)
    told = " ".join(str(cell.value) for cell in book["Read me"]["A"])
    for thing in ("the chances", "the age of change", "the cards expected over the horizon"):
        assert thing in told
    assert "are not computed anew here" in told


@pytest.mark.slow
@pytest.mark.landing
@pytest.mark.parametrize("change", ["another rate and card", "no amplification stated"])
def test_where_inputs_are_no_longer_those_of_the_plan_its_decision_is_not_told(change, recomputed):
    table = cameras(recomputed[change])
    is_changed = table["Camera"] == "Quay south"
    assert (table.loc[is_changed, list(DECIDED)] == "run edgestore again").all(axis=None)
    decided_as_in(table[~is_changed], demo().plan.plan[~is_changed.to_numpy()])


@pytest.mark.slow
@pytest.mark.landing
def test_in_a_workbook_that_nobody_changed_every_decision_stands(recomputed):
    decided_as_in(cameras(recomputed["as it is"]), demo().plan.plan)


def test_no_chance_has_a_decimal_and_no_life_is_told_above_ten_years_in_the_workbook():
    sheet = opened(workbook(demo()))["Cameras"]
    heads = {cell.value: cell.column for cell in sheet[1]}
    form = {head: sheet.cell(2, column).number_format for head, column in heads.items()}
    widths = sheet.column_dimensions.values()  # one for all columns of a width that stand side by side
    assert form["Chance to keep all"] == "0%"
    lives = [head for head in heads if head.startswith("Flash used up after")]
    assert len(lives) == 3
    for head in (*lives, "Changed at the age of"):
        assert form[head] == '[>10]"more than 10 years";0.00 "years"', head
        [wide] = [columns.width for columns in widths if columns.min <= heads[head] <= columns.max]
        assert wide >= len("more than 10 years")


def test_the_cost_of_a_row_is_that_of_its_cards_its_spares_and_its_visits():
    # A tenth of spares; a visit for every card but the first, which is fitted when the site is built.
    table = cameras(opened(workbook(demo()), values=True)).set_index("Camera")
    costs = demo().plan.site.costs
    assert (costs.spare_fraction, costs.first_fitting_is_a_visit) == (0.1, False)
    for row in table[table["Card"] != ""].dropna(subset="Card").to_dict("records"):
        cards, visit = row["cards_over_horizon"], row["Price of a visit, credits"]
        assert row["cost"] == pytest.approx(cards * 1.1 * row["Price of the card, credits"] + (cards - 1) * visit)


def bill_total(book):
    [total] = [row for row in book["Bill"].iter_rows(values_only=True) if row[0] == "Total"]
    return total[-1]


def told_total():
    told = dict(demo().first_page.facts)["Cost in 10 years"].replace("\N{NO-BREAK SPACE}", "")
    return int(told.partition(" credits")[0])


def test_the_total_of_the_workbook_is_that_of_the_plan_file_the_diary_and_the_document(tmp_path):
    plan_csv = next(table for name, table in tables(demo().plan).items() if name.startswith("plan"))
    file = tmp_path / "plan.csv"
    plan_csv.to_csv(file)
    read = pd.read_csv(file)
    total = read["planned_cost"].sum() + read["failures_cost"].sum()
    assert bill_total(opened(workbook(demo()), values=True)) == pytest.approx(total)
    assert read["planned_cost"].sum() == pytest.approx(demo().visits.table["cost"].sum())  # no first cards besides
    assert told_total() == round(total)


@pytest.mark.slow
@pytest.mark.landing
def test_libreoffice_adds_up_the_same_bill(recomputed):
    assert bill_total(recomputed["as it is"]) == pytest.approx(demo().visits.bill.cost)
    assert round(bill_total(recomputed["as it is"])) == told_total()


def test_a_price_or_a_way_below_0_is_refused_by_the_sheet():
    sheet = opened(workbook(demo()))["Visits"]
    rules = {str(rule.sqref): rule for rule in sheet.data_validations.dataValidation}
    last = len(demo().visits.table) + 1
    for letter in "CEF":
        rule = rules[f"{letter}2:{letter}{last}"]
        assert (rule.type, rule.operator, rule.formula1) == ("decimal", "greaterThanOrEqual", "0")


def test_texts_of_the_user_are_texts():
    book = opened(workbook(hostile()))
    sheet = book["Cameras"]
    assert [cell.value for cell in sheet["B"][1:]] == HOSTILE
    assert {cell.data_type for cell in sheet["B"]} == {"s"}
    assert [cell.value for cell in book["Cards"]["B"][1:]] == ["=1+1", "<script>x</script>", "*?~ wild"]
    assert {cell.data_type for cell in book["Cards"]["B"]} == {"s"}
    assert book["Read me"]["A1"].value == HOSTILE_TITLE
    for name in ("Read me", "Cards", "Assumptions", "Factors"):
        assert not [cell for row in book[name].iter_rows() for cell in row if cell.data_type == "f"]


@pytest.mark.slow
@pytest.mark.landing
def test_hostile_texts_stay_texts_when_libreoffice_computes(recomputed):
    book = recomputed["hostile"]
    assert list(cameras(book)["Camera"]) == HOSTILE
    assert list(cameras(book)["Card"].fillna("")) == list(hostile().plan.plan["card"])


def test_formulas_use_named_factors_and_no_number_of_their_own():
    content = workbook(demo())
    book = opened(content)
    assert set(FACTORS) <= set(book.defined_names)
    holds = next(
        cell for cell in book["Cameras"][2] if book["Cameras"].cell(1, cell.column).value == "Holds, as planned"
    )
    assert "BYTES_PER_GB*BITS_PER_BYTE" in holds.value
    assert "DAY" in holds.value


def test_numbers_bear_their_units():
    book = opened(workbook(demo()))
    forms = {book["Cameras"].cell(1, cell.column).value: cell.number_format for cell in book["Cameras"][2]}
    assert forms["Mean rate"] == '0.000 "Mbit/s"'
    assert forms["Capacity"] == '0.0 "GB"'
    assert forms["Holds, as planned"] == '0.00 "days"'
    assert forms["Life wanted"] == '0.00 "years"'
    assert forms["Flash used up after, as planned"] == '[>10]"more than 10 years";0.00 "years"'


def test_every_assumption_and_remark_stands_in_the_workbook():
    told = {cell.value for cell in opened(workbook(demo()))["Assumptions"]["B"]}
    assert told >= {assumption.text for assumption in demo().assumptions} | set(demo().plan.warnings)


def test_the_file_bears_no_time_of_the_clock():
    with zipfile.ZipFile(io.BytesIO(workbook(demo()))) as packed:
        assert {entry.date_time[0] for entry in packed.infolist()} == {1980}
        core = packed.read("docProps/core.xml").decode()
    assert core.count(f"{demo().front.date.isoformat()}T00:00:00Z") == 2
    assert workbook(demo()) == workbook(demo())


def test_the_cameras_have_the_ends_of_their_chance_and_how_firmly_they_are_assured():
    told = cameras(opened(workbook(demo()), values=True))
    band, served = demo().plan.untested_band, demo().plan.plan["meets"]
    for head, name in (("bad", "chance_kept_low"), ("good", "chance_kept_high")):
        [column] = [each for each in told.columns if each.startswith(f"The same if untested cards are {head}")]
        whole = np.floor(100 * band.loc[served, name] + 1e-9) / 100  # no more than they are
        np.testing.assert_allclose(told.loc[served, column].astype(float), whole)
        assert told.loc[~served, column].replace("", np.nan).isna().all()
    assert told.loc[served, "Assured"].tolist() == band.loc[served, "assured"].tolist()
