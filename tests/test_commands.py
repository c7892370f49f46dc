"""The commands as a newcomer types them."""

import csv
import io
import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from edgestore import InputError, verification
from edgestore.__main__ import main
from edgestore.checks import Fault
from edgestore.progress import cameras_bar, clock

DATA = Path(__file__).parents[1] / "data"
CAMERAS, CARDS = str(DATA / "ferry_terminal" / "cameras.csv"), str(DATA / "cards.csv")
FOOTAGE = DATA / "ferry_terminal" / "footage" / "waiting_room"
CLIPS = sorted(FOOTAGE.glob("*.mp4"))
MEASURED = ["file", "packets", "bytes", "key_frames", "duration_s", "mean_mbit_s", "peak_1s_mbit_s", "peak_gop_mbit_s"]
SETTINGS = str(DATA / "ferry_terminal" / "site.toml")

FIVE_FAULTS = """camera,mean_mbit_s,cap_mbit_s,recording,events_per_h,event_s,scene
gate,-1,4,,,,
gate,2,4,,,,
yard,,,,,,
ramp,2,4,motion,,10,
hall,2,4,,,,sunny
"""


def rows(path):
    return list(csv.DictReader(path.read_text().splitlines()))


def test_plan_writes_a_row_a_camera_and_a_row_for_every_pair(tmp_path, capsys):
    assert main(["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path / "plan"), "--full"]) == 0
    plan = rows(tmp_path / "plan" / "plan.csv")
    candidates = rows(tmp_path / "plan" / "candidates.csv")
    assert len(plan) == 14
    assert len(candidates) == 14 * 12
    assert {"camera", "card", "retention_days", "life_years", "speed_margin", "meets", "reason"} <= set(plan[0])
    assert {"mean_basis", "peak_basis", "recorded_basis", "card_at_cap", "against_cap"} <= set(plan[0])
    printed = capsys.readouterr().out
    assert all(row["against_cap"] for row in plan)
    assert "events logged" in printed
    assert "if only the cap were known, the plan would choose" in " ".join(printed.split())
    assert all(row["camera"] in printed for row in plan)


def test_the_line_of_the_readme_plans_the_demo_with_what_its_settings_ask(tmp_path, monkeypatch, capsys):
    house = DATA.parent
    (line,) = re.findall(r"\.venv/bin/edgestore (plan .+)", (house / "README.md").read_text(encoding="utf-8"))
    *words, out = line.split()
    assert out == "plan"
    monkeypatch.chdir(house)
    assert main([*words, str(tmp_path / "plan")]) == 0
    # As site.toml has it: 4 days asked, of the quay 7, of public rooms 3; costs in credits over 10 years.
    wanted = {row["camera"]: row["wanted_retention_days"] for row in rows(tmp_path / "plan" / "plan.csv")}
    assert [wanted[camera] for camera in ("Lane 1 booth", "Quay north", "Ticket hall")] == ["4", "7", "3"]
    assert "credits in 10 years" in " ".join(capsys.readouterr().out.split())


def test_a_camera_list_with_five_faults_is_refused_with_all_five_and_no_file(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text(FIVE_FAULTS)
    code = main(["plan", str(tmp_path / "cameras.csv"), "--cards", CARDS, "--out", str(tmp_path / "plan")])
    told = capsys.readouterr()
    assert code == 2
    assert not (tmp_path / "plan").exists()
    assert told.out == ""
    lines = told.err.splitlines()
    for line, column in ((2, "mean_mbit_s"), (3, "camera"), (4, "mean_mbit_s"), (5, "events_per_h"), (6, "scene")):
        assert any(f"line {line}, column {column}" in text for text in lines), (line, column)


def test_faults_of_both_lists_are_told_together(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text(FIVE_FAULTS)
    (tmp_path / "cards.csv").write_text("card,capacity_gb\n")
    main(
        ["plan", str(tmp_path / "cameras.csv"), "--cards", str(tmp_path / "cards.csv"), "--out", str(tmp_path / "plan")]
    )
    told = capsys.readouterr().err
    assert "cameras.csv" in told
    assert "cards.csv" in told


@pytest.mark.parametrize("option", ["--retention-days", "--life-years", "--speed-margin", "--max-retention-days"])
def test_a_requirement_that_cannot_be_is_refused(option, tmp_path, capsys):
    assert main(["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path / "plan"), option, "-1"]) == 2
    assert "is -1" in capsys.readouterr().err
    assert not (tmp_path / "plan").exists()


def test_a_missing_file_that_a_list_names_is_refused_and_nothing_is_written(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text("camera,encoder_file,footage\ngate,gate.xml,\nyard,,clips\n")
    code = main(["plan", str(tmp_path / "cameras.csv"), "--cards", CARDS, "--out", str(tmp_path / "plan")])
    told = capsys.readouterr()
    assert code == 2
    assert told.out == ""
    assert not (tmp_path / "plan").exists()
    for camera, path in (("gate", "gate.xml"), ("yard", "clips")):
        assert f"camera '{camera}', " in told.err
        assert f"edgestore looked for {tmp_path / path}" in told.err


def test_plan_with_settings_counts_cost_and_writes_the_front_of_kinds(tmp_path, capsys):
    words = ["plan", CAMERAS, "--cards", CARDS, "--settings", SETTINGS, "--out", str(tmp_path)]
    assert main([*words, "--kinds", "3", "--full"]) == 0
    printed = capsys.readouterr().out
    kinds, plan = rows(tmp_path / "kinds.csv"), rows(tmp_path / "plan.csv")
    assert [int(row["kinds"]) for row in kinds] == sorted({int(row["kinds"]) for row in kinds})
    assert len({row["card"] for row in plan if row["card"]}) <= 3
    assert min(float(row["cost"]) for row in plan if row["meets"] == "True") > 0
    assert {row["wanted_retention_days"] for row in plan if row["group"] == "quay"} == {"7"}
    for words in (
        "days required by group quay",
        "Kinds of card:",
        "proven optimal",
        "At most 3 kinds",
        "credits in 10",
    ):
        assert words in printed.replace("\n    ", " ")


def test_a_number_of_the_command_line_goes_before_that_of_the_settings(tmp_path):
    words = ["plan", CAMERAS, "--cards", CARDS, "--settings", SETTINGS, "--out", str(tmp_path)]
    main([*words, "--retention-days", "5"])
    wanted = {row["camera"]: row["wanted_retention_days"] for row in rows(tmp_path / "plan.csv")}
    assert (wanted["Fuel store"], wanted["Quay south"], wanted["Gangway"]) == ("5", "7", "3")  # the last two by group


def test_both_commands_take_an_assurance_and_say_in_a_line_who_keeps_another(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text(
        "camera,mean_mbit_s,cap_mbit_s,slot_bus,group,assurance\nhall,2,4,sdr104,,\nquay,2,4,sdr104,quay,\n"
        "mast,2,4,sdr104,,0.7\n"
    )
    (tmp_path / "site.toml").write_text("[requirements]\nassurance = 0.8\n[groups.quay]\nassurance = 0.6\n")
    lists = [str(tmp_path / "cameras.csv"), "--cards", CARDS, "--settings", str(tmp_path / "site.toml")]
    for command in (["plan"], ["propose", "--no-pdf"]):
        folder = tmp_path / command[0]
        assert main([*command, *lists, "--out", str(folder), "--assurance", "0.85"]) == 0
        wanted = {row["camera"]: row["wanted_assurance"] for row in rows(folder / "plan.csv")}
        assert wanted == {"hall": "0.85", "quay": "0.6", "mast": "0.7"}
        told = capsys.readouterr().out.replace("\N{NO-BREAK SPACE}", " ").splitlines()
        assert "With their own assurance: group quay 60 %, camera mast 70 %." in told


def test_two_plans_are_compared_and_the_other_file_is_refused_by_its_name(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s\nGate,2,4\n")
    (tmp_path / "other.toml").write_text("[requirements]\nretention_days = 30\n")
    words = ["plan", str(tmp_path / "cameras.csv"), "--cards", CARDS, "--out", str(tmp_path / "plan"), "--compare"]
    assert main([*words, str(tmp_path / "other.toml"), "--full"]) == 0
    printed = capsys.readouterr().out
    assert "With the other plan instead of this one:\n1 camera of 1 changes card, 0 are assured instead of 1" in printed
    compared = rows(tmp_path / "plan" / "compared.csv")
    assert {
        "camera": "Gate",
        "what": "wanted_retention_days",
        "before": "7",
        "after": "30",
        "difference": "",
    } in compared
    assert main([*words, str(tmp_path / "missing.toml")]) == 2
    assert "the other plan, " in (told := capsys.readouterr().err)
    assert "missing.toml" in told


@pytest.mark.parametrize("kinds", ["0", "many", "-1", "", "9" * 5000])
def test_a_policy_on_kinds_that_is_none_is_refused(kinds, tmp_path, capsys):
    assert main(["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path / "plan"), f"--kinds={kinds}"]) == 2
    assert "kinds: is" in capsys.readouterr().err
    assert not (tmp_path / "plan").exists()


def test_faults_of_the_settings_are_told_with_those_of_the_lists(tmp_path, capsys):
    (tmp_path / "cameras.csv").write_text(FIVE_FAULTS)
    (tmp_path / "site.toml").write_text("[costs]\nvisit = 3\n[groups.quay]\nretention_days = 'x'\n")
    words = [str(tmp_path / "cameras.csv"), "--cards", CARDS, "--settings", str(tmp_path / "site.toml")]
    assert main(["plan", *words, "--out", str(tmp_path / "plan")]) == 2
    told = capsys.readouterr().err
    for text in (
        "line 6, column scene",
        "[costs] 'visit': found an unknown key",
        "visit_price: found nothing",
        'quay"]',
    ):
        assert text in told
    assert not (tmp_path / "plan").exists()


def test_a_group_that_wants_more_than_the_site_allows_is_refused(tmp_path, capsys):
    words = ["plan", CAMERAS, "--cards", CARDS, "--settings", SETTINGS, "--out", str(tmp_path / "plan")]
    assert main([*words, "--max-retention-days", "5"]) == 2
    assert "group quay, retention_days_max: found 5 days; allowed: 7 days or more" in capsys.readouterr().err


def test_a_group_of_the_settings_that_no_camera_has_is_told(tmp_path, capsys):
    (tmp_path / "site.toml").write_text("[groups.quai]\nretention_days = 9\n")
    words = ["plan", CAMERAS, "--cards", CARDS, "--settings", str(tmp_path / "site.toml")]
    assert main([*words, "--out", str(tmp_path / "plan"), "--full"]) == 0
    assert "no camera has the group 'quai' (is it 'quay'?)" in capsys.readouterr().out.replace("\n    ", " ")


def test_a_missing_list_is_refused(tmp_path, capsys):
    assert main(["plan", str(tmp_path / "none.csv"), "--cards", CARDS, "--out", str(tmp_path / "plan")]) == 2
    assert "none.csv" in capsys.readouterr().err


def test_asking_for_more_changes_the_plan(tmp_path):
    for folder, days in (("week", "7"), ("month", "30")):
        main(["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path / folder), "--retention-days", days])
    assert (tmp_path / "week" / "plan.csv").read_text() != (tmp_path / "month" / "plan.csv").read_text()


def test_the_module_does_the_same_as_the_command(tmp_path):
    words = ["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path / "plan")]
    done = subprocess.run([sys.executable, "-m", "edgestore", *words], capture_output=True, text=True, check=True)
    assert re.search(r"Of \d+ cameras: .*\d+ assured", done.stdout)
    assert (tmp_path / "plan" / "plan.csv").is_file()


def test_verify_passes_and_prints_every_source(capsys):
    assert main(["verify", "--all"]) == 0
    printed = capsys.readouterr().out
    assert "common practice, no source" in printed
    assert "UFC 4-021-02NF" in printed


def test_verify_fails_with_a_readers_check_that_fails(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr(verification, "own_check_files", list)  # which all pass, as above
    check = tmp_path / "mine.toml"
    check.write_text(
        '[[check]]\nfact = "a wrong saying"\nquantity = "retention_h"\n'
        "inputs = { capacity_gb = 32, bitrate_mbit_s = 4 }\n"
        'expected = 40\ntolerance = 0.1\nunit = "h"\nsource = "a saying"\nkind = "common practice, no source"\n'
    )
    assert main(["verify", "--also", str(check)]) == 1
    assert "17.7" in capsys.readouterr().out


def test_measure_prints_and_writes_a_row_a_file_in_the_order_of_its_columns(tmp_path, capsys):
    out = tmp_path / "new" / "measured.csv"
    assert main(["measure", str(FOOTAGE), "--csv", str(out), "--zone", "Europe/Berlin"]) == 0
    header = out.read_text().splitlines()[0].split(",")
    assert header[: len(MEASURED)] == MEASURED
    assert header[-2:] == ["warnings", "made_with"]
    assert [row["file"] for row in rows(out)] == [str(path) for path in CLIPS]
    for row in rows(out):
        # 12 s of 10 pictures a second with a key frame every 2 s, as data/README.md says.
        assert (row["packets"], row["key_frames"], float(row["duration_s"])) == ("120", "6", 12)
        assert float(row["mean_mbit_s"]) == pytest.approx(int(row["bytes"]) * 8 / 12 / 1e6)
        assert float(row["peak_1s_mbit_s"]) > float(row["mean_mbit_s"])
    printed = capsys.readouterr()
    assert all(str(path) in printed.out for path in CLIPS)
    assert "All clips: 48 s, mean " in printed.out
    assert printed.out.endswith(f"Written: {out}\n")
    assert printed.err == ""


def test_measure_names_an_unreadable_file_reads_the_rest_and_fails(tmp_path, capsys):
    bad = tmp_path / "=1+1.mp4"
    bad.write_text("no clip")
    out = tmp_path / "measured.csv"
    assert main(["measure", str(CLIPS[0]), str(bad), "none.mp4", "--csv", str(out)]) == 1
    written = rows(out)
    assert [row["file"] for row in written] == [str(CLIPS[0]), str(bad), "none.mp4"]
    assert [row["packets"] for row in written] == ["120", "", ""]
    assert all(row["warnings"].startswith(f"not read: {row['file']}: found ") for row in written[1:])
    printed = " ".join(capsys.readouterr().out.split())
    assert f"Warning: not read: {bad}: found no video that can be read" in printed
    assert "Warning: not read: none.mp4: found no such file" in printed


def test_measure_writes_no_name_that_a_spreadsheet_would_run(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "=1+1.mp4").write_bytes(CLIPS[0].read_bytes())
    assert main(["measure", "=1+1.mp4", "--csv", "measured.csv"]) == 0
    assert rows(tmp_path / "measured.csv")[0]["file"] == "'=1+1.mp4"


@pytest.mark.skipif(os.name == "nt", reason="such names are of POSIX systems")
def test_measure_writes_names_that_are_no_utf8(tmp_path, capsys):
    name = os.fsdecode(os.fsencode(tmp_path) + b"/gate\xff.mp4")
    Path(name).write_bytes(CLIPS[0].read_bytes())
    assert main(["measure", name, "--csv", str(tmp_path / "measured.csv")]) == 0
    assert rows(tmp_path / "measured.csv")[0]["file"].endswith("gate?.mp4")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["none.mp4"], "none.mp4: found no such file; allowed: a recorded clip."),
        ([str(DATA / "measured")], "found a folder of 3 files without a clip"),
        ([str(CLIPS[0]), "--zone", "Mars/Olympus"], "zone: found 'Mars/Olympus'"),
    ],
)
def test_measure_refuses_and_writes_nothing(words, told, tmp_path, capsys):
    assert main(["measure", *words, "--csv", str(tmp_path / "new" / "measured.csv")]) == 2
    printed = capsys.readouterr()
    assert told in printed.err
    assert printed.err.startswith("edgestore measure stops here, and nothing was written:")
    assert printed.out == ""
    assert list(tmp_path.iterdir()) == []


def test_measure_never_writes_over_a_clip(tmp_path, capsys):
    # As after --csv *.mp4, where the shell names the first clip as the table.
    clip = tmp_path / "gate.mp4"
    clip.write_bytes(CLIPS[0].read_bytes())
    assert main(["measure", str(CLIPS[1]), "--csv", str(clip)]) == 2
    assert "--csv: found " in capsys.readouterr().err
    assert clip.read_bytes() == CLIPS[0].read_bytes()


def test_measure_takes_times_in_names_as_the_zone_says(tmp_path):
    for zone, start in (("Europe/Berlin", "2026-10-19 01:00:00+00:00"), ("UTC", "2026-10-19 03:00:00+00:00")):
        main(["measure", str(CLIPS[0]), "--zone", zone, "--csv", str(tmp_path / "measured.csv")])
        assert rows(tmp_path / "measured.csv")[0]["start"] == start


def test_measure_draws_no_bar_where_nobody_watches_and_prints_nothing_of_the_library(tmp_path):
    (tmp_path / "cut.mp4").write_bytes(CLIPS[0].read_bytes()[:90_000])
    words = ["measure", str(tmp_path), str(CLIPS[1])]
    done = subprocess.run([sys.executable, "-m", "edgestore", *words], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, "")
    assert "cut.mp4" in done.stdout


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize(("each_s", "is_told"), [(0.0, False), (0.8, True)])
def test_progress_over_files_is_shown_on_a_terminal_from_2_s_on(each_s, is_told, monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    for _ in cameras_bar(lambda: None)(["gate"] * 4):
        time.sleep(each_s)
    assert ("Reading the files of the cameras" in terminal.getvalue()) == is_told


def test_no_progress_is_written_to_a_file(monkeypatch):
    file = io.StringIO()
    monkeypatch.setattr(sys, "stderr", file)
    for _ in cameras_bar(lambda: None)(["gate"] * 4):
        time.sleep(0.8)
    assert file.getvalue() == ""


@pytest.mark.parametrize(("takes_s", "told"), [(0.5, ""), (2.5, r"(\rChoosing: [23] s)+\r {13}\r")])
def test_what_takes_long_is_told_on_a_terminal_from_2_s_on_and_wiped_at_the_end(takes_s, told, monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with clock("Choosing"):
        time.sleep(takes_s)
    assert re.fullmatch(told, terminal.getvalue())


def test_a_plan_is_told_to_be_under_way_while_it_is_made(monkeypatch, tmp_path):
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setattr("edgestore.plan.tables.write_plan", lambda *_: time.sleep(2.5) or [])
    main(["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path / "plan")])
    assert re.match(r"\rChoosing the cards: [2-9] s", terminal.getvalue())


def test_the_clock_is_stopped_and_wiped_when_an_input_is_refused(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with pytest.raises(KeyError), clock("Choosing"):
        raise KeyError
    assert terminal.getvalue() == ""


def test_no_clock_is_written_to_a_file(monkeypatch):
    file = io.StringIO()
    monkeypatch.setattr(sys, "stderr", file)
    with clock("Choosing"):
        time.sleep(2.5)
    assert file.getvalue() == ""


def test_reading_long_lists_is_told_on_a_terminal_until_the_bar_of_the_cameras_begins(monkeypatch, tmp_path):
    def slowly(cameras, cards, settings, progress):
        time.sleep(0.5)
        assert terminal.getvalue().startswith("\rReading the lists: 0 s")
        progress([])
        assert terminal.getvalue().endswith(f"\r{' ' * len('Reading the lists: 0 s')}\r")  # cleared before the bar
        raise InputError([Fault("cameras.csv", "nothing", "cameras")])

    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setattr("edgestore.progress.PATIENCE_S", 0.1)
    monkeypatch.setattr("edgestore.plan.read.read_lists", slowly)
    assert main(["plan", CAMERAS, "--cards", CARDS, "--out", str(tmp_path)]) == 2


def test_a_list_without_a_folder_to_write_to_is_told_to_name_one(capsys):
    assert main(["plan", CAMERAS, "--cards", CARDS]) == 2
    told = capsys.readouterr().err
    assert "--out: found nothing; allowed: a folder to write to." in told
    assert "--cards" not in told
