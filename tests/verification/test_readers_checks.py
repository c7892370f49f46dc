"""A reader's own check file runs in the same form; one that is malformed is refused with all its faults."""

import re
from pathlib import Path

import pandas as pd
import pytest

from edgestore.checks import InputError
from edgestore.verification import as_markdown, as_text, own_check_files, read_checks, run
from edgestore.verification.__main__ import main
from edgestore.verification.report import PAGE_HEAD

# 64 GB x 8000 Mbit/GB / 4 Mbit/s / 3600 s = 35.56 h
GOOD = {
    "fact": '"64 GB hold a day and a half."',
    "quantity": '"retention_h"',
    "inputs": "{ capacity_gb = 64, bitrate_mbit_s = 4 }",
    "expected": "35.56",
    "tolerance": "0.005",
    "unit": '"h"',
    "kind": '"recomputed"',
    "source": '"arithmetic"',
    "how": '"64 x 8000 / 4 / 3600"',
}
HALF = {"changed": "{ capacity_gb = 32 }", "compare": '"ratio"', "expected": "0.5"}
RANGE = {"expected": None, "tolerance": None, "range": "[35, 36]"}
WEEK = {"quantity": '"retention_through_week"', "inputs": f"{{ capacity_gb = 64, bitrate_mbit_s = {[4] * 168} }}"}


def _file(folder: Path, *checks: dict[str, str | None]) -> Path:
    """Write checks that differ from a good one in the fields given; None leaves a field out."""
    path = folder / "ours.toml"
    tables = [{**GOOD, **check} for check in checks]
    blocks = [
        "\n".join(["[[check]]", *(f"{name} = {value}" for name, value in table.items() if value is not None)])
        for table in tables
    ]
    path.write_text("\n\n".join(blocks), encoding="utf-8")
    return path


def test_a_readers_file_runs_beside_the_librarys_own(tmp_path: Path) -> None:
    checks = read_checks([*own_check_files(), _file(tmp_path, {})])
    assert len(checks) == 1 + len(read_checks(own_check_files()))
    results = run(checks[-2:])  # all the others are recomputed once, in the tests of the library's own
    assert results.passed.tolist() == [True, True]
    assert (results.file == "ours.toml").tolist() == [False, True]


def test_the_examples_in_the_page_are_checks_that_pass(tmp_path: Path) -> None:
    path = tmp_path / "example.toml"
    examples = re.findall(r"```toml\n(.*?)```", PAGE_HEAD, flags=re.DOTALL)
    path.write_text("".join(examples), encoding="utf-8")
    assert run(read_checks([path])).passed.tolist() == [True, True]


def test_a_method_of_a_law_is_checked_by_the_laws_fields_and_its_own_arguments(tmp_path: Path) -> None:
    # half of a uniform law from 2 to 6 lies below 4
    law = {"quantity": '"Uniform.quantile"', "inputs": "{ low = 2, high = 6, fraction = 0.5 }", "expected": "4"}
    # 24 h in each (8736 + 24) h are lost
    part = {"quantity": '"Outages.availability"', "expected": "0.99726", "tolerance": "1e-5"}
    part["inputs"] = "{ mtbf_h = 8736, repair = { repair_mean_h = 24 } }"
    assert run(read_checks([_file(tmp_path, law, part)])).passed.tolist() == [True, True]


def test_a_difference_and_a_ratio_are_those_of_the_changed_inputs_to_the_stated_ones(tmp_path: Path) -> None:
    # half the capacity holds half of 35.56 h, 17.78 h less
    less = {**HALF, "compare": '"difference"', "expected": "-17.778", "tolerance": "0.001"}
    wrong = {**HALF, "expected": "2"}
    assert run(read_checks([_file(tmp_path, HALF, less, wrong)])).passed.tolist() == [True, True, False]


def test_a_range_and_a_tolerance_in_percent_pass_within_them_and_fail_beyond(tmp_path: Path) -> None:
    printed = {**RANGE, "kind": '"published"', "source": '"a handbook, table 1, read"'}
    rows = [printed, {**printed, "range": "[35.6, 36]"}]
    # 35.56 h lies 1.2 % above 35.13
    rows += [{"expected": "35.13", "tolerance": None, "tolerance_percent": percent} for percent in ("2", "1")]
    assert run(read_checks([_file(tmp_path, *rows)])).passed.tolist() == [True, False, True, False]


