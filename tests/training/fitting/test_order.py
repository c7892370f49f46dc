"""The steps of every guide stand in an order in which two hands can do them, whichever the work, housing and slot."""

import itertools
from dataclasses import replace

import pytest

from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.fitting.guide import FACINGS, SLOTS, WORKS, guide

EVERY = [guide(*words) for words in itertools.product(HOUSINGS, SLOTS, FACINGS, WORKS)]
CLEAR_COVERS = ("dome", "captive-cover dome", "ptz dome")


def out_of_order(made, steps=None):
    """Walk through the steps and give each that needs what is not so, and what is missing at the end."""
    so, wrong = set(made.start), []
    for step in steps or [step for _, step in made.steps]:
        wrong += [f"{step.text} needs: {fact}" for fact in step.needs if fact not in so]
        so = (so - set(step.ends)) | set(step.gives)
    return wrong + [f"missing at the end: {fact}" for fact in sorted(made.end - so)]


def place(made, words):
    """Give the places of the steps that hold some words."""
    return [at for at, (_, step) in enumerate(made.steps) if words in step.text]


def spot(made, words):
    """Give step and letter where some words begin: words of one step are read in their order."""
    return [(at, step.text.index(words)) for at, (_, step) in enumerate(made.steps) if words in step.text]


def name(made):
    return f"{made.work}-{made.housing}-{made.slot}"


def test_there_are_three_works():
    assert list(WORKS) == ["fit", "swap", "remove"]
    assert len(EVERY) == 8 * 3 * 5 * 3


def test_in_every_guide_each_step_finds_what_it_needs_and_all_is_well_at_the_end():
    assert {(name(made), made.facing): out_of_order(made) for made in EVERY if out_of_order(made)} == {}


MOST_STEPS = 26
"""So many things a person on a ladder is asked to do at most, whatever the work (issue 16)."""


def test_no_way_through_has_more_than_26_steps():
    assert max(len(made.steps) for made in EVERY) <= MOST_STEPS


def test_when_slot_and_facing_are_not_known_each_kind_of_slot_gives_the_same_order():
    for housing, work in itertools.product(HOUSINGS, WORKS):
        whole = guide(housing, work=work)
        for at in range(len(SLOTS)):
            sections = (*whole.sections[:2], whole.sections[2 + at], whole.sections[-1])
            assert out_of_order(replace(whole, sections=sections)) == []
            assert whole.sections[2 + at].title.startswith(f"If the slot is {SLOTS[at]}: ")


@pytest.mark.parametrize("made", [m for m in EVERY if m.facing == "down"], ids=name)
def test_no_step_that_changes_something_can_be_left_out(made):
    steps = [step for _, step in made.steps]
    told = {"climb planned", "site asked", "manual read", "seen dead", "aim noted"}
    for at, step in enumerate(steps):
        if step.gives and not set(step.gives) <= told:
            assert out_of_order(made, steps[:at] + steps[at + 1 :]), step.text


@pytest.mark.parametrize(
    ("made", "first", "second"),
    [
        # The faults that were found: each pair stood the other way round, or one behind the last.
        (guide("dome", "push-to-lock"), "Lower the cover", "Take the new card out of its case"),
        (guide("dome", "push-to-lock"), "Take a photo", "Put the cover on straight"),
        (guide("dome", "push-to-lock"), "serial number", "Take the new card out of its case"),
        (guide("dome", "push-to-lock"), "Tuck its strap in", "Tighten the screws"),
        (guide("gimbal dome", "slide-in"), "Look at the seal", "tighten the ring"),
        (guide("dome", "push-to-lock", work="swap"), "stop recording. Then", "Switch the power off"),
        (guide("dome", "push-to-lock", work="swap"), "Prove it dead", "Climb with both hands"),
        (guide("dome", "push-to-lock", work="swap"), "draw it out", "Take the new card out of its case"),
    ],
)
def test_two_steps_exchanged_are_found(made, first, second):
    steps = [step for _, step in made.steps]
    (one,), (two,) = place(made, first), place(made, second)
    assert one < two
    assert not out_of_order(made)
    steps[one], steps[two] = steps[two], steps[one]
    assert out_of_order(made, steps)


