"""The table of an answer: what stands in a row, and what stands below it."""

import re

import numpy as np
import pandas as pd

from edgestore.panels.table import table_html

PLAN = pd.DataFrame(
    {
        "camera": ["Gate <1>", "Quay"],
        "chance_kept": [0.948, np.nan],
        "mean_mbit_s": [12345.678, 0.5],
        "meets": [True, False],
        "against_cap": ["The cap alone would ask for <512>.", ""],
        "reason": ["Smallest card of those that are assured.", ""],
    }
)


def texts(html, tag):
    return re.findall(rf"<{tag}[^>]*>([^<]*)</{tag}>", html)


def test_what_explains_a_row_stands_below_it_in_a_fold_and_not_in_columns():
    html = table_html(PLAN)
    assert texts(html, "th") == ["Camera", "Chance that all is kept", "Mean (Mbit/s)", "Meets"]
    assert re.findall("<p>(.*?)</p>", html) == [
        "<b>Reason:</b> Smallest card of those that are assured.",
        "<b>Against the cap alone:</b> The cap alone would ask for &lt;512&gt;.",
    ]
    assert html.count('<tr class="edgestore-why"><td colspan="4"><details><summary>Reasons</summary>') == 1


def test_a_cell_is_short_its_thousands_stand_apart_and_what_is_not_known_is_blank():
    cells = texts(table_html(PLAN.drop(columns=["reason", "against_cap"])), "td")
    blank = "\N{NO-BREAK SPACE}"
    assert cells == ["Gate &lt;1&gt;", f"94{blank}%", f"12{blank}346", "yes", "Quay", "", "0.5", "no"]


def test_only_columns_with_a_long_text_may_take_some_lines():
    html = table_html(pd.DataFrame({"how": ["Measure the far end of the quay for a day"], "worth": [3]}))
    assert html.count('<th scope="col" class="edgestore-long">How</th>') == 1
    assert '<th scope="col">Worth</th>' in html


def test_a_table_without_rows_has_its_headings():
    assert texts(table_html(PLAN.iloc[:0]), "th")[0] == "Camera"
