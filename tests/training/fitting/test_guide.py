"""The fitting guide covers every housing and slot, names no brand, and always says that the manual rules."""

import itertools

import pytest

from edgestore.checks import InputError
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.fitting.cautions import CAUTIONS
from edgestore.training.fitting.guide import FACINGS, SLOTS, TYPICAL, WORKS, drawings, guide, picture_keys

ALL = list(itertools.product(HOUSINGS, (None, *SLOTS), (None, *FACINGS)))


def test_the_kinds_of_slot_are_those_asked_for():
    assert SLOTS == ("hinged metal latch", "push-to-lock", "slide-in")
    assert "towards you" in FACINGS


@pytest.mark.parametrize("housing", HOUSINGS)
def test_every_combination_has_all_its_parts(housing):
    for slot, facing in itertools.product((None, *SLOTS), (None, *FACINGS)):
        made = guide(housing, slot, facing)
        assert made.tools
        assert made.looks
        titles = [section.title for section in made.sections]
        assert titles[0] == "Before you open it"
        assert titles[1] == "Reach the slot"
        assert titles[-1] == "Close and switch on"
        assert len(titles) == 3 + (len(SLOTS) if slot is None else 1)
        assert all(section.steps for section in made.sections)
        assert {key for _, step in made.steps for key in step.cautions} <= set(CAUTIONS)


@pytest.mark.parametrize("slot", SLOTS)
def test_a_slot_says_orientation_and_seat_or_how_the_card_comes_out(slot):
    fit, swap, remove = (" ".join(step.text for _, step in guide("dome", slot, work=work).steps) for work in WORKS)
    for said in (fit, swap):
        for part in ("Contacts face the circuit board", "notch", "Check the seat"):
            assert part in said
        assert said.count("Check the seat") == 1
    out = {"hinged metal latch": "Lift the old card out", "push-to-lock": "clicks. Keep", "slide-in": "straight out"}[
        slot
    ]
    assert (out in fit, out in swap, out in remove) == (False, True, True)
    assert "Check the seat" not in remove


def test_closing_says_seal_crosswise_and_captive_parts():
    for housing in HOUSINGS:
        words = " ".join(step.text for step in guide(housing).sections[-1].steps).lower()
        for part in ("seal", "groove", "crosswise", "captive", "desiccant bags"):
            assert part in words


@pytest.mark.parametrize(("housing", "covered"), [("dome", True), ("bullet", False), ("box", False)])
def test_what_never_to_do_is_told_in_every_guide(housing, covered):
    words = " ".join(guide(housing).never).lower()
    for part in ("force", "sensor", "contacts", "desiccant bags out"):
        assert part in words
    assert ("oil or solvent" in words) == covered


# What does not turn has no caution of motors, what has no lamps none of infrared; nobody who fits a first card meets
# evidence. The rest applies to all: each housing is climbed to, opened by its edges, and may be warm.
ALWAYS = {
    *("height", "alone", "power", "dead", "off", "static", "edges", "hot", "sealed", "force", "privacy", "theft"),
    *("permit", "overhead", "traffic", "room", "ladder", "lift"),
}
MAY_TURN = {"ptz dome", "ptz positioner", "other"}


@pytest.mark.parametrize("housing", HOUSINGS)
def test_a_guide_has_the_cautions_that_apply_and_no_other(housing):
    for work, slot in itertools.product(WORKS, SLOTS):
        applies = set(ALWAYS)
        applies |= {"moving"} if housing in MAY_TURN else set()
        applies |= {"light"} if housing != "box" else set()
        applies |= {"prove"} if work != "remove" else set()
        applies |= {"evidence", "custody", "disposal"} if work != "fit" else set()
        if work == "remove":
            applies -= {"force"}  # its words are of a card that goes in
        assert {caution.key for caution in guide(housing, slot, work=work).cautions} == applies


@pytest.mark.parametrize("work", WORKS)
def test_a_fixed_camera_is_not_told_of_motors(work):
    for housing in sorted(set(HOUSINGS) - MAY_TURN):
        made = guide(housing, work=work)
        said = " ".join([*(step.text for _, step in made.steps), *(caution.text for caution in made.cautions)])
        assert not [word for word in ("motor", "pan-tilt", "can turn") if word in said]


@pytest.mark.parametrize("housing", HOUSINGS)
def test_the_caution_of_the_power_stands_beside_the_step_that_switches_it_off(housing):
    for work in WORKS:
        steps = [step for _, step in guide(housing, work=work).steps]
        assert ["power" in step.cautions for step in steps] == ["Switch the power off," in step.text for step in steps]
        assert [step.text[:13] for step in steps if "dead" in step.cautions] == ["Prove it dead"]
        assert sum("power" in step.cautions for step in steps) == 1
        assert ["old card" in step.text for step in steps if "evidence" in step.cautions][1:] == (
            [] if work == "fit" else [True] * len(SLOTS)
        )


