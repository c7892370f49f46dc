"""Hand-outs are sound pages that ask for nothing, can be read by a 14-year-old and in grey, and are written whole."""

import io
import re
from functools import cache
from itertools import pairwise

import html5lib
import pypdf
import pytest
import textstat
from pages_of_guides import data_of, words_of
from proposals import needs_printing

from edgestore.__main__ import main
from edgestore.checks import InputError
from edgestore.documents.pdf import pdf
from edgestore.drawings.parts import Drawing
from edgestore.inputs.camera_list import HOUSINGS
from edgestore.look import LIGHT
from edgestore.training.fitting.cautions import CAUTIONS
from edgestore.training.fitting.commissioning import CHECKS
from edgestore.training.fitting.guide import TYPICAL, WORKS, drawings, guide
from edgestore.training.fitting.handouts import PAGES, field_card, page, write_handouts
from edgestore.training.fitting.language import LANGUAGES, say

GUIDE = guide("ptz dome", "push-to-lock", "down")
AGE_14_GRADE = 8
"""School grade of a reader of 13 to 14 in the United States, on which the Flesch-Kincaid grade is scaled."""

COLOUR = r"#[0-9a-f]{6}"


@cache
def of_guide(name):
    """Make a hand-out of the guide once for all tests that only read it."""
    return page(name, GUIDE)


@pytest.fixture(params=PAGES)
def html(request):
    return of_guide(request.param)


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_a_page_is_html_that_a_strict_parser_takes(html):
    html5lib.HTMLParser(strict=True).parse(html)


def test_a_page_asks_for_nothing_outside(html):
    assert html.count("<script") == (2 if 'id="data"' in html else 0)  # its data, and its own code
    assert not re.search("fetch|XMLHttp|WebSocket|import|setTimeout|setInterval", html.rpartition("<script>")[2])
    html = html.partition('<script type="application/json"')[0]
    assert not re.search(r"""(src|href|url)\s*[=(]\s*["']?(?!data:)[a-z/]""", html)
    assert "http" not in re.sub(r"base64,[A-Za-z0-9+/=]+", "", html)


def test_a_page_says_that_the_manual_rules(html):
    assert TYPICAL in words_of(html)


def test_every_picture_has_its_words(html):
    pictures = re.findall(r"<img [^>]+>", html)
    assert all(re.search(r'alt="[^"]{40,}"', picture) for picture in pictures)


def test_the_contrast_formula_gives_what_the_standard_states():
    # WCAG 2.2: black on white is 21:1; #767676 on white is the lightest grey that passes 4.5:1 (4.54).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_every_text_colour_has_a_contrast_of_4_5_on_every_ground_it_can_stand_on(html):
    style = re.sub(r"/\*.*?\*/", "", html.partition("<style>")[2].partition("</style>")[0], flags=re.DOTALL)
    rules = re.findall(r"\{([^{}]*)\}", style)
    grounds, texts = {LIGHT["ground"]}, {LIGHT["ink"]}
    for rule in rules:
        text = re.search(rf"(?<![-a-z])color: ({COLOUR})", rule)
        ground = re.search(rf"background: ({COLOUR})", rule)
        if text and ground:
            assert contrast(text[1], ground[1]) >= 4.5, rule
        elif text:
            texts.add(text[1])
        elif ground:
            grounds.add(ground[1])
    assert min(contrast(text, ground) for text in texts for ground in grounds) >= 4.5


@pytest.mark.parametrize("housing", HOUSINGS)
def test_every_guide_can_be_read_at_14(housing, monkeypatch):
    monkeypatch.setattr(Drawing, "svg", lambda _: b"")  # only the words are read
    for slot, work in ((None, "fit"), ("push-to-lock", "swap"), ("slide-in", "remove"), ("hinged metal latch", "swap")):
        text = words_of(page("fitting_guide", guide(housing, slot, work=work)))
        assert textstat.flesch_kincaid_grade(text) <= AGE_14_GRADE
        assert textstat.gunning_fog(text) <= AGE_14_GRADE


