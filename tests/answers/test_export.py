"""How footage gets off: three ways with their times and losses, worked out by hand, and what is told of them."""

from math import inf

import numpy as np
import pytest

from edgestore import InputError
from edgestore.answers.export import exporting
from edgestore.text import NO_BREAK


def said(answer):
    return answer.sentence.replace(NO_BREAK, " ")


def test_each_way_has_its_time_and_its_loss():
    # 64 GB at 1.8 GB/h hold 35.556 h. 6 h that ended 24 h ago: the oldest goes in 5.556 h, the last in 11.556 h.
    # 14 - 3 x 4 = 2 Mbit/s fetch half an hour an hour: 5.778 h of 6 h until the last goes; locked, 6 h in 12 h.
    # The card comes out after 8 h with 3.556 h, and 64 000 MB at 40 Mbyte/s take 0.444 h.
    answer = exporting(6, 24, 14, capacity_gb=64, bitrate_mbit_s=4, cameras=3, visit_h=8, reader_mbyte_s=40)
    assert answer.done_h == pytest.approx([11.5556, 12, 8.4444], abs=5e-5)
    assert answer.lost_h == pytest.approx([0.2222, 0, 2.4444], abs=5e-5)
    assert (answer.oldest_goes_h, answer.last_goes_h) == pytest.approx((5.5556, 11.5556), abs=5e-5)
    assert said(answer) == (
        "Fetched from now on, 5.8 h of footage take 11.6 h, and 0.22 h are lost."
        " A card taken out after 8 h is copied after 8.4 h, and 2.4 h are lost."
    )
    assert "lock the clips first if the camera can" in answer.warnings[0]


def test_locked_clips_shorten_the_hold_and_are_warned_of_where_they_break_the_promise():
    # 24 h take 43.2 of 64 GB: 20.8 GB may be locked. With 24 GB the card holds 40 / 1.8 = 22.2 h.
    answer = exporting(1, 1, locked_gb=24, wanted_h=24)
    assert answer.held_h == pytest.approx(22.222, abs=5e-4)
    assert said(answer).endswith("24 GB of locked clips shorten the hold from 35.6 hours to 22.2 hours.")
    assert "at most 20.8" in answer.warnings[0]
    # 6 h more are 10.8 GB: 53.2 - 16 GB hold 20.7 h.
    more = exporting(6, 1, locked_gb=16, wanted_h=24)
    assert more.table["held_after_h"].tolist() == pytest.approx([26.667, 20.667, 35.556], abs=5e-4)
    assert "release it once the copy is checked" in more.warnings[0]


def test_of_three_cameras_at_once_each_loses_more_than_one_that_is_fetched_alone():
    # 4 of 16 Mbit/s are left: a third of the pace each. 64 / 1.8 - 24 = 11.5556 h until the last is overwritten, of
    # which a third is saved: 3.85 h; 6 - 3.85 = 2.15 h are lost. Alone, 6 h at the pace of recording take 6 h.
    answer = exporting(6, 24, 16, cameras=3, fetched=3)
    assert answer.lost_h[0] == pytest.approx(6 - 11.5556 / 3, abs=5e-5)
    assert said(answer).startswith(
        "Fetched from 3 cameras at once, 3.9 h of each take 11.6 h, and 2.1 h of each are lost."
    )
    assert answer.warnings[1].replace(NO_BREAK, " ").startswith("One camera fetched alone takes 6 h: fetch one after")
    assert not any("fetched alone" in text for text in exporting(6, 24, 14, fetched=1).warnings)
    assert not any("fetched alone" in text for text in exporting(6, 24, 12, cameras=3, fetched=3).warnings)


def test_a_card_that_holds_too_little_with_nothing_locked_is_told_so():
    # 8 GB at 4 Mbit/s hold 4.4 h of the 24 wanted.
    told = " ".join(exporting(1, 1, capacity_gb=8).warnings).replace(NO_BREAK, " ")
    assert "The card holds 4.4 hours, less than the 24 hours wanted: nothing may be locked." in told


