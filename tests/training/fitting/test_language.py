"""Every text of the fitting guide has its translation, and none is left over; what is filled in stays the same."""

import itertools
import re

import numpy as np
import pandas as pd
import pytest

from edgestore.__main__ import main
from edgestore.checks import InputError
from edgestore.drawings.parts import Drawing
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.training.fitting import guide as guides
from edgestore.training.fitting import handouts, phone, pictures, planned
from edgestore.training.fitting import language as languages
from edgestore.training.fitting.guide import FACINGS, SLOTS, WORKS, guide
from edgestore.training.fitting.language import ENGLISH, LANGUAGES, say, translations

OTHERS = [code for code in LANGUAGES if code != ENGLISH]
CARDS = pd.DataFrame({"card": ["plain"], "capacity_gb": [128.0], "speed_class": ["C10"]}).set_index("card")
ROW = {
    "camera": "Quay",
    "place": "",
    "housing": "",
    "lift": False,
    "recording": "continuous",
    "encoder_streams": "",
    "locked_fraction": 0.0,
}
GIVEN = {"meets": True, "card": "plain", "best_card": "plain", "best_told": "70\xa0%", "cap_mbit_s": 4.0}
MOTION = {
    "recording": "motion",
    "pre_roll_s": 5.0,
    "post_roll_s": 9.0,
    "deletes_by_age": True,
    "encoder_streams": "main",
}


@pytest.fixture(scope="module")
def said():
    """Give every English text that the guide asks a translation of."""
    texts = set()

    def recorded(text, language=ENGLISH, **values):
        texts.add(text)
        return say(text, ENGLISH, **values)

    with pytest.MonkeyPatch.context() as patch:
        for module in (guides, handouts, phone, pictures, planned):
            patch.setattr(module, "say", recorded)
        patch.setattr(phone, "svg_of", lambda *_: b"")  # only the words are read
        pictures.picture_of.cache_clear()
        for housing in HOUSINGS:
            phone.phone_data(housing)
        patch.setattr(Drawing, "svg", lambda _: b"")
        for housing, work in itertools.product(HOUSINGS, WORKS):
            handouts.field_card(guide(housing, work=work))
        for work, name in itertools.product(WORKS, (name for name in handouts.PAGES if name not in handouts.ON_SCREEN)):
            handouts.page(name, guide("dome", work=work))
        for slot, facing, work in ((None, None, "fit"), ("slide-in", None, "swap"), (None, "up", "remove")):
            guide("other", slot, facing, work)
        rows = (
            (ROW | {"deletes_by_age": False}, GIVEN, 30.0),
            (ROW | {"deletes_by_age": True, "locked_fraction": 0.2}, GIVEN, 30.0),
            (ROW | {"locked_fraction": 0.2}, GIVEN, np.inf),
            (ROW | MOTION, GIVEN | {"recorded_fraction": 0.2}, 30.0),
            (ROW, GIVEN | {"meets": False, "cap_mbit_s": np.nan, "planned_mbit_s": 2.0}, np.inf),
            (ROW, GIVEN | {"meets": False, "best_card": ""}, np.inf),
        )
        for row, given, most in rows:
            planned._planned(row, given, most, CARDS, {}, ENGLISH)
    return texts - {""}


@pytest.mark.parametrize("code", OTHERS)
def test_every_text_has_a_translation_and_no_translation_is_left_over(said, code):
    assert sorted(said - set(translations(code))) == []
    assert sorted(set(translations(code)) - said) == []


@pytest.mark.parametrize("code", OTHERS)
def test_a_translation_fills_in_what_the_english_text_does(code):
    for text, translated in translations(code).items():
        assert set(re.findall(r"\{\w+\}", translated)) == set(re.findall(r"\{\w+\}", text)), text
        assert translated.strip()


def test_a_text_that_is_missing_stays_english_and_is_found(said, monkeypatch):
    there = dict(translations("de"))
    del there["Begin"]
    monkeypatch.setattr(languages, "translations", lambda *_: there)
    assert say("Begin", "de") == "Begin"
    assert said - set(there) == {"Begin"}


def test_a_german_guide_has_as_many_steps_as_the_english_one_and_none_of_its_sentences():
    for housing, slot, facing, work in zip(HOUSINGS, SLOTS * 3, FACINGS * 2, (*WORKS,) * 3, strict=False):
        english, german = (guide(housing, slot, facing, work, language=code) for code in ("en", "de"))
        assert [step.cautions for _, step in german.steps] == [step.cautions for _, step in english.steps]
        assert not {p for _, step in german.steps for p in step.parts} & {
            p for _, step in english.steps for p in step.parts
        }
        assert all(step.text[0].isupper() for _, step in german.steps)


def test_a_language_that_is_none_is_refused_with_those_there_are(tmp_path, capsys):
    with pytest.raises(InputError, match="language: is 'xx'; must be one of en, de"):
        translations("xx")
    assert main(["handouts", "--out", str(tmp_path / "out"), "--language", "xx"]) == 2
    assert "must be one of en, de" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_the_command_writes_a_german_page_for_a_phone(tmp_path):
    assert main(["handouts", "--out", str(tmp_path), "--language", "de", "--housing", "bullet", "--no-pdf"]) == 0
    html = (tmp_path / "field_card_phone.html").read_text(encoding="utf-8")
    assert '<html lang="de"' in html
    assert "Den Aufstieg planen." in html
    assert "Plan the climb" not in html