def test_in_every_guide_the_words_themselves_stand_in_order():
    for made in EVERY:
        (off,) = place(made, "Switch the power off")
        (bare,) = place(made, "the gloves come off")
        (opened,) = (i for i, (_, step) in enumerate(made.steps) if "housing open" in step.gives)
        (seal,) = place(made, "Look at the seal")
        (wipe,) = place(made, "Wipe it inside and outside") or [seal]
        (straps,) = place(made, "Tuck its strap in") or [seal]
        tighten = [i for i, (_, step) in enumerate(made.steps) if "ighten the" in step.text]
        (on,) = place(made, "Switch the power on")
        assert off < opened < bare < seal <= min(straps, wipe) < min(tighten) <= max(tighten) < on
        if made.work != "remove":
            (serial,), (taken,), (photo,) = (place(made, w) for w in ("serial number", "Take the new", "Take a photo"))
            assert serial < opened < bare < taken < photo < seal
        if made.work != "fit":
            (stopped,), (out,) = place(made, "stop recording. Then"), place(made, "Put it in the empty case")
            assert stopped < off < bare < out < seal
            (clock,) = place(made, "compare the camera's clock with a good one")  # a clock may be lost with the power
            assert clock < off


def test_what_is_to_be_known_of_a_ladder_or_lift_is_said_before_anybody_is_told_to_climb():
    for made in EVERY:
        (climb,) = place(made, "Climb with both hands")
        planned = {key for _, step in made.steps[:climb] for key in step.cautions}
        assert {"height", "permit", "alone", "overhead", "traffic", "power", "dead"} <= planned
        said = made.steps[climb][1].text
        for words in ("Look the ladder over", "Wear a harness"):
            assert words not in said.partition("Climb with both hands")[2]


def test_nobody_who_fits_a_first_card_is_told_to_take_one_out():
    for made in EVERY:
        assert bool(place(made, "the old card")) == (made.work != "fit")
        assert bool(place(made, "Take the new card")) == (made.work != "remove")
        assert not place(made, "To take a card out later")


def test_a_clear_cover_is_wiped_where_there_is_one_and_nowhere_else():
    for made in EVERY:
        said = " ".join([*(step.text for _, step in made.steps), *made.never])
        assert ("clear cover" in said) == (made.housing in CLEAR_COVERS)
        assert bool(place(made, "Wipe it inside and outside")) == (made.housing in CLEAR_COVERS)


def test_both_hands_are_free_for_the_climb_up_and_down():
    for made in EVERY:
        for words in ("Climb with both hands", "Climb down with both hands"):
            ((_, step),) = (made.steps[at] for at in place(made, words))
            assert "hands free" in step.needs


def test_a_mirror_that_is_asked_for_is_among_the_tools():
    for made in EVERY:
        assert bool(place(made, "small mirror")) == ("small mirror" in made.tools)


def test_whoever_only_takes_a_card_out_is_told_nothing_of_a_card_that_goes_in():
    for made in EVERY:
        said = " ".join(step.text for _, step in made.steps)
        if made.work == "remove":
            assert "until the slot holds the card" not in said
            assert "before you push" not in said


def test_screws_that_are_undone_are_put_away():
    for made in EVERY:
        for _, step in made.steps:
            if "ndo " in step.text and "screws" in step.text:
                assert "in the bag" in step.text, step.text


def test_a_prop_that_holds_a_lid_open_is_taken_away_before_the_lid_is_put_on():
    for made in EVERY:
        propped, away = spot(made, "Prop the lid"), spot(made, "Take the prop away")
        assert len(propped) == len(away) == (made.housing == "box")
        if propped:
            assert propped < away < spot(made, "Put the lid on straight")


def test_a_ball_that_hangs_is_steadied_while_the_other_hand_works_at_slot_and_screws():
    for made in EVERY:
        steady, screws = spot(made, "The ball swings. Steady it"), spot(made, "Take ball and flap in one hand")
        assert len(steady) == len(screws) == (made.housing == "gimbal dome")
        if steady:
            first = [(at, 0) for at, (section, _) in enumerate(made.steps) if section.title == WORKS[made.work]][:1]
            assert spot(made, "Lower the ball") < steady < first
            assert spot(made, "See that desiccant") < screws < spot(made, "Put the flap on straight")


def test_the_caution_of_the_card_stands_beside_steps_with_the_card_alone():
    for made in EVERY:
        for section, step in made.steps:
            if "force" in step.cautions:
                assert section.title == WORKS[made.work], step.text
