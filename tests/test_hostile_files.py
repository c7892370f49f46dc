"""Files that would be read for ever, that are too large or too deep, and paths that lead nowhere: refused in words."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from edgestore.__main__ import main
from edgestore.checks import InputError
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.settings import read_settings
from edgestore.plain_file import MOST_LIST_BYTES, MOST_TOML_BYTES
from edgestore.training.exercises.draws import checked_seed
from edgestore.training.exercises.marks import read_marks
from edgestore.verification import read_checks

DATA = Path(__file__).parents[1] / "data"
CAMERAS, CARDS = str(DATA / "ferry_terminal" / "cameras.csv"), str(DATA / "cards.csv")
posix = pytest.mark.skipif(sys.platform == "win32", reason="files of POSIX")


def refused(capsys, *words):
    assert main(list(words)) == 2
    return capsys.readouterr().err


def sparse(path, size):
    with path.open("wb") as file:
        file.truncate(size)
    return str(path)


@posix
@pytest.mark.parametrize("place", ["cameras", "cards", "settings"])
@pytest.mark.parametrize("kind", ["device", "pipe", "3 GB", "long name"])
def test_a_list_or_settings_without_end_is_refused(place, kind, tmp_path, capsys):
    bad = {
        "device": lambda: "/dev/zero",
        "pipe": lambda: os.mkfifo(tmp_path / "pipe") or str(tmp_path / "pipe"),
        "3 GB": lambda: sparse(tmp_path / "large.csv", 3_000_000_000),
        "long name": lambda: str(tmp_path / ("x" * 300)),
    }[kind]()
    given = {"cameras": CAMERAS, "cards": CARDS, "settings": str(DATA / "ferry_terminal" / "site.toml"), place: bad}
    out = str(tmp_path / "out")
    told = refused(
        capsys, "plan", given["cameras"], "--cards", given["cards"], "--settings", given["settings"], "--out", out
    )
    limit = "of at most 1 MB" if place == "settings" else "of at most 64 MB"
    large = "found more than 1 MB" if place == "settings" else "found more than 64 MB"
    found = {
        "device": "a pipe or device",
        "pipe": "a pipe or device",
        "3 GB": large,
        "long name": "file name too long",
    }
    assert found[kind] in told
    assert limit in told
    assert not os.path.exists(out)


@posix
def test_checks_and_marks_without_end_are_refused(tmp_path, capsys):
    assert "a pipe or device" in refused(capsys, "verify", "--also", "/dev/zero")
    large = sparse(tmp_path / "large.toml", MOST_TOML_BYTES + 1)
    assert "more than 1 MB" in refused(capsys, "verify", "--also", large)
    with pytest.raises(InputError, match="a pipe or device"):
        read_marks(Path("/dev/zero"))
    with pytest.raises(InputError, match="more than 64 MB"):
        read_marks(Path(sparse(tmp_path / "marks.jsonl", MOST_LIST_BYTES + 1)))


DEEP = b"a = " + b"[" * 2000 + b"]" * 2000
NUMBERS = {"decimal": b"9" * 5000, "hexadecimal": b"0x" + b"f" * 5000}


@pytest.mark.parametrize("content", [DEEP, b".".join([b"a"] * 2000) + b" = 1"])
def test_toml_that_is_nested_too_deep_is_refused(content, tmp_path, capsys):
    with pytest.raises(InputError, match="nested too deep"):
        read_settings(content)
    (tmp_path / "deep.toml").write_bytes(content)
    with pytest.raises(InputError, match=r"deep\.toml: found tables or lists nested too deep"):
        read_checks([tmp_path / "deep.toml"])


@pytest.mark.parametrize("number", NUMBERS.values(), ids=NUMBERS)
def test_a_whole_number_of_5000_digits_is_refused(number):
    with pytest.raises(InputError, match="found a whole number of more than 4300 digits"):
        read_settings(b"[document]\ntitle = " + number)


@pytest.mark.parametrize("seed", [10**400, -(10**400), 10**5000], ids=["400", "below 0", "5000"])
def test_a_seed_of_400_digits_is_refused(seed):
    with pytest.raises(InputError, match="seed: found a number of more than 6 digits; allowed: 0 to 999999"):
        checked_seed(seed)


@pytest.mark.parametrize("column", ["endurance_tbw", "pe_cycles", "rated_h", "rated_mbit_s"])
def test_an_endurance_that_no_float_can_reckon_with_is_refused(column):
    with pytest.raises(InputError, match=f"line 2, column {column}: is '1e-320'; must be 0.001"):
        read_cards(f"card,capacity_gb,speed_class,{column}\nplain,64,U1,1e-320\n".encode())


@posix
@pytest.mark.parametrize("command", ["plan", "propose", "handouts", "measure"])
def test_a_place_to_write_that_cannot_be_is_refused(command, tmp_path, capsys):
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    cameras = tmp_path / "cameras.csv"
    cameras.write_text("camera,mean_mbit_s\ngate,2\n")
    words = {
        "plan": ["plan", str(cameras), "--cards", CARDS, "--out"],
        "propose": ["propose", str(cameras), "--cards", CARDS, "--no-pdf", "--out"],
        "handouts": ["handouts", "--no-pdf", "--out"],
        "measure": ["measure", str(DATA / "ferry_terminal"), "--csv"],
    }[command]
    places = [tmp_path / "loop", tmp_path / ("x" * 300), tmp_path / "loop" / "below"]
    # One writer refuses them for all; it is asked when all is computed.
    for place in places if command == "plan" else places[:1]:
        assert "nothing was written" in refused(capsys, *words, str(place))
    assert sorted(os.listdir(tmp_path)) == ["cameras.csv", "loop"]


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() != 0, reason="becomes another user, which root can")
@pytest.mark.landing
def test_a_folder_that_one_may_not_enter_is_refused_in_words(tmp_path):
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    (closed / "list.csv").write_text("camera\n")
    script = (
        "import os, sys; from edgestore.__main__ import main\n"
        "a, b, place = sys.argv[1:]\n"
        "for words in (['plan', a, '--cards', b, '--out', place + '/former'], ['verify', '--also', a],"
        " ['measure', a]):\n"
        "    main(words)\n"  # loads all that the other user may not read
        "os.setgid(65534); os.setuid(65534)\n"
        "print('as another user', file=sys.stderr)\n"
        "bad = place + '/list.csv'\n"
        "for words in (['plan', bad, '--cards', b, '--out', '/nowhere/out'],"
        " ['plan', a, '--cards', b, '--settings', bad, '--out', '/nowhere/out'], ['plan', a, '--cards', b, '--out',"
        " place + '/out'], ['measure', bad], ['verify', '--also', bad]):\n"
        "    assert main(words) == 2, words\n"
    )
    tmp_path.chmod(0o755)
    done = subprocess.run(
        [sys.executable, "-c", script, CAMERAS, CARDS, str(closed)], capture_output=True, text=True, cwd=DATA
    )
    assert "Traceback" not in done.stderr
    assert done.returncode == 0, done.stderr
    assert done.stderr.count("found no permission to use it") == 5
