"""How footage gets off: four ways with their times and losses, worked out by hand, and what is told of them."""

from collections import deque
from math import inf

import numpy as np
import pytest

from edgestore import InputError
from edgestore.answers.export import LOCKED_WAYS, WAYS, exporting
from edgestore.text import NO_BREAK


def said(answer):
    return answer.sentence.replace(NO_BREAK, " ")


def warned(answer):
    return [text.replace(NO_BREAK, " ") for text in answer.warnings]


EXACT = {"capacity_gb": 72, "bitrate_mbit_s": 10, "usable_fraction": 1, "cameras": 2}
"""At 4.5 GB/h 72 GB hold 16 h, without a rest in binary either: for what lies just at a limit. Two live streams take
20 Mbit/s of the link, and the copy of the card 72 000 MB at 40 Mbyte/s, 0.5 h."""

STEP_H, CLIP_GB, CLIP_MBIT = 0.04, 0.072, 576
"""A clip of the simulation at 4 Mbit/s: 144 s, times 4 Mbit/s, over 8 bits a byte."""


def followed(way, span_h, ended_h, link_mbit_s, *, cameras, fetched, read_mbit_s, visit_h, usable_fraction, locked_gb):
    """Follow a card of 64 GB clip by clip: hours lost, and hours until the last clip is read or the card is taken out.

    Each step the camera writes a clip, and deletes the oldest that is not locked when there is no room. What the live
    streams leave of the link carries the oldest wanted clip that is there. The card is taken out with all on it.
    """
    last = -round(ended_h / STEP_H)
    wanted = range(last - round(span_h / STEP_H), last)
    room_gb = 64 * usable_fraction - locked_gb
    card, locked, got, sent_mbit, done_h = deque(), set(), set(), 0.0, inf
    for at in range(-2000, 4000):
        there = [clip for clip in wanted if clip in locked or (card and clip >= card[0])] if at >= 0 else []
        if at == 0 and way.startswith("lock"):
            locked = set(there)
            card = deque(clip for clip in card if clip not in locked)
        if at >= 0 and "fetch" in way:
            sent_mbit += max(0, min((link_mbit_s - 4 * cameras) / fetched, read_mbit_s)) * STEP_H * 3600
            for clip in there:
                if clip not in got and sent_mbit >= CLIP_MBIT:
                    got.add(clip)
                    sent_mbit, done_h = sent_mbit - CLIP_MBIT, (at + 1) * STEP_H
            if got.issuperset(there):
                break
        elif at == round(visit_h / STEP_H):
            got, done_h = set(there), at * STEP_H
            break
        card.append(at)
        while card and (len(card) + len(locked)) * CLIP_GB > room_gb + 1e-9:
            card.popleft()
    return (len(wanted) - len(got | locked)) * STEP_H, done_h


CASE = {"cameras": 3, "fetched": 1, "read_mbit_s": 50, "visit_h": 8, "usable_fraction": 0.97, "locked_gb": 0}


@pytest.mark.parametrize(
    ("span_h", "ended_h", "link_mbit_s", "changed"),
    [
        (6, 24, 16, {}),
        (6, 24, 13, {}),
        (6, 24, 12, {}),
        (6, 24, 9, {"visit_h": 0}),
        (6, 24, 16, {"visit_h": 5.5}),
        (6, 24, 16, {"fetched": 3, "visit_h": 12}),
        (12, 20, 100, {"read_mbit_s": 2, "visit_h": 3}),
        (10, 4, 14, {"locked_gb": 36, "usable_fraction": 0.9}),
        (30, 20, 15, {"locked_gb": 5}),
        (6, 40, 16, {}),
        (36, 0, 18, {"visit_h": 2}),
    ],
)
def test_each_way_loses_and_takes_what_a_card_followed_clip_by_clip_does(span_h, ended_h, link_mbit_s, changed):
    case = {**CASE, **changed}
    answer = exporting(span_h, ended_h, link_mbit_s, capacity_gb=64, bitrate_mbit_s=4, **case)
    for row, way in enumerate(WAYS):
        lost_h, done_h = followed(way, span_h, ended_h, link_mbit_s, **case)
        assert answer.lost_h[row] == pytest.approx(lost_h, abs=2 * STEP_H), way
        copied_h = 64_000 / 40 / 3600 if "take" in way else 0
        assert answer.done_h[row] == pytest.approx(done_h + copied_h, abs=3 * STEP_H), way


