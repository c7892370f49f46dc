"""Names that a reader cannot tell apart are not two cameras, and what a terminal would obey comes in by no list."""

import unicodedata

import pytest

from edgestore import InputError
from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.names import looks, printable
from edgestore.inputs.settings import read_settings


def cameras(*names: str):
    return read_cameras(("camera,cap_mbit_s\n" + "".join(f'"{name}",4\n' for name in names)).encode())


ALIKE = {
    "a no-break blank": "Gate\u00a01",
    "a thin blank": "Gate\u20091",
    "two blanks": "Gate  1",
    "a blank of Braille": "Gate\u28001",
    "a zero-width blank": "Ga\u200bte 1",
    "a zero-width joiner": "Gate\u200d 1",
    "a soft hyphen": "Ga\u00adte 1",
    "a variation selector": "Gate 1\ufe0f",
    "a Cyrillic letter": "G\u0430te 1",
    "a Cyrillic capital": "\u050cate 1",
    "a Greek capital": "Ga\u03a4\u0395 1",
    "full-width letters": "\uff27\uff41\uff54\uff45 1",
    "another case": "GATE 1",
}

PAIRS = [("Door/1", "Door\u20441"), ("Door/1", "Door\u22151"), ("Ana's door", "Ana\u2019s door"), ("Door", "D\u0585or")]
PAIRS += [("Comer", "Corner"), ("Barn 1", "Bam 1")]  # r before n is an m: confusables.txt


@pytest.mark.parametrize(("name", "other"), PAIRS)
def test_a_sign_that_looks_like_another_does_not_make_another_camera(name, other):
    with pytest.raises(InputError, match="looks like"):
        cameras(name, other)


@pytest.mark.parametrize("name", ALIKE.values(), ids=ALIKE)
def test_a_camera_whose_name_looks_like_another_is_refused_with_both_lines(name):
    with pytest.raises(InputError, match=r"line 4, column camera: found .* looks like 'Gate 1' in line 2") as caught:
        cameras("Gate 1", "Yard", name)
    assert len(caught.value.faults) == 1


def test_the_letter_that_differs_is_named():
    with pytest.raises(InputError, match=r"in line 2 \(differs by CYRILLIC SMALL LETTER A\)"):
        cameras("Gate", "G\u0430te")
    with pytest.raises(InputError, match=r"'Ga\\u200bte', which looks like 'Gate' in line 2 \(differs by ZERO WIDTH"):
        cameras("Gate", "Ga\u200bte")


def test_a_card_whose_name_looks_like_another_is_refused():
    head = "card,capacity_gb,speed_class,endurance_tbw\n"
    with pytest.raises(InputError, match=r"line 3, column card: found .* looks like 'plain 64' in line 2"):
        read_cards(f"{head}plain 64,64,C10,50\npl\u0430in 64,64,C10,60\n".encode())


def test_names_that_a_reader_can_tell_apart_are_read():
    names = [
        "Gate 1",
        "Gate 2",
        "Gate1",
        "Gate O",
        "Gate 0",
        "H\u00f6he",
        "Hohe",
        "\u0425\u043e\u0434",
        "\u0412\u043e\u0440\u043e\u0442\u0430",
        "\u03a0\u03cd\u03bb\u03b7",
    ]
    assert cameras(*names).rows["camera"].tolist() == names


def test_letters_of_one_case_and_of_two_forms_are_one():
    # The composed and the decomposed form of one letter (UAX 15), and a word in two cases.
    assert looks("H\u00f6he") == looks("Ho\u0308he")
    assert looks("\u0412\u044a\u0435\u0437\u0434")[0] == looks("\u0432\u044a\u0435\u0437\u0434")[0]


HIDDEN = ["\x1b[31mred", "a\x1b]0;title\x07b", "a\x9b31mb", "a\rb", "a\nb", "a\x7fb", "a\u202eb", "a\u2066b"]


@pytest.mark.parametrize("name", HIDDEN)
def test_what_a_terminal_obeys_is_refused_and_shown_escaped(name):
    with pytest.raises(InputError, match=r"line 2, column camera: found .* of characters that show") as caught:
        cameras(name)
    assert not any(unicodedata.category(c) in ("Cc", "Cf") for c in str(caught.value))


def test_settings_with_control_characters_are_refused():
    with pytest.raises(InputError, match=r"\[document\] title: found 'a\\x1b\[31mb'; allowed: a text on one line"):
        read_settings(b'[document]\ntitle = "a\\u001b[31mb"\n')
    with pytest.raises(InputError, match="retention_days") as caught:
        read_settings(b'[groups."a\\u001b[31m"]\nretention_days = -1\n')
    assert "\x1b" not in str(caught.value)


def test_the_name_of_a_file_reaches_no_terminal_as_it_is(tmp_path):
    path = tmp_path / "a\x1b[31m.csv"
    path.write_bytes(b"camera,cap_mbit_s\nGate,-1\n")
    with pytest.raises(InputError, match=r"a\\x1b\[31m\.csv, line 2") as caught:
        read_cameras(path)
    assert "\x1b" not in str(caught.value)
    assert printable("Höhe\x1b\u202e") == "Höhe\\x1b\\u202e"


def test_a_cell_that_is_no_name_may_have_lines_and_no_escape():
    rows = read_cameras(b'camera,cap_mbit_s,place\nGate,4,"left\r\nof it"\n').rows
    assert rows["place"].tolist() == ["left\r\nof it"]
    with pytest.raises(InputError, match=r"column place: found 'a\\x1b\[31m'; allowed: a text of characters that show"):
        read_cameras(b"camera,cap_mbit_s,place\nGate,4,a\x1b[31m\n")
