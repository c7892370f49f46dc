"""The fitting guide on a phone, without a network and by one thumb: all that is tapped lies in the lower third."""

from datetime import date, timedelta
from pathlib import Path

import axe_playwright_python
import pytest
from playwright.sync_api import expect

from edgestore.inputs.camera_list import read_cameras
from edgestore.inputs.service_log import read_service_log
from edgestore.training.fitting.handouts import phone_page
from edgestore.training.fitting.planned import PlannedCamera, Setting

pytestmark = [pytest.mark.browser, pytest.mark.landing]

PHONE = {"width": 390, "height": 844}
LOWER_THIRD = PHONE["height"] * 2 / 3
THUMB_PX = 60
AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
RULES = "axe.run({resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'best-practice']})"
TODAY = date.today()
QUAY = PlannedCamera(
    camera='Quay "north"',
    place="the quay, left",
    housing="bullet",
    lift=False,
    card="plain",
    says="plain: 128 GB, marks C10 V30",
    bring=1,
    why_none="",
    settings=(
        Setting("cap", "Cap of the encoder, in Mbit/s", "4", "cap_mbit_s"),
        Setting("recording", "When it records", "all the time", "recording", ("continuous", "motion")),
        Setting("overwrite", "When the card is full", "overwrite the oldest footage"),
    ),
    row={"camera": 'Quay "north"', "place": "the quay, left", "housing": "bullet", "cap_mbit_s": "4", "lift": "no"},
    in_service="old kind",
    fitted="2025-01-15",
    serial="A-1",
)


@pytest.fixture
def phone(browser, tmp_path):
    """Open a page from a file on a phone that has no network."""
    opened = []

    def open_page(planned=QUAY, housing="bullet", *, before="", **chosen):
        file = tmp_path / "guide.html"
        file.write_text(phone_page(housing, planned, **chosen), encoding="utf-8")
        context = browser.browser.new_context(viewport=PHONE, has_touch=True)
        opened.append(context)
        context.set_offline(True)
        page = context.new_page()
        page.set_default_timeout(20_000)
        page.errors = []
        page.on("pageerror", lambda error: page.errors.append(str(error)))
        page.on(
            "request", lambda sent: None if sent.url.startswith(("file:", "data:")) else page.errors.append(sent.url)
        )
        if before:
            page.add_init_script(before)
        page.goto(file.as_uri())
        return page

    yield open_page
    for context in opened:
        context.close()


def in_reach(target):
    """See that a thumb reaches a control: it stands in the lower third and nowhere else."""
    box = target.bounding_box()
    assert box["y"] >= LOWER_THIRD, (target.inner_text(), box)
    assert box["y"] + box["height"] <= PHONE["height"], (target.inner_text(), box)
    return target


def tap(page, name):
    button = in_reach(page.get_by_role("button", name=name, exact=True))
    assert button.bounding_box()["height"] >= THUMB_PX
    button.tap()


def onward(page):
    in_reach(page.locator("#bar .main")).tap()


def begin(page, work, slot="push-to-lock", facing="down"):
    tap(page, "Begin")
    tap(page, work)
    tap(page, slot)
    tap(page, facing)
    tap(page, "Go on")


def title(page):
    return page.locator("#shown h1").inner_text()


def to(page, words):
    """Tap on until a screen has a title."""
    for _ in range(60):
        if words in title(page):
            return
        onward(page)
    pytest.fail(f"no screen {words}")


def rows(page, at):
    return page.locator("textarea").nth(at).input_value()


def test_a_card_is_swapped_from_start_to_record_by_the_lower_third_alone_with_the_network_off(phone):
    page = phone()
    assert "1 x plain: 128 GB, marks C10 V30" in page.locator("main").inner_text()
    begin(page, "Swap the card")
    assert title(page) == "Step 1 of 24"
    onward(page)
    in_reach(page.get_by_label("Serial number of the new card")).fill("B-2")
    to(page, "Card seen")
    to(page, "Plays back")
    tap(page, "Not right")
    in_reach(page.get_by_label("What did you find?")).fill("no export")
    tap(page, "Save")
    to(page, "Cap of the encoder")
    tap(page, "Found otherwise")
    in_reach(page.get_by_label("What did you find?")).fill("6,5 Mbit/s")
    tap(page, "Save")
    tap(page, "Set")
    tap(page, "Set")
    assert in_reach(page.get_by_label("The card that was fitted")).input_value() == "plain"
    onward(page)
    in_reach(page.get_by_label("Why was it taken out?")).select_option("planned")
    onward(page)
    onward(page)
    assert title(page) == "Record"
    log = read_service_log(rows(page, 0).encode(), TODAY).rows
    assert log[["camera", "card", "why", "serial"]].to_numpy().tolist() == [
        ['Quay "north"', "old kind", "planned", "A-1"],
        ['Quay "north"', "plain", "", "B-2"],
    ]
    assert abs(log["fitted"].iloc[1].date() - TODAY) <= timedelta(days=1)  # it may be midnight
    (camera,) = read_cameras(rows(page, 1).encode()).rows.to_dict("records")
    assert (camera["camera"], camera["place"], camera["cap_mbit_s"]) == ('Quay "north"', "the quay, left", 6.5)
    said = page.locator("main").inner_text()
    assert "Plays back and exports: no export" in said
    assert "All is ticked." in said
    assert page.errors == []


def test_the_log_rows_of_a_swap_hold_no_words_and_what_was_not_said_is_listed(phone):
    page = phone()
    begin(page, "Swap the card")
    while title(page) != "Record":
        onward(page)
    (row,) = read_service_log(rows(page, 0).encode(), TODAY).rows[["camera", "card"]].to_numpy().tolist()
    assert row == ['Quay "north"', "plain"]
    said = page.locator("main").inner_text()
    assert f"enter there removed {TODAY}" in said
    assert "All is ticked." not in said
    for missing in ("Serial number of the new card", "Why was it taken out?"):
        assert missing in said.partition("Not ticked")[2].partition("Rows for")[0]


