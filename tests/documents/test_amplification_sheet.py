"""The sheet for measuring write amplification: what it must say, and the command that writes it."""

import re
import tomllib

import pytest

from edgestore.__main__ import main
from edgestore.documents.amplification_sheet import FILE, READINGS, SHEET, amplification_sheet
from edgestore.inputs.amplification_readings import BLANK, FIELDS, ROWS
from edgestore.models import wear
from edgestore.units import BYTES_PER_GB, BYTES_PER_MB, H_PER_DAY, S_PER_H


def test_the_command_writes_the_sheet_without_a_card_and_says_that_the_spare_is_worn(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("sys.platform", "win32")  # a sheet needs no Linux, where the check of a card does
    assert main(["accept", "--protocol", "--out", str(tmp_path / "out")]) == 0
    assert {path.name for path in (tmp_path / "out").iterdir()} == {FILE, READINGS}
    assert main(["accept", "--protocol", "--out", str(tmp_path / "out")]) == 2  # readings are not written over
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


def test_it_names_the_file_and_the_option_that_work_it_out_and_the_columns_of_the_card_list():
    text = SHEET.read_text(encoding="utf-8")
    assert f"edgestore accept --fit {READINGS}" in text
    assert {"write_amplification_low", "write_amplification_high"} <= set(re.findall(r"\w+", text))


def test_what_it_says_in_numbers_is_so():
    text = " ".join(tomllib.loads(SHEET.read_text(encoding="utf-8"))["way"][1]["steps"])
    # 64e9 bytes x 1000 / 20e6 bytes/s = 3.2e6 s = 37.04 days.
    days = 64 * BYTES_PER_GB * 1000 / (20 * BYTES_PER_MB) / S_PER_H / H_PER_DAY
    assert f"64 GB x 1000 cycles at 20 Mbyte/s takes {days:.0f} days" in text
    low, high = wear.write_amplification_measured(0, 20, counted_gb=64, host_written_gb=20 * 64)
    assert (low, high) == pytest.approx((0.95, 1.05))  # "within 5 %" after 20 whole cycles


@pytest.mark.landing
def test_it_prints_on_one_page():
    weasyprint = pytest.importorskip("weasyprint")
    assert len(weasyprint.HTML(string=amplification_sheet()).render().pages) == 1


def test_the_file_to_type_into_names_every_key_and_can_be_read_once_its_marks_are_gone():
    typed = re.sub(r"(?m)^# (?=\w+ = )", "", BLANK)
    assert set(tomllib.loads(typed)) == {*ROWS, *(field.name for field in FIELDS)}


def test_a_filled_in_file_gives_the_range_by_counter_and_by_wear(tmp_path, capsys):
    file = tmp_path / READINGS
    file.write_text("host_tb = [0, 1.6]\ncounter = [100, 150]\ncounted_gb = 64\n")
    assert main(["accept", "--fit", str(file)]) == 0
    assert "1.96 to 2.04" in capsys.readouterr().out  # 49 x 64 / 1600 and 51 x 64 / 1600
    # 30 Mbyte/s up to 38 TB, 15 from 40 TB on; 1000 to 3000 cycles: 64 / 40 and 192 / 38.
    host, rates = list(range(28, 50, 2)), [30] * 6 + [15] * 5
    file.write_text(f"host_tb = {host}\nmbyte_s = {rates}\ncapacity_gb = 64\npe_cycles = [1000, 3000]\n")
    assert main(["accept", "--fit", str(file)]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "between 38 and 40 TB" in told.replace("\N{NO-BREAK SPACE}", " ")
    assert "1.6 to 5.05" in told
    # 48 x 64 / 9000 and 50 x 64 / 9000
    file.write_text("host_tb = [0, 9]\ncounter = [100, 149]\ncounted_gb = 64\n")
    assert main(["accept", "--fit", str(file)]) == 0
    assert "below 1" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "host_tb, and counter or mbyte_s"),
        ("host_tb = [0, 1]\ncounter = [1]\ncounted_gb = 64", "numbers in brackets, 2 or more"),
        ("host_tb = [0, 1, 2]\ncounter = [1, 2]\ncounted_gb = 64", "2 readings; allowed: 3, as in host_tb"),
        ("host_tb = [0, 1]\ncounter = [1, 2]", "counted_gb: found nothing"),
        ("host_tb = [0, 1]\ncounter = [1, nan]\ncounted_gb = 64", "numbers in brackets"),
        ("host_tb = [0, 1]\ncounter = [2, 1]\ncounted_gb = 64", "never falls"),
        ("host_tb = [1, 1]\ncounter = [1, 2]\ncounted_gb = 64", "rising volumes"),
        ("host_tb = [0, 1]\nmbyte_s = [2, 1]\ncapacity_gb = 64\npe_cycles = [1, 2]", "10 or more readings"),
        ("host_tbs = [0, 1]", "unknown key"),
        ("host_tb = [", "TOML"),
    ],
)
def test_a_file_that_cannot_be_worked_out_is_refused_by_its_fault(tmp_path, capsys, text, told):
    (tmp_path / READINGS).write_text(text)
    assert main(["accept", "--fit", str(tmp_path / READINGS)]) == 2
    assert told in " ".join(capsys.readouterr().err.split())
