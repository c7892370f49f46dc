"""The pages on one card in one camera tell the chances and the age of change of the plan."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from edgestore import InputError
from edgestore.plan.one_card import CYCLES_KIND, PART_NAMES, of_site, one_card, when_to_change
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan

DATA = Path(__file__).parents[2] / "data"
SAME = 1e-6


@pytest.fixture(scope="module")
def site():
    return read_lists(DATA / "ferry_terminal/cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal/site.toml")


@pytest.fixture(scope="module")
def planned(site):
    return site_plan(replace(site, log=None))  # the page of one card knows no log, which would teach it of its kind


def test_every_third_card_of_the_demo_site_has_by_itself_the_chances_and_the_age_of_the_plan(site, planned):
    for row in range(0, len(site.cameras), 3):
        for card in range(0, len(site.offered), 3):
            alone = replace(site.of_cameras(np.array([row])), cards=site.offered.iloc[[card]], log=None)
            page, given = of_site(alone), planned.tries.given
            assert page.kept == pytest.approx(given["chance_kept"][row, card], abs=SAME)
            for part in ("retention", "maximum", "life"):
                assert page.parts[part] == pytest.approx(given[f"chance_{part}"][row, card], abs=SAME)
            assert page.change_years == pytest.approx(given["change_years"][row, card], abs=SAME, nan_ok=True)
            assert page.latest_years == pytest.approx(given["latest_change_years"][row, card], abs=SAME)
            assert page.cost == pytest.approx(given["cost"][row, card], abs=SAME, nan_ok=True)


def test_numbers_typed_on_the_page_give_the_plan_of_a_list_that_states_them(site):
    # Fuel store of the demo: a mean of 0.5 Mbit/s under a cap of 4; long-life 32 GB: 0.98 of it are left by formatting.
    typed = when_to_change(
        capacity_gb=32 * 0.98,
        mean_mbit_s=0.5,
        cap_mbit_s=4,
        endurance_tbw=5000 * 26 * 3600 / 8e6,  # 5000 h at 26 Mbit/s: 58.5 TB
        speed_class="V10",
        speed_margin=10,
        card_price=14 * 1.1,  # a tenth is spare
    )
    row = site.cameras["camera"].tolist().index("Fuel store")
    alone = replace(
        site.of_cameras(np.array([row])), cards=site.cards[site.cards["card"] == "long-life 32 GB"], log=None
    )
    page = of_site(alone)
    assert typed.kept == pytest.approx(page.kept, abs=SAME)
    assert typed.change_years == page.change_years
    assert typed.cost == pytest.approx(page.cost, abs=0.01)


def test_all_together_is_below_each_part_and_not_their_product():
    answer = one_card(64, 2, 4, retention_days=2.7, life_years=5, endurance_tbw=60)
    assert answer.kept <= min(answer.parts.values())
    # A high mean rate breaks retention and life at once, so that together they are likelier kept than by their product.
    assert answer.kept > np.prod(list(answer.parts.values())) + 0.01


def test_the_age_of_change_is_the_cheapest_between_the_life_asked_and_the_latest_that_is_sure_enough():
    answer = when_to_change()
    ages, cost = answer.by_age.ages_years, answer.by_age.cost[0, 0]
    allowed = (np.minimum(ages, 10) >= 3) & (np.minimum(ages, 10) <= answer.latest_years)
    assert answer.cost == cost[allowed].min()
    assert answer.change_years == ages[allowed][cost[allowed].argmin()]
    at_latest = np.interp(answer.latest_years, answer.ages_years, answer.works)
    after = np.interp(answer.latest_years + 0.25, answer.ages_years, answer.works)
    assert at_latest >= 0.9 > after


def test_the_sentence_says_why_the_cheaper_last_row_of_the_table_is_not_taken():
    answer = when_to_change()
    never, age = answer.by_age.cost[0, 0, -1], answer.by_age.ages_years[-1]
    assert np.isinf(age)
    assert never < answer.cost
    assert answer.table["change_years"].iloc[-1] == "no planned change"
    assert f"Left in until it fails, it would cost {answer.table['cost'].iloc[-1]} currency" in answer.sentence.replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_a_card_that_is_not_assured_has_no_age_of_change_and_the_weakest_part_is_named():
    answer = when_to_change(capacity_gb=64, retention_days=4)
    assert np.isnan(answer.change_years)
    assert "The card is not assured at any age of change" in answer.sentence
    # 64 GB hold 64 / (2 x 10.8) = 2.96 of 4 days: Phi(1.2816 ln(2.96 / 4) / ln 1.3) = Phi(-1.47) = 0.071.
    assert (
        f"The weakest part: {PART_NAMES['retention']}, 7\N{NO-BREAK SPACE}%." in one_card(64, retention_days=4).sentence
    )


def test_cycles_make_the_write_amplification_follow_from_the_camera():
    few, many = (
        one_card(endurance_kind=CYCLES_KIND, pe_cycles=3000, update_interval_s=s).parts["life"] for s in (1, 60)
    )
    assert few < many


@pytest.mark.parametrize(
    ("asked", "match"),
    [
        ({"mean_mbit_s": -1}, "mean_mbit_s"),
        ({"assurance_percent": 40}, "assurance"),
        ({"endurance_kind": "miles"}, "endurance_kind"),
        ({"recorded_fraction": 0}, "recorded_fraction"),
    ],
)
def test_numbers_that_cannot_be_used_are_refused_by_name(asked, match):
    with pytest.raises(InputError, match=match):
        one_card(**asked)


def test_a_site_without_costs_has_no_page_of_one_card(site):
    bare = replace(site.of_cameras(np.array([0])), settings=type(site.settings)(), requirements=Requirements())
    with pytest.raises(InputError, match="costs"):
        of_site(bare)
