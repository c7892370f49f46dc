"""The trace of a figure: from the inputs that a pack keeps to what it states, and a pack that was changed."""

import json
import math
import re
import shutil
from dataclasses import replace
from statistics import NormalDist

import pandas as pd
import pytest
from proposals import DAY, DEMO, demo, hostile, once, without_pdf

from edgestore import InputError
from edgestore.__main__ import main
from edgestore.documents.content import proposal
from edgestore.documents.explained import explained
from edgestore.documents.figures import figures, parts_of, stated
from edgestore.documents.front import front_page
from edgestore.documents.kept_inputs import read_pack
from edgestore.documents.pack import pack
from edgestore.documents.trace import Trace
from edgestore.output import MANIFEST, changed_files, write_folder
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan

LISTS = {
    "cameras.csv": DEMO[0],
    "cards.csv": DEMO[1],
    "site.toml": DEMO[2],
    "log": DEMO[2].with_name("service_log.csv"),
}


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Give the folder of the demo's pack, written once, without the PDF."""
    folder = tmp_path_factory.mktemp("explained") / "pack"
    once(without_pdf, demo()).write(folder)
    return folder


@pytest.fixture(scope="module")
def kept(written):
    return read_pack(written)


def said(folder, monkeypatch, kept, *words):
    """What is said of a figure; the site is not planned anew each time."""
    monkeypatch.setattr("edgestore.documents.explained.read_pack", lambda _: kept)
    return explained(folder, *words)


def value(kept, camera, name):
    return Trace(kept, camera).value(name)


def test_the_copies_are_the_files_that_were_read_byte_by_byte(written):
    for name, copy in (("cameras.csv", "cameras.csv"), ("cards.csv", "cards.csv"), ("site.toml", "settings.toml")):
        assert (written / f"input_{copy}").read_bytes() == LISTS[name].read_bytes()
    assert (written / "input_service_log.csv").read_bytes() == LISTS["log"].read_bytes()


def test_of_footage_only_digest_and_size_are_kept(written):
    footage = next(one for one in json.loads((written / "inputs.json").read_text())["inputs"] if "clips" in one)
    clips = sorted((DEMO[0].parent / footage["name"]).glob("*.mp4"))
    assert [(clip["name"], clip["bytes"]) for clip in footage["clips"]] == [(c.name, c.stat().st_size) for c in clips]
    assert not [path for path in written.iterdir() if path.suffix == ".mp4"]


def test_every_figure_of_every_camera_agrees_with_what_the_pack_states(written, kept, monkeypatch):
    told = said(written, monkeypatch, kept)
    assert told.is_confirmed
    count = len(stated()) * len(kept.plan.plan)
    assert f"{count} figures of 14 cameras worked out anew from the inputs in the pack: all agree" in " ".join(
        told.lines
    )


# By hand, from the lists and settings of the demo alone. Lane 5: cap 8, 40 events an hour of 20 s with 5 and 10 s of
# rolls, a card of 128 GB at 98 %, V30, 20 000 h at 26 Mbit/s; four days and three years asked.
RECORDED = 1 - math.exp(-40 / 3600 * 35)
BY_HAND = [
    ("Lane 1 booth", "planned_mbit_s", 2.6),  # listed
    ("Lane 2 booth", "planned_mbit_s", 6),  # no mean: the cap
    ("Marshalling yard", "peak_mbit_s", 4.4 * 2.2),  # no cap: 4.4 means
    ("Lane 5 height gauge", "recorded_fraction", RECORDED),
    ("Lane 5 height gauge", "speed_margin", 30 * 8 / 8),
    ("Lane 5 height gauge", "retention_days", 128 * 0.98 * 8000 / (8 * RECORDED * 86400)),
    ("Lane 5 height gauge", "rate_limit_mbit_s", 128 * 0.98 * 8000 / (4 * RECORDED * 86400)),
    ("Lane 5 height gauge", "flash_tbw", 20000 * 26 * 0.45 / 1000),
    ("Lane 5 height gauge", "written_tb_year", 8 * RECORDED * 86400 * 365.25 / 8e6),
    ("Lane 5 height gauge", "planned_cost", 2 * 38 * 1.1 + 260),  # two cards, one visit with the lift of its own
    ("Gangway", "planned_cost", 2 * 14 * 1.1 + 2 * 60 / 3),  # two cards, two visits shared by three
    ("Quay south", "capacity_asked_gb", 512),
]


