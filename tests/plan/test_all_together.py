"""All cameras of a site together, against sums by hand, a reference library and simulated sites."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from edgestore.plan.all_together import AllTogether, all_together
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import SitePlan, site_plan

KNOWN = "random_per_year = [0.01, 0.0101]\nweak_fraction = [0.02, 0.0201]\nwear_shape = [3, 3.001]\n"


def planned(cameras: int, correlation: float, beliefs: str = "") -> SitePlan:
    """A site of cameras that hardly wear their cards."""
    rows = "".join(f"c{number},0.1,4,1,3\n" for number in range(cameras))
    settings = f"[service]\nlead_days = 200\n[beliefs]\nbatch_correlation = {correlation}\n{beliefs}"
    return site_plan(
        read_lists(
            ("cameras.csv", f"camera,mean_mbit_s,cap_mbit_s,retention_days,life_years\n{rows}".encode()),
            ("cards.csv", b"card,capacity_gb,speed_class,endurance_tbw\nk,256,V30,10000\n"),
            ("site.toml", settings.encode()),
        ),
        with_reasons=False,
    )


def test_independent_cameras_keep_it_with_the_product_of_their_chances_and_break_it_by_the_binomial_law():
    plan = planned(30, 0)
    together, kept = plan.all_together, plan.plan["chance_kept"].to_numpy()
    assert together.table["all_keep"].tolist() == pytest.approx([kept.prod()] * 3)
    # A tenth of 30 is 3; each breaks it with one chance.
    assert together.table["more_break"].tolist() == pytest.approx([stats.binom.sf(3, 30, 1 - kept[0])] * 3)
    assert together.broken == pytest.approx(30 * (1 - kept[0]))


def test_the_weak_cards_of_a_batch_are_beta_binomial():
    # Weak cards of 3 years are out but for exp(-12); the others last with exp(-0.03) at 1 % a year.
    plan = planned(20, 0.2, KNOWN)
    (kind,) = plan.site.kinds_of(plan.plan["card"].iloc[:1])
    weak, n = kind.mean_weak_fraction, 20
    a, b = (share * (1 / 0.2 - 1) for share in (weak, 1 - weak))
    own = plan.plan["chance_kept"].iloc[0] / (1 - weak)
    one, two = plan.all_together.table.iloc[1:]["all_keep"]
    assert one == pytest.approx(own**n * stats.betabinom.pmf(0, n, a, b), rel=1e-4)
    assert two == pytest.approx(own**n * stats.betabinom.pmf(0, n // 2, a, b) ** 2, rel=1e-4)


def test_simulated_sites_break_as_many_promises():
    plan = planned(60, 0.3, "weak_fraction = [0.05, 0.0501]\n")
    (kind,) = plan.site.kinds_of(plan.plan["card"].iloc[:1])
    weak, kept = kind.mean_weak_fraction, plan.plan["chance_kept"].to_numpy()
    draw, sites = np.random.default_rng(7), 40_000
    a, b = (share * (1 / 0.3 - 1) for share in (weak, 1 - weak))
    for batches, told in ((1, plan.all_together.table.iloc[1]), (2, plan.all_together.table.iloc[2])):
        shares = draw.beta(a, b, (sites, batches)).repeat(60 // batches, axis=1)
        is_weak = draw.random((sites, 60)) < shares
        breaks = is_weak | (draw.random((sites, 60)) > kept / (1 - weak))
        none, many = (breaks.sum(axis=1) == 0).mean(), (breaks.sum(axis=1) > 6).mean()
        assert told["all_keep"] == pytest.approx(none, abs=3 * np.sqrt(none * (1 - none) / sites))
        assert told["more_break"] == pytest.approx(many, abs=3 * np.sqrt(many * (1 - many) / sites))


def test_a_common_cause_makes_none_likelier_and_many_likelier_and_two_batches_lie_between():
    apart, one, two = (row for _, row in planned(300, 0.1).all_together.table.iterrows())
    assert apart["all_keep"] < two["all_keep"] < one["all_keep"]
    assert apart["more_break"] < two["more_break"] < one["more_break"]
    assert one["spares"] >= two["spares"] >= apart["spares"]


def test_the_ends_of_the_band_hold_the_middle():
    table = planned(30, 0.1).all_together.table
    for name in ("all_keep", "more_break"):
        assert (table[f"{name}_low"] <= table[name]).all()
        assert (table[name] <= table[f"{name}_high"]).all()


def test_what_it_says_of_a_site_and_of_one_without_an_assured_camera():
    told = planned(100, 0.3).all_together
    assert told.sentences[0].startswith("Of 100 assured cameras ")
    assert told.sentences[1].startswith("11 or more break it with a chance of ")
    assert told.sentences[2].startswith("Two batches of each kind, or two suppliers, save ")
    none = planned(1, 0.1, "random_per_year = [1, 1.01]\n").all_together
    assert (none.cameras, none.sentences) == (0, ())


def test_two_kinds_are_independent():
    plan = planned(10, 0.3)
    half = plan.plan.assign(card=["k"] * 5 + ["other"] * 5)
    one, two = (all_together(plan.site, each, plan.untested_band).table["all_keep"] for each in (plan.plan, half))
    # Two kinds of five in one batch each are as one kind in two batches.
    assert two[1] == pytest.approx(one[2])


def test_the_chance_that_all_keep_it_is_told_rounded_down_and_that_many_break_it_rounded_up():
    # 47.9 % promised are told as 47, and 16.1 % that many break it as 17; the ends of the bands likewise.
    promised = {"all_keep": [0.4799, 0.479, 0.475], "all_keep_low": [0.249] * 3, "all_keep_high": [0.729] * 3}
    broken = {"more_break": [0.1601, 0.161, 0.169], "more_break_low": [0.036] * 3, "more_break_high": [0.391] * 3}
    table = pd.DataFrame({"bought": ["apart", "one", "two"], **promised, **broken, "more_than": 1, "spares": 0})
    told = AllTogether(cameras=12, many=1, broken=0.73, table=table)
    assert told.kept.replace("\N{NO-BREAK SPACE}", " ") == "47 % (24 to 72 %)"
    keep, many = (text.replace("\N{NO-BREAK SPACE}", " ") for text in told.sentences)
    assert "47 % in two, 47 % if cards failed independently" in keep
    assert "17 % (4 to 40 %), each kind bought in one batch, 17 % in two, 17 % if cards failed" in many
