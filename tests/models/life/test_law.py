"""The law of life against published values, hand arithmetic and plain integration; and what any law must do."""

import tracemalloc

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.models.life import CardLife

AT_SCALE = 1 - np.exp(-1)
AGES = np.linspace(0, 40, 400)


@st.composite
def cards(draw, law: str | None = None) -> CardLife:
    law = law or draw(st.sampled_from(["weibull", "lognormal"]))
    return CardLife(
        wear_life_years=draw(st.floats(0.5, 30)),
        failed_at_endurance=draw(st.floats(0.001, 0.99)),
        wear_shape=draw(st.floats(0.5, 8) if law == "weibull" else st.floats(0.1, 1.5)),
        random_per_year=draw(st.one_of(st.just(0.0), st.floats(0, 0.5))),
        early_fraction=draw(st.one_of(st.just(0.0), st.floats(0, 1))),
        early_mean_years=draw(st.floats(0.05, 3)),
        law=law,
    )


def integrated(card: CardLife, age_years: float) -> float:
    """Mean residual life by the trapezium rule on a dense grid that is even in the logarithm."""
    further = np.geomspace(1e-9, 1e4, 200_000)
    return float(np.trapezoid(card.survival(age_years + further), further) / card.survival(age_years))


def test_a_published_weibull_law_of_shape_20_and_scale_100():
    # Excel's help on WEIBULL.DIST: 0.929581 has failed by 105, density 0.035589.
    card = CardLife(100, failed_at_endurance=AT_SCALE, wear_shape=20)
    assert 1 - card.survival(105) == pytest.approx(0.929581, abs=5e-7)
    assert card.hazard_per_year(105) * card.survival(105) == pytest.approx(0.035589, abs=5e-7)


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
@pytest.mark.parametrize("failed", [0.03, 0.5, 0.9])
def test_the_stated_fraction_has_worn_out_when_the_endurance_is_written(law, failed):
    card = CardLife(7, failed_at_endurance=failed, wear_shape=0.8, law=law)
    assert 1 - card.survival(7) == pytest.approx(failed, rel=1e-13)
    assert card.life_quantile_years(failed) == pytest.approx(7, rel=1e-13)


def test_wear_and_random_failures_compete():
    # The chances multiply: exp(-(5/6)^4) = 0.617391, x exp(-0.1) = 0.904837.
    card = CardLife(6, failed_at_endurance=AT_SCALE, wear_shape=4, random_per_year=0.02)
    assert card.survival(5) == pytest.approx(0.617391 * 0.904837, abs=2e-6)
    # The hazards add up: 4 / 6 (5/6)^3 + 0.02 = 0.385802 + 0.02.
    assert card.hazard_per_year(5) == pytest.approx(0.405802, abs=5e-7)


def test_weak_cards_are_a_population_of_their_own():
    # 5 % with a mean of 0.25 years, all others without failure by then: 0.05 exp(-4) + 0.95.
    card = CardLife(1e6, early_fraction=0.05)
    assert card.survival(1) == pytest.approx(0.05 * 0.0183156 + 0.95, abs=1e-8)
    # Early failures are 0.05 / 0.25 a year at first, and after a few years none are left.
    assert card.hazard_per_year(0) == pytest.approx(0.2, rel=1e-12)
    assert card.hazard_per_year(6) < 1e-9


def test_who_outlives_the_weak_cards_is_likelier_to_last():
    card = CardLife(10, early_fraction=0.1)
    assert card.chance_of_lasting(1, age_years=1) > card.chance_of_lasting(1) + 0.08


def test_all_cards_weak_is_the_exponential_law():
    card = CardLife(1, wear_shape=0.5, early_fraction=1, early_mean_years=2)
    assert card.survival(3) == pytest.approx(np.exp(-1.5), rel=1e-13)
    assert card.hazard_per_year([0, 1, 50]) == pytest.approx([0.5, 0.5, 0.5], rel=1e-12)
    assert card.mean_residual_years([0, 5]) == pytest.approx([2, 2], rel=1e-12)


