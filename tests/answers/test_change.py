"""When to change the cards: against hand arithmetic, and refused when it cannot be."""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from edgestore import InputError
from edgestore.answers.change import AGES_YEARS, REACHED, _beyond, _sentence, upkeep
from edgestore.figures.change import UpkeepFigure
from edgestore.models.life import CardLife

whole_plans = settings(max_examples=settings.default.max_examples // 4)

KNOWN = {"wear_life_low_years": 8.0, "wear_life_high_years": 8.0, "random_percent_year": 0, "early_percent": 0}


def alive(years, wear_life=8.0):
    """Weibull law of shape 3, half worn out at the wear life."""
    return math.exp(-math.log(2) * (years / wear_life) ** 3)


def test_cost_a_year_is_the_mean_cost_of_a_card_over_the_mean_time_it_stays():
    answer = upkeep(**KNOWN, card_price=20, visit_with_lift_price=80, lost_cost=300)
    at = int(np.searchsorted(AGES_YEARS, 5))
    age = AGES_YEARS[at]
    # planned 20 + 80; after a failure 300 more
    expected = (100 * alive(age) + 400 * (1 - alive(age))) / integrate.quad(alive, 0, age)[0]
    np.testing.assert_allclose(answer.cost_curves_per_year[:, at], expected, rtol=1e-6)


def test_left_until_it_fails_a_card_costs_a_failure_a_mean_life():
    answer = upkeep(**KNOWN, card_price=20, visit_with_lift_price=80, lost_cost=300)
    # mean of a Weibull law: scale x gamma(1 + 1/3), scale 8 / (ln 2)^(1/3)
    mean = 8 / math.log(2) ** (1 / 3) * math.gamma(4 / 3)
    np.testing.assert_allclose(answer.failing_cost_per_year, 400 / mean, rtol=1e-6)


def test_the_cheapest_age_is_the_lowest_point_of_the_curve():
    answer = upkeep()
    for curve, years, cost in zip(
        answer.cost_curves_per_year, answer.best_years, answer.best_cost_per_year, strict=True
    ):
        assert AGES_YEARS[np.argmin(curve)] == pytest.approx(years, rel=0.06)  # the grid's step is 5 %
        assert cost == pytest.approx(curve.min(), rel=1e-3)
        assert cost <= curve.min()


def test_the_headline_counts_the_long_run_and_says_where_the_horizon_alone_decides_otherwise():
    answer = upkeep()
    left, changed = (answer.ways["cost_over_horizon_low"][at] for at in (0, 1))
    assert left < changed  # at the best life the last change comes shortly before the 10 years end
    told = answer.sentence
    assert (
        "In the long run that costs 56 to 125 currency units per camera and year, 70 to 161 if run to failure" in told
    )
    assert f"to failure is cheaper at a wear life of more than 10 years, {left:.0f} against {changed:.0f}" in told
    assert "the last change serves beyond that time" in told
    assert "within" not in upkeep(horizon_years=20).sentence  # of 20 years two changes at 9.2 years serve nearly all


@pytest.mark.parametrize(
    ("left", "changed", "told"),
    [
        ([90.0, 100.0], [92.0, 103.0], "100 against 103"),  # the wear life of which changing costs more by most
        ([90.0, 100.0], [99.0, 103.0], "90 against 99"),
        ([100.2], [100.4], ""),  # no difference in whole units
        ([103.0], [100.0], ""),
        ([100.0], [100.0], ""),
    ],
)
def test_the_horizon_alone_is_told_of_where_it_decides_otherwise_by_a_unit_of_money(left, changed, told):
    text = _beyond(np.array([5.0, 8.0]), np.array(left), np.array(changed), 10.0).replace("\N{NO-BREAK SPACE}", " ")
    assert told in text
    assert bool(text) == bool(told)
    assert ("within 10 years only" in text) == bool(told)


def test_cards_that_arrive_within_half_a_day_take_no_more_spares_than_those_of_a_day():
    half, whole = (upkeep(lead_days=days).spares for days in (0.5, 1.0))
    assert (np.asarray(half) <= np.asarray(whole)).all()


def test_money_is_told_in_whole_units_and_no_age_of_change_above_ten_years():
    answer = upkeep(5, 30)
    columns = answer.table[["cost_per_year", "cost_over_horizon"]]
    assert not columns.map(lambda text: "." in text).any(axis=None)
    assert answer.best_years[2] > 10
    assert "to more than 10 years" in answer.sentence
    assert "more than 10" in answer.table["change_years"][1]


def test_where_a_failure_costs_no_more_than_a_visit_nothing_is_planned():
    answer = upkeep(**KNOWN, lost_cost=0)
    assert np.isinf(answer.best_years).all()
    assert answer.sentence.startswith("Leave each card until it fails: a planned change saves nothing.")
    assert np.isnan(answer.ways["change_years"][1])  # empty
    assert answer.ways["cost_over_horizon"][0] == pytest.approx(answer.ways["cost_over_horizon"][1], rel=1e-9)


def test_cards_that_do_not_age_are_left_until_they_fail():
    assert np.isinf(upkeep(wear_shape=1, random_percent_year=5, early_percent=0, lost_cost=5000).best_years).all()


def test_spares_are_those_of_poissons_law():
    # Cards that do not age: 40 x 0.25 years x (ln 2 / 8) a year = 0.866 failures in a quarter of a year
    answer = upkeep(**KNOWN, wear_shape=1, cards=40, lead_days=365.25 / 4, confidence_percent=95)
    failures = 40 * 0.25 * math.log(2) / 8
    np.testing.assert_allclose(answer.failures, failures, rtol=1e-6)
    assert answer.spares.tolist() == [stats.poisson.ppf(0.95, failures)] * 3
    np.testing.assert_allclose(answer.enough[0], stats.poisson.cdf(np.arange(answer.enough.shape[1]), failures))
    # The picture goes one spare beyond those that are enough in 999 of 1000 cases, from none on.
    assert answer.enough.shape[1] == stats.poisson.ppf(0.999, failures) + 2


def test_of_cards_changed_at_their_age_those_fail_that_do_not_reach_it():
    # In the long run a card in each (integral of R up to a) years, of which 1 - R(a) fail first.
    answer = upkeep(**KNOWN, cards=40, lead_days=365.25 / 4)
    age = answer.best_years[1]
    expected = 40 * 0.25 * (1 - alive(age)) / integrate.quad(alive, 0, age)[0]
    np.testing.assert_allclose(answer.failures, expected, rtol=1e-6)


def test_the_spares_of_the_picture_are_enough_for_the_shortest_life_too():
    assert (upkeep(1, 30, horizon_years=2).enough[:, -1] >= 0.999).all()
    assert (upkeep(1, 30, horizon_years=2, confidence_percent=99.99).enough[:, -1] >= 0.9999).all()


def test_a_visit_on_foot_costs_60_where_nothing_is_said():
    on_foot = {"reached": REACHED[0]}
    np.testing.assert_array_equal(upkeep(**on_foot).best_years, upkeep(**on_foot, visit_price=60).best_years)


def test_any_cost_down_to_nothing_is_taken():
    for name in ("card_price", "visit_with_lift_price", "lost_cost", "confidence_percent"):
        assert upkeep(**{name: 0.5}).ways["cost_per_year"].gt(0).all()


def test_of_a_larger_size_the_price_and_the_life_grow():
    # Cards that do not age, left until they fail: the first card, and horizon / mean life more with their visits.
    answer = upkeep(**KNOWN, wear_shape=1, card_price=20, double_price=1.5, visit_with_lift_price=80, lost_cost=0)
    table, mean = answer.ways.set_index("way")["cost_over_horizon"], 8 / math.log(2)
    assert table["left until it fails"] == pytest.approx(20 + 10 / mean * (20 + 80), rel=1e-4)
    assert table["half the size"] == pytest.approx(20 / 1.5 + 10 / (mean / 2) * (20 / 1.5 + 80), rel=1e-4)
    assert table["twice the size"] == pytest.approx(20 * 1.5 + 10 / (2 * mean) * (20 * 1.5 + 80), rel=1e-4)
    assert table["4 times the size"] == pytest.approx(20 * 1.5**2 + 10 / (4 * mean) * (20 * 1.5**2 + 80), rel=1e-4)
    assert table["8 times the size"] == pytest.approx(20 * 1.5**3 + 10 / (8 * mean) * (20 * 1.5**3 + 80), rel=1e-4)


def test_the_size_that_is_cheapest_in_the_end_is_told_unless_it_is_this_one():
    assert any("4 times the size" in text for text in upkeep().warnings)
    assert not any("size" in text for text in upkeep(30, 30).warnings)
    assert any("half the size costs least" in text for text in upkeep(30, 30, horizon_years=1).warnings)


def test_the_table_to_read_has_the_middle_and_in_brackets_the_range():
    table, ways = upkeep().table, upkeep().ways
    assert table["change_years"][1] == "5.9 (3.8 to 9.2)"
    assert ways.loc[1, ["change_years", "change_years_low", "change_years_high"]].round(1).tolist() == [5.9, 3.8, 9.2]
    assert table["change_years"][0] == ""
    assert upkeep(7, 7).table["cost_per_year"].str.fullmatch(r"[\d.]+").all()


def test_a_dearer_visit_puts_off_the_change_and_a_dearer_failure_hastens_it():
    base = upkeep(visit_with_lift_price=260, lost_cost=500).best_years
    assert (upkeep(visit_with_lift_price=600, lost_cost=500).best_years > base).all()
    assert (upkeep(visit_with_lift_price=260, lost_cost=2000).best_years < base).all()


def test_the_way_there_says_which_visit_counts():
    by_ladder = upkeep(reached=REACHED[0], visit_price=60, visit_with_lift_price=9999)
    with_lift = upkeep(reached=REACHED[1], visit_price=9999, visit_with_lift_price=60)
    np.testing.assert_array_equal(by_ladder.cost_curves_per_year, with_lift.cost_curves_per_year)


def test_one_visit_for_all_is_told_when_it_costs_less():
    assert any("Changing all cards on one visit" in text for text in upkeep(cards=40).warnings)
    assert not any("Changing all cards on one visit" in text for text in upkeep(cards=1).warnings)


@pytest.mark.parametrize(("lost_cost", "is_small"), [(200, True), (250, True), (300, False), (400, False)])
def test_a_saving_of_less_than_a_tenth_is_called_small(lost_cost, is_small):
    answer = upkeep(lost_cost=lost_cost)
    left, each = answer.ways["cost_per_year"][:2]
    assert (each > 0.9 * left) == is_small
    assert any("hardly pays for a visit" in text for text in answer.warnings) == is_small


def test_lives_known_for_certain_give_one_figure_in_place_of_a_range():
    assert re.match(r"Change each card after [\d.]+ years: its wear life decides\.", upkeep(7, 7).sentence)


@whole_plans
@given(st.floats(1, 20), st.floats(1, 2), st.floats(0, 3000), st.floats(1, 6))
def test_a_planned_change_never_costs_more_than_none_and_a_longer_life_never_more(low, more, lost, shape):
    answer = upkeep(low, low * more, wear_shape=shape, lost_cost=lost, horizon_years=2)
    assert (answer.best_cost_per_year <= answer.failing_cost_per_year).all()
    assert np.all(np.diff(answer.best_cost_per_year) <= 1e-9 * answer.best_cost_per_year[0])
    assert np.all(np.diff(answer.spares) <= 0)
    assert UpkeepFigure(answer).png()


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"wear_life_low_years": 13}, "wear_life_low_years: is 13 years; must be at most wear_life_high_years, 12"),
        ({"wear_life_low_years": 0}, "wear_life_low_years: is 0 years; must be above 0 years"),
        ({"wear_life_high_years": float("nan")}, "wear_life_high_years: is nan"),
        ({"wear_shape": 0.1}, "wear_shape: is 0.1"),
        ({"random_percent_year": -1}, "random_percent_year: is -1"),
        ({"early_percent": 101}, "early_percent: is 101"),
        ({"card_price": -1}, "card_price: is -1"),
        ({"card_price": 0, "visit_with_lift_price": 0}, "planned_cost"),
        ({"double_price": 0.5}, "double_price: is 0.5"),
        ({"reached": "by boat"}, "reached: is 'by boat'; must be one of on foot or by ladder, with lifting gear"),
        ({"visit_with_lift_price": float("inf")}, "visit_with_lift_price: is inf"),
        ({"reached": REACHED[0], "visit_price": -5}, "visit_price: is -5"),
        ({"lost_cost": -1}, "lost_cost: is -1"),
        ({"cards": 0}, "cards: is 0"),
        ({"cards": 2.5}, "cards: is 2.5 cards; must be whole cards"),
        ({"cards": "many"}, "cards: is 'many'"),
        ({"horizon_years": 0}, "horizon_years: is 0"),
        ({"lead_days": 0}, "lead_days: is 0"),
        ({"confidence_percent": 100}, "confidence_percent: is 100"),
        (
            {"wear_life_low_years": 1, "visit_with_lift_price": 10, "card_price": 1, "lost_cost": 5000},
            "horizon_years: is 10 years; must be at most .* years, 100 changes. Fix: Choose a shorter time",
        ),
    ],
)
def test_what_cannot_be_is_refused(wrong, message):
    with pytest.raises(InputError, match=message):
        upkeep(**wrong)