def test_what_lies_below_the_edge_after_the_cautions_is_announced_until_it_is_seen(phone):
    page = phone()
    begin(page, "Swap the card")
    expect(page.locator(".warning").first).to_be_in_viewport(ratio=0.9)
    more, shown = page.locator("#more"), page.locator("#shown")
    last = page.locator("#shown .text").last
    expect(last).not_to_be_in_viewport(ratio=0.9)
    expect(more).to_be_visible()
    shown.evaluate("(one) => one.scrollTo(0, one.scrollHeight)")
    expect(more).to_be_hidden()
    expect(last).to_be_in_viewport(ratio=0.9)


def test_nothing_is_tapped_above_the_lower_third_on_any_screen(phone):
    page = phone()
    above = """() => [...document.querySelectorAll('button, input, select')]
      .map((e) => [e.textContent, e.getBoundingClientRect()])
      .filter(([, box]) => box.top < innerHeight * 2 / 3 || box.bottom > innerHeight).map(([text]) => text)"""
    tap(page, "Begin")
    assert page.evaluate(above) == []
    tap(page, "Take the card out")
    assert page.evaluate(above) == []
    tap(page, "slide-in")
    assert page.evaluate(above) == []
    tap(page, "hidden")
    while title(page) != "Record":
        assert page.evaluate(above) == [], title(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        onward(page)
    assert page.evaluate(above) == []


def test_the_slot_is_asked_again_when_the_housing_is_open(phone):
    page = phone()
    tap(page, "Begin")
    tap(page, "Fit a first card")
    tap(page, "I see none yet")
    tap(page, "Go on")
    to(page, "Which slot do you see?") if title(page) != "Which slot do you see?" else None
    assert page.locator("#bar button").count() == 1
    tap(page, "slide-in")
    tap(page, "up")
    assert "A slot that faces up" in page.locator("main").inner_text()
    tap(page, "Back")
    tap(page, "Back")
    assert title(page) == "Which slot do you see?"


def test_ticks_and_place_are_there_after_a_reload_and_a_tick_can_be_taken_back(phone):
    page = phone()
    begin(page, "Fit a first card")
    onward(page)
    onward(page)
    page.reload()
    assert title(page) == "Step 3 of 22"
    tap(page, "Back")
    assert "Done at 20" in page.locator("main").inner_text()
    tap(page, "Not done")
    assert "Done at 20" not in page.locator("main").inner_text()


def test_a_phone_that_refuses_to_store_says_so_and_goes_on(phone):
    page = phone(before="Storage.prototype.setItem = () => { throw new Error('refused'); };")
    expect(page.get_by_role("status")).to_contain_text("keeps no ticks")
    begin(page, "Fit a first card")
    onward(page)
    assert title(page) == "Step 2 of 22"


def test_a_camera_without_a_card_in_the_plan_has_no_way_on(phone):
    page = phone(PlannedCamera("Mast", "", "box", True, "", "", 0, "No card of the list can serve it.", (), {}), "box")
    said = page.locator("main").inner_text()
    assert "None. Do not fit a card here." in said
    assert "No card of the list can serve it." in said
    assert page.locator("button").all_inner_texts() == ["Dark page"]


def test_the_record_prints_camera_card_serial_ticks_with_times_and_a_line_to_sign(phone):
    page = phone(None, "dome", slot="slide-in", facing="up")
    tap(page, "Begin")
    tap(page, "Fit a first card")
    tap(page, "Go on")
    onward(page)
    page.get_by_label("Serial number of the new card").fill("C-3")
    to(page, "What was fitted?")
    in_reach(page.get_by_label("Name of the camera")).fill("Gate")
    in_reach(page.get_by_label("The card that was fitted")).fill("=1+1")
    onward(page)
    assert ",'=1+1," in rows(page, 0)
    page.emulate_media(media="print")
    printed = page.locator("#paper").inner_text()
    for words in (
        "Gate",
        "C-3",
        "Signature",
        "Nothing was found otherwise.",
        "Tighten the screws crosswise",
        str(TODAY.year),
    ):
        assert words in printed
    assert not page.locator(".app").is_visible()


def test_it_is_walked_by_keyboard(phone):
    page = phone()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert title(page) == "What do you do?"
    for expected in ("Which slot do you see?", "Which way does it face?", "Before you go"):
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        assert title(page) == expected
    for expected in ("Step 1 of 22", "Step 2 of 22"):
        page.keyboard.press("ArrowRight")
        assert title(page) == expected
    page.keyboard.press("ArrowLeft")
    assert title(page) == "Step 1 of 22"


@pytest.mark.parametrize("shade", ["Light", "Dark"])
def test_axe_finds_nothing_on_any_kind_of_screen(phone, shade):
    page = phone()
    if shade == "Dark":
        tap(page, "Dark page")
    page.evaluate(AXE)
    found, seen = {}, 0
    tap(page, "Begin")
    tap(page, "Swap the card")
    found |= {title(page): page.evaluate(RULES)["violations"]}
    tap(page, "push-to-lock")
    found |= {title(page): page.evaluate(RULES)["violations"]}
    tap(page, "down")
    while title(page) != "Record":
        seen += 1
        if seen in (1, 3, 15) or "Step" not in title(page):
            found |= {title(page): page.evaluate(RULES)["violations"]}
        onward(page)
    found |= {title(page): page.evaluate(RULES)["violations"]}
    assert {name: [(v["id"], v["nodes"][0]["html"][:90]) for v in bad] for name, bad in found.items() if bad} == {}