def test_each_way_has_its_time_and_its_loss():
    # 64 GB at 1.8 GB/h hold 35.556 h. 6 h that ended 24 h ago: the oldest goes in 5.556 h, the last in 11.556 h.
    # 14 - 3 x 4 = 2 Mbit/s fetch half an hour an hour: 5.778 h of 6 h until the last goes; locked, 6 h in 12 h.
    # The card comes out after 8 h with 3.556 h, and 64 000 MB at 40 Mbyte/s take 0.444 h.
    answer = exporting(6, 24, 14, usable_fraction=1, visit_h=8, reader_mbyte_s=40)
    assert answer.done_h == pytest.approx([11.5556, 8.4444, 12, 8.4444], abs=5e-5)
    assert answer.lost_h == pytest.approx([0.2222, 2.4444, 0, 0], abs=5e-5)
    assert (answer.oldest_goes_h, answer.last_goes_h) == pytest.approx((5.5556, 11.5556), abs=5e-5)
    assert said(answer) == (
        "Fetching 5.8 h of footage takes 11.6 h, and 0.22 h are lost."
        " A card taken out after 8 h is copied after 8.4 h, and 2.4 h are lost."
        " If locked first, none is lost: fetching takes 12 h, the card is copied after 8.4 h."
    )
    assert warned(answer)[0].startswith(
        "Without a lock the card overwrites 0.22 h while it is fetched or 2.4 h until the card is taken out: lock "
    )


def test_what_a_lock_keeps_is_told_where_the_link_alone_or_the_visit_alone_is_too_slow():
    # 13 - 12 Mbit/s fetch a quarter of the 10.489 h; a card taken out now has all. At 16 Mbit/s it is the visit.
    slow_link, late_visit = (
        exporting(6, 24, link, visit_h=visit_h, usable_fraction=0.97) for link, visit_h in ((13, 0), (16, 8))
    )
    assert "A card taken out now is copied after 0.44 h, and none is lost." in said(slow_link)
    # 6 h at a quarter of the pace take 24 h, and at the 4 of 16 Mbit/s that are left 6 h.
    for answer, hours, card in ((slow_link, "24", "0.44"), (late_visit, "6", "8.4")):
        ways = f"fetching takes {hours} h, the card is copied after {card} h."
        assert said(answer).endswith(f" If locked first, none is lost: {ways}")
    assert late_visit.begins_h.tolist() == [0, 8, 0, 8]
    assert "locked first" not in said(exporting(6, 24, 16, visit_h=0))


def test_behind_a_full_link_what_is_locked_stays_on_the_card():
    # 3 x 4 Mbit/s fill 12 Mbit/s. 62.08 GB hold 34.489 h: 10.489 h until the last goes, 2.489 h of it after 8 h.
    full = exporting(6, 24, 12, cameras=3, usable_fraction=0.97)
    assert full.done_h.tolist() == [inf, pytest.approx(8.4444, abs=5e-5), inf, pytest.approx(8.4444, abs=5e-5)]
    assert full.lost_h == pytest.approx([6, 3.5111, 0, 0], abs=5e-5)
    assert said(full).endswith(" If locked first, none is lost: the card is copied after 8.4 h.")
    assert full.table["held_after_h"].tolist() == pytest.approx([34.489, 34.489, 28.489, 34.489], abs=5e-4)
    assert said(full).startswith("Nothing can be fetched: the live streams fill the link.")
    assert full.warnings[0].startswith("Lock the clips first, if the camera can: they then stay on the card.")