def test_an_answer_integrates_few_lives(monkeypatch):
    # 416 integrals made a panel wait 870 ms; one sum for each law of life answers them.
    asked, integrate_one = [], CardLife.mean_residual_years
    monkeypatch.setattr(CardLife, "mean_residual_years", lambda *given: (asked.append(1), integrate_one(*given))[1])
    upkeep()
    assert len(asked) < 60


def test_no_visit_for_all_is_advised_where_none_pays():
    answer = upkeep(wear_shape=1)
    assert not any("nan" in text for text in answer.warnings)
    assert not any("hardly pays" in text for text in answer.warnings)


def test_the_ages_of_the_picture_go_from_0_3_to_30_years_45_to_a_decade():
    np.testing.assert_allclose(AGES_YEARS, [0.3 * 10 ** (step / 45) for step in range(91)])


def failures_within(years, steps=300):
    """Failures of a card that is replaced as it fails, from the renewal equation in steps."""
    gone = [1 - alive(years * step / steps) for step in range(steps + 1)]
    found = [0.0]
    for now in range(1, steps + 1):
        found.append(sum((1 + found[now - at]) * (gone[at] - gone[at - 1]) for at in range(1, now + 1)))
    return found[-1]


def test_one_visit_for_all_costs_its_share_of_the_visit_and_what_fails_between_is_changed_alone():
    answer = upkeep(**KNOWN, cards=40, card_price=22, visit_with_lift_price=260, lost_cost=500)
    years, per_year, over_horizon = answer.ways.loc[2, ["change_years", "cost_per_year", "cost_over_horizon"]]
    # A card and a fortieth of a visit; a card, a visit and footage of 500 for each failure.
    failed = failures_within(years)
    assert per_year == pytest.approx((22 + 260 / 40 + (22 + 260 + 500) * failed) / years, rel=2e-3)
    # In 10 years so many visits for all, none at the very end, and failures in the rest; the first card is bought.
    visits = math.ceil(10 / years) - 1
    failed = visits * failed + failures_within(10 - visits * years)
    assert over_horizon == pytest.approx(22 + visits * (22 + 260 / 40) + failed * 782, rel=2e-3)