def test_a_lognormal_law_by_its_median_and_deviation():
    # Median 8, 0.5: one in ten fails by 8 exp(-1.281552 x 0.5) = 4.21507; mean 8 exp(0.125) = 9.06519.
    card = CardLife(8, wear_shape=0.5, law="lognormal")
    assert card.life_quantile_years(0.1) == pytest.approx(4.21507, abs=5e-6)
    assert card.mean_life_years() == pytest.approx(9.06519, abs=5e-6)


def test_a_weibull_mean_is_the_gamma_function():
    # scale x Gamma(1 + 1/2) = scale x sqrt(pi) / 2
    assert CardLife(10, failed_at_endurance=AT_SCALE, wear_shape=2).mean_life_years() == pytest.approx(
        5 * np.sqrt(np.pi), rel=1e-12
    )


@pytest.mark.parametrize("age_years", [0.0, 2.0, 3.0])
@pytest.mark.parametrize(
    "card",
    [
        CardLife(6, failed_at_endurance=AT_SCALE, wear_shape=4, random_per_year=0.02),
        CardLife(5, failed_at_endurance=0.03, wear_shape=1.5, random_per_year=0.1, early_fraction=0.05),
        CardLife(3, failed_at_endurance=0.5, wear_shape=40, random_per_year=0.01),
        CardLife(
            8, failed_at_endurance=0.5, wear_shape=0.6, random_per_year=0.02, early_fraction=0.02, law="lognormal"
        ),
    ],
)
def test_the_residual_life_is_the_integral_of_the_survival(card, age_years):
    assert card.mean_residual_years(age_years) == pytest.approx(integrated(card, age_years), rel=1e-6)


@pytest.mark.parametrize("shape", [0.2, 1, 3, 100])
@given(rate=st.floats(0.01, 5))
def test_random_failures_alone_leave_as_much_at_any_age(shape, rate):
    card = CardLife(1e9 if shape > 0.5 else 1e60, wear_shape=shape, random_per_year=rate)
    left = card.mean_residual_years(np.array([0.0, 1.0, 10.0]))
    assert left == pytest.approx(np.full(3, 1 / rate), rel=1e-6)


@given(cards())
def test_survival_begins_at_1_and_falls_and_the_hazard_is_never_below_0(card):
    survival = card.survival(AGES)
    assert survival[0] == pytest.approx(1, abs=1e-15)
    assert np.all(np.diff(survival) <= 1e-15)
    assert np.all((survival >= 0) & (survival <= 1 + 1e-15))
    assert np.all(card.hazard_per_year(AGES[1:]) >= 0)


@given(cards(), st.floats(0.5, 20))
def test_the_hazard_is_the_slope_of_the_logarithm_of_survival(card, age):
    step = 1e-5 * age
    slope = np.log(card.chance_of_lasting(2 * step, age - step)) / (2 * step) if card.survival(age + step) > 0 else None
    if slope is not None and np.isfinite(slope):
        assert card.hazard_per_year(age) == pytest.approx(-slope, rel=1e-4, abs=1e-9)


@given(cards(), st.floats(1e-4, 1 - 1e-9))
def test_the_quantile_inverts_the_survival(card, fraction):
    assert 1 - card.survival(card.life_quantile_years(fraction)) == pytest.approx(fraction, rel=1e-9)


@given(cards())
def test_quantiles_rise_from_0_to_never(card):
    lives = card.life_quantile_years([0, 0.001, 0.01, 0.1, 0.5, 0.9, 0.999, 1])
    assert (lives[0], lives[-1]) == (0, np.inf)
    assert np.all(np.diff(lives) > 0)


@given(cards(), st.floats(0, 10), st.floats(0, 10), st.floats(0, 10))
def test_lasting_two_stretches_is_lasting_the_first_and_then_the_second(card, age, first, second):
    together = card.chance_of_lasting(first + second, age)
    apart = card.chance_of_lasting(first, age) * card.chance_of_lasting(second, age + first)
    assert together == pytest.approx(apart, rel=1e-7, abs=1e-300)
    assert card.chance_of_lasting(0, age) == 1


