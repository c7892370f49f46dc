"""A register of checked cards warns of cards in service that no check accepted."""

from datetime import date

import pytest

from edgestore import InputError
from edgestore.inputs.cards_checked import not_accepted, read_cards_checked
from edgestore.inputs.service_log import read_service_log
from edgestore.inputs.settings import read_settings

LOG = b"""camera,card,fitted,removed,why,serial
Quay,plain,2025-03-01,,,A1
Ramp,plain,2025-03-01,,,a2
Gate,plain,2025-03-01,,,A3
Mole,plain,2025-03-01,,,A4
Shed,plain,2025-03-01,,,
Crane,plain,2025-03-01,2025-09-01,failed,A9
"""
CHECKED = b"""date,serial,card,verdict,size_gb,by,record_sha256
2025-01-01,A1,plain,accepted,31.9,,
2025-01-01,A2,plain,accepted,31.9,,
2025-02-01,A2,plain,refused,31.9,,
2025-02-01,A3,plain,not decided,31.9,,
"""


def told(checked=CHECKED):
    log = read_service_log(LOG, date(2026, 3, 1)).rows
    return list(not_accepted(log, read_cards_checked(checked).rows))


def test_a_card_in_service_that_was_refused_left_open_or_never_checked_is_named():
    assert told() == [
        "1 card in service that a check refused: a2 in Ramp.",
        "1 card in service that a check left undecided: A3 in Gate.",
        "1 card in service that the register of checked cards does not have: A4 in Mole.",
        "1 card in service without a serial number: whether a check accepted it is not known.",
    ]


def test_the_last_check_of_a_card_counts_whatever_the_order_of_the_rows():
    again = CHECKED + b"2025-03-01,a2,plain,accepted,31.9,,\n2024-01-01,A1,plain,refused,31.9,,\n"
    assert not any("refused" in text for text in told(again))


@pytest.mark.parametrize("row", [b"2025-02-30,A1,,accepted,,,", b"2025-01-01,A1,,good,,,", b",A1,,accepted,,,"])
def test_a_row_that_cannot_be_is_refused_by_line(row):
    with pytest.raises(InputError, match="line 2"):
        read_cards_checked(CHECKED.splitlines()[0] + b"\n" + row + b"\n")


def test_settings_name_the_register_beside_a_log_and_never_without_one(tmp_path):
    with pytest.raises(InputError, match="accepted without a log; allowed: both or neither"):
        read_settings(b'[service]\naccepted = "cards_checked.csv"\n')
    file = tmp_path / "site.toml"
    file.write_text('[service]\nlog = "log.csv"\nas_of = 2026-03-01\naccepted = "cards_checked.csv"\n')
    assert read_settings(file).service.accepted == tmp_path / "cards_checked.csv"