def test_every_column_of_numbers_of_a_plan_can_be_explained(kept, written):
    table = pd.read_csv(written / "plan.csv")
    numbers = [name for name in table if pd.api.types.is_numeric_dtype(table[name]) and table[name].dtype != bool]
    assert len(numbers) > 50
    assert set(numbers) <= set(stated())


def test_a_step_that_no_file_states_can_be_asked_for_too(written, kept, monkeypatch):
    told = said(written, monkeypatch, kept, "Lane 5 height gauge", "rate_limit_mbit_s")
    assert told.is_confirmed
    assert "No file of the pack states it: it is a step on the way." in told.lines[-1]


def test_the_days_years_and_costs_beside_the_middle_follow_their_formulas(kept):
    one = Trace(kept, "Lane 1 booth").value  # listed 2.6 within a factor of 1.3, cap 6, 256 GB
    assert one("high_mbit_s") == 6
    low = 2.6 / 1.3
    assert one("retention_days_low") == pytest.approx(256 * 0.98 * 8000 / (6 * 86400), rel=1e-6)
    assert one("retention_days_high") == pytest.approx(256 * 0.98 * 8000 / (low * 86400), rel=1e-3)
    written = 2.6 * 86400 * 365.25 / 8e6
    assert one("life_years") == pytest.approx(one("flash_tbw") / written / one("amplification_high"), rel=1e-9)
    assert one("life_years_low") == pytest.approx(one("life_years") * 2.6 / 6, rel=1e-9)  # its endurance is stated
    assert one("life_years_high") == pytest.approx(one("wear_life_years") * 1.3, rel=1e-3)
    assert one("retention_days_at_cap") == pytest.approx(one("retention_days") * 2.6 / 6, rel=1e-9)
    assert one("life_years_at_cap") == pytest.approx(one("life_years_low"), rel=1e-9)
    assert one("cards_over_horizon") == pytest.approx(1 + one("failures") + one("planned_changes"), rel=1e-9)
    assert one("failures_cost") == pytest.approx(one("expected_failures") * (70 * 1.1 + 60), rel=1e-9)
    assert one("failures_per_year") == pytest.approx(one("failures") / 10, rel=1e-9)


def test_what_outages_take_follows_its_formula(kept):
    # A median of 8 h and a sigma of 1.2: a mean of 8 exp(0.72) h. Every 17 520 h and that, 8766 h a year; with 2 % of a
    # shared cause, and a card that fails 0.02 times a year and is seen at the next of two checks a year.
    one, mean = Trace(kept, "Lane 1 booth").value, 8 * math.exp(1.2**2 / 2)
    assert one("lost_h_per_year_without_card") == pytest.approx(8766 / (17520 + mean) * mean, rel=1e-9)
    failures = 0.02 * 180 / 365.25
    unseen = 1 - (1 - math.exp(-failures)) / failures
    assert one("unsaved_fraction") == pytest.approx(1 - 0.98 * (1 - unseen), rel=1e-6)
    longer = math.erfc(math.log(one("retention_days") * 24 / 8) / 1.2 / math.sqrt(2)) / 2
    uncovered = 1 - (1 - one("unsaved_fraction")) * (1 - longer)
    assert one("outage_chance_uncovered") == pytest.approx(uncovered, rel=1e-6)


