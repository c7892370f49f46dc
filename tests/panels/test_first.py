"""The panel on what to find out first: each price moves the answer, and what is saved is what the plan writes."""

from dataclasses import replace

import pytest

from edgestore.panels import first, site
from edgestore.panels.controls import Number
from edgestore.panels.frame import Frame

CAMERAS = """camera,mean_mbit_s,cap_mbit_s,recording,events_per_h,event_s
Gate,2,4,,,
Quay,,8,motion,20,30
"""


@pytest.fixture(scope="module")
def frame(tmp_path_factory, of_two_cameras):
    """Open the panel with two cameras, of which one records on events."""
    panel = of_two_cameras(first.PANEL)
    file = tmp_path_factory.mktemp("first") / "cameras.csv"
    file.write_text(CAMERAS)
    own = [replace(one, default=str(file)) if one.name == "cameras" else one for one in panel.inputs]
    return Frame(replace(panel, inputs=tuple(own)))


def test_every_price_moves_the_answer(frame, held):
    start = frame.table.value, frame.remarks.value
    for name, control in frame.controls.items():
        if isinstance(control.spec, Number):
            was, shown = control.value, start
            for value in (control.spec.low, control.spec.high):  # a week that is dearer still may change nothing
                if shown == start:
                    control.value = value
                    shown = frame.table.value, frame.remarks.value
            assert shown != start, name
            with held(frame, control):
                control.value = was
    price = frame.controls["footage_day_price"]
    was, price.value = price.value, price.spec.low
    price.value = was
    assert (frame.table.value, frame.remarks.value) == start


def test_efforts_start_from_the_settings_as_stated_else_as_parts_of_their_visit():
    settings = b"[costs]\nvisit_price = 900\nvisit_with_lift_price = 900\n[efforts]\nask_maker_price = 15\n"
    started = first.PANEL.stated(("site.toml", settings))
    # half a visit a day of footage and a week of events, a whole one a week of footage
    assert started == {
        "footage_day_price": 450,
        "footage_week_price": 900,
        "event_log_price": 450,
        "ask_maker_price": 15,
        "broken_promise_price": 0,
    }


def test_a_price_that_moves_does_not_plan_the_site_anew(frame):
    made = site._plan.cache_info().misses
    frame.controls["footage_day_price"].value = 45
    frame.controls["footage_day_price"].value = 30
    assert site._plan.cache_info().misses == made


NAME = "what_should_we_find_out_first"


def test_what_is_saved_is_the_table_that_the_plan_writes(frame):
    saved = frame.panel.files(frame.result, [frame._figure])
    assert set(saved) == {"measure_first.csv", f"{NAME}.png", f"{NAME}.svg"}
    head = saved["measure_first.csv"].decode().splitlines()[0]
    assert head.startswith("subject,input,how,effort,effort_basis,chance_order_changes,order,likely_order")


def test_the_picture_says_in_words_what_it_shows(frame):
    assert frame._figure.alt_text().endswith(frame.result.sentence)
    assert frame.result.sentence in frame.sentence.value.replace("</strong>", "")


def test_efforts_are_in_the_currency_of_the_settings(frame, tmp_path):
    settings = frame.controls["settings"]
    stated = tmp_path / "site.toml"
    stated.write_text('[costs]\ncurrency = "crowns"\nvisit_price = 100\nvisit_with_lift_price = 300\n')
    was = settings.value
    settings.value = str(stated)
    labels = [of.label for of in frame.controls.values() if isinstance(of.spec, Number)]
    settings.value = was
    assert [label.rpartition(", ")[2] for label in labels] == ["crowns"] * 5
