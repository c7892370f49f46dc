"""What ``plan`` and ``propose`` print."""

import datetime
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import read_lists, site_plan
from edgestore.__main__ import main
from edgestore.console import LINES, _undecided, as_json, full_text, summary
from edgestore.plan.measure_first import IN_MONEY
from edgestore.plan.what_if import what_if
from edgestore.terminal import paragraph, width_of

DATA = Path(__file__).parents[1] / "data"
FERRY = DATA / "ferry_terminal"
DEMO = [str(FERRY / "cameras.csv"), "--cards", str(DATA / "cards.csv"), "--settings", str(FERRY / "site.toml")]


@pytest.fixture(scope="module")
def demo():
    return site_plan(read_lists(FERRY / "cameras.csv", DATA / "cards.csv", FERRY / "site.toml"))


@pytest.fixture(scope="module")
def crowded(tmp_path_factory):
    """Thirty cameras with long names that no card of the list assures, and thirty that one does."""
    folder = tmp_path_factory.mktemp("crowded")
    name = "the camera that looks down on the far end of the loading ramp, number"
    hard = [f'"{name} {n}",{4 + n / 10:g},8,30' for n in range(30)]
    easy = [f'"{name} {n}",{0.05 * 1.15 ** (n - 30):g},4,3' for n in range(30, 60)]
    cameras = "\n".join(["camera,mean_mbit_s,cap_mbit_s,retention_days", *hard, *easy, ""])
    (folder / "cameras.csv").write_text(cameras)
    (folder / "site.toml").write_text("[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\n")
    return site_plan(read_lists(folder / "cameras.csv", DATA / "cards.csv", folder / "site.toml"))


@pytest.mark.parametrize("width", [40, 80, 200])
def test_the_summary_of_a_crowded_site_has_thirty_lines_none_wider_than_the_terminal(crowded, width):
    assert (crowded.plan["state"] != "assured").sum() >= 20
    change, last = what_if(crowded, crowded), ["With their own assurance: group quay 60 %."]
    lines = summary(crowded, Path("folder"), width, first=["A letter is missing."], change=change, last=last)
    assert len(lines) <= LINES == 30
    assert max(map(len, lines)) <= min(width, 100)
    assert sum(line.startswith("  the camera that looks") for line in lines) == 5


def test_the_summary_of_the_demo_says_what_to_decide_to_buy_whom_to_visit_and_what_to_find_out(demo):
    told = "\n".join(summary(demo, Path("folder"), 100))
    for words in (
        "2 not served",
        "Mast top: ×\N{NO-BREAK SPACE}not served. Ask for another camera",
        "2027-08-22",
        "Find out first: Measure",
    ):
        assert words in told
    # 1 x 4 + 4 x 14 + 1 x 22 + 1 x 38 + 2 x 70 + 3 x 130 by the prices of the card list
    assert "12 cards, 650 credits" in told
    assert told.endswith("folder")


def test_a_warning_names_its_cameras_to_the_end_where_the_terminal_is_narrow(demo):
    lines = summary(demo, Path("folder"), 60)
    assert "Warning: No card of the list can serve Quay north, Mast top." in lines
    assert "No cap is known for Marshalling yard, Pay station" in " ".join(line.strip() for line in lines)
    assert len(lines) <= LINES
    assert max(map(width_of, lines)) <= 60


@pytest.mark.parametrize("width", [40, 60, 80, 100, 160])
def test_a_warning_of_a_crowded_site_never_ends_within_a_camera_s_name(crowded, width):
    named = replace(crowded, plan=crowded.plan.assign(camera=[f"Depot: {name}" for name in crowded.plan["camera"]]))
    lines = summary(named, Path("folder"), width)
    first = next(at for at, line in enumerate(lines) if line.startswith("Warning: "))
    told = re.sub(r"\s+", " ", " ".join(lines[first:])).replace("Warning: ", "\n").strip().splitlines()
    for text in told:
        rest = text
        for name in sorted(named.plan["camera"], key=len, reverse=True):
            rest = rest.replace(name, "")
        assert re.search("Depot|ramp|…", rest) is None  # what is left of a warning has no part of a name
    assert told[0].startswith("No card of the list")
    assert re.search(r"and \d+ more|\d+ cameras", told[0])