def test_a_plan_and_a_clip_are_checked_by_files_beside_the_check_or_of_the_demo(tmp_path: Path) -> None:
    (tmp_path / "cameras.csv").write_text(
        "camera,mean_mbit_s,cap_mbit_s,scene,recording\nGate,0.4,0.4,busy,continuous\n"
    )
    (tmp_path / "cards.csv").write_text("card,capacity_gb,usable_fraction,endurance_tbw,speed_class\nA,64,1,100,U1\n")
    inputs = '{ cameras = "cameras.csv", cards = "cards.csv", camera = "Gate", column = "retention_days" }'
    # 64 GB over 0.45 GB/h x 0.4 x 24 h = 4.32 GB a day
    plan = {"quantity": '"plan_of_site"', "inputs": inputs, "expected": "14.81", "tolerance": "0.01"}
    file = "ferry_terminal/footage/waiting_room/2026-10-19_12-00-00.mp4"
    clip = {"quantity": '"clip"', "inputs": f'{{ file = "{file}", figure = "packets" }}', "expected": "120"}
    missing = {**clip, "inputs": '{ file = "none.mp4", figure = "packets" }'}
    results = run(read_checks([_file(tmp_path, plan, clip, missing)]))
    assert results.passed.tolist() == [True, True, False]
    assert "none.mp4" in results.got[2]


@pytest.mark.parametrize(
    ("inputs", "message"),
    [
        ("{ low = 2, fraction = 0.5 }", "no argument 'high'"),
        ("{ low = 2, high = 6, share = 0.5, fraction = 0.5 }", "unknown argument 'share'"),
    ],
)
def test_a_field_or_argument_that_a_method_lacks_is_told(inputs: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=message):
        read_checks([_file(tmp_path, {"quantity": '"Uniform.quantile"', "inputs": inputs})])


@pytest.mark.parametrize("repair", ["{ mean_h = 24 }", "24", "{ repair_mean_h = {} }"])
def test_a_thing_within_a_thing_is_stated_by_its_fields(repair: str, tmp_path: Path) -> None:
    inputs = f"{{ mtbf_h = 8736, repair = {repair} }}"
    bad = _file(tmp_path, {"quantity": '"Outages.availability"', "inputs": inputs})
    if repair == "24":  # a number is no law: the model says so
        assert "repair" in run(read_checks([bad])).got.item()
        return
    with pytest.raises(InputError, match="repair"):
        read_checks([bad])


def test_a_file_saved_with_a_byte_order_mark_and_windows_line_ends_is_read(tmp_path: Path) -> None:
    path = _file(tmp_path, {})
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert run(read_checks([path])).passed.tolist() == [True]


def test_a_wrong_expected_value_fails_and_shows_what_came_out(tmp_path: Path) -> None:
    results = run(read_checks([_file(tmp_path, {"expected": "40"})]))
    assert results.passed.tolist() == [False]
    assert results.got.tolist() == pytest.approx([35.56], abs=0.005)


def test_a_list_of_another_length_than_the_result_fails(tmp_path: Path) -> None:
    one = _file(tmp_path, {"expected": "[35.56, 35.56]"})
    assert run(read_checks([one])).passed.tolist() == [False]


def test_a_check_that_the_model_refuses_fails_with_the_message_and_the_others_run(tmp_path: Path) -> None:
    refused = {"inputs": "{ capacity_gb = 64, bitrate_mbit_s = 4000 }"}
    short_week = {**WEEK, "inputs": "{ capacity_gb = 64, bitrate_mbit_s = [4, 4] }", "part": '"worst_h"'}
    results = run(read_checks([_file(tmp_path, refused, short_week, {})]))
    assert results.passed.tolist() == [False, False, True]
    assert "bitrate_mbit_s: is 4000 Mbit/s; must be above 0 and at most 1000 Mbit/s" in results.got[0]
    assert "168 rates" in results.got[1]
    assert "168 rates" in as_text(results, 80)
    assert "168 rates" in as_markdown(results)


