"""Words of a picture hide nothing that it shows, and its axes of lives end where lives are told no further."""

from pathlib import Path

import numpy as np
import pytest
from matplotlib.text import Text

from edgestore.answers.certainty import certainty
from edgestore.answers.footage import footage_of, writing
from edgestore.answers.life import lasting
from edgestore.figures.certainty import SureFigure
from edgestore.figures.footage import WritesFigure
from edgestore.figures.life import LastsFigure
from edgestore.figures.one_card import ChancesFigure, ChangeAgeFigure
from edgestore.figures.site import SiteFigure
from edgestore.plan.assurance_curve import site_chances
from edgestore.plan.one_card import one_card, when_to_change
from edgestore.plan.read import read_lists

DATA = Path(__file__).parents[2] / "data"


def box(figure, artist):
    """Give the box of an artist, in pixels."""
    return artist.get_window_extent(figure._canvas.get_renderer())


def meets(figure, curve, words):
    """Tell whether a curve goes through the box of some words."""
    drawn = curve.get_transform().transform_path(curve.get_path())
    return drawn.intersects_bbox(box(figure, words), filled=False)


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"endurance_tbw": 600, "visit_price": 300},
        {"assurance_percent": 60},
        {"life_years": 4},
        {"retention_days": 1},
    ],
    ids=str,
)
def test_the_words_at_the_age_of_change_hide_no_curve(asked):
    figure = ChangeAgeFigure(when_to_change(**asked))
    assert "change after" in figure._told.get_text()
    assert not meets(figure, figure._curve, figure._told)
    assert box(figure, figure._told).x1 < figure.figure.bbox.x1


@pytest.mark.parametrize("asked", [{"assurance_percent": 95}, {"retention_days": 30}])
def test_a_card_that_is_not_assured_has_no_latest_age_and_all_ages_are_grey(asked):
    figure = ChangeAgeFigure(when_to_change(**asked))
    assert "not assured" in figure._told.get_text()
    assert not figure._latest.get_visible()
    assert not figure._told_latest.get_visible()
    latest = figure._spans[1]
    assert (latest.get_x(), latest.get_x() + latest.get_width()) == (0, figure.result.by_age.horizon_years)


@pytest.mark.parametrize("life_years", [1, 3, 9])
def test_the_line_of_the_life_asked_stands_beside_its_words(life_years):
    figure = ChancesFigure(one_card(life_years=life_years))
    assert not meets(figure, figure._life, figure._told)


def test_the_diamond_of_a_doubtful_camera_touches_no_words():
    lists = (DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", DATA / "ferry_terminal" / "site.toml")
    figure = SiteFigure(site_chances(read_lists(*lists)).at(0.96))  # which no card of the list has
    places = figure._best.get_offsets()
    assert len(places) == 12
    half_px = np.sqrt(figure._best.get_sizes()[0] / 2) * figure.dpi / 72  # half the diagonal of a square on its corner
    for x, y in figure._best.axes.transData.transform(places):
        for words in figure._words:
            at = box(figure, words)
            assert not (at.x0 < x < at.x1 and y - half_px < at.y1 and y + half_px > at.y0)


def test_how_sure_are_we_draws_the_age_of_its_headline_beside_that_of_middle_values():
    answer = certainty(cap_mbit_s=8)
    figure = SureFigure(answer)
    drawn = [line.get_xdata()[0] for line in (figure._middle, figure._all)]
    assert drawn == pytest.approx([answer.tornado.at_medians, answer.p10_life_years])
    assert drawn[0] > 4 * drawn[1]  # far apart: both are told
    told = figure._lines_told.get_text()
    assert f"{drawn[0]:.2g} years at middle values" in told
    assert f"{drawn[1]:.2g} with all that is not known" in told


def last_tick(labels):
    """Give the highest number among the labels of an axis."""
    return max(float(label.get_text()) for label in labels if label.get_text().replace(".", "").isdigit())


def test_a_life_of_more_than_ten_years_stands_beyond_the_last_number_of_its_axis_at_one_place():
    figure = LastsFigure(lasting(1024, 0.25, wanted_years=15))
    left = figure._axes[0]
    assert last_tick(left.get_yticklabels()) == 10
    assert left.get_yticklabels()[-1].get_text() == "more than 10"
    drawn = np.concatenate([line.get_ydata() for axes in figure._axes for line in axes.get_lines()])
    assert drawn.max() < left.get_ylim()[1]
    assert len({float(years) for years in figure._points[0].get_ydata()}) == 1  # both ends of the range


def test_bars_of_more_than_ten_years_end_beyond_the_last_number_and_the_axis_says_so():
    figure = SureFigure(certainty(1024, mean_low_mbit_s=0.25, mean_high_mbit_s=0.5, random_percent_year=0.1))
    bottom = figure.figure.axes[1]
    assert last_tick(bottom.get_xticklabels()) == 10
    assert "grey: more than 10" in bottom.get_xlabel()
    drawn = np.concatenate([bar.get_xdata() for bar in figure._bars])
    assert 10 < drawn.max() < bottom.get_xlim()[1]


def test_the_time_axis_of_footage_ends_with_it_and_its_title_is_whole_on_a_phone():
    # Four clips of 12 s.
    shown = writing(footage_of(DATA / "ferry_terminal" / "footage" / "waiting_room"), cap_mbit_s=3)
    for width_px in (300, 346, 390, 760):
        figure = WritesFigure(shown, width_px)
        top = figure.figure.axes[0]
        assert top.get_xticks().tolist() == [0, 10, 20, 30, 40]
        assert top.spines["bottom"].get_bounds() == (0, 48)
        (title,) = (text for text in figure.figure.findobj(Text) if text.get_text().startswith("The mean decides"))
        assert box(figure, title).x1 <= figure.figure.bbox.x1
        assert box(figure, title).y1 <= figure.figure.bbox.y1
