"""The sheet for measuring write amplification: what it must say, and the command that writes it."""

import re
import tomllib

import pytest

from edgestore.__main__ import main
from edgestore.documents.amplification_sheet import FILE, SHEET, amplification_sheet
from edgestore.models import wear
from edgestore.units import BYTES_PER_GB, BYTES_PER_MB, H_PER_DAY, S_PER_H


def test_the_command_writes_the_sheet_without_a_card_and_says_that_the_spare_is_worn(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("sys.platform", "win32")  # a sheet needs no Linux, where the check of a card does
    assert main(["accept", "--protocol", "--out", str(tmp_path / "out")]) == 0
    assert [path.name for path in (tmp_path / "out").iterdir()] == [FILE]
    assert "use a spare card: the test wears it" in capsys.readouterr().out.replace("\n", " ")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["--protocol"], "--out: found nothing; allowed: a folder."),
        (["card", "--protocol", "--out", "out"], "FOLDER: found card; allowed: none beside --protocol."),
        ([], "FOLDER: found nothing; allowed: the folder where the card is mounted."),
    ],
)
def test_a_folder_too_few_or_too_many_is_refused_and_nothing_is_written(given, said, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["accept", *given]) == 2
    assert said in " ".join(capsys.readouterr().err.split())
    assert list(tmp_path.iterdir()) == []


def test_it_warns_before_the_steps_that_a_card_in_service_or_evidence_is_never_used_and_the_spare_is_worn():
    page = amplification_sheet()
    before_the_steps = page[: page.index("<ol>")]
    for words in ("Never use a card that is in service", "may be evidence", "the test wears the spare"):
        assert words in before_the_steps
    for heading in ("erase counters", "slows down", "What ends it", "Pattern", "Host volume"):
        assert heading in page[page.index("<h2>") :]


def test_the_readings_to_fill_in_are_enough_for_the_fit_and_no_file_is_fetched():
    page = amplification_sheet()
    readings = page[page.index('class="readings"') :]
    # Two readings a line.
    assert readings.count("<tr>") * 2 - 2 == 20 >= wear.measured.MIN_READINGS
    assert re.findall(r"(?:src|href)=", page) == []


def test_the_functions_that_it_names_are_those_of_the_models():
    text = SHEET.read_text(encoding="utf-8")
    (names,) = re.findall(r"from edgestore\.models\.wear import ([\w, ]+)\.", text)
    assert [name for name in names.split(", ") if name not in wear.__all__] == []
    assert {"write_amplification_low", "write_amplification_high"} <= set(re.findall(r"\w+", text))


def test_what_it_says_in_numbers_is_so():
    text = " ".join(tomllib.loads(SHEET.read_text(encoding="utf-8"))["way"][1]["steps"])
    # 64e9 bytes x 1000 / 20e6 bytes/s = 3.2e6 s = 37.04 days.
    days = 64 * BYTES_PER_GB * 1000 / (20 * BYTES_PER_MB) / S_PER_H / H_PER_DAY
    assert f"64 GB x 1000 cycles at 20 Mbyte/s take {days:.0f} days" in text
    low, high = wear.write_amplification_measured(0, 20, counted_gb=64, host_written_gb=20 * 64)
    assert (low, high) == pytest.approx((0.95, 1.05))  # "within 5 %" after 20 whole cycles


@pytest.mark.landing
def test_it_prints_on_one_page():
    weasyprint = pytest.importorskip("weasyprint")
    assert len(weasyprint.HTML(string=amplification_sheet()).render().pages) == 1