@pytest.mark.parametrize(
    ("way", "prices"),
    [
        (3, {"visit_with_lift_price": 10, "card_price": 1, "lost_cost": 5000, "cards": 1}),  # half the size
        (2, {"visit_with_lift_price": 260, "card_price": 2, "lost_cost": 50, "cards": 1000}),  # all on one visit
    ],
)
def test_a_horizon_holds_a_hundred_changes_of_whatever_is_changed_most_often(way, prices):
    given_ = {"wear_life_low_years": 1.0, "wear_life_high_years": 2.0, **prices}
    most_often = upkeep(**given_, horizon_years=1).ways["change_years_low"]
    assert most_often.idxmin() == way
    assert upkeep(**given_, horizon_years=100 * most_often[way]).sentence
    with pytest.raises(InputError, match="horizon_years"):
        upkeep(**given_, horizon_years=100.1 * most_often[way])


def test_failures_in_the_lead_time_are_told_from_those_of_the_longest_life_to_those_of_the_shortest():
    # Cards that do not age: 40 x 0.25 years x (ln 2 / 8) and (ln 2 / 4) a year.
    ages = {**KNOWN, "wear_life_low_years": 4.0, "wear_shape": 1}
    assert " 0.87 to 1.7 are expected" in upkeep(**ages, cards=40, lead_days=365.25 / 4).assumptions[-1]


