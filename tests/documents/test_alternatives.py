"""Alternatives side by side: the totals of each plan by itself, in the document and by the command."""

import csv
import io
import re
from dataclasses import replace

import pytest
from proposals import DATA, DEMO, demo

from edgestore import InputError
from edgestore.documents.alternatives import Alternative
from edgestore.documents.content import proposal
from edgestore.documents.page import page
from edgestore.plan.order import order_list
from edgestore.plan.read import read_other
from edgestore.plan.site_plan import site_plan
from edgestore.plan.visit_calendar import visit_calendar

pytestmark = pytest.mark.landing

STAND_ALONE = re.sub(r"\[service\].*|\[outage\].*", "", DEMO[2].read_text(), flags=re.DOTALL)
"""The settings of the demo up to the tables of the log and of the recorder's outages, which come last."""


@pytest.fixture(scope="module")
def others():
    """Plans with other settings, another card list, and stand-alone: without a recorder that may be down."""
    cheap = "\n".join(line for line in DEMO[1].read_text().splitlines() if "one-bit" not in line)
    site = demo().plan.site
    given = {
        "five years": DATA / "ferry_terminal" / "site_five_years.toml",
        "offer B": ("offer_b.csv", cheap.encode()),
        "stand-alone": ("alone.toml", STAND_ALONE.encode()),
    }
    return [Alternative(name, site_plan(read_other(site, of), with_reasons=False)) for name, of in given.items()]


@pytest.fixture(scope="module")
def beside(others):
    return replace(demo(), against=tuple(others))


def test_totals_of_each_alternative_are_those_of_its_plan_by_itself(beside, others):
    table = beside.alternatives.set_index("alternative")
    assert list(table.index) == ["this proposal", "five years", "offer B", "stand-alone"]
    for one in (Alternative("this proposal", demo().plan), *others):
        row, plan = table.loc[one.name], one.plan
        visits = visit_calendar(plan.site, plan.plan, demo().front.date, in_service=plan.calendar)
        order = order_list(plan)
        assert row["cost"] == pytest.approx(visits.bill.years["total"].sum())
        assert (row["visits"], row["lifts"]) == (len(visits.table), visits.table["with_lift"].sum())
        assert row["assured"] == plan.plan["meets"].sum()
        assert row["least_chance"] == plan.plan.loc[plan.plan["meets"], "chance_kept"].min()
        assert row["order_price"] == (order["price"] * (order["cards"] + order["spares"])).sum()
        if "lost_h_per_year" in plan.plan:
            assert row["lost_h_per_year"] == pytest.approx(plan.plan["lost_h_per_year"].sum())
    assert table.loc["this proposal", "cost"] == pytest.approx(demo().visits.bill.cost)
    assert table["lost_h_per_year"].isna().tolist() == [False, False, False, True]  # stand-alone states no outages


def test_the_document_has_the_section_only_where_alternatives_are_given(beside):
    html = page(beside)
    assert re.search(r'<h2 id="alternatives">\d+ Alternatives</h2>', html)
    assert all(name in html for name in ("five years", "offer B", "stand-alone"))
    assert "stand-alone: Only the first plan states outages" in html  # as what_if tells it
    assert "stand-alone names no service log: its bill and visits begin otherwise" in html
    assert 'id="alternatives"' not in page(demo())


def test_more_than_three_alternatives_are_refused(others):
    with pytest.raises(InputError, match=r"--against: found 4 alternatives; allowed: 3 at most"):
        proposal(demo().plan, demo().front, against=[*others, others[0]])


def test_the_workbook_traces_what_is_asked_and_says_what_is_not_answered():
    from edgestore.documents.requirement_trace import NOT_ANSWERED, requirement_trace

    table = requirement_trace(demo())
    assert (table["where"] == NOT_ANSWERED).sum() >= 3
    assert (table.loc[table["where"] != NOT_ANSWERED, "evidence"] != "").all()
    of_site = table[table["of"].str.startswith("the site")]
    assert of_site["asks"].str.startswith("Days of footage: 3 to 7").any()  # groups ask for 3 and 7, the site for 4
    header = next(csv.reader(io.StringIO(table.to_csv(index=False))))
    assert header == ["asks", "of", "where", "evidence"]