@pytest.mark.parametrize("name", PAGES)
def test_every_hand_out_can_be_read_at_14(name):
    text = words_of(of_guide(name))
    for grade in (textstat.flesch_kincaid_grade, textstat.gunning_fog, textstat.smog_index):
        assert grade(text) <= AGE_14_GRADE


def test_each_check_and_each_caution_can_be_read_at_14_by_itself():
    for part in (*CHECKS, *CAUTIONS.values()):
        assert textstat.flesch_kincaid_grade(part.text) <= AGE_14_GRADE, part.title


def test_a_hard_text_would_be_found():
    hard = "Notwithstanding environmental considerations, hermetically encapsulated apparatus deteriorates."
    assert textstat.flesch_kincaid_grade(hard) > AGE_14_GRADE


def test_the_guide_has_all_steps_cautions_and_drawings():
    html = of_guide("fitting_guide")
    said = " ".join(words_of(html).split())
    for _, step in GUIDE.steps:
        assert step.text.rstrip(".") in said
    for caution in GUIDE.cautions:
        assert caution.text.rstrip(".") in said
    beside = [set(drawings(GUIDE, step)) for _, step in GUIDE.steps]
    # A drawing that stands beside the step before is not printed again.
    assert html.count("<img ") == sum(len(new - old) for old, new in pairwise([set(), *beside]))


def test_each_caution_stands_beside_its_step_on_the_phone():
    shown = data_of(of_guide("field_card_phone"))
    way = [shown["steps"][at] for at in shown["ways"]["fit|push-to-lock|down"]]
    for (_, step), told in zip(GUIDE.steps, way, strict=True):
        assert told["parts"] == list(step.parts)
        assert [caution["text"] for caution in told["cautions"]] == [caution.text for caution in step.warnings]


def test_each_caution_stands_in_its_step_before_what_is_to_be_done():
    name = "fitting_guide"
    html = " ".join(of_guide(name).replace("&#39;", "'").split())
    for _, step in GUIDE.steps:
        beside = html.partition(step.text)[0].rpartition("<li>")[2]
        assert all(caution.text in beside for caution in step.warnings)
        assert beside.count("Warning: ") == len(step.cautions)


def test_the_phone_page_has_every_step_and_every_check_and_no_caution_of_other_cameras():
    works = [guide("box", "push-to-lock", "down", work) for work in WORKS]
    said = " ".join(words_of(page("field_card_phone", works[0])).split())
    parts = [part for made in works for _, step in made.steps for part in step.parts]
    for text in (*parts, *(check.text for check in CHECKS)):
        assert text.rstrip(".") in said
    apply = {caution for made in works for caution in made.cautions}
    for caution in CAUTIONS.values():
        assert (caution.text.rstrip(".") in said) == (caution in apply)


def test_the_card_that_loses_its_power_with_the_network_lead_is_told_of_wherever_the_lead_is_pulled():
    told = [*field_card(GUIDE)["prove"], *(check.text for check in CHECKS)]
    pulls = [text for text in told if "pull its" in text.lower()]
    assert len(pulls) == 2
    for text in pulls:
        assert re.search(
            r"supply of its own.*[Pp]owered by that lead.*leave it in.*[Cc]ut the link to the recorder", text
        )
    assert not [text for text in told if "Network pulled" in text]


def test_recording_is_stopped_before_any_power_is_switched_off():
    (restart,) = (check.text for check in CHECKS if check.key == "restarted")
    assert restart.index("stop recording") < restart.index("switch off")
    card = field_card(guide("dome", work="swap"))["before"]
    assert card.index("Clock compared. Recording stopped. Card unmounted, if offered.") < card.index(
        "Mains is for a licensed electrician. Network port off and tagged."
    )


