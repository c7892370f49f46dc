"""The assessment sheet: its points, what ends it, its cautions, and no name of anybody."""

import math
import re

import textstat

from edgestore.training.exercises.assessment import assessment_page, parts, stops
from edgestore.training.fitting.cautions import RULE

EXERCISE_GRADE = 6


def test_the_four_parts_stand_in_the_order_of_the_work_and_ask_four_fifths_of_their_points():
    assert [part.title for part in parts()] == ["Fit", "Swap", "Seal", "Prove"]
    for part in parts():
        assert 3 <= len(part.points) <= 6
        assert part.most == 2 * len(part.points)
        assert part.least == math.ceil(0.8 * part.most)


def test_what_ends_it_names_the_climb_the_lines_above_isolation_force_and_evidence():
    text = " ".join(stops())
    for words in ("harness", "rescue plan", "overhead lines", "permit", "was not looked over"):
        assert words in text
    for words in ("ladder is footed and held", "isolated and proved dead", "Uses force", "Works alone", "evidence"):
        assert words in text


def test_the_page_has_every_point_stop_and_caution_with_the_rule_and_lines_to_sign():
    page = assessment_page().replace("&#x27;", "'")
    assert RULE in page
    for part in parts():
        assert part.cautions
        for text in (*part.points, *(one.text for one in part.cautions)):
            assert text in page
    assert all(text in page for text in stops())
    assert all(words in page for words in ("Assessor signs", "Learner signs"))
    # 6 + 4 + 3 + 5 points, three boxes each.
    assert page.count('<td class="box">') == 3 * sum(len(part.points) for part in parts()) == 3 * 19


def test_the_cautions_of_a_climb_and_of_evidence_stand_with_their_part():
    fit, swap, _, prove = ({one.key for one in part.cautions} for part in parts())
    assert {"height", "permit", "ladder", "lift", "overhead", "traffic", "alone", "power", "dead"} <= fit
    assert {"room", "off", "evidence", "custody"} <= swap
    assert {"prove", "privacy", "disposal"} <= prove


def test_the_page_keeps_nothing_and_asks_nothing_of_a_network():
    page = assessment_page()
    assert not re.search(r"<(script|form|input)|https?:", page)


def test_it_can_be_read_by_learners():
    texts = [*stops(), *(point for part in parts() for point in part.points)]
    assert textstat.flesch_kincaid_grade(" ".join(texts)) <= EXERCISE_GRADE