def test_what_formatting_takes_of_the_card_is_lost_sooner():
    # 0.97 of 64 GB hold 34.489 h: after 5.5 h the ring reaches 28.989 h back, 1.011 h short of 30 h. All of 64 GB
    # hold 35.556 h, and the oldest goes after 5.556 h.
    formatted = exporting(6, 24, visit_h=5.5, usable_fraction=0.97)
    assert formatted.lost_h[1] == pytest.approx(1.0111, abs=5e-5)
    assert "1 h is lost" in said(formatted)
    assert exporting(6, 24, visit_h=5.5, usable_fraction=1).lost_h[1] == 0
    assert formatted.assumptions[0].replace(NO_BREAK, " ").startswith("97.0 % of the printed capacity is room for")


def test_locked_clips_shorten_the_hold_and_are_warned_of_where_they_break_the_promise():
    # 24 h take 43.2 of 64 GB: 20.8 GB may be locked. With 24 GB the card holds 40 / 1.8 = 22.2 h.
    answer = exporting(1, 1, locked_gb=24, wanted_h=24, usable_fraction=1, visit_h=0)
    assert answer.held_h == pytest.approx(22.222, abs=5e-4)
    assert said(answer).endswith("24 GB of locked clips shorten the hold from 35.6 hours to 22.2 hours.")
    assert warned(answer) == [
        "The card holds 22.2 hours, less than the 24 hours promised: at most 20.8 GB may be locked."
    ]
    # 6 h more are 10.8 GB: 53.2 - 16 GB hold 20.7 h.
    more = exporting(6, 1, locked_gb=16, wanted_h=24, usable_fraction=1)
    assert more.table["held_after_h"].tolist() == pytest.approx([26.667, 35.556, 20.667, 35.556], abs=5e-4)
    assert "release it once the copy is checked" in more.warnings[0]


def test_a_lock_that_fills_the_card_is_told():
    # 36 h that have just ended, of the 35.6 h that 64 GB hold: all of the card is locked.
    answer = exporting(36, 0)
    assert answer.table["held_after_h"][2] == pytest.approx(0, abs=1e-9)
    assert answer.warnings[-1].startswith("With this footage locked too the card is full and records nothing more")


def test_of_three_cameras_at_once_each_loses_more_than_one_that_is_fetched_alone():
    # 4 of 16 Mbit/s are left: a third of the pace each. 64 / 1.8 - 24 = 11.5556 h until the last is overwritten, of
    # which a third is saved: 3.85 h; 6 - 3.85 = 2.15 h are lost. Alone, 6 h at the pace of recording take 6 h.
    answer = exporting(6, 24, 16, cameras=3, fetched=3, usable_fraction=1)
    assert answer.lost_h[0] == pytest.approx(6 - 11.5556 / 3, abs=5e-5)
    assert said(answer).startswith(
        "Fetched from 3 cameras at once, 3.9 h of each take 11.6 h, and 2.1 h of each are lost."
    )
    assert warned(answer)[1].startswith("One camera fetched alone takes 6 h: fetch one after")
    assert not any("fetched alone" in text for text in exporting(6, 24, 14, fetched=1).warnings)
    assert not any("fetched alone" in text for text in exporting(6, 24, 12, cameras=3, fetched=3).warnings)


def test_a_card_that_holds_too_little_with_nothing_locked_is_told_so():
    # 8 GB at 4 Mbit/s hold 4.4 h of the 24 wanted.
    told = " ".join(warned(exporting(1, 1, capacity_gb=8, usable_fraction=1)))
    assert "too small for the retention promised: with nothing locked it holds 4.4 hours of 24 hours." in told
    assert "may be locked" not in told


