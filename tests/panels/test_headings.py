"""The tables of the panels are headed in words."""

import re

import pandas as pd
import pytest

from edgestore.headings import HEADINGS, headed, heading
from edgestore.panels.table import table_html


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("retention_days", "Retention (days)"),
        ("lost_h_per_year", "Lost (h a year)"),
        ("writes_tb_year", "Writes (TB a year)"),
        ("gb_day", "GB a day"),
        ("wanted_life_years", "Wanted life (years)"),
        ("chance_kept", "Chance that all is kept"),
        ("camera", "Camera"),
        ("change_years with lift", "Changed after (years) with lift"),
        ("mean Mbit/s", "mean Mbit/s"),  # words already
    ],
)
def test_a_name_of_a_column_is_told_in_words_with_its_unit_in_brackets(name, told):
    assert heading(name) == told


def test_a_table_is_headed_in_words_in_its_columns_and_rows_and_what_they_are_of():
    table = pd.DataFrame({"lost_h": [1.0], "cost by ladder": [2]}, index=pd.Index(["mean_outage_h"], name="law"))
    quiet = pd.DataFrame({"low": [1, 2]}, index=["busy", "noisy night"])
    shown = headed(table)
    assert list(shown) == ["Lost (h)", "Cost by ladder"]
    assert list(shown.index) == ["Mean outage (h)"]
    assert shown.index.name == "Law"
    assert list(headed(quiet).index) == ["busy", "noisy night"]  # words already
    assert list(table) == ["lost_h", "cost by ladder"]  # the table itself stays
    assert list(headed(pd.DataFrame({"a_b": [1]}, index=[3])).index) == [3]


def test_a_headed_table_shows_what_is_not_known_as_blank_whether_as_yes_and_counted_rows_without_a_number():
    table = pd.DataFrame({"mean_mbit_s": [1.25, None, 3.0], "keeps_up": [True, False, True], "cards": [1, 2, 3]})
    shown = headed(table)
    assert shown["Mean (Mbit/s)"].tolist() == ["1.25", "", "3.00"]  # the decimals of the column, as pandas shows it
    assert shown["Keeps up"].tolist() == ["yes", "no", "yes"]
    assert shown["Cards"].tolist() == [1, 2, 3]
    assert shown.index.tolist() == ["", "", ""]
    assert headed(table.set_axis([1, 2, 3])).index.tolist() == [1, 2, 3]  # numbered for the reader
    assert headed(pd.DataFrame({"mean_mbit_s": [None]}, dtype=float))["Mean (Mbit/s)"].tolist() == [""]


def test_no_heading_looks_like_a_name_of_the_program():
    assert [told for told in HEADINGS.values() if re.search(r"[a-z]_[a-z]", told)] == []


def test_a_table_of_a_panel_has_no_raw_name_in_its_head():
    table = pd.DataFrame({"mean_mbit_s": [2.0], "chance_kept": [0.948], "card": ["plain_16"]})
    html = table_html(table)
    heads = re.findall(r"<th[^>]*>([^<]*)</th>", html)
    assert heads == ["Mean (Mbit/s)", "Chance that all is kept", "Card"]
    assert "plain_16" in html  # what a reader wrote stays as it is