def test_a_part_of_a_result_and_streams_without_names_can_be_checked(tmp_path: Path) -> None:
    part = {**WEEK, "part": '"worst_h"'}
    streams = {"quantity": '"total_mbit_s"', "inputs": "{ streams_mbit_s = [4, 0.5, 1] }", "expected": "5.5"}
    assert run(read_checks([_file(tmp_path, part, streams)])).passed.tolist() == [True, True]


RENEWED = {
    "quantity": '"expected_replacements"',
    "inputs": "{ years = 2, card = { ages_years = [0, 4], failed_fraction = [0, 1] } }",
    "expected": "0.64872",
    "tolerance": "0.00001",
}


def test_a_law_of_life_is_given_as_a_table_of_its_fields(tmp_path: Path) -> None:
    # exp(2/4) - 1 for lives spread evenly to 4 years; failures at 0.2 a year for 2 years, all of them random.
    weibull = {"inputs": "{ years = 2, card = { wear_life_years = 1e9, random_per_year = 0.2 } }", "expected": "0.4"}
    results = run(read_checks([_file(tmp_path, RENEWED, {**RENEWED, **weibull})]))
    assert results.passed.tolist() == [True, True]
    assert "card = (ages_years = [0, 4], failed_fraction = [0, 1])" in as_markdown(results)