def test_an_outage_of_a_group_that_is_to_be_covered_is_explained_by_its_settings(tmp_path):
    # The rate at which 64 GB, 0.9 of it usable, hold the 60 h of [groups.quay.outage], and that of the site elsewhere.
    lists = {
        "cameras.csv": "camera,group,mean_mbit_s,cap_mbit_s\nGate,quay,1,4\nYard,,1,4\n",
        "cards.csv": "card,capacity_gb,usable_fraction,speed_class,endurance_tbw\nsmall,64,0.9,V30,600\n",
        "site.toml": '[outage]\nrecorder_mtbf_h = 10000\nrepair_law = "exponential"\nrepair_mean_h = 10\n'
        "[groups.quay.outage]\ncovered_h = 60\n[requirements]\nretention_days = 1\nlife_years = 1\n",
    }
    for name, text in lists.items():
        (tmp_path / name).write_text(text)
    plan = site_plan(read_lists(*(tmp_path / name for name in lists)))
    made = proposal(plan, replace(front_page(plan.site.settings.document, DAY), date=DAY))
    pack(made, with_pdf=False).write(tmp_path / "pack")
    told = explained(tmp_path / "pack", "Gate", "chance_outage")
    assert told.is_confirmed
    words = "\n".join(told.lines)
    assert "group quay covered_h: 60" in words
    limit = 64 * 0.9 * 8000 / (86400 * 60 / 24)
    assert f"64 x 0.9 x 8000 / (1 x 86400 x 2.5)\n     = {limit:.6g} Mbit/s" in words
    assert explained(tmp_path / "pack").is_confirmed
    assert "chance_outage = 1" in "\n".join(explained(tmp_path / "pack", "Yard", "chance_outage").lines)
    longest = explained(tmp_path / "pack", "Gate", "useful_retention_h")  # 57.6 GB at 1 Mbit/s, 0.45 GB/h: 128 h
    assert longest.is_confirmed
    assert "The pack states useful_retention_h = 128 " in "\n".join(longest.lines)
    in_service = "\n".join(explained(tmp_path / "pack", "Gate", "in_service_chance_outage").lines)
    assert "There is no such figure: the settings, the lists or the service log do not state" in in_service


@pytest.mark.parametrize(("camera", "name", "by_hand"), BY_HAND)
def test_a_figure_is_that_of_its_formula_by_hand(kept, camera, name, by_hand):
    assert value(kept, camera, name) == pytest.approx(by_hand, rel=1e-6)


def test_a_chance_of_a_camera_whose_cap_alone_is_known_counts_what_is_above_the_cap_at_the_cap(kept):
    # Motion, of 8 Mbit/s at most: the law of the mean summed in 4 000 steps up to the cap, and the rest of it there.
    one = Trace(kept, "Lane 5 height gauge").value
    middle, scatter, cap = math.log(one("median_mbit_s")), one("mean_sigma"), math.log(one("cap_mbit_s"))

    def kept_at(log_rate):
        return NormalDist().cdf((math.log(one("rate_limit_mbit_s")) - log_rate) / one("recorded_sigma"))

    law, below = NormalDist(middle, scatter), middle - 8 * scatter
    step = (cap - below) / 4000
    logs = [below + (at + 0.5) * step for at in range(4000)]
    by_hand = sum(law.pdf(log) * step * kept_at(log) for log in logs) + (1 - law.cdf(cap)) * kept_at(cap)
    assert one("chance_retention") == pytest.approx(by_hand, abs=1e-4)