def test_what_is_overwritten_is_told_as_such():
    for link_mbit_s in (12, 16):
        gone = exporting(6, 100, link_mbit_s)
        assert gone.lost_h.tolist() == [6, 6, 6, 6]
        assert (gone.oldest_goes_h, gone.last_goes_h) == (0, 0)
        assert said(gone).startswith("Nothing is left to fetch: the card has overwritten it.")
        assert warned(gone) == ["6 h of the 6 h wanted are overwritten already."]
    locked = exporting(6, 24, locked_gb=64, usable_fraction=1)
    assert locked.lost_h.tolist() == [6, 6, 6, 6]
    filled, gone = locked.warnings
    assert filled.startswith("Locked clips fill the card")
    assert gone.endswith("wanted are overwritten already.")


def test_what_is_gone_already_is_told_apart_from_what_goes_while_it_is_fetched():
    # 35.556 h held, ended 24 h ago: the last goes in 11.556 h. Of 20 h wanted 8.444 h are gone, fetched or locked.
    quick = exporting(20, 24, 100, read_mbit_s=1000, usable_fraction=1)
    gone = warned(quick)
    assert "8.4 h of the 20 h wanted are overwritten already." in gone
    assert not any("while it is fetched" in text for text in gone)
    # 6 h are there still, and a link of half the pace of recording loses 0.222 h of them: nothing is gone already.
    slow = warned(exporting(6, 24, 14, usable_fraction=1))
    assert slow[0].startswith("Without a lock the card overwrites 0.22 h while it is fetched")
    assert not any("overwritten already" in text for text in slow)
    assert "while it is fetched" not in " ".join(exporting(6, 24, 16, usable_fraction=1).warnings)


def test_a_full_link_is_told_with_what_to_do_and_not_with_what_is_lost():
    full = exporting(6, 24, 12, cameras=3).warnings
    assert len(full) == 1
    assert full[0].startswith("Lock the clips first, if the camera can")
    assert "Free the link" in full[0]


def test_a_hold_of_just_what_is_wanted_keeps_the_promise():
    # 64 GB at 8 Mbit/s, 3.6 GB/h, are 17.778 h; 2 h are 7.2 GB.
    held = {"capacity_gb": 64, "bitrate_mbit_s": 8, "cameras": 1, "link_mbit_s": 100, "usable_fraction": 1}
    assert exporting(2, 1, wanted_h=64 / 3.6 - 2.01, **held).warnings == ()
    (told,) = exporting(2, 1, wanted_h=64 / 3.6 - 1.99, **held).warnings
    assert told.startswith("With this footage locked too the card holds")
    assert exporting(2, 1, wanted_h=10, **held).most_locked_gb == pytest.approx(64 - 36)


def test_what_a_lock_saves_is_told_beyond_what_is_gone_already():
    # 16 h held, ended 11 h ago: the last goes in 5 h, and 1 of 6 h is gone. The 6 Mbit/s left of 26 fetch at 0.6 of the
    # pace, 3 h until the last goes: 3 h are lost, 2 of them by the link. After 3 h 2 h are left: 4 lost, 3 by the wait.
    answer = exporting(6, 11, 26, visit_h=3, wanted_h=8, **EXACT)
    assert said(answer) == (
        "Fetching 3 h of footage takes 5 h, and 3 h are lost."
        " A card taken out after 3 h is copied after 3.5 h, and 4 h are lost."
        " If locked first, 1 h is lost: fetching takes 8.3 h, the card is copied after 3.5 h."
    )
    by_link, gone = warned(answer)
    assert by_link.startswith(
        "Without a lock the card overwrites 2 h while it is fetched or 3 h until the card is taken out: lock the clips"
    )
    assert gone == "1 h of the 6 h wanted is overwritten already."
    assert (answer.oldest_goes_h, answer.last_goes_h) == (0, 5)


def test_two_cameras_at_once_each_have_half_of_the_pace():
    # 0.3 of the pace each: 1.5 h until the last goes, 4.5 h lost, 3.5 of them by the link. Alone 6 h at 0.6 take 10 h.
    answer = exporting(6, 11, 26, fetched=2, visit_h=0, wanted_h=8, **EXACT)
    assert said(answer).startswith(
        "Fetched from 2 cameras at once, 1.5 h of each take 5 h, and 4.5 h of each are lost. A card taken out now"
    )
    by_link, alone, _ = warned(answer)
    assert by_link.startswith("Without a lock the card overwrites 3.5 h while it is fetched: lock the clips")
    assert alone.startswith("One camera fetched alone takes 10 h: fetch one after the other")