@pytest.mark.parametrize("work", WORKS)
def test_a_wallet_card_says_what_belongs_to_its_work_and_housing(work):
    card = field_card(guide("box", work=work))
    said = " ".join(line for part in card.values() for line in part)
    assert list(card) == ["before", work, "close", "prove"]
    assert ("Entered in the log with serial" in said) == (work != "remove")
    assert ("evidence" in said) == (work != "fit")
    assert "Clear cover" not in said
    assert "may turn" not in said


@pytest.mark.parametrize("work", WORKS)
def test_the_wallet_card_secures_a_ball_before_its_ring_is_loosened_and_frees_it_last(work):
    card = field_card(guide("gimbal dome", work=work))
    (held,) = (at for at, line in enumerate(card["before"]) if "Ball on a strap, or held" in line)
    (opened,) = (at for at, line in enumerate(card["before"]) if "Open it" in line)
    (shut,) = (at for at, line in enumerate(card["close"]) if "All screws by hand" in line)
    (freed,) = (at for at, line in enumerate(card["close"]) if "Then its strap off" in line)
    assert held < opened
    assert shut < freed
    assert "Ball" not in str(field_card(guide("dome", work=work)))


def test_a_card_that_is_taken_out_has_no_sheet_of_checks_after_fitting(tmp_path):
    written = write_handouts(guide("dome", "slide-in", work="remove"), tmp_path, with_pdf=False)
    assert [path.stem for path in written] == ["fitting_guide", "field_card_phone", "field_card_wallet"]


def pages_of(name, made=GUIDE):
    """Print a hand-out and give its pages; where WeasyPrint finds no Pango, leave the test."""
    needs_printing()
    return pypdf.PdfReader(io.BytesIO(pdf(page(name, made)))).pages


@pytest.mark.pdf
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("work", WORKS)
def test_the_wallet_card_is_a_front_and_a_back_of_85_by_54_mm_that_hold_all(work, language):
    made = guide("ptz dome", "push-to-lock", "down", work, language=language)
    sides = pages_of("field_card_wallet", made)
    assert len(sides) == 2
    for side in sides:
        # 1 point is 1/72 inch, 1 inch is 25.4 mm.
        assert float(side.mediabox.width) * 25.4 / 72 == pytest.approx(85, abs=0.1)
        assert float(side.mediabox.height) * 25.4 / 72 == pytest.approx(54, abs=0.1)
    for side, parts in zip(sides, (("before", work), ("close", "prove")), strict=True):
        said = " ".join(side.extract_text().split())
        for part in parts:
            assert all(text in said for text in field_card(made)[part])
        assert say(TYPICAL, language) in said


@pytest.mark.pdf
@pytest.mark.parametrize(("language", "first"), [("en", "Page 1 of"), ("de", "Seite 1 von")])
def test_a_printed_page_says_which_page_it_is_of_how_many(language, first):
    made = guide("bullet", "slide-in", "down", language=language)
    sheets = pages_of("fitting_guide", made)
    assert f"{first} {len(sheets)}" in " ".join(sheets[0].extract_text().split())


@pytest.mark.pdf
def test_the_commissioning_sheet_is_one_page_with_a_box_for_each_check():
    (sheet,) = pages_of("commissioning_sheet")
    said = " ".join(sheet.extract_text().split())
    assert of_guide("commissioning_sheet").count("\u2610") + of_guide("commissioning_sheet").count("&#9744;") == 10
    assert all(check.title in said for check in CHECKS)
    for what in ("Camera", "Serial number", "Fitted on", "Card taken out", "Signature"):
        assert what in said


@pytest.mark.pdf
def test_the_german_commissioning_sheet_is_one_page_too_and_has_no_english_word_of_the_sheet():
    (sheet,) = pages_of("commissioning_sheet", guide("ptz dome", "push-to-lock", "down", language="de"))
    said = " ".join(sheet.extract_text().split())
    assert all(say(check.title, "de") in said for check in CHECKS)
    assert not re.search("Serial|Signature|Tick|Check|Warning|the card", said)


