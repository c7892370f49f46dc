"""The fitting guide covers every housing and slot, names no brand, and always says that the manual rules."""

import itertools

import pytest

from edgestore.checks import InputError
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.cautions import CAUTIONS
from edgestore.training.fitting import FACINGS, SLOTS, TYPICAL, drawings, guide

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
def test_a_slot_says_orientation_seat_and_release(slot):
    words = " ".join(step.text for _, step in guide("dome", slot).steps).lower()
    for part in ("contacts face the circuit board", "notch", "check the seat", "to take a card out later", "power off"):
        assert part in words


def test_closing_says_seal_crosswise_and_captive_parts():
    for housing in HOUSINGS:
        words = " ".join(step.text for step in guide(housing).sections[-1].steps).lower()
        for part in ("seal", "groove", "crosswise", "captive", "no oil, no solvent", "desiccant bags"):
            assert part in words


def test_what_never_to_do_is_told_in_every_guide():
    words = " ".join(guide().never).lower()
    for part in ("force", "sensor", "contacts", "oil or solvent", "desiccant bags out"):
        assert part in words


@pytest.mark.parametrize("housing", ["ptz dome", "ptz positioner"])
def test_what_turns_is_told_to_be_off(housing):
    assert "moving" in guide(housing).sections[1].steps[0].cautions


@pytest.mark.parametrize("housing", HOUSINGS)
def test_every_guide_has_the_cautions_that_a_visit_needs(housing):
    needed = {"height", "alone", "power", "static", "edges", "hot", "sealed", "light", "moving", "privacy", "evidence"}
    assert needed <= {caution.key for caution in guide(housing).cautions}


def test_the_manual_rules():
    assert TYPICAL == "These steps are typical. Local codes, licensed trades and the camera's own manual rule."


def test_where_the_slot_faces_changes_one_step():
    down, up = guide("bullet", "slide-in", "down"), guide("bullet", "slide-in", "up")
    different = [a.text for (_, a), (_, b) in zip(down.steps, up.steps, strict=True) if a != b]
    assert different == ["The slot faces down. Hold a hand or a bag below the card until it is held by the slot."]


def test_every_guide_shows_the_card_the_housing_the_slot_and_the_closing():
    for housing, slot, _ in ALL:
        made = guide(housing, slot)
        pictures = [step.picture for _, step in made.steps if step.picture]
        assert pictures == ["card", "housing", *(SLOTS if slot is None else [slot]), "closing"]
        assert sum(len(drawings(made, step)) for _, step in made.steps) == 2 + 2 + 5 * (len(pictures) - 3) + 4


def test_a_step_without_a_picture_has_no_drawings():
    made = guide()
    assert drawings(made, made.sections[0].steps[0]) == ()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("doom",), "housing: is 'doom'; must be one of dome, captive-cover dome"),
        (("dome", "push"), "slot: is 'push'; must be one of hinged metal latch"),
        (("dome", "slide-in", "north"), "facing: is 'north'; must be one of towards you"),
        (("",), "housing: is ''"),
    ],
)
def test_an_unknown_word_is_refused_with_those_allowed(words, told):
    with pytest.raises(InputError, match=told):
        guide(*words)
