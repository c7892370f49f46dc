"""``edgestore accept`` as a buyer types it, in a small folder in place of a card; records and register."""

import hashlib
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from argparse import Namespace
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import pytest

from edgestore.__main__ import main
from edgestore.accept_command import _before
from edgestore.answers.card_check import Label, Verdict, checked_card, label_of
from edgestore.checks import InputError
from edgestore.documents.card_record import REGISTER, CardRecord, as_json, page, registered, write_record
from edgestore.inputs.bench import check as whole
from edgestore.inputs.bench.check import FULL, CardCheck, Run
from edgestore.inputs.bench.fill import ReadBack
from edgestore.inputs.bench.own_folder import NAME, OwnFolder

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the check of a card needs Linux")

CARDS = str(Path(__file__).parents[1] / "data" / "cards.csv")
SMALL = 12 * 2**20
"""Free space that the folder has here."""


def record(**changes):
    check = CardCheck(
        place="/media/card",
        mode=FULL,
        is_direct=True,
        size_bytes=31_900_000_000,
        asked_bytes=31_000_000_000,
        bytes_written=31_000_000_000,
        runs=(Run(31_000_000_000, 25.0, 12.0, 0.2),),
        read=ReadBack(31_000_000_000, seconds=500.0),
        updates_ms=(1.0, 2.0, 30.0),
        is_removed=True,
    )
    answer = checked_card(check, Label(32.0, 10.0, 800.0))
    return CardRecord(
        **{"answer": answer, "when": datetime(2026, 3, 1, 9, 30, tzinfo=UTC), "serial": "0x1a2b"} | changes
    )


@pytest.fixture
def small(tmp_path, monkeypatch):
    monkeypatch.setattr(OwnFolder, "free_bytes", lambda card: SMALL + whole.ROOM_BYTES)
    monkeypatch.setattr(OwnFolder, "size_bytes", lambda card: SMALL + whole.ROOM_BYTES)
    monkeypatch.setattr(whole, "spared_bytes", lambda place: 0)  # the folder in place of a card is on our own disk
    monkeypatch.setattr(whole, "small_updates_ms", lambda card, count: [1.0] * count)
    card = tmp_path / "card"
    card.mkdir()
    (card / "footage.mp4").write_bytes(b"kept")
    return card


def test_a_sound_card_is_accepted_told_recorded_and_left_as_it_was(small, tmp_path, capsys):
    out = tmp_path / "records"
    assert main(["accept", str(small), "--any-folder", "--serial", "0x1a2b", "--by", "AB", "--out", str(out)]) == 0
    told = capsys.readouterr().out
    places = [told.index(words) for words in ("may be evidence", "The check writes", "Accepted as sound:")]
    assert places == sorted(places)
    assert [path.name for path in small.iterdir()] == ["footage.mp4"]
    [made] = out.glob("*.json")
    kept = json.loads(made.read_text())
    assert (kept["verdict"], kept["by"], kept["card"]["serial"]) == ("accepted", "AB", "0x1a2b")
    assert kept["results"]["read"]["bytes_read"] == SMALL // whole.CHUNK_BYTES * whole.CHUNK_BYTES
    assert made.with_suffix(".html").exists()
    _head, row = (out / REGISTER).read_text().splitlines()
    assert row.split(",")[1:4] == ["0x1a2b", "", "accepted"]
    assert row.split(",")[-1] == hashlib.sha256(made.read_bytes()).hexdigest()


def test_what_is_written_what_is_kept_free_and_how_long_it_takes_follow_from_one_another(small, capsys):
    # 12 MiB = 0.0126 GB are written, 2 x 64 MiB + 1 MiB = 0.135 GB are kept free. Written and read, 25.2 MB take
    # 0.28 s at 90 Mbyte/s and 2.52 s at 10.
    assert main(["accept", str(small), "--any-folder"]) == 0
    told = " ".join(capsys.readouterr().out.split()).replace("\N{NO-BREAK SPACE}", " ")
    assert "The check writes 0.013 GB to" in told
    assert "It keeps 0.14 GB free meanwhile" in told
    assert "takes some 0.28 to 2.5 s, at 90 to 10 Mbyte/s" in told
    assert "Written: 0.013 GB of 0.013 GB asked" in told
    assert "Kept free while it was written: 0.14 GB" in told


def test_a_label_that_promises_less_makes_the_longest_time_follow_its_rate(small, capsys):
    # V6 promises 6 Mbyte/s: 60 GB written and read, 120 000 MB, take 20 000 s = 333 min; at 90 Mbyte/s 22.2 min.
    asked = CardCheck("card", FULL, True, 64 * 10**9, 60 * 10**9)
    options = Namespace(folder=small, quick=False, leave=0.0)
    told = " ".join(_before(options, Label(64.0, 6.0, 800.0), asked, is_resumed=False))
    told = told.replace("\N{NO-BREAK SPACE}", " ")
    assert "takes some 22.2 to 333 min, at 90 to 6 Mbyte/s" in told
    assert "It costs the card 0.94 full writes of some 800." in told