def test_a_text_that_does_not_fit_ends_with_a_whole_clause_where_one_ends_in_the_last_line():
    text = "Measure the gate: worth 9 credits. Another card is likely (with 76 %; twice of three); 8 credits less."
    assert paragraph(text, 40, lines=1) == ["Measure the gate: worth 9 credits. …"]
    assert paragraph(text, 40, lines=2) == ["Measure the gate: worth 9 credits.", "    Another card is likely …"]


def test_a_visit_to_more_cameras_than_a_line_holds_is_told_by_their_number(tmp_path):
    names = [f"the camera on lamp post {n} of the outer yard" for n in range(3)]
    rows = "".join(f"{name},1,4,yard\n" for name in names)
    (tmp_path / "cameras.csv").write_text(f"camera,mean_mbit_s,cap_mbit_s,visit_group\n{rows}")
    plan = site_plan(read_lists(tmp_path / "cameras.csv", DATA / "cards.csv"))
    told = summary(plan, Path("folder"), 70)
    assert any(re.fullmatch(r"  [\d-]+: 3 cameras of yard; bring 3 x .*", line) for line in told)


def test_no_visit_of_the_summary_is_dated_before_today(demo):
    lines = summary(demo, Path("folder"), 100)
    dates = [found[1] for line in lines if (found := re.match(r"  (\d{4}-\d\d-\d\d|Now)\b", line))]
    assert dates
    assert min(date for date in dates if date != "Now") >= str(datetime.date.today())
    first = str(demo.visits.table["date"].iloc[0])
    assert (dates[0] == "Now") == (first < str(datetime.date.today()))  # the demo's calendar begins with its document


def test_without_costs_the_summary_says_what_to_state_to_have_worth_in_money():
    plan = site_plan(read_lists(FERRY / "cameras.csv", DATA / "cards.csv"))
    told = " ".join(line.strip() for line in summary(plan, Path("folder"), 80))
    assert (
        "To have it in money, state visit_price in the table [costs] of the settings and a price for each card." in told
    )
    assert IN_MONEY in plan.measure_first.sentences


