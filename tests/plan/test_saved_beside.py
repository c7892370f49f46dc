"""A plan that does not use saved answers of its cameras says where these would change a card of it."""

from dataclasses import replace

from onvif_answers import SAVED, soap, summary, write
from test_happened import ago, site_of

from edgestore.plan.requirements import Requirements
from edgestore.plan.saved_beside import with_saved_answers
from edgestore.plan.site_plan import site_plan

CAMERAS = "camera,mean_mbit_s,cap_mbit_s,recording\n"
LOG = "camera,card,fitted,removed,why\n"


def planned(folder, names, hours, asked=None):
    """A site of cameras whose cards, of 90 GB for footage, go back so many hours; 2 days are asked."""
    cameras = CAMERAS + "".join(f"{name},2,8,continuous\n" for name in names)
    site = site_of(folder, cameras, LOG + "".join(f"{name},small,2025-01-01,,\n" for name in names))
    saved = {f"2026-11-20/{name}.xml": soap(summary(ago(hours), SAVED)) for name in names}
    write(folder / "answers", saved)
    return site_plan(site if asked is None else site.asking(asked), with_reasons=False)


def test_a_card_that_holds_30_h_is_too_small_for_the_48_h_asked_though_a_mean_of_2_would_fit(tmp_path):
    # Planned: 48 h x 2 Mbit/s x 0.45 GB/h = 43 GB of 90. Held: 90 GB in 30 h is 6.7 Mbit/s, and 48 h of it are 144 GB.
    plan = planned(tmp_path, ["Gate"], 30)
    assert plan.plan["card"].tolist() == ["small"]
    told = with_saved_answers(plan)
    assert told.beside == (
        "Saved answers of 1 camera, which this plan does not use, would change the card of 1: Gate. Before ordering see"
        " the page What happened? or run edgestore happened."
    )
    assert told.warnings == (told.beside, *plan.warnings)
    assert told.warnings_by_weight[0] == told.beside
    assert told.plan is plan.plan


def test_three_cameras_are_named_and_the_others_counted(tmp_path):
    told = with_saved_answers(planned(tmp_path, ["A", "B", "C", "D", "E"], 30)).beside
    assert "of 5 cameras" in told
    assert "the card of 5: A, B, C and 2 more. " in told


def test_the_longest_names_leave_it_room_on_page_1(tmp_path):
    told = with_saved_answers(planned(tmp_path, ["w" * 60, "x" * 60, "y" * 60, "z" * 60], 30)).beside
    assert len(told) <= 240  # what a warning of page 1 has


def test_nothing_is_said_where_the_answers_change_no_card_or_there_are_none(tmp_path):
    # 90 GB in 100 h is 2 Mbit/s, as planned.
    plan = planned(tmp_path, ["Gate"], 100)
    assert with_saved_answers(plan) is plan
    for file in (tmp_path / "answers" / "2026-11-20").iterdir():
        file.unlink()
    assert with_saved_answers(plan) is plan
    (tmp_path / "answers" / "2026-11-20").rmdir()
    (tmp_path / "answers").rmdir()
    assert with_saved_answers(plan) is plan


def test_lists_that_were_handed_over_without_a_place_have_no_answers_beside_them(tmp_path):
    plan = planned(tmp_path, ["Gate"], 30)
    inputs = tuple(replace(file, source=b"camera\n") for file in plan.site.inputs)
    elsewhere = replace(plan, site=replace(plan.site, inputs=inputs))
    assert with_saved_answers(elsewhere) is elsewhere


def test_what_departs_from_the_settings_stays_the_first_warning(tmp_path):
    told = with_saved_answers(planned(tmp_path, ["Gate"], 30, Requirements(retention_days=1.9)))
    assert told.site.override
    assert told.warnings[0] == told.site.override
    assert told.warnings[1] == told.beside
    assert told.warnings_by_weight[:2] == told.warnings[:2]