@pytest.mark.pdf
@pytest.mark.parametrize("language", LANGUAGES)
def test_no_page_of_the_printed_guide_holds_a_title_alone(language):
    made = guide("ptz dome", "push-to-lock", "down", "swap", language=language)
    words = [len(sheet.extract_text().split()) for sheet in pages_of("fitting_guide", made)]
    assert min(words) > 40, words  # one that holds but the title of a section has some 25, with its running heads


@pytest.mark.pdf
@pytest.mark.parametrize("made", [guide("dome", "push-to-lock", "down", "swap"), guide("gimbal dome", "push-to-lock")])
def test_no_step_stands_alone_on_a_page_of_the_printed_guide(made):
    sheets = [sheet.extract_text() for sheet in pages_of("fitting_guide", made)]
    steps = [re.findall(r"^(\d+)\s?(?=[A-Z])", sheet, re.MULTILINE) for sheet in sheets]
    assert [int(n) for sheet in steps for n in sheet] == list(range(1, len(made.steps) + 1))
    assert all(len(sheet) > 1 for sheet in steps[1:]), steps  # the first one has the tools


@pytest.mark.landing
def test_hand_outs_are_written_whole_or_not_at_all(tmp_path):
    assert len(write_handouts(GUIDE, tmp_path / "out", with_pdf=False)) == 4
    (tmp_path / "file").write_text("mine")
    with pytest.raises(InputError, match="a folder"):
        write_handouts(GUIDE, tmp_path / "file", with_pdf=False)
    (tmp_path / "in_the_way" / "field_card_phone.html").mkdir(parents=True)
    with pytest.raises(InputError, match="a folder of that name"):
        write_handouts(GUIDE, tmp_path / "in_the_way", with_pdf=False)
    assert len(list((tmp_path / "in_the_way").iterdir())) == 1


def test_without_weasyprint_nothing_is_written_and_the_mend_is_told(tmp_path, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "weasyprint", None)
    with pytest.raises(InputError, match=r"edgestore\[proposal\]"):
        write_handouts(GUIDE, tmp_path / "out")
    assert not (tmp_path / "out").exists()


@pytest.mark.pdf
@pytest.mark.landing
def test_the_command_writes_html_and_pdf(tmp_path, capsys):
    needs_printing()
    assert main(["handouts", "--out", str(tmp_path / "out"), "--housing", "bullet", "--slot", "slide-in"]) == 0
    names = sorted(path.name for path in (tmp_path / "out").iterdir())
    assert names == [
        "commissioning_sheet.html",
        "commissioning_sheet.pdf",
        "field_card_phone.html",
        "field_card_wallet.html",
        "field_card_wallet.pdf",
        "fitting_guide.html",
        "fitting_guide.pdf",
    ]
    assert pypdf.PdfReader(tmp_path / "out" / "fitting_guide.pdf").pages
    told = "Fit a first card. Bullet with a base flap, slide-in slot. These steps are typical."
    assert told in capsys.readouterr().out


def test_the_command_writes_the_guide_of_the_work_asked_for(tmp_path, capsys):
    assert main(["handouts", "--out", str(tmp_path), "--slot", "slide-in", "--work", "swap", "--no-pdf"]) == 0
    assert "Swap the card. Any other housing" in capsys.readouterr().out
    assert "How do I swap the card?" in (tmp_path / "fitting_guide.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "words", [["--housing", "doom"], ["--slot", "push"], ["--facing", "north"], ["--work", "mend"]]
)
def test_the_command_refuses_an_unknown_word_and_writes_nothing(tmp_path, capsys, words):
    assert main(["handouts", "--out", str(tmp_path / "out"), *words]) == 2
    assert "must be one of" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