def test_the_manual_rules():
    assert TYPICAL == "These steps are typical. Local codes, licensed trades and the camera's own manual rule."


@pytest.mark.parametrize(("lift", "told"), [(None, {"ladder", "lift"}), (True, {"lift"}), (False, {"ladder"})])
def test_harness_and_rescue_plan_are_for_a_lift_and_rungs_for_a_ladder(lift, told):
    made = guide("bullet", "slide-in", "down", lift=lift)
    assert {caution.key for caution in made.cautions} & {"ladder", "lift"} == told
    assert [("harness" in step.text) for _, step in made.steps].count(True) == ("lift" in told)


def test_a_caution_stands_beside_the_step_that_it_is_about():
    beside = {
        "overhead": "Plan the climb",
        "traffic": "Plan the climb",
        "permit": "Plan the climb",
        "room": "stop recording",
        "custody": "Put it in the empty case",
        "disposal": "Prove it: go through",
    }
    made = guide("bullet", "slide-in", "down", "swap")
    for key, words in beside.items():
        (text,) = (step.text for _, step in made.steps if key in step.cautions)
        assert words in text


def test_where_the_slot_faces_changes_one_step_in_words_and_those_at_the_slot_in_pictures():
    down, up = guide("bullet", "slide-in", "down"), guide("bullet", "slide-in", "up")
    different = [a.parts for (_, a), (_, b) in zip(down.steps, up.steps, strict=True) if a != b]
    assert different == [
        (
            "A slot that faces down: hang your open bag below it, until the slot holds the card.",
            "Move the small cap aside if there is one. There is no lid to open.",
        )
    ]
    shown = [picture_keys(down, a) != picture_keys(up, b) for (_, a), (_, b) in zip(down.steps, up.steps, strict=True)]
    turned = [step.pictures for (_, step), differs in zip(down.steps, shown, strict=True) if differs]
    assert turned == [("open",), ("push",), ("seated",)]


def test_every_guide_shows_the_card_the_housing_closed_before_opened_the_slot_and_the_closing():
    for housing, slot, facing in ALL:
        made = guide(housing, slot, facing)
        words = [word for _, step in made.steps for word in step.pictures]
        assert {"card", "closed", "opened", "open", "orient", "push", "seated", "seal", "cover", "crosswise"} <= {
            *words
        }
        assert words.index("closed") < words.index("opened") < words.index("open")
        for _, step in made.steps:
            assert len(drawings(made, step)) >= len(step.pictures) - ("stays" in step.pictures)


@pytest.mark.parametrize("work", WORKS)
def test_a_step_that_names_screws_flap_cap_or_lid_has_its_picture_beside_it(work):
    for housing, slot in itertools.product(HOUSINGS, SLOTS):
        made = guide(housing, slot, "down", work)
        for _, step in made.steps:
            if any(word in step.text for word in ("screws", "flap", "cap aside", "lid up", "metal lid", "the notch")):
                assert drawings(made, step), step.text


def test_the_signs_of_a_card_that_is_not_home_are_told_at_the_seat_and_at_the_cover():
    made = guide("bullet", "push-to-lock", "down")
    said = " ".join(step.text for _, step in made.steps)
    for words in (
        "stands proud",
        "no click was felt",
        "does not close now",
        "seat it again",
        "Never press the cover shut",
    ):
        assert words in said


def test_the_drawings_of_a_slot_are_those_of_the_work():
    shown = {}
    for work in WORKS:
        made = guide("dome", "slide-in", work=work)
        shown[work] = [p for _, step in made.steps for p in step.pictures if p in ("open", "release", "push", "seated")]
    assert shown == {
        "fit": ["open", "push", "seated"],
        "swap": ["open", "release", "push", "seated"],
        "remove": ["open", "release"],
    }


def test_a_step_without_a_picture_has_no_drawings():
    made = guide()
    assert drawings(made, made.sections[0].steps[0]) == ()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("doom",), "housing: is 'doom'; must be one of dome, captive-cover dome"),
        (("dome", "push"), "slot: is 'push'; must be one of hinged metal latch"),
        (("dome", "slide-in", "north"), "facing: is 'north'; must be one of towards you"),
        (("dome", "slide-in", "up", "mend"), "work: is 'mend'; must be one of fit, swap, remove"),
        (("",), "housing: is ''"),
    ],
)
def test_an_unknown_word_is_refused_with_those_allowed(words, told):
    with pytest.raises(InputError, match=told):
        guide(*words)


def test_who_fits_a_first_card_tells_the_control_room_before_the_power_goes_off_and_not_after():
    (step,) = [step for _, step in guide("dome", work="fit").steps if "power" in step.cautions]
    assert step.text.startswith("Tell the control room first. Switch the power off,")