def test_no_lock_is_advised_where_none_saves_more():
    # Of 6 h 1 h is gone, and a fast link and a card taken out now have all the others.
    fast = exporting(6, 11, 1000, fetched=2, read_mbit_s=1000, visit_h=0, wanted_h=8, **EXACT)
    assert fast.lost_h.tolist() == [1, 1, 1, 1]
    assert warned(fast) == ["1 h of the 6 h wanted is overwritten already."]
    assert "locked first" not in said(fast)


@pytest.mark.parametrize(("link_mbit_s", "fetched", "lost_h"), [(29.99, 1, 0.004), (39.99, 2, 0.002)])
def test_no_lock_is_advised_for_less_than_18_seconds(link_mbit_s, fetched, lost_h):
    # The oldest goes now, the last of 4 h in 4 h: 9.99 of 10 Mbit/s lose 0.004 h, half of 19.99 loses 0.002 h.
    late = exporting(4, 12, link_mbit_s, fetched=fetched, visit_h=0.003, wanted_h=8, **EXACT)
    assert late.lost_h == pytest.approx([lost_h, 0.003, 0, 0], abs=1e-9)
    assert warned(late) == []
    assert said(late).count("none is lost") == 2
    assert "locked first" not in said(late)


def test_18_seconds_of_footage_are_told_as_footage():
    footage_h = 18 / 3600
    fetched = exporting(footage_h, 1, 25, visit_h=0, wanted_h=8, **EXACT)
    assert said(fetched).startswith("Fetching 0.005 h of footage takes 0.01 h, and none is lost.")
    full_link = exporting(footage_h, 1, 20, visit_h=0, wanted_h=8, **EXACT)
    assert said(full_link).startswith("Nothing can be fetched: the live streams fill the link.")
    assert warned(full_link)[0].startswith("Lock the clips first")
    gone = exporting(footage_h, 100, 25, wanted_h=8, **EXACT)
    assert said(gone).endswith("A card taken out after 8 h is copied after 8.5 h, and 0.005 h are lost.")


def test_a_loss_of_18_seconds_is_told_and_not_yet_warned_of():
    # 1/128 h until the last goes, a quarter of the pace each: 1/512 h of 1/512 + 0.005 h are saved.
    answer = exporting(1 / 512 + 0.005, 16 - 1 / 128, 25, fetched=2, visit_h=0, wanted_h=8, **EXACT)
    assert answer.lost_h.tolist() == [0.005, 0, 0, 0]
    assert "0.005 h of each are lost." in said(answer)
    assert "locked first" not in said(answer)
    assert warned(answer) == []
    assert warned(exporting(0.005, 100, 25, wanted_h=8, **EXACT)) == []


def test_a_card_taken_out_too_late_has_nothing_of_what_the_link_and_a_lock_save():
    # 5 h until the last goes, 1 h until the oldest; 4 h at five times the pace (50 Mbit/s read) take 0.8 h.
    assert said(exporting(4, 11, 100, visit_h=6, wanted_h=8, **EXACT)) == (
        "Fetching 4 h of footage takes 0.8 h, and none is lost."
        " A card taken out after 6 h is copied after 6.5 h, and 4 h are lost."
        " If locked first, none is lost: fetching takes 0.8 h, the card is copied after 6.5 h."
    )