def test_the_formulas_of_chances_and_costs_hold_with_the_figures_told_beside_them(kept):
    def phi(score):
        return (1 + math.erf(score / math.sqrt(2))) / 2

    one = Trace(kept, "Lane 1 booth").value  # a listed mean of 2.6 with a cap of 6
    score = math.log(one("rate_limit_mbit_s") / one("median_mbit_s")) / one("mean_sigma")
    part = phi(math.log(6 / one("median_mbit_s")) / one("mean_sigma"))
    assert one("part_below_cap") == pytest.approx(part, rel=1e-9)
    assert one("chance_retention") == pytest.approx(min(1, phi(score) / part), rel=1e-9)
    renewed = one("failures") + one("planned_changes")
    assert one("cost") == pytest.approx(70 * 1.1 * (1 + renewed) + 60 * renewed, rel=1e-9)  # 256 GB: 70 credits
    assert one("chance_life") == pytest.approx(one("works_at_planned"), abs=0.005)  # the mean is near the middle

    hall = Trace(kept, "Waiting room").value  # measured: two laws weighed in the logarithm
    weights = [(hall(f"{of}_mbit_s"), hall(f"{of}_sigma") ** -2) for of in ("measured", "known_before")]
    mean = sum(math.log(rate) * weight for rate, weight in weights) / sum(weight for _, weight in weights)
    assert hall("planned_mbit_s") == pytest.approx(math.exp(mean), rel=1e-9)


def test_the_way_names_file_line_and_column_of_what_counts_and_the_source_of_each_step(written, kept, monkeypatch):
    told = "\n".join(said(written, monkeypatch, kept, "Quay south", "chance_kept").lines)
    assert "input_cameras.csv, line 8, column cap_mbit_s: 4" in told
    assert "input_settings.toml, line 9, group quay retention_days: 7" in told
    assert "input_cards.csv, line 12, column endurance_tbw: 936" in told  # long-life 512 GB
    assert "= 512 x 0.98 x 8000 / (1 x 86400 x 7 x 1)" in told
    assert "SD Physical Layer Simplified Specification" in told
    assert told.count("Source: ") >= 20
    assert "They agree." in told
    log = "\n".join(said(written, monkeypatch, kept, "Staff gate", "in_service_next_change").lines)
    assert "input_service_log.csv, line 25, column fitted: 2021-03-30" in log


def test_a_formula_reads_as_a_sentence_with_the_values_too_and_money_is_in_the_currency_of_the_site(
    written, kept, monkeypatch
):
    # Lane 1 booth: three years asked, a card of 70 credits; a first fitting is no visit by the settings.
    told = " ".join(said(written, monkeypatch, kept, "Lane 1 booth", "cost").lines)
    one = Trace(kept, "Lane 1 booth").value
    assert f"(by hand: {one('works_at_planned'):.6g}), in the mean over the law of the rate" in told
    assert f"from 3 to {one('latest_change_years'):.6g} years, the age of least cost ({one('cost'):.6g})" in told
    assert "where f is 1 if the first fitting counts as a visit, else 0; it counts as one: false" in told
    assert f"= {one('cost'):.6g} credits" in told
    assert "currency units" not in told


def test_no_value_stands_in_the_place_of_a_name_within_the_words_of_a_formula():
    # In words a part stands beside a sign, a number or a comma, or in brackets: not as "the formula of 0.95".
    for figure in figures().values():
        for formula in (figure.formula, *figure.cases.values()):
            assert not re.search(
                r"(formula of|(?<!at )least|as for|as|where|for the scene|the mean|the cap|the peak) \{", formula
            ), formula


def test_figures_of_cameras_with_hostile_names_are_found_in_the_pack(tmp_path):
    once(without_pdf, hostile()).write(tmp_path / "pack")
    told = explained(tmp_path / "pack")
    assert told.is_confirmed, told.lines


def test_without_a_card_there_is_no_figure_and_that_is_said(written, kept, monkeypatch):
    told = said(written, monkeypatch, kept, "Mast top", "change_years")
    assert "There is no such figure: the camera is not served." in told.lines
    assert told.is_confirmed


def test_an_unknown_camera_or_figure_is_refused_with_those_that_there_are(written, kept, monkeypatch):
    with pytest.raises(InputError, match=r"CAMERA: found 'Quay'; allowed: one of Lane 1 booth, .*Mast top"):
        said(written, monkeypatch, kept, "Quay", "cost")
    with pytest.raises(
        InputError, match=r"FIGURE: found 'chance'; allowed: one of wanted_retention_days, .*next_change"
    ):
        said(written, monkeypatch, kept, "Quay south", "chance")


