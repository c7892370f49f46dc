"""The short cautions say what docs/safety.md says, and every caution there has its short one."""

import re
from pathlib import Path

import pytest

from edgestore.checks import InputError
from edgestore.training.fitting.cautions import CAUTIONS, RULE, cautions_for

SAFETY = " ".join((Path(__file__).parents[3] / "docs" / "safety.md").read_text(encoding="utf-8").split())
BULLETS = [bullet.replace("**", "").strip() for bullet in re.split(r" \* ", SAFETY.replace("## ", " ## "))[1:]]


def bullet_of(caution):
    return [bullet for bullet in BULLETS if bullet.startswith(caution.in_safety)]


def test_the_rule_above_all_stands_in_the_safety_page_word_for_word():
    assert RULE in SAFETY.replace("**", "")


@pytest.mark.parametrize("caution", CAUTIONS.values(), ids=CAUTIONS)
def test_a_caution_holds_the_words_that_its_place_in_the_safety_page_holds(caution):
    (bullet,) = bullet_of(caution)
    assert caution.words
    for word in caution.words:
        assert word in caution.text.lower(), word
        assert word in bullet.lower(), word


def test_every_caution_of_the_safety_page_has_a_short_one():
    assert len(BULLETS) == 15 + 8
    begins = [caution.in_safety for caution in CAUTIONS.values()]
    assert [bullet for bullet in BULLETS if not bullet.startswith(tuple(begins))] == []


@pytest.mark.parametrize("caution", CAUTIONS.values(), ids=CAUTIONS)
def test_a_caution_is_short_and_names_its_source(caution):
    assert len(caution.text.split()) <= 40
    assert caution.source
    assert caution.key in CAUTIONS


def test_the_work_that_can_hurt_has_its_caution():
    asked = {
        "height",
        "power",
        "dead",
        "off",
        "static",
        "edges",
        "hot",
        "sealed",
        "light",
        "moving",
        "alone",
        "privacy",
        "evidence",
        "permit",
        "ladder",
        "lift",
        "overhead",
        "traffic",
        "room",
        "custody",
        "disposal",
    }
    assert asked <= set(CAUTIONS)


def test_cautions_come_once_and_in_the_order_of_a_visit():
    assert [c.key for c in cautions_for(["evidence", "static", "height", "static"])] == ["height", "static", "evidence"]
    assert cautions_for([]) == ()


def test_an_unknown_caution_is_refused():
    with pytest.raises(InputError, match="caution: is 'heigth'; must be one of height"):
        cautions_for(["heigth"])