@pytest.mark.parametrize(
    ("card", "message"),
    [
        (
            "{ wear_years = 8 }",
            r"card = \{'wear_years': 8\}; allowed: a table of wear_life_years, .*; ages_years, failed_",
        ),
        ("{ }", r"card = \{\}; allowed: a table of"),
        ("{ wear_life_years = nan }", r"card = \{'wear_life_years': nan\}"),
        ("{ wear_life_years = { a = 1 } }", r"card = \{'wear_life_years'"),
    ],
)
def test_a_table_that_is_no_law_of_life_is_refused(tmp_path: Path, card: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        read_checks([_file(tmp_path, {**RENEWED, "inputs": f"{{ years = 2, card = {card} }}"})])


def test_a_law_of_life_that_the_library_refuses_fails_with_the_message(tmp_path: Path) -> None:
    short = {**RENEWED, "inputs": "{ years = 2, card = { wear_shape = 3 } }"}
    wrong = {**RENEWED, "inputs": "{ years = 2, card = { wear_life_years = -1 } }"}
    results = run(read_checks([_file(tmp_path, short, wrong)]))
    assert results.passed.tolist() == [False, False]
    assert "wear_life_years: is -1" in results.got[1]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"inputs": "{ capacity_gb = { a = 1 }, bitrate_mbit_s = 4 }"},
            r"capacity_gb = \{'a': 1\}; allowed: a finite num",
        ),
        ({"expcted": "1"}, r"unknown field 'expcted'; allowed: fact, quantity, inputs"),
        ({"file": '"x"'}, r"unknown field 'file'"),
        ({"fact": None}, r"no field 'fact'"),
        ({"fact": '" "'}, r"fact = ' '; allowed: a text"),
        ({"unit": "3"}, r"unit = 3; allowed: a text"),
        ({"source": None}, r"no field 'source'"),
        ({"tolerance": None}, r"no field 'tolerance'"),
        ({"tolerance": "-0.1"}, r"tolerance = -0.1; allowed: a number, 0 or more"),
        ({"tolerance": "nan"}, r"tolerance = nan"),
        ({"tolerance": "true"}, r"tolerance = True"),
        ({"tolerance": '"1 %"'}, r"tolerance = '1 %'"),
        (
            {"tolerance": "3.6"},
            r"tolerance = 3.6 of '64 GB hold a day and a half.'; allowed: at most 3.556, 10 % of the exp",
        ),
        ({"expected": "0", "tolerance": "0.01"}, r"tolerance = 0.01 of .*; allowed: at most 1e-06"),
        ({"tolerance": None, "tolerance_percent": "11"}, r"tolerance_percent = 11 of '64 GB.*; allowed: at most 10"),
        ({"tolerance": None, "tolerance_percent": "-1"}, r"tolerance_percent = -1; allowed: .* in percent"),
        ({"tolerance_percent": "1"}, r"tolerance and tolerance_percent; allowed: one of"),
        ({"range": "[35, 36]"}, r"range beside expected, tolerance; allowed: a range alone"),
        (RANGE, r"a range of the kind 'recomputed'; allowed: a range that a source prints"),
        ({**RANGE, "range": "[36, 35]"}, r"range = \[36, 35\]; allowed: two numbers, the lower first"),
        ({**RANGE, "range": "35"}, r"range = 35; allowed: two numbers"),
        ({"compare": '"ratio"'}, r"no field 'changed'; allowed: changed, the inputs that differ, and compare"),
        ({"changed": "{ capacity_gb = 32 }"}, r"no field 'compare'"),
        ({**HALF, "compare": '"quotient"'}, r"compare = 'quotient'; allowed: difference; ratio"),
        ({**HALF, "changed": "{ days = 1 }"}, r"unknown argument 'days'"),
        ({**HALF, "changed": "{ capacity_gb = nan }"}, r"capacity_gb = nan"),
        ({**HALF, "changed": "3"}, r"changed = 3; allowed: a table of arguments"),
        ({"expected": None}, r"no field 'expected'"),
        ({"expected": "nan"}, r"expected = nan; allowed: a finite number, a text, or a list"),
        ({"expected": "[1, inf]"}, r"expected = \[1, inf\]"),
        ({"expected": '[1, "a"]'}, r"expected = \[1, 'a'\]"),
        ({"expected": "[[1, 2], [3]]"}, r"expected = \[\[1, 2\], \[3\]\]"),
        ({"expected": "[]"}, r"expected = \[\]"),
        ({"expected": "true"}, r"expected = True"),
        ({"expected": "2024-01-01"}, r"expected = datetime.date"),
        (
            {"kind": '"guessed"'},
            r"kind = 'guessed'; allowed: published; derived; recomputed; common practice, no source",
        ),
        ({"kind": None}, r"no field 'kind'"),
        ({"how": None}, r"recomputed value without 'how'"),
        ({"kind": '"derived"', "how": None}, r"derived value without 'how'"),
        (
            {"kind": '"published"', "source": '"a handbook"'},
            r"published value without its place in source = 'a hand",
        ),
        ({"quantity": '"retention"'}, r"quantity = 'retention'; allowed: acceptance_chance, arrhenius_factor, "),
        ({"quantity": '"InputError"'}, r"quantity = 'InputError'"),
        ({"quantity": "[1]"}, r"quantity = \[1\]"),
        ({"quantity": None}, r"no field 'quantity'"),
        ({"inputs": None}, r"no field 'inputs'"),
        ({"inputs": "64"}, r"inputs = 64; allowed: a table of arguments"),
        ({"inputs": "{ capacity_gb = 64 }"}, r"no argument 'bitrate_mbit_s'"),
        (
            {"inputs": "{ capacity_gb = 64, bitrate_mbit_s = 4, days = 1 }"},
            r"unknown argument 'days'; allowed: the arguments of retention_h: capacity_gb, bitrate_mbit_s",
        ),
        ({"inputs": "{ capacity_gb = nan, bitrate_mbit_s = 4 }"}, r"capacity_gb = nan; allowed: a finite number"),
        ({"inputs": "{ capacity_gb = false, bitrate_mbit_s = 4 }"}, r"capacity_gb = False"),
        ({"part": '"worst_h"'}, r"part = 'worst_h'; allowed: no part: retention_h gives one thing"),
        (WEEK, r"no field 'part'; allowed: oldest_h, worst_h, worst_hour"),
        ({**WEEK, "part": '"best_h"'}, r"part = 'best_h'; allowed: oldest_h, worst_h, worst_hour"),
    ],
)
def test_a_malformed_check_is_refused(tmp_path: Path, change: dict[str, str | None], message: str) -> None:
    with pytest.raises(InputError, match=r"ours.toml, check 2: found .*" + message) as refused:
        read_checks([_file(tmp_path, {}, change)])
    assert all("check 2" in fault.where for fault in refused.value.faults)


