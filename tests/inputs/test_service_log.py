"""A service log becomes ages at failure and ages still running, and what cannot have happened is refused by line."""

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.card_list import read_cards
from edgestore.inputs.service_log import SERVICE_COLUMNS, WHYS, read_service_log, service_ages
from edgestore.models.life import fit_weibull

DATA = Path(__file__).parents[2] / "data"
DEMO, DEMO_DAY = DATA / "ferry_terminal" / "service_log.csv", date(2026, 11, 20)
AS_OF = date(2026, 3, 1)
START = "camera,card,fitted,removed,why\n"


def read(*lines: str, as_of: date = AS_OF):
    return read_service_log((START + "\n".join(lines) + "\n").encode(), as_of, "log.csv")


def refused(line: str) -> list:
    with pytest.raises(InputError, match=r"log\.csv, line 2") as caught:
        read(line)
    return list(caught.value.faults)


def test_rows_have_days_and_reasons():
    rows = read("Quay,plain,2024-03-01,2025-03-01,Failed", "Ramp,plain,2024-06-01").rows
    assert list(rows.columns) == [column.name for column in SERVICE_COLUMNS]
    assert rows["fitted"].tolist() == [pd.Timestamp(2024, 3, 1), pd.Timestamp(2024, 6, 1)]
    assert rows["removed"].isna().tolist() == [False, True]
    assert rows["why"].tolist() == ["failed", ""]


def test_a_log_in_which_nothing_was_removed_needs_neither_column():
    table = read_service_log(b"camera;card;fitted\nQuay;plain;2024-03-01\n", AS_OF)
    ages = service_ages(table.rows, AS_OF)
    assert (len(ages.failed_years), len(ages.running_years)) == (0, 1)
    # 2024-03-01 to 2026-03-01 are 730 days: 730 / 365.25.
    assert ages.running_years == pytest.approx([1.998631], abs=5e-7)


def test_only_failed_cards_have_an_age_at_failure():
    # All four for 365 days of 2025: 365 / 365.25 = 0.999316; the fifth runs for 59 days of 2026: 0.161533.
    lines = [f"camera {n},plain,2025-01-01,2026-01-01,{why}" for n, why in enumerate(WHYS)]
    ages = service_ages(read(*lines, "Quay,plain,2026-01-01").rows, AS_OF)
    assert ages.failed_years == pytest.approx([0.999316], abs=5e-7)
    assert ages.running_years == pytest.approx([0.999316, 0.999316, 0.999316, 0.161533], abs=5e-7)


def test_a_card_fitted_on_the_day_says_nothing_yet():
    ages = service_ages(read("Quay,plain,2026-03-01", "Ramp,plain,2026-02-28").rows, AS_OF)
    assert ages.running_years == pytest.approx([1 / 365.25])


def test_no_rows_give_no_ages():
    rows = read("Quay,plain,2026-02-01").rows
    ages = service_ages(rows[rows["card"] == "other"], AS_OF)
    assert (len(ages.failed_years), len(ages.running_years)) == (0, 0)


def test_a_later_day_makes_running_cards_older_and_failed_ones_not():
    rows = read("Quay,plain,2024-03-01,2025-03-01,failed", "Ramp,plain,2024-06-01").rows
    now, later = service_ages(rows, AS_OF), service_ages(rows, date(2027, 3, 1))
    assert later.failed_years.tolist() == now.failed_years.tolist()
    assert later.running_years - now.running_years == pytest.approx([365 / 365.25])


def test_ages_before_a_date_of_the_log_are_refused():
    rows = read("Quay,plain,2024-03-01,2025-03-01,failed").rows
    with pytest.raises(InputError, match="as_of: found 2025-02-28; allowed: 2025-03-01 or later"):
        service_ages(rows, date(2025, 2, 28))


@pytest.mark.parametrize(
    ("line", "column", "allowed", "mend"),
    [
        ("Quay,plain,2025-03-01,2025-03-01,failed", "removed", "removed after fitted", "removed on the next"),
        ("Quay,plain,2025-03-01,2024-03-01,failed", "removed", "removed after fitted", "removed on the next"),
        ("Quay,plain,2026-03-02,,", "fitted", "2026-03-01 or before, the day of the log", "Correct the date"),
        ("Quay,plain,2025-03-01,2026-03-02,failed", "removed", "2026-03-01 or before", "Correct the date"),
        ("Quay,plain,1999-12-31,,", "fitted", "2000-01-01 or after", "Correct the year"),
        ("Quay,plain,2025-03-01,,failed", "why", "both or neither", "Give the day on which it was taken out"),
        ("Quay,plain,2025-03-01,2025-06-01,", "why", "both or neither", "failed, planned, camera gone, evidence"),
        ("Quay,plain,2025-03-01,2025-06-01,lost", "why", "failed, planned, camera gone, evidence", ""),
        ("Quay,plain,01.03.2025,,", "fitted", "a date as 2026-03-15", "format the cells as text"),
        ("Quay,plain,2025-02-30,,", "fitted", "a date as 2026-03-15", "Write year, month and day"),
        ("Quay,plain,,,", "fitted", "a date as 2026-03-15", "Write year, month and day"),
        ("Quay,,2025-03-01,,", "card", "a text", "Name the card."),
        (",plain,2025-03-01,,", "camera", "a text", "Name the camera."),
    ],
)
def test_what_cannot_have_happened_is_refused(line, column, allowed, mend):
    (fault,) = refused(line)
    assert fault.where == f"log.csv, line 2, column {column}"
    assert allowed in fault.allowed
    assert mend in fault.mend


