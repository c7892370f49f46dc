"""Charts for print: each states its message, shows every camera or says which, and is the same bytes each time."""

import re
import xml.etree.ElementTree as ET

import pandas as pd
import pytest

from edgestore.figures import printed
from edgestore.figures.printed import PICTURES, ROWS, kinds_chart, life_charts, retention_charts
from edgestore.plan.choice import Front

SVG = "{http://www.w3.org/2000/svg}"


def planned(days, **changes):
    """Give the rows of a plan that the charts read, days held and years lasted alike."""
    columns = {"camera": [f"gate {n}" for n in range(len(days))], "meets": [day == day for day in days]}
    columns |= {"state": ["assured" if day == day else "not served" for day in days]}
    for name in ("retention_days", "life_years"):
        columns |= {f"{name}{end}": days for end in ("_low", "", "_high")}
    return pd.DataFrame(columns | changes)


def wanted(plan, days=7.0, most=float("nan"), assurance=0.9):
    columns = {"retention_days": days, "life_years": 3.0, "retention_days_max": most, "assurance": assurance}
    return pd.DataFrame(columns, index=plan.index)


def only(charts):
    assert len(charts) == 1
    return charts[0]


def test_the_title_states_who_is_served_with_which_chance_and_the_shortest_as_planned():
    plan = planned([9.0, 12.0])
    [chart] = retention_charts(plan, wanted(plan))
    assert chart.title.replace("\N{NO-BREAK SPACE}", " ") == (
        "All 2 cards hold the 7 days wanted with a chance of 90 % or more; as planned the shortest is 9 days"
    )
    plan = planned([9.0, float("nan")])
    [chart] = life_charts(plan, wanted(plan, assurance=[0.9, 0.5]))
    assert chart.title.replace("\N{NO-BREAK SPACE}", " ") == (
        "1 of 2 cameras have a card to last the 3 years wanted with a chance of 90 % or more; as planned wear alone"
        " uses up the first after 9 years"
    )
    # With an assurance of 50 % a card may hold less, as planned, than is wanted: the chance is what it is asked for.
    plan = planned([2.9])
    assert "with a chance of 50\N{NO-BREAK SPACE}% or more; as planned the shortest is 2.9 days" in (
        only(retention_charts(plan, wanted(plan, days=3.0, assurance=0.5))).title
    )
    plan = planned([float("nan")] * 2)
    assert "No card of the list is assured to hold" in only(retention_charts(plan, wanted(plan))).title


def test_the_axis_of_lives_ends_at_ten_years_and_longer_ones_are_an_arrow_at_its_edge(monkeypatch):
    monkeypatch.setitem(printed.FIXED, "svg.fonttype", "none")  # words as words
    plan = planned([9.0, 80.0, 2000.0])
    picture = ET.fromstring(only(life_charts(plan, wanted(plan))).svg)
    words = ["".join(text.itertext()) for text in picture.iter(f"{SVG}text")]
    figures = [float(text) for text in words if re.fullmatch(r"[\d.]+", text)]
    assert max(figures) == 10
    assert words.count("more than 10") == 2
    assert any("more than 10 (arrow)" in text for text in words)


def test_a_chart_is_the_same_bytes_each_time_and_has_no_date():
    plan = planned([9.0, 12.0])
    pictures = [only(retention_charts(plan, wanted(plan, most=30.0))).svg for _ in range(2)]
    assert pictures[0] == pictures[1]
    assert b"date" not in pictures[0]


@pytest.mark.parametrize(
    "name", ["$x^2$", "$\\frac{", "a" * 300, "\N{GRINNING FACE}\U0010fffe", "<script>", "\u202eevil"]
)
def test_any_name_is_drawn_and_none_becomes_markup_or_formula(name):
    plan = planned([9.0], camera=[name])
    picture = ET.fromstring(only(retention_charts(plan, wanted(plan))).svg)
    assert float(picture.get("width").removesuffix("pt")) == pytest.approx(6.85 * 72)
    assert not list(picture.iter(f"{SVG}script"))


@pytest.fixture
def undrawn(monkeypatch):
    """Leave out the drawing, where only what a picture says in words is looked at."""
    monkeypatch.setattr(printed, "_svg", lambda draw, rows: b"")


def test_many_cameras_take_several_pictures(undrawn):
    plan = planned([10.0] * (2 * ROWS + 1))
    charts = retention_charts(plan, wanted(plan))
    assert len(charts) == 3
    assert charts[0].title.endswith("(1 of 3)")
    assert f"{2 * ROWS + 1}" in charts[2].alt_text


def test_of_very_many_those_with_the_least_to_spare_are_shown(undrawn):
    days = [100.0] * 500
    days[333] = 7.5
    plan = planned(days)
    charts = retention_charts(plan, wanted(plan))
    assert len(charts) == PICTURES
    assert f"the {ROWS * PICTURES} cameras with the least to spare" in charts[0].title
    assert any(re.search(r"\b334\b", chart.alt_text) for chart in charts)


def test_kinds_are_drawn_where_there_is_something_to_choose():
    table = pd.DataFrame(
        {"kinds": [1, 2], "assured": [3, 4], "cost": [500.0, 450.0], "cards": ["a", "a, b"], "search": ""}
    )
    chart = kinds_chart(Front(table, "cost", "US$ or A$", 5))
    assert "1 kind can assure 3 of 5 cameras" in chart.title
    ET.fromstring(chart.svg)
    assert kinds_chart(Front(table[:1], "cost", "credits", 5)) is None