@pytest.mark.parametrize(
    ("years", "spares", "told"),
    [
        (
            [math.inf] * 3,
            [3, 2, 1],
            "Leave each card until it fails: a planned change saves nothing. That costs 70 to 161 currency units per"
            " camera and year; keep 1 to 3 spares.",
        ),
        (
            [3.0, 5.0, 8.0],
            [2, 2, 2],
            "Change each card after 3 to 8 years: its wear life decides. In the long run that costs 56 to 125"
            " currency units per camera and year, 70 to 161 if run to failure; keep 2 spares.",
        ),
        (
            [3.0, 5.0, math.inf],
            [3, 1, 1],
            "Change each card after 3 years if it wears fast, else leave it until it fails. In the long run that costs"
            " 56 to 125 currency units per camera and year, 70 to 161 if run to failure; keep 1 to 3 spares.",
        ),
        (
            [3.0, math.inf, math.inf],
            [3, 3, 1],
            "Change each card after 3 years if it wears fast, else leave it until it fails. In the long run that costs"
            " 56 to 125 currency units per camera and year, 70 to 161 if run to failure; keep 1 to 3 spares.",
        ),
    ],
)
def test_the_sentence_goes_from_the_least_to_the_most_and_says_whether_wear_decides(years, spares, told):
    cost, never = np.array([125.0, 83.0, 56.0]), np.array([161.0, 106.0, 70.0])
    assert _sentence(np.array(years), cost, never, np.array(spares), "").replace("\N{NO-BREAK SPACE}", " ") == told