def test_all_faults_of_all_files_are_told_together(tmp_path: Path) -> None:
    ours = _file(
        tmp_path,
        {"expcted": "1", "tolerance": "-1", "kind": '"guessed"'},
        {},
        {"quantity": '"retention"', "source": None},
    )
    missing = tmp_path / "missing.toml"
    with pytest.raises(InputError, match=r"(?s)check 1.*check 3.*missing.toml: found no such file") as refused:
        read_checks([ours, missing])
    assert [fault.where.removeprefix(f"{ours}, ") for fault in refused.value.faults] == [
        *["check 1"] * 3,
        *["check 3"] * 2,
        str(missing),
    ]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"[[check]\n", r"found not TOML \(.*line 1"),
        (b'[[check]]\nfact = "caf\xe9"\n', r"found bytes that are not UTF-8; .* Save it as UTF-8"),
        (b"", r"found nothing; allowed: a TOML file of \[\[check\]\] tables"),
        (b"[check]\nexpected = 1\n", r"found check; allowed: .* Begin each check with a line \[\[check\]\]"),
        (b"check = []\n", r"found check; allowed"),
        (b"check = [1, 2]\n", r"found check; allowed"),
        (b'author = "x"\n[[check]]\nexpected = 1\n', r"found author, check; allowed"),
    ],
)
def test_a_file_that_is_no_list_of_checks_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "ours.toml"
    path.write_bytes(content)
    with pytest.raises(InputError, match="ours.toml: " + message):
        read_checks([path])


def test_a_folder_is_refused_as_no_readable_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="found a folder"):
        read_checks([tmp_path])


@pytest.mark.parametrize("width", [80, 120])
def test_the_table_for_a_terminal_stays_within_its_width(width: int, own_results: pd.DataFrame) -> None:
    text = as_text(own_results, width, everything=True)
    assert [line for line in text.splitlines() if len(line) > width] == []


def test_the_table_is_as_wide_as_the_terminal_unless_told(
    own_results: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "97")
    assert as_text(own_results, everything=True) == as_text(own_results, 97, everything=True)


def test_the_counts_come_first_then_the_failures_and_what_passed_only_when_asked(tmp_path: Path) -> None:
    results = run(read_checks([_file(tmp_path, {}, {"expected": "40"}, {"kind": '"from memory"'})]))
    count = "3 checks: 1 failed, 2 passed.\n  recomputed   1 failed, 1 passed\n  from memory  all 1 passed\n"
    short, whole = as_text(results, 80), as_text(results, 80, everything=True)
    assert short.startswith(count)
    assert re.findall(r"^(ok|FAIL)  ", short, flags=re.M) == ["FAIL"]
    assert re.search(r"(?s)^FAIL  retention_h +40 +35\.55556 +0\.005 h$", short, flags=re.M)
    assert whole.startswith(short + "\n")
    assert re.findall(r"^(ok|FAIL) ", whole, flags=re.M) == ["FAIL", "ok", "ok"]


def test_nothing_but_the_counts_is_told_when_all_passed(tmp_path: Path) -> None:
    text = as_text(run(read_checks([_file(tmp_path, {})])), 80)
    assert text == "1 checks: all 1 passed.\n  recomputed  all 1 passed"


def test_a_week_of_rates_is_told_in_one_line(tmp_path: Path) -> None:
    results = run(read_checks([_file(tmp_path, {**WEEK, "part": '"worst_h"'})]))
    assert "capacity_gb = 64, bitrate_mbit_s = [4 (168 times)]" in as_text(results, 80, everything=True)


def test_a_bar_in_a_text_does_not_break_the_table_of_the_page(tmp_path: Path) -> None:
    page = as_markdown(run(read_checks([_file(tmp_path, {"fact": '"a | b"'})])))
    assert r"a \| b" in page


def test_the_command_writes_the_page(
    tmp_path: Path, own_results: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "page.md"
    monkeypatch.setitem(main.__globals__, "run", lambda _: own_results)
    main([str(page)])
    assert page.read_bytes().startswith(b"<!-- Generated: do not edit.")
    assert b"\r" not in page.read_bytes()