def test_it_prints_one_json_object_for_programs_and_a_quick_check_accepts_nothing(small, capsys):
    assert main(["accept", str(small), "--any-folder", "--quick", "--probes", "3", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["verdict"] == "not decided"


def test_a_label_that_the_card_does_not_have_refuses_it(small, capsys, monkeypatch):
    monkeypatch.setattr(OwnFolder, "size_bytes", lambda card: 16_000_000_000)
    given = ["--any-folder", "--card", "plain 64 GB", "--cards", CARDS]
    assert main(["accept", str(small), *given]) == 1
    assert "16 GB, and the label says 64 GB" in " ".join(capsys.readouterr().out.split()).replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_a_record_is_not_written_to_the_card_itself(small, capsys):
    assert main(["accept", str(small), "--any-folder", "--out", str(small / "records")]) == 2
    assert "allowed: a folder that is not on the card" in " ".join(capsys.readouterr().err.split())
    assert [path.name for path in small.iterdir()] == ["footage.mp4"]


@pytest.fixture
def site(tmp_path):
    """A site of one camera with a cap of 4 Mbit/s."""
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / "cameras.csv").write_text("camera,cap_mbit_s,recording\nQuay,4,continuous\n")
    (folder / "cards.csv").write_bytes(Path(CARDS).read_bytes())
    return folder


@pytest.mark.parametrize(
    ("given", "told"),
    [
        (["--card", "plain 64 GB"], "--cards: found nothing; allowed: a value, since --card is given"),
        (["--card", "no such", "--cards", CARDS], "found 'no such'; allowed: a card of the list"),
        (["--camera", "nobody", "--site", "SITE"], "found 'nobody'; allowed: a camera of the list"),
        (["--serial", "=1+1"], "--serial: found '=1+1'"),
        (["--peak", "-3"], "--peak"),
        (["--leave", "1000000"], "free space"),
        (["--probes", "0", "--quick"], "probes"),
        (["--leave", "-1"], "--leave"),
        (["--leave", "nan"], "--leave"),
    ],
)
def test_what_cannot_be_used_is_refused_before_anything_is_written(small, site, capsys, given, told):
    given = [str(site) if word == "SITE" else word for word in given]
    assert main(["accept", str(small), "--any-folder", *given]) == 2
    assert told in capsys.readouterr().err
    assert [path.name for path in small.iterdir()] == ["footage.mp4"]


def test_a_register_that_cannot_be_read_is_refused_before_the_check_and_stays(small, tmp_path, capsys):
    (tmp_path / REGISTER).write_text("date,serial,verdict\n2026-03-01,1,accepted\n")
    assert main(["accept", str(small), "--any-folder", "--out", str(tmp_path)]) == 2
    assert "put the columns back" in capsys.readouterr().err
    assert (tmp_path / REGISTER).read_text().startswith("date,serial,verdict\n")


def test_what_an_earlier_check_left_is_cleaned_up(small, capsys):
    with OwnFolder(small, any_folder=True) as card:
        card.keep({"mode": FULL})
    assert main(["accept", str(small), "--any-folder", "--clean"]) == 0
    assert "Removed what an earlier check left." in capsys.readouterr().out
    assert main(["accept", str(small), "--any-folder", "--clean"]) == 0
    assert "No check left anything there." in capsys.readouterr().out
    assert [path.name for path in small.iterdir()] == ["footage.mp4"]


def test_the_camera_of_a_site_gives_its_peak_and_its_rate(small, site, capsys, monkeypatch):
    tried = []
    monkeypatch.setattr(whole, "record", lambda card, rate, seconds, update_interval_s: tried.append(rate))
    main(["accept", str(small), "--any-folder", "--camera", "Quay", "--site", str(site), "--json"])
    kept = json.loads(capsys.readouterr().out)
    assert kept["camera"] == {"name": "Quay", "peak_mbit_s": 4.0}
    assert tried == [4.0]


def test_a_label_of_the_list_has_capacity_promised_rate_and_cycles():
    # data/cards.csv: plain 32 GB, C10 U1 V10, 800 cycles; each of these marks promises 10 Mbyte/s.
    assert label_of(Path(CARDS), "plain 32 GB") == Label(32.0, 10.0, 800.0)


def test_the_page_escapes_what_somebody_typed_and_says_the_verdict():
    html = page(record(by="<script>x</script>", kind="a & b"))
    assert "<script>x" not in html
    assert "&lt;script&gt;" in html
    assert "a &amp; b" in html
    assert "Accepted" in html
    assert "12 Mbyte/s" in html
    assert "came back as written" in html


def test_the_page_of_a_card_without_a_label_is_titled_by_what_was_tested():
    answer = record().answer
    html = page(record(answer=checked_card(answer.check)))
    assert "<h1>Does this card keep what is written to it?</h1>" in html
    assert "Accepted as sound" in html
    assert "No label was compared." in html
    assert "what its label says" not in html
    assert "<h1>Is this card what its label says?</h1>" in page(record())


def test_the_record_is_json_with_null_for_what_was_not_measured():
    check = CardCheck("/media/card", FULL, True, 10, 10)
    kept = json.loads(as_json(record(answer=checked_card(check))))
    assert kept["results"]["mbyte_s"] is None
    assert kept["card"]["capacity_gb"] is None


def test_a_row_is_added_to_the_register_and_what_stood_there_stays(tmp_path):
    one, content = record(), b"{}"
    first = registered(one, content, None)
    second = registered(record(by="B, of C"), content, first)
    assert second.startswith(first)
    assert second.count(b"\n") == 3
    assert b'"B, of C"' in second
    # sha256 of "{}", computed elsewhere (coreutils sha256sum)
    assert b"44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a" in first
    write_record(one, tmp_path)
    write_record(one, tmp_path)  # in the same second: no record takes the place of another
    assert len(list(tmp_path.glob("*.json"))) == 2
    assert len((tmp_path / REGISTER).read_text().splitlines()) == 3


@pytest.mark.parametrize("text", ["=1", "two\nlines", "x" * 101, " blank"])
def test_a_text_that_no_register_can_hold_is_refused(text):
    with pytest.raises(InputError, match="--by"):
        record(by=text)


def test_a_card_that_was_behind_the_camera_is_left_open():
    from edgestore.inputs.bench.pace import Recorded

    check = record().answer.check
    behind = checked_card(CardCheck(**{**vars(check), "recorded": Recorded(30.0, 10**8, 2.5, 5.0)}))
    assert behind.verdict is Verdict.UNDECIDED
    assert next(reason.name for reason in behind.reasons) == "behind the camera"


def begun(card):
    """A real check of a folder with 80 MiB free to it, in a copy of this process; its number."""
    if child := os.fork():
        return child
    code = 1
    try:
        made = whole.check_card(card, any_folder=True, part_bytes=whole.CHUNK_BYTES)
        is_whole = made.is_removed and made.read.kept_bytes == 20 * whole.CHUNK_BYTES
        code = len(made.runs) if is_whole else 100
    finally:
        os._exit(code)


def ended(child):
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


@pytest.mark.landing
def test_a_check_that_is_killed_at_fifty_moments_leaves_its_own_folder_alone_and_the_next_one_ends_well(
    tmp_path, monkeypatch
):
    monkeypatch.setattr(OwnFolder, "free_bytes", lambda card: 20 * whole.CHUNK_BYTES + whole.ROOM_BYTES)
    monkeypatch.setattr(whole, "spared_bytes", lambda place: 0)
    monkeypatch.setattr(whole, "UPDATES", 5)
    monkeypatch.setattr(whole, "small_updates_ms", partial(whole.small_updates_ms, area_bytes=2**20))
    (tmp_path / "footage.mp4").write_bytes(b"kept")
    since = time.monotonic()
    assert ended(begun(tmp_path)) == 1
    took = time.monotonic() - since
    killed = left = gone_on = 0
    while killed < 50:
        moment = killed
        child = begun(tmp_path)
        time.sleep(took * moment / 50)
        os.kill(child, signal.SIGKILL)
        if ended(child) != -signal.SIGKILL:  # it had ended: the machine is faster now than it was
            took *= 0.8
            continue
        killed += 1
        names = {path.name for path in tmp_path.iterdir()}
        assert names <= {"footage.mp4", NAME}, moment
        assert (tmp_path / "footage.mp4").read_bytes() == b"kept"
        left += NAME in names
        if moment % 2:  # gone on with to its end, with all read back as it was written
            runs = ended(begun(tmp_path))
            assert runs in (1, 2), moment
            gone_on += runs == 2
            if runs == 1 and moment > 25:  # it had not written a part yet: the machine is slower now than it was
                took *= 1.25
        else:
            assert main(["accept", str(tmp_path), "--any-folder", "--clean"]) == 0
        assert [path.name for path in tmp_path.iterdir()] == ["footage.mp4"], moment
    assert left >= 30
    assert gone_on >= 5
    print(f"{killed} killed, {left} of these left their folder, {gone_on} of 25 gone on with")


@pytest.mark.landing
def test_ctrl_c_says_in_one_line_what_stays_and_how_to_go_on(tmp_path):
    command = [sys.executable, "-m", "edgestore", "accept", str(tmp_path), "--any-folder", "--leave", "0"]
    one = subprocess.Popen(  # what is started in the background ignores Ctrl-C unless it is told otherwise
        command,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )
    try:
        deadline = time.monotonic() + 60
        while not list(tmp_path.glob(f"{NAME}/part-*")) and time.monotonic() < deadline:
            time.sleep(0.02)
        one.send_signal(signal.SIGINT)
        told = one.communicate(timeout=60)[1]
    finally:
        if one.poll() is None:  # it goes on until the disk is full
            one.kill()
            one.wait()
            shutil.rmtree(tmp_path / NAME, ignore_errors=True)
    assert one.returncode == 130
    last = told.strip().splitlines()[-1]
    assert last.startswith("edgestore accept was stopped by Ctrl-C. ")
    assert ("Nothing of the check is left" in last) == (not list(tmp_path.iterdir()))
    assert main(["accept", str(tmp_path), "--any-folder", "--clean"]) == 0
    assert not list(tmp_path.iterdir())