def test_all_faults_of_a_log_come_together():
    with pytest.raises(InputError, match="line 2") as caught:
        read(
            "Quay,plain,2025-03-01,2024-03-01,failed",
            "Ramp,plain,2027-01-01,,",
            "Mast,plain,2025-13-01,,gone",
            "Gate,plain,2025-01-01,,planned",
        )
    assert [fault.where.removeprefix("log.csv, ") for fault in caught.value.faults] == [
        "line 2, column removed",
        "line 3, column fitted",
        "line 4, column fitted",
        "line 4, column why",
        "line 5, column why",
    ]


def test_two_cards_at_once_in_a_camera_are_told_and_read():
    table = read(
        "Quay,plain,2025-01-01,,",
        "Ramp,plain,2024-01-01,2025-01-01,planned",
        "Ramp,plain,2025-01-01,,",
        "Quay,plain,2025-06-01,2025-07-01,failed",
        "Mast,plain,2025-01-01,2025-12-01,failed",
        "Mast,plain,2025-02-01,2025-03-01,planned",
        "Mast,plain,2025-04-01,,",
    )
    (note,) = table.notes
    assert note.startswith("log.csv, lines 5, 7, 8: fitted before the card that was in this camera was removed.")
    assert len(table.rows) == 7


def test_the_demo_log_is_as_its_page_says():
    table = read_service_log(DEMO, DEMO_DAY)
    rows, ages = table.rows, service_ages(table.rows, DEMO_DAY)
    assert table.notes == ()
    assert len(rows) == 30
    assert rows["why"].value_counts().to_dict() == {"": 14, "failed": 9, "planned": 3, "camera gone": 2, "evidence": 2}
    assert sum(ages.failed_years < 0.5) == 3
    assert sum(ages.failed_years > 1) == 6
    assert len(ages.running_years) == 21
    assert set(rows["card"]) <= set(read_cards(DATA / "cards.csv").rows["card"])


def test_the_demo_page_describes_the_columns_and_says_invented():
    page = (DATA / "README.md").read_text(encoding="utf-8")
    section = page.split("## ferry_terminal/service_log.csv")[1].split("\n## ")[0]
    assert "are invented" in section
    for column in SERVICE_COLUMNS:
        holds = ", ".join(column.words) or column.kind
        empty = "not allowed" if column.required else "allowed"
        assert f"| `{column.name}` | - | {holds} | {empty} | {column.help} |" in section


def test_the_demo_log_can_be_fitted_kind_by_kind():
    rows = read_service_log(DEMO, DEMO_DAY).rows
    ages = service_ages(rows[rows["card"] == "plain 64 GB"], DEMO_DAY)
    fit = fit_weibull(ages.failed_years, ages.running_years)
    assert (fit.failed, fit.running) == (7, 8)
    assert fit.scale_low_years < fit.scale_years < fit.scale_high_years


days = st.dates(date(2000, 1, 1), date(2026, 2, 28))


@given(st.lists(st.tuples(days, st.integers(1, 3000), st.sampled_from(["", *WHYS])), min_size=1, max_size=20))
def test_ages_are_the_days_between_over_365_25(cards):
    lines, failed, running = [], [], []
    for number, (fitted, stay_days, why) in enumerate(cards):
        end = min(fitted.toordinal() + stay_days, AS_OF.toordinal()) if why else AS_OF.toordinal()
        lines.append(f"camera {number},plain,{fitted},{date.fromordinal(end) if why else ''},{why}")
        (failed if why == "failed" else running).append((end - fitted.toordinal()) / 365.25)
    ages = service_ages(read(*lines).rows, AS_OF)
    np.testing.assert_allclose(ages.failed_years, failed, rtol=1e-13)
    np.testing.assert_allclose(ages.running_years, running, rtol=1e-13)


def test_a_log_of_a_day_yet_to_come_is_refused():
    with pytest.raises(InputError, match="as_of: found 2100-01-01; allowed: 2026-03-16 or before"):
        read_service_log(f"{START}Quay,plain,2099-03-01\n".encode(), date(2100, 1, 1), today=date(2026, 3, 15))
