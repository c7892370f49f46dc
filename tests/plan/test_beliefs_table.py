"""What the plan takes for known, as it is written."""

import io

import numpy as np
import pandas as pd
import pytest
from test_service_records import site

from edgestore.inputs.beliefs import BELIEFS, Beliefs
from edgestore.plan.beliefs_table import beliefs_table
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.tables import as_csv, tables


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    """Cameras of 1 Mbit/s under a cap of 4; of k0 three failures at 2 years and ten cards of 4 years."""
    return beliefs_table(site([("k0", 2.0, True)] * 3 + [("k0", 4.0, False)] * 10))


def row(table: pd.DataFrame, subject: str, of: str) -> pd.Series:
    return table[(table["subject"] == subject) & table["input"].str.contains(of)].iloc[0]


def test_each_input_has_its_ends_its_basis_and_its_source(table):
    mean = row(table, "c0", "mean rate")
    assert mean[["median", "one_in_ten_below", "one_in_ten_above"]].tolist() == [1.0, 0.769, 1.3]  # 1 / 1.3 and 1.3
    assert (mean["basis"], mean["unit"], mean["source"]) == ("listed", "Mbit/s", "our guess")
    known = table.dropna(subset=["median"])
    assert (known["one_in_ten_below"] <= known["median"]).all()
    assert (known["median"] <= known["one_in_ten_above"]).all()
    assert (table[["basis", "source", "input", "subject"]] != "").all(axis=None)


def test_a_kind_in_the_log_says_how_many_failed_in_how_many_card_years(table):
    # 3 x 2 + 10 x 4 = 46 card-years
    assert row(table, "k0", "failures for other")["basis"] == "assumed, with 3 failures in 46 card-years"
    assert row(table, "k1", "failures for other")["basis"] == "assumed, with the service log of 1 other kind"


def test_an_endurance_without_records_is_1_to_2_8_times_the_stated_one(table):
    of_k1 = row(table, "k1", "endurance")
    assert of_k1["one_in_ten_below"] == pytest.approx(600, rel=0.02)
    assert of_k1["one_in_ten_above"] == pytest.approx(2.8 * 600, rel=0.02)
    assert "JESD218" in of_k1["source"]


def test_the_table_is_written_with_the_plan_and_holds_no_formula():
    of = site()
    of.cameras["camera"] = ["=1+1", "c1", "c2", "c3"]
    written = tables(site_plan(of))["beliefs"]
    read = pd.read_csv(io.BytesIO(as_csv(written)))
    assert read["subject"][0] == "'=1+1"
    assert len(read) == len(written)


def test_half_of_the_cards_reach_2_83_times_a_rating_that_all_but_3_percent_reach():
    # (ln 2 / -ln 0.97)^(1/3) = (0.693147 / 0.030459)^(1/3) = 2.8336
    belief = Beliefs()["stated_endurance"]
    assert (belief.low, belief.high) == (1, round(2.8336, 1))


def test_every_belief_has_a_source_and_ends_that_may_be_stated():
    for belief in BELIEFS:
        assert belief.source
        assert belief.at_least <= belief.low <= belief.median <= belief.high <= belief.at_most
    assert np.isclose(Beliefs()["random_per_year"].median, 0.01)


def test_the_peak_of_a_camera_known_by_its_mean_alone_is_told_with_the_traces_it_is_from_and_no_other():
    lists = (
        ("cameras.csv", b"camera,mean_mbit_s,cap_mbit_s\nfree,2,\ncapped,2,4\n"),
        ("cards.csv", b"card,capacity_gb,speed_class,pe_cycles\nk,64,V30,3000\n"),
    )
    of = beliefs_table(read_lists(*lists))
    peak = row(of, "free", "peak rate")
    assert peak[["median", "one_in_ten_below", "one_in_ten_above"]].tolist() == [8.8] * 3  # 4.4 x 2
    assert "1.3 to 4.4" in peak["source"]
    assert not ((of["subject"] == "capped") & (of["input"] == "peak rate")).any()
