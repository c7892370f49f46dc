"""Settings typed into a workbook: what TOML states they state, and what is wrong is told by row and column."""

import datetime
import io
import re

import openpyxl
import pytest

from edgestore import InputError, read_settings

HEADER = ("About", "Setting", "Group", "Value", "Upper end", "Meaning")


def workbook(*rows: tuple[object, ...]) -> bytes:
    """Give a workbook with a row a setting: name, value, and where needed upper end and group."""
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Settings"
    sheet.append(HEADER)
    for setting, value, *more in rows:
        upper, group = (*more, None, None)[:2]
        sheet.append(("", setting, group, value, upper, "any text"))
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def faults(*rows: tuple[object, ...]) -> list[str]:
    with pytest.raises(InputError) as refused:
        read_settings(workbook(*rows), "settings.xlsx")
    return [str(fault) for fault in refused.value.faults]


COSTS = (("Visit price", 60), ("Visit with lift price", 260))


def test_a_workbook_states_what_the_same_toml_states():
    rows = (
        *(("Retention (days)", 5), ("Retention (days)", 7, None, "quay"), ("retention_days_max", 9, None, "hall")),
        *(*COSTS, ("Currency", "credits"), ("First fitting is a visit", False), ("Author", "A. Author")),
        *(("Date", datetime.date(2026, 11, 25)), ("Listed mean", 0.8, 1.25), ("Speed margin", None)),
        *(("Recorder mtbf (h)", 17520), ("Repair law", "lognormal"), ("Repair median (h)", 8), ("Repair sigma", 1.2)),
        ("Recorder mtbf (h)", 9000, None, "quay"),
    )
    toml = b"""
    requirements.retention_days = 5
    groups.quay = {retention_days = 7, outage = {recorder_mtbf_h = 9000}}
    groups.hall.retention_days_max = 9
    costs = {visit_price = 60, visit_with_lift_price = 260, currency = "credits", first_fitting_is_a_visit = false}
    document = {author = "A. Author", date = 2026-11-25}
    beliefs.listed_mean = [0.8, 1.25]
    outage = {recorder_mtbf_h = 17520, repair_law = "lognormal", repair_median_h = 8, repair_sigma = 1.2}
    """
    assert read_settings(workbook(*rows), "site.toml") == read_settings(toml, "site.toml")


@pytest.mark.parametrize(
    ("row", "told"),
    [
        (("Life (years)", "three"), "row 2, column Value: is 'three'; must be 0.001 or more"),
        (("Assurance", 90), "row 2, column Value: is '90'; must be 0.5 or more.*A percentage is divided by 100"),
        (("Repair law", "poisson"), "row 2, column Value: found 'poisson'; allowed: exponential"),
        (("Date", "25.11.2026"), "row 2, column Value: found '25.11.2026'; allowed: a date as 2026-03-15"),
        (("Wear shape", 2), "row 2, column Upper end: is an empty cell; must be 1 or more and at most 10"),
        (("Wear shape", 3, 2), r"row 2, column Value: found \[3, 2\]; allowed: the lower end first"),
        (("Life (years)", 3, 4), "row 2, column Upper end: found '4'; allowed: an empty cell"),
        (("Lead (days)", 20, None, "quay"), "row 2, column Group: found 'quay'; allowed: a group only for settings on"),
        (("Retenton days", 3), r"row 2, column Setting: found 'Retenton days'; .*Is it Retention \(days\)\?"),
        (("Life (years)", "=1/0"), "row 2, column Value: found a formula whose value was not saved"),
    ],
)
def test_what_is_wrong_is_told_once_by_row_and_column(row, told):
    only = faults(row)
    assert len(only) == 1
    assert re.search(f"^settings.xlsx, sheet 'Settings', {told}", only[0])


def test_all_faults_are_told_together_and_those_between_rows_at_one_of_them():
    told = faults(
        *(("Retention (days)", 9), ("Retention days max", 4), ("Visit price", 60), ("Visit with lift price", None)),
        *(("Retention (days)", 8), ("As of", datetime.date(2026, 1, 2))),
    )
    assert [re.search(r"row (\d)|settings on \w+", fault)[0] for fault in told] == [
        "row 6",  # the same setting twice
        "row 3",  # at most 4 days, where 9 are wanted
        "row 5",  # a price that goes with the other
        "settings on service",  # a day without its log
    ]
