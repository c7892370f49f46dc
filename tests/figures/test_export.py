"""The picture of how footage gets off: what is written beside each way, and whose footage is overwritten."""

import pytest

from edgestore.answers.export import WAYS, exporting
from edgestore.figures.export import ExportFigure


def written(figure):
    return [text.get_text() for text in figure._words]


def test_behind_a_full_link_the_locked_clips_stay_on_the_card_and_gone_ones_do_not():
    # 64 GB at 1.8 GB/h go 35.6 h back, 27.6 h after the 8 h of the visit: of the 30 h wanted 2.4 h are gone.
    full = ExportFigure(exporting(link_mbit_s=12))
    assert written(full) == [
        "nothing fetched: 6 h lost",
        "8.4 h: 2.4 h lost",
        "stays on the card: none lost",
        "8.4 h: none lost",
    ]
    full.update(exporting(ended_h=100, link_mbit_s=12))
    assert written(full)[2] == "nothing fetched: 6 h lost"


def test_only_the_ways_without_a_lock_stand_in_the_hours_of_overwriting():
    going = ExportFigure(exporting())._going
    top, bottom = going.get_y(), going.get_y() + going.get_height()
    assert [top < row < bottom for row in range(len(WAYS))] == [not way.startswith("lock") for way in WAYS]


def test_where_the_card_is_too_small_the_picture_says_that_nothing_may_be_locked():
    figure = ExportFigure(exporting(capacity_gb=8))
    assert figure._most_text.get_text() == "promised: 24 h, nothing may be locked"


@pytest.mark.parametrize(("width_px", "end_h"), [(760, 12), (346, 16)])
def test_the_time_axis_ends_soon_after_what_is_shown_on_it(width_px, end_h):
    # The last way ends after 8.4 h, the last of the footage is gone after 64 / 1.8 - 24 = 11.6 h. With a quarter of a
    # wide axis for the words, and a good third of a narrow one, that takes 8.4 / 0.75 = 11.3 and 8.4 / 0.64 = 13.2 h.
    figure = ExportFigure(exporting(), width_px)
    assert figure.figure.axes[0].get_xlim() == (0, end_h)
    assert figure.figure.axes[0].get_xticks().tolist() == [end_h * part / 4 for part in range(5)]


@pytest.mark.parametrize("width_px", [300, 346, 760])
def test_what_is_written_behind_the_longest_way_stays_in_the_picture(width_px):
    figure = ExportFigure(exporting(), width_px)
    for asked in ({"span_h": 100, "link_mbit_s": 13}, {"visit_h": 72}, {"span_h": 6, "link_mbit_s": 13}):
        figure.update(exporting(**asked))
        for text in figure._words:
            assert text.get_window_extent(figure._canvas.get_renderer()).x1 <= figure.figure.bbox.x1