@given(cards(), st.floats(0.01, 100))
def test_in_another_unit_of_time_all_times_scale(card, factor):
    scaled = CardLife(
        card.wear_life_years * factor,
        failed_at_endurance=card.failed_at_endurance,
        wear_shape=card.wear_shape,
        random_per_year=card.random_per_year / factor,
        early_fraction=card.early_fraction,
        early_mean_years=card.early_mean_years * factor,
        law=card.law,
    )
    assert scaled.mean_life_years() == pytest.approx(factor * card.mean_life_years(), rel=1e-9)
    assert scaled.life_quantile_years(0.1) == pytest.approx(factor * card.life_quantile_years(0.1), rel=1e-9)
    assert scaled.survival(3 * factor) == pytest.approx(card.survival(3), rel=1e-9, abs=1e-300)


@given(cards())
def test_more_random_failures_leave_less(card):
    worse = CardLife(
        card.wear_life_years,
        failed_at_endurance=card.failed_at_endurance,
        wear_shape=card.wear_shape,
        random_per_year=card.random_per_year + 0.1,
        early_fraction=card.early_fraction,
        early_mean_years=card.early_mean_years,
        law=card.law,
    )
    assert worse.mean_life_years() <= card.mean_life_years()
    assert np.all(worse.survival(AGES) <= card.survival(AGES))


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_sampled_fields_give_what_each_sample_alone_gives(law):
    rng = np.random.default_rng(3)
    size = 200
    fields = {
        "wear_life_years": rng.uniform(1, 20, size),
        "failed_at_endurance": rng.uniform(0.01, 0.9, size),
        "wear_shape": rng.uniform(0.3, 2, size),
        "random_per_year": rng.choice([0.0, 0.05], size),
        "early_fraction": rng.choice([0.0, 0.1], size),
        "early_mean_years": rng.uniform(0.1, 1, size),
    }
    many = CardLife(**fields, law=law)
    ones = [
        CardLife(**dict(zip(fields, values, strict=True)), law=law) for values in zip(*fields.values(), strict=True)
    ]
    for ask in (
        lambda card: card.survival(4),
        lambda card: card.hazard_per_year(4),
        lambda card: card.life_quantile_years(0.1),
        lambda card: card.mean_residual_years(2),
        lambda card: card.chance_of_lasting(3, 1),
    ):
        np.testing.assert_allclose(ask(many), [ask(one) for one in ones], rtol=1e-11)


@pytest.mark.parametrize("ask", ["mean_life_years", "sd_life_years"])
@pytest.mark.parametrize("field", ["random_per_year", "early_fraction"])
def test_a_row_of_which_only_some_cards_have_another_way_to_fail_gives_what_each_alone_gives(field, ask):
    shares = [0.0, 0.1]
    many, ones = CardLife(6, **{field: shares}), [CardLife(6, **{field: share}) for share in shares]
    assert getattr(many, ask)() == pytest.approx([getattr(one, ask)() for one in ones], rel=1e-11)
    quantiles = [one.life_quantile_years(0.05) for one in ones]
    assert many.life_quantile_years(0.05) == pytest.approx(quantiles, rel=1e-9)
    assert many.chance_of_lasting(2, 1) == pytest.approx([one.chance_of_lasting(2, 1) for one in ones], rel=1e-11)


def test_random_fractions_give_lives_that_are_spread_as_the_survival_says():
    # 40 000 uniform fractions: the standard error of a fraction is at most 0.5 / 200 = 0.0025.
    card = CardLife(6, failed_at_endurance=0.5, wear_shape=3, random_per_year=0.05, early_fraction=0.05)
    lives = card.life_quantile_years(np.random.default_rng(8).uniform(size=40_000))
    for age in (0.3, 2, 5, 8):
        assert np.mean(lives > age) == pytest.approx(card.survival(age), abs=0.01)
    assert lives.mean() == pytest.approx(card.mean_life_years(), rel=0.02)