def test_half_an_hour_that_locked_clips_leave_is_told_as_what_it_is():
    # 2.25 of 72 GB are left, half an hour; a quarter of an hour of it at five times the pace takes 0.05 h. 8 h promised
    # are 36 GB, so 36 GB may be locked. The half hour that has just ended is all there is.
    left = {"locked_gb": 69.75, "visit_h": 0, "wanted_h": 8} | EXACT
    some = exporting(0.25, 0.125, 100, **left)
    assert some.done_h.tolist() == pytest.approx([0.05, 0.5, 0.05, 0.5])
    assert some.table["held_after_h"].tolist() == [0.5, 16, 0.25, 16]
    promise = "The card holds 0.5 hours, less than the 8 hours promised: at most 36 GB may be locked."
    assert warned(some) == [promise]
    of_all, full = warned(exporting(0.5, 0, 100, **left))
    assert of_all == promise
    assert full.startswith("With this footage locked too the card is full and records nothing more")


def test_a_card_that_still_holds_18_seconds_is_not_full():
    # 0.0225 GB at 4.5 GB/h: the footage wanted is gone, and nothing more is locked.
    answer = exporting(1, 1, 100, wanted_h=0.001, **EXACT | {"capacity_gb": 0.0225})
    assert answer.table["held_after_h"].tolist() == [0.005] * 4
    assert not any("full" in text for text in answer.warnings)


def test_what_is_held_for_just_as_long_as_promised_keeps_the_promise():
    # 16 h, and 14 h with 2 h, 9 GB, locked.
    assert warned(exporting(2, 1, 100, visit_h=0, wanted_h=16, **EXACT)) == [
        "With this footage locked too the card holds 14 hours, less than the 16 hours promised:"
        " release it once the copy is checked."
    ]
    assert warned(exporting(2, 1, 100, visit_h=0, wanted_h=14, **EXACT)) == []


def test_of_half_an_hour_promised_all_else_may_be_locked():
    # 72 - 0.5 x 4.5 GB.
    assert exporting(2, 1, 100, wanted_h=0.5, **EXACT).most_locked_gb == 69.75


def test_the_ways_that_lock_come_last():
    assert [way for way in WAYS if way.startswith("lock")] == list(WAYS[-LOCKED_WAYS:])


def test_a_card_taken_out_at_once_loses_what_is_gone_and_takes_the_time_of_the_copy():
    # The slower of reader and card: 64 000 MB at 20 Mbyte/s are 0.889 h.
    answer = exporting(6, 24, visit_h=0, reader_mbyte_s=40, card_read_mbyte_s=20, usable_fraction=1)
    at = WAYS.index("take the card out")
    assert (answer.done_h[at], answer.lost_h[at]) == (pytest.approx(64 / 72), 0)
    assert said(answer).endswith("A card taken out now is copied after 0.89 h, and none is lost.")


def test_the_curve_runs_from_the_whole_hold_to_none():
    answer = exporting(usable_fraction=0.9)
    assert answer.curve_h[[0, -1]] == pytest.approx([57.6 / 1.8, 0])
    assert answer.curve_gb == pytest.approx(1.44 * np.arange(41))  # 57.6 GB in 40 steps
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
            {"fetched": 4},
            {"usable_fraction": 0},
            {"usable_fraction": 97},
            {"capacity_gb": -5},
            {"locked_gb": 64.1},
        ),
        *({"locked_gb": -1}, {"wanted_h": 0}, {"reader_mbyte_s": 0}, {"card_read_mbyte_s": float("nan")}),
        *({"cameras": [1, 2]}, {"span_h": "6"}),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(given):
    (name,) = given
    with pytest.raises(InputError, match=f"^{name}"):
        exporting(**given)


def test_more_fetched_than_live_and_more_locked_than_usable_are_refused_in_words_that_a_panel_can_show():
    # The panel writes the label of an input for its name: neither "cameras" nor "fetched" stands in the message.
    with pytest.raises(
        InputError, match=r"^fetched: is 64; must be 1 or more and at most 3\. Fix: Give no more than are"
    ):
        exporting(cameras=3, fetched=64)
    with pytest.raises(InputError, match=r"^locked_gb: is 1024 GB; must be 0 or more and at most 62\.08 GB\."):
        exporting(locked_gb=1024, usable_fraction=0.97)