def test_visits_of_one_day_are_told_with_how_many_of_them_take_a_lift(tmp_path):
    (tmp_path / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s,lift\nmast,1,4,yes\ngate,1,4,\nyard,1,4,\n")
    (tmp_path / "site.toml").write_text("[costs]\nvisit_price = 60\nvisit_with_lift_price = 200\n")
    plan = site_plan(read_lists(tmp_path / "cameras.csv", DATA / "cards.csv", tmp_path / "site.toml"))
    day = plan.visits.table["date"].iloc[0]
    told = summary(plan, Path("folder"), 100)
    assert f"  {day}: 3 visits, 1 of them with a lift, the first to {plan.visits.table['cameras'].iloc[0]}" in told


def test_a_camera_that_loses_its_card_to_a_policy_on_kinds_is_told_so(tmp_path):
    (tmp_path / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s,max_card_gb\nyard,4,8,\ngate,0.2,4,32\n")
    plan = site_plan(read_lists(tmp_path / "cameras.csv", DATA / "cards.csv"), 1)
    assert list(plan.plan["state"]).count("not served") == 1
    told = " ".join(" ".join(summary(plan, Path("folder"), 100)).split())
    assert "would do, but is not one of the kinds chosen" in told


def test_no_line_of_the_whole_text_is_wider_than_the_terminal(demo):
    for width in (60, 100):
        assert max(map(len, full_text(demo, width, change=what_if(demo, demo)))) <= width


@pytest.mark.parametrize(
    ("text", "columns"),
    [("正門", 4), ("\uff47\uff41", 4), ("gate", 4), ("\uff76\uff9e", 2)],  # UAX 11: W and F take two columns, H one
)
def test_a_wide_letter_takes_two_columns_and_a_halfwidth_one_takes_one(text, columns):
    assert width_of(text) == columns


@given(st.text(alphabet="正門埠頭 gate", min_size=1, max_size=60), st.integers(12, 40))
def test_no_line_of_wide_letters_is_wider_than_the_terminal_and_none_is_lost(text, width):
    lines = paragraph(text, width)
    assert max(map(width_of, lines), default=0) <= width
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_path_of_wide_letters_stays_whole_where_it_is_to_be_copied():
    path = "/site/" + "埠頭" * 20
    assert paragraph(f"Written {path}", 40, whole_words=True)[-1].strip() == path


def test_a_site_with_wide_names_is_told_within_the_terminal(tmp_path):
    rows = "".join(f"{'埠頭の北側にある高い柱の上' * 2} {n},4,8,30\n" for n in range(12))
    (tmp_path / "cameras.csv").write_text(f"camera,mean_mbit_s,cap_mbit_s,retention_days\n{rows}入口,0.2,1,3\n")
    (tmp_path / "cards.csv").write_text(
        "card,capacity_gb,speed_class,endurance_tbw\n" + "長寿命の札" * 8 + ",128,V30,300\n"
    )
    plan = site_plan(read_lists(tmp_path / "cameras.csv", tmp_path / "cards.csv"))
    for width in (40, 80):
        lines = summary(plan, Path("folder"), width)
        assert len(lines) <= LINES
        assert max(map(width_of, [*lines, *full_text(plan, width)])) <= width


def test_a_plan_as_json_holds_its_tables_and_no_number_that_is_none(demo):
    plan = json.loads(as_json(demo, [Path("plan.csv")]), parse_constant=pytest.fail)
    assert [row["camera"] for row in plan["plan"]] == list(demo.plan["camera"])
    assert plan["states"] == {"assured": 12, "not served": 2}
    assert f"{plan['cost']:,.0f} credits".replace(",", "\N{NO-BREAK SPACE}") in plan["headline"]
    assert sum(row["cards"] for row in plan["order"]) == 12
    assert plan["plan"][-1]["retention_days"] is None  # no card serves the mast


def test_for_a_program_nothing_but_the_object_is_printed(tmp_path, capsys):
    assert main(["plan", *DEMO, "--out", str(tmp_path / "plan"), "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert {Path(path).name for path in plan["written"]} >= {"plan.csv", "visits.csv"}


def test_everything_and_an_object_cannot_be_asked_together(tmp_path, capsys):
    with pytest.raises(SystemExit):
        main(["plan", *DEMO, "--out", str(tmp_path / "plan"), "--json", "--full"])
    assert "not allowed with" in capsys.readouterr().err
    assert not (tmp_path / "plan").exists()


def test_a_name_that_would_steer_the_terminal_is_shown_and_not_obeyed(demo):
    steering = "\N{RIGHT-TO-LEFT OVERRIDE}"  # a list that holds it is refused; a plan may come from elsewhere
    steered = replace(demo, plan=demo.plan.assign(camera=[f"{steering}{name}" for name in demo.plan["camera"]]))
    told = "".join(_undecided(steered, 80, LINES))
    assert steering not in told
    assert "Mast top" in told


def test_the_summary_keeps_to_thirty_lines_when_every_number_of_the_command_line_has_its_exceptions(crowded):
    last = [f"With their own number {n}: the group at the far end of the long quay 60 %." for n in range(7)]
    for width in (40, 100):
        lines = summary(crowded, Path("folder"), width, first=["A letter is missing."], last=last)
        assert len(lines) <= LINES
        assert any(line.startswith("Not assured") for line in lines)


def test_what_a_budget_costs_is_told_to_its_end_in_30_lines(demo):
    costs = replace(demo.site.costs, budget_per_year=300)
    site = replace(demo.site, settings=replace(demo.site.settings, costs=costs))
    lines = summary(site_plan(site), Path("folder"), 80)
    assert len(lines) <= 30
    told = " ".join(" ".join(lines).split())
    assert re.search(r"puts off \d+ replacements.* Over 10 years the site costs \d+ credits (more|less) than", told)