def test_columns_of_ages_meet_rows_of_cards():
    card = CardLife([5.0, 10.0], random_per_year=0.01)
    assert card.survival([[1.0], [2.0], [3.0]]).shape == (3, 2)
    assert card.life_quantile_years([[0.1], [0.5]]).shape == (2, 2)


def test_a_number_gives_a_float():
    for card in (
        CardLife(5),
        CardLife(5, random_per_year=0.1, early_fraction=0.1),
        CardLife(5, failed_at_endurance=0.5, wear_shape=0.3, law="lognormal"),
    ):
        for value in (card.survival(1), card.hazard_per_year(1), card.life_quantile_years(0.1), card.mean_life_years()):
            assert isinstance(value, float)


@pytest.mark.parametrize("law", ["weibull", "lognormal"])
def test_far_beyond_all_lives_the_answers_are_still_numbers(law):
    card = CardLife(
        1,
        failed_at_endurance=0.5,
        wear_shape=0.5 if law == "lognormal" else 100,
        random_per_year=[0, 0.1],
        early_fraction=[0, 0.5],
        law=law,
    )
    assert np.all(card.survival(1e12) == 0)
    assert np.all(card.chance_of_lasting(1e12, 1e5) == 0)
    assert np.all(card.chance_of_lasting(0, 1e12) == 1)
    left = card.mean_residual_years(1e6)
    assert np.all((left >= 0) & np.isfinite(left))


def test_no_lognormal_card_fails_at_the_very_beginning():
    assert CardLife(5, wear_shape=0.5, law="lognormal").hazard_per_year(0) == 0


def test_a_card_of_shape_below_1_fails_at_an_infinite_rate_at_first():
    assert CardLife(5, wear_shape=0.5).hazard_per_year(0) == np.inf


FIELDS = {
    "wear_life_years": ([0, -1, "5", None, True, float("nan"), float("inf")], "above 0 years"),
    "failed_at_endurance": ([0, 1, 50, float("nan")], "above 0 and at most 0.9999"),
    "wear_shape": ([0, 0.1, 101], "0.2 or more and at most 100"),
    "random_per_year": ([-0.1, float("inf"), "1 %"], "0 or more a year"),
    "early_fraction": ([-0.1, 1.1, 5], "0 or more and at most 1"),
    "early_mean_years": ([0, -1], "above 0 years"),
}


@pytest.mark.parametrize(("field", "bad"), [(field, bad) for field, (values, _) in FIELDS.items() for bad in values])
def test_a_field_out_of_range_is_refused_by_name(field, bad):
    with pytest.raises(InputError, match=f"^{field}: is .*; must be {FIELDS[field][1]}"):
        CardLife(**({"wear_life_years": 5.0} | {field: bad}))


@pytest.mark.parametrize(("law", "low", "high"), [("weibull", 0.2, 100), ("lognormal", 0.01, 2)])
def test_a_shape_is_taken_to_the_ends_of_its_law_and_no_further(law, low, high):
    for shape in (low, high):
        assert CardLife(6, law=law, wear_shape=shape).wear_shape == shape
    for shape in (low * 0.999, high * 1.001):
        with pytest.raises(InputError, match=r"^wear_shape: is "):
            CardLife(6, law=law, wear_shape=shape)


def test_all_bad_fields_are_told_together():
    with pytest.raises(InputError, match="wear_life_years") as caught:
        CardLife(0, failed_at_endurance=2, wear_shape=0, random_per_year=-1, early_fraction=2, early_mean_years=0)
    assert [fault.where for fault in caught.value.faults] == list(FIELDS)


def test_the_default_shape_is_refused_where_it_would_be_a_deviation():
    with pytest.raises(InputError, match=r"wear_shape: is 3[^;]*; .* standard deviation of ln\(life\)"):
        CardLife(5, law="lognormal")