def test_a_change_that_pays_for_a_short_life_alone_is_told_as_not_always():
    # Twice the size is changed in the 1 year of the horizon for the middle wear life and the shortest alone.
    prices = {"visit_with_lift_price": 10, "card_price": 1, "lost_cost": 5000, "cards": 1, "horizon_years": 1}
    answer = upkeep(1, 2, **prices)
    assert answer.ways.loc[4, "change_years"] > 0
    assert np.isnan(answer.ways.loc[4, "change_years_low"])
    assert answer.table.loc[4, "change_years"] == "not always"


def test_costs_are_told_in_currency_units():
    answer = upkeep()
    told = [text for text in (answer.sentence, *answer.warnings) if "per camera" in text]
    assert len(told) == 3
    assert all("currency units per camera" in text for text in told)


def test_what_is_advised_is_told_with_the_figures_of_its_rows_from_the_least_to_the_most():
    answer = upkeep()
    together, sizes = (text.replace("\N{NO-BREAK SPACE}", "") for text in answer.warnings)
    row = answer.ways.loc[2]
    years = f"{row['change_years_low']:.2g} to {row['change_years_high']:.2g}"
    assert f"on one visit every {years} years costs" in together
    assert (
        f"costs {row['cost_per_year_low']:.0f} to {row['cost_per_year_high']:.0f} currency units per camera" in together
    )
    # Twice the size and 4 times, each for some of the wear lives; this size run to failure or changed at its age.
    low, high = (answer.ways[f"cost_over_horizon_{end}"] for end in ("low", "high"))
    assert "twice the size or 4 times the size costs least" in sizes
    assert f"costs least: {low[[4, 5]].min():.0f} to {high[[4, 5]].min():.0f} currency units per camera" in sizes
    assert f"this size costs {low[:2].min():.0f} to {high[:2].min():.0f}. Check" in sizes
