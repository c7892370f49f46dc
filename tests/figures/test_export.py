"""The picture of how footage gets off: what is written beside each way, and whose footage is overwritten."""

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