def test_what_is_overwritten_or_cannot_be_fetched_is_told_as_such():
    gone = exporting(6, 100)
    assert gone.lost_h.tolist() == [6, 6, 6]
    assert said(gone).startswith("Nothing is left to fetch: the card has overwritten it.")
    full = exporting(6, 24, 12, cameras=3)
    assert full.done_h[:2].tolist() == [inf, inf]
    assert full.lost_h == pytest.approx([6, 6, 2.4444], abs=5e-5)
    assert said(full).startswith("Nothing can be fetched: the live streams fill the link.")
    locked = exporting(6, 24, locked_gb=64)
    assert locked.lost_h.tolist() == [6, 6, 6]
    assert locked.warnings[0].startswith("Locked clips fill the card")


def test_what_is_gone_already_is_told_apart_from_what_goes_while_it_is_fetched():
    # 35.556 h held, ended 24 h ago: the last goes in 11.556 h. Of 20 h wanted 8.444 h are gone, fetched or locked.
    gone = [text.replace(NO_BREAK, " ") for text in exporting(20, 24, 100, read_mbit_s=1000).warnings]
    assert "8.4 h of the 20 h wanted are overwritten already." in gone
    assert not any("while it is fetched" in text for text in gone)
    # 6 h are there still, and a link of half the pace of recording loses 0.222 h of them: nothing is gone already.
    slow = [text.replace(NO_BREAK, " ") for text in exporting(6, 24, 14).warnings]
    assert slow[0].startswith("The card overwrites 0.22 h while it is fetched")
    assert not any("overwritten already" in text for text in slow)
    assert exporting(6, 24, 16).warnings == ()


def test_a_full_link_is_told_with_what_to_do_and_not_with_what_is_lost():
    full = exporting(6, 24, 12, cameras=3).warnings
    assert len(full) == 1
    assert full[0].startswith("Free the link")


def test_a_hold_of_just_what_is_wanted_keeps_the_promise():
    # 64 GB at 8 Mbit/s, 3.6 GB/h, are 17.778 h; 2 h are 7.2 GB.
    held = {"capacity_gb": 64, "bitrate_mbit_s": 8, "cameras": 1, "link_mbit_s": 100}
    assert exporting(2, 1, wanted_h=64 / 3.6 - 2.01, **held).warnings == ()
    (told,) = exporting(2, 1, wanted_h=64 / 3.6 - 1.99, **held).warnings
    assert told.startswith("With this footage locked too the card holds")
    assert exporting(2, 1, wanted_h=10, **held).most_locked_gb == pytest.approx(64 - 36)


def test_a_card_taken_out_at_once_loses_what_is_gone_and_takes_the_time_of_the_copy():
    # The slower of reader and card: 64 000 MB at 20 Mbyte/s are 0.889 h.
    answer = exporting(6, 24, visit_h=0, reader_mbyte_s=40, card_read_mbyte_s=20)
    assert (answer.done_h[2], answer.lost_h[2]) == (pytest.approx(64 / 72), 0)
    assert said(answer).endswith("A card taken out after 0 h is copied after 0.89 h, and none is lost.")


def test_the_curve_runs_from_the_whole_hold_to_none():
    answer = exporting()
    assert answer.curve_h[[0, -1]] == pytest.approx([64 / 1.8, 0])
    assert np.all(np.diff(answer.curve_h) < 0)


def test_signing_is_told_with_its_share_of_the_rate():
    # 1373 bytes every 2 s: 5.492 kbit/s, 0.14 % of 4 Mbit/s.
    told = " ".join(exporting().assumptions).replace(NO_BREAK, " ")
    assert "5.5 kbit/s more, 0.14 % of the rate" in told


@pytest.mark.parametrize(
    "given",
    [
        *(
            {"span_h": 0},
            {"ended_h": -1},
            {"visit_h": -1},
            {"link_mbit_s": 0},
            {"read_mbit_s": 0},
            {"fetched": 0},
            {"locked_gb": 65},
        ),
        *({"locked_gb": -1}, {"wanted_h": 0}, {"reader_mbyte_s": 0}, {"card_read_mbyte_s": float("nan")}),
        *({"cameras": [1, 2]}, {"span_h": "6"}),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(given):
    (name,) = given
    with pytest.raises(InputError, match=f"^{name}"):
        exporting(**given)