def test_an_unknown_law_is_refused():
    with pytest.raises(InputError, match="law: is 'normal'; must be one of weibull, lognormal"):
        CardLife(5, law="normal")


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda card: card.survival(-1), "years: is -1 years; must be 0 or more years"),
        (lambda card: card.hazard_per_year(float("nan")), "years: is nan"),
        (lambda card: card.life_quantile_years(1.5), "failed_fraction: is 1.5[^;]*; .* A percentage is divided by 100"),
        (lambda card: card.mean_residual_years(-0.5), "age_years: is -0.5"),
        (lambda card: card.chance_of_lasting(1, -1), "age_years: is -1"),
        (lambda card: card.chance_of_lasting(np.zeros(3)), r"shapes: .*wear_life_years \(2,\).*years \(3,\)"),
        (lambda card: card.life_quantile_years([0.1] * 3), r"shapes: .*failed_fraction \(3,\)"),
    ],
)
def test_a_bad_question_is_refused_by_name(ask, message):
    with pytest.raises(InputError, match=message):
        ask(CardLife([5.0, 6.0]))


def test_years_and_ages_with_unlike_labels_are_refused():
    years, ages = pd.Series([1.0, 2.0], index=["gate", "yard"]), pd.Series([1.0, 2.0], index=["yard", "gate"])
    with pytest.raises(InputError, match=r"^years and age_years: found labels that differ"):
        CardLife(8).chance_of_lasting(years, ages)


def test_fields_of_shapes_that_do_not_fit_are_refused():
    with pytest.raises(InputError, match=r"shapes: .*wear_life_years \(2,\).*early_fraction \(3,\)"):
        CardLife([5.0, 6.0], early_fraction=[0.0, 0.1, 0.2])


@given(cards())
def test_the_spread_and_the_mean_time_until_an_age_are_those_of_plain_integration(card):
    ages = np.concatenate([[0], np.geomspace(1e-9, 1e13, 200_000)])
    left = card.survival(ages)
    mean, square = np.trapezoid(left, ages), np.trapezoid(2 * ages * left, ages)
    assert card.sd_life_years() == pytest.approx(np.sqrt(square - mean**2), rel=1e-4)
    early = ages <= 5
    until = np.trapezoid(left[early], ages[early]) + left[early][-1] * (5 - ages[early][-1])
    assert card.mean_years_until(5) == pytest.approx(until, rel=1e-5)


def test_another_library_has_the_same_spread_of_life(settings_kept):
    distributions = pytest.importorskip("reliability.Distributions", reason="install the test extra")
    weibull, lognormal = distributions.Weibull_Distribution(6, 3), distributions.Lognormal_Distribution(np.log(8), 0.35)
    assert CardLife(6, failed_at_endurance=AT_SCALE, wear_shape=3).sd_life_years() == pytest.approx(
        weibull.standard_deviation, rel=1e-9
    )
    assert CardLife(8, failed_at_endurance=0.5, wear_shape=0.35, law="lognormal").sd_life_years() == pytest.approx(
        lognormal.standard_deviation, rel=1e-9
    )


def test_until_all_are_gone_a_card_works_for_its_mean_life():
    card = CardLife(5, random_per_year=0.01)
    assert card.mean_years_until(1e9) == card.mean_life_years()
    assert CardLife(5).mean_years_until(1.7e308) == CardLife(5).mean_life_years()


def test_until_a_moment_after_its_start_a_card_has_worked_for_hardly_a_moment_and_not_for_less_than_none():
    card = CardLife(8, wear_shape=0.5, law="lognormal")
    ages = np.geomspace(1e-18, 1e-12, 50)
    assert np.all(card.mean_years_until(ages) >= 0)
    assert card.mean_years_until([0, *ages]) == pytest.approx([0, *ages], abs=1e-14)


def test_thousands_of_cards_at_once_take_little_memory_and_give_what_each_alone_gives():
    # 91 nodes of 4000 cards would be 2.9 MB an array.
    lives = np.linspace(1, 20, 4000)
    card = CardLife(lives, failed_at_endurance=AT_SCALE, wear_shape=2)
    tracemalloc.start()
    means = card.mean_life_years()
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert means == pytest.approx(lives * np.sqrt(np.pi) / 2, rel=1e-12)  # scale x Gamma(1 + 1/2)
    assert most < 2.5e6
