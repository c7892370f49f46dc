"""``edgestore registers`` as a newcomer types it."""

import json
from pathlib import Path

import pytest
from register_dumps import LINUX, LOADER

from edgestore.__main__ import main
from edgestore.terminal import width_of

CARDS = str(Path(__file__).parents[1] / "data" / "cards.csv")


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "boot.log"
    path.write_text(LOADER)
    return str(path)


def test_it_prints_the_answer_the_fields_and_what_disagrees_within_the_terminal(log, capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    assert main(["registers", log, "--card", "plain 128 GB", "--cards", CARDS]) == 0
    told = capsys.readouterr().out
    assert told.startswith("The card says: SDHC, 31.72")
    assert max(map(width_of, told.splitlines())) <= 60
    assert (
        told.index("\nCID\n")
        < told.index("\nDisagreements:\n")
        < told.index("\nRemarks:\n")
        < told.index("\nAssumptions:\n")
    )
    assert "25\N{NO-BREAK SPACE}% of the label's 128 GB" in " ".join(told.split(" "))


def test_it_reads_a_folder_and_prints_json_for_programs(tmp_path, capsys):
    for line in LINUX.splitlines():
        name, _, text = line.rpartition("/")[2].removeprefix("mmc0:5048").partition(":")
        if line.startswith("/"):
            (tmp_path / name).write_text(f"{text}\n")
    assert main(["registers", str(tmp_path), "--json", "--device-bytes", "62277025792"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["csd"]["capacity_bytes"] == 62_277_025_792
    assert told["cid"]["crc"]["state"] == "right"
    assert told["sd_status"]["video_mark"] == "V30"
    assert (told["findings"], told["emmc_life"]) == ([], None)


def test_a_file_without_registers_is_refused_and_nothing_is_printed(tmp_path, capsys):
    (tmp_path / "other.log").write_text("nothing here\n")
    assert main(["registers", str(tmp_path / "other.log")]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "other.log: found no register of a card" in told.err


@pytest.mark.parametrize("words", [["--card", "plain 64 GB"], ["--cards", CARDS]])
def test_a_card_without_its_list_is_refused_and_the_other_way_round(words, log, capsys):
    assert main(["registers", log, *words]) == 2
    assert "is given" in capsys.readouterr().err