def test_a_changed_byte_of_any_file_is_found_and_that_file_named(written, tmp_path):
    shutil.copytree(written, tmp_path / "pack")
    for path in sorted((tmp_path / "pack").iterdir()):
        content = path.read_bytes()
        for at in (0, len(content) // 2, len(content) - 1):
            path.write_bytes(content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :])
            assert path.name in changed_files(tmp_path / "pack"), (path.name, at)
            if path.name != MANIFEST:
                assert changed_files(tmp_path / "pack") == (path.name,)
        path.write_bytes(content)
    assert changed_files(tmp_path / "pack") == ()


def test_a_file_that_is_missing_or_was_added_is_named(written, tmp_path):
    shutil.copytree(written, tmp_path / "pack")
    (tmp_path / "pack" / "plan.csv").unlink()
    (tmp_path / "pack" / "letter.txt").write_text("mine")
    assert changed_files(tmp_path / "pack") == ("letter.txt", "plan.csv")


def test_a_figure_that_was_changed_in_the_pack_does_not_agree_and_the_command_fails(written, kept, tmp_path, capsys):
    shutil.copytree(written, tmp_path / "pack")
    plan = tmp_path / "pack" / "plan.csv"
    stated_one = f"{value(kept, 'Quay south', 'chance_kept'):.6g}"
    assert stated_one in plan.read_text()
    plan.write_text(plan.read_text().replace(stated_one, "0.999"))
    assert main(["explain", str(tmp_path / "pack"), "Quay south", "chance_kept"]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "Warning: changed since the pack was written: plan.csv." in told
    assert "The pack states chance_kept = 0.999" in told
    assert f"{stated_one}. They DO NOT agree." in told


def test_inputs_that_can_no_longer_be_read_are_named_as_changed(written, tmp_path):
    shutil.copytree(written, tmp_path / "pack")
    (tmp_path / "pack" / "input_cards.csv").write_text("nothing")
    with pytest.raises(InputError, match=r"changed since it was written: input_cards\.csv"):
        read_pack(tmp_path / "pack")


@pytest.mark.parametrize("record", [b"[]", b"{}", b'{"date": 1, "inputs": [{}]}', b"\xff"])
def test_a_list_of_inputs_of_another_kind_is_refused_whatever_its_digest(record, tmp_path):
    write_folder(tmp_path / "pack", {"inputs.json": record}, "edgestore propose")
    with pytest.raises(InputError, match=r"inputs\.json of another kind"):
        read_pack(tmp_path / "pack")


def test_a_folder_that_is_no_pack_is_refused(tmp_path):
    with pytest.raises(InputError, match=r"no pack\.json"):
        read_pack(tmp_path)


def test_what_the_command_line_asks_is_kept_and_told(tmp_path):
    cameras = b"camera,mean_mbit_s\nGate,2\n"
    cards = b"card,capacity_gb,speed_class,endurance_tbw\nA,256,U3,500\n"
    site = read_lists(("cameras.csv", cameras), ("cards.csv", cards)).asking(Requirements(retention_days=5.0))
    made = proposal(site_plan(site, "site"), replace(front_page(site.settings.document, DAY), date=DAY))
    pack(made, with_pdf=False).write(tmp_path / "pack")
    told = "\n".join(explained(tmp_path / "pack", "Gate", "retention_days").lines)
    assert "They agree." in told
    limit = "\n".join(explained(tmp_path / "pack", "Gate", "chance_retention").lines)
    assert "asked when the pack was made: 5" in limit
    assert read_pack(tmp_path / "pack").plan.kinds == "site"


def test_every_part_of_a_formula_is_a_figure_or_an_input(kept):
    trace = Trace(kept, "Lane 1 booth")
    for figure in figures().values():
        formulas = figure.cases.values() if figure.by else [figure.formula]
        for part in (part for formula in formulas for part in parts_of(formula)):
            assert part in figures() or trace.input(part)[0], (figure.name, part)
        assert not figure.by or all(figure.cases.values())
