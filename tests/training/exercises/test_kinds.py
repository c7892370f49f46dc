"""Every answer is recomputed from the words of its question, by fractions, for 1 000 seeds of each kind."""

import re
import tomllib
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import cache
from importlib.resources import files
from itertools import combinations

import pytest

from edgestore.training.exercises.draws import seed_of
from edgestore.training.exercises.kinds import KINDS, exercise
from edgestore.training.exercises.marking import MISTAKE, RIGHT, mark
from edgestore.training.exercises.questions import LETTERS, Case

SEEDS = range(1000)
SUMS = [
    "hours_held",
    "capacity_wanted",
    "gib_shown",
    "gb_on_screen",
    "mbyte_s_needed",
    "cap_for_label",
    "motion_part",
    "writes_a_year",
    "life_by_endurance",
    "life_by_hours",
    "backup_or_alone",
]
CASES = ["what_is_recorded", "choose_card", "spot_fault", "prove_it"]
TOPICS = {"what_is_recorded": "records", "spot_fault": "installations", "prove_it": "proof"}

# 3600 s of 1 Mbit/s are 3 600 000 000 bits, 450 000 000 bytes, 0.45 GB.
GB_H = Fraction(3_600 * 10**6, 8 * 10**9)
YEAR_H = 24 * Fraction(36525, 100)

# Mbyte/s: SD Physical Layer Simplified Specification v4.10, Table 4-59; SD Association, speed-class page.
MARKS = {"C4": 4, "C6": 6, "C10": 10, "U1": 10, "V10": 10, "U3": 30, "V30": 30, "V60": 60, "V90": 90}


@cache
def of_all_seeds(kind):
    """Make the exercises of a kind, once for all tests."""
    return [exercise(kind, seed) for seed in SEEDS]


@pytest.fixture(params=KINDS)
def thousand(request):
    return of_all_seeds(request.param)


def of_kind(*names):
    return pytest.mark.parametrize("thousand", names, indirect=True)


def told(pattern, text):
    """Give the one number that a question states in these words."""
    (found,) = re.findall(pattern, text)
    return Fraction(found)


def mean_of(text):
    return told(r"writes ([\d.]+) Mbit/s on average", text)


def cap_of(text):
    return told(r"a cap of ([\d.]+) Mbit/s", text)


def recorded_of(text):
    return told(r"records ([\d.]+) % of the time", text) / 100


def hours_to_hold(text, *, alone):
    """Give all the days wanted where the card is alone, else the longest fault, by a real calendar."""
    if alone:
        return told(r"wants (\d+) days", text) * 24
    began, day, over = re.search(r"from Friday (\d+):00 to (\w+) (\d+):00", text).groups()
    friday = datetime(2026, 1, 2, int(began))
    end = next(
        friday + timedelta(hours=h) for h in range(7 * 24) if f"{friday + timedelta(hours=h):%A %-H}" == f"{day} {over}"
    )
    return Fraction((end - friday) // timedelta(hours=1))


def by_hand(kind, text):
    if kind == "hours_held":
        return told(r"a card of ([\d.]+) GB", text) / (mean_of(text) * GB_H)
    if kind == "capacity_wanted":
        return told(r"wants ([\d.]+) days", text) * 24 * mean_of(text) * GB_H * recorded_of(text)
    if kind == "gib_shown":
        return told(r"copies ([\d.]+) GB", text) * 10**9 / 2**30
    if kind == "gb_on_screen":
        return told(r"“([\d.]+) GB”", text) * 2**30 / 10**9
    if kind == "cap_for_label":
        weak, strong = re.search(r"small marks: (\w+) and (\w+)\.", text).groups()
        return Fraction(max(MARKS[weak], MARKS[strong]) * 8) / told(r"shall be (\d+) times the cap", text)
    if kind == "backup_or_alone":
        return hours_to_hold(text, alone="There is no recorder" in text) * mean_of(text) * GB_H
    if kind == "mbyte_s_needed":
        return cap_of(text) / 8
    if kind == "motion_part":
        kept = told(r"of ([\d.]+) s each", text) + told(r"keeps ([\d.]+) s", text) + told(r"and ([\d.]+) s after", text)
        return told(r"sees ([\d.]+) events", text) * kept / 3600 * 100
    if kind == "writes_a_year":
        return mean_of(text) * GB_H * YEAR_H * recorded_of(text) / 1000
    if kind == "life_by_endurance":
        year_tb = mean_of(text) * GB_H * YEAR_H * recorded_of(text) / 1000
        return told(r"endurance ([\d.]+) TB written", text) / year_tb
    rated = re.search(r"rated for (\d+) hours of recording at (\d+) Mbit/s", text)
    return Fraction(rated[1]) * Fraction(rated[2]) / mean_of(text) / YEAR_H


def known_mistakes_by_hand(kind, text):
    """Give the answers that the mistakes named in the brief lead to, where the kind can have them."""
    answer = by_hand(kind, text)
    always = {"hours_held": 1 / Fraction(8), "capacity_wanted": 8, "mbyte_s_needed": 64, "writes_a_year": 8}
    found = [answer * always[kind]] if kind in always else []
    if kind == "life_by_endurance":
        found.append(answer / 8)
    if kind in ("hours_held", "life_by_endurance", "life_by_hours"):
        found.append(answer * mean_of(text) / cap_of(text))
    if kind in ("capacity_wanted", "writes_a_year"):
        found.append(answer * cap_of(text) / mean_of(text))
        found.append(answer / recorded_of(text))
    if kind == "life_by_endurance":
        found.append(answer * recorded_of(text))
    if kind == "backup_or_alone":
        found.append(answer * 8)
        found.append(answer * cap_of(text) / mean_of(text))
        found.append(hours_to_hold(text, alone="There is no recorder" not in text) * mean_of(text) * GB_H)
    if kind == "gb_on_screen":
        found.append(told(r"“([\d.]+) GB”", text))
        found.append(answer * (Fraction(10**9, 2**30)) ** 2)
    if kind == "cap_for_label":
        found.append(told(r"up to (\d+) MB/s", text) * 8 / 10)
        found.append(answer * 10)
        found.append(answer / 8)
    if kind in ("hours_held", "capacity_wanted"):
        found.append(answer * 10**9 / 2**30)
    if kind == "gib_shown":
        found.append(answer * 2**30 / 10**9)
    return found


def rounded(value, decimals):
    """Round a fraction to a number of decimals, halves up, in whole numbers alone."""
    tenths = (2 * value * 10**decimals + 1) // 2
    return Decimal(int(tenths)).scaleb(-decimals)


@pytest.mark.parametrize("kind", SUMS)
def test_the_answer_to_a_sum_is_what_fractions_give_from_the_words_of_its_question(kind):
    for seed, made in enumerate(of_all_seeds(kind)):
        assert Decimal(made.answer) == rounded(by_hand(kind, made.question), made.decimals), (seed, made.question)


@pytest.mark.parametrize("kind", SUMS)
def test_the_rounding_that_is_asked_for_leaves_no_doubt(kind):
    for seed, made in enumerate(of_all_seeds(kind)):
        last_place = by_hand(kind, made.question) * 10**made.decimals % 1
        assert abs(last_place - Fraction(1, 2)) > Fraction(4, 100), (seed, made.question)
        words = {0: "rounded to a whole number", 1: "with one decimal", 2: "with two decimals"}[made.decimals]
        assert made.question.endswith(f"Answer in {made.unit}, {words}.")


@pytest.mark.parametrize("kind", SUMS)
def test_the_mistakes_everybody_makes_are_among_the_known_ones(kind):
    for seed, made in enumerate(of_all_seeds(kind)):
        known = {Decimal(answer) for answer in made.mistakes}
        for value in known_mistakes_by_hand(kind, made.question):
            wanted = rounded(value, made.decimals)
            assert any(abs(wanted - one) <= made.tolerance for one in known), (seed, made.question, wanted)


@of_kind(*SUMS)
def test_wrong_answers_differ_from_the_answer_and_from_each_other(thousand):
    for made in thousand:
        assert len(made.mistakes) == len(made.slips)
        answers = [Decimal(answer) for answer in (made.answer, *made.mistakes)]
        # What is taken for one of them, within the tolerance, is never taken for another.
        assert min(abs(one - other) for one, other in combinations(answers, 2)) > 2 * made.tolerance
        assert min(answers) > 0


@of_kind("writes_a_year", "life_by_endurance")
def test_a_year_of_365_days_is_within_the_tolerance(thousand):
    # The question says 365.25; whoever takes 365 is 0.07 % off, which is a rounding here.
    off = [made for made in thousand if abs(made.value) * (1 - 365 / 365.25) > float(made.tolerance)]
    assert off == []


@of_kind(*SUMS)
def test_a_sum_has_worked_steps_with_the_answer_in_them_and_hints_in_order(thousand):
    for made in thousand:
        assert any(f"{made.answer} {made.unit}" in step for step in made.steps), made
        assert len(made.hints) == 3
        assert not any(re.search(rf"(?<![\d.]){re.escape(made.answer)}(?![\d.])", hint) for hint in made.hints[:1])
        assert all(made.mistakes.values())
        assert all(step.count("=") <= 1 for step in made.steps), made.steps


def test_what_a_class_did_is_said_of_every_known_mistake_in_words_that_follow_a_count():
    # "7 of 12 took the cap for the mean": a verb in the past, no address, no full stop.
    for kind in KINDS:
        for made in of_all_seeds(kind)[:50]:
            assert set(made.did) == set(made.mistakes)
            for did in made.did.values():
                assert re.match("took|gave|got|left|turned|divided|chose|did not see", did), did
                assert "You" not in did.partition("“")[0]


@pytest.mark.parametrize("kind", KINDS)
def test_every_answer_and_every_known_mistake_is_recognised_by_the_marking(kind):
    for seed, made in enumerate(of_all_seeds(kind)):
        assert mark(made, f"{made.answer} {'' if made.unit == 'letter' else made.unit}").verdict == RIGHT
        assert mark(made, made.answer.replace(".", ",")).verdict == RIGHT
        for answer, why in made.mistakes.items():
            marked = mark(made, answer)
            assert marked.verdict == MISTAKE, (seed, answer)
            assert why in marked.text


def test_the_worked_steps_are_true_equations():
    found = 0
    for kind in SUMS:
        for seed, made in enumerate(of_all_seeds(kind)[:200]):
            for step in made.steps:
                figures = re.sub(r"(?<=\d) (?=\d{3})", "", re.sub(r"[A-Za-z'][A-Za-z/']*", "", step))
                for left, shown in re.findall(r"([\d.]+(?:\s*[×÷+]\s*[\d.]+)+)\s*= (\d+(?:\.\d+)?)", figures):
                    found += 1
                    plain = left.replace("×", "*").replace("÷", "/")
                    value = eval(re.sub(r"[\d.]+", lambda number: f"Fraction('{number[0]}')", plain))
                    places = len(shown.partition(".")[2])
                    # A step that goes on from a figure shown with six digits may be off in its last place.
                    slack = Fraction(6, 10) / 10**places + value / 10**5
                    assert abs(value - Fraction(shown)) <= slack, (kind, seed, step)
    assert found > 200 * len(SUMS)


def parsed_offer(text):
    found = re.fullmatch(r"(\d+) GB, speed class (\w+), endurance (\d+) TB written, (\d+) credits", text)
    return int(found[1]), MARKS[found[2]], int(found[3]), int(found[4])


def test_the_card_to_choose_is_the_cheapest_that_meets_all_and_nothing_is_near_the_edge():
    for seed, made in enumerate(of_all_seeds("choose_card")):
        text = made.question
        on_motion = re.search(r"on motion, (\d+) % of the time", text)
        recorded = Fraction(on_motion[1]) / 100 if on_motion else Fraction(1)
        gb_h = mean_of(text) * GB_H * recorded
        days, years = told(r"wants (\d+) days", text), told(r"lasts (\d+) years", text)
        meets = []
        for letter, option in zip(LETTERS, made.options, strict=True):
            capacity, mbyte_s, tbw, price = parsed_offer(option)
            ratios = (
                capacity / (gb_h * 24 * days),
                Fraction(mbyte_s * 8) / (10 * cap_of(text)),
                tbw * 1000 / (gb_h * YEAR_H * years),
            )
            assert all(abs(ratio - 1) > Fraction(4, 100) for ratio in ratios), (seed, letter)
            if min(ratios) > 1:
                meets.append((price, letter))
        prices = [price for price, _ in meets]
        assert len(meets) == len(set(prices)) == 2, seed
        assert made.answer == min(meets)[1], seed


def is_wrong(line, points):
    """Say whether a line of an installation is wrong: by the data file, or by its own figures."""
    for point in points:
        if line in (point["right"], point["wrong"]):
            return line == point["wrong"]
    if found := re.search(r"has (\d+) GB.* writes ([\d.]+) Mbit/s .*holds some (\d+) hours", line):
        capacity, mean, said = map(Fraction, found.groups())
        return abs(said * mean * GB_H / capacity - 1) > Fraction(1, 20)
    if found := re.search(r"label says (\d+) GB.* shows some (\d+) GiB(.*)", line):
        assert abs(Fraction(found[1]) * 10**9 / 2**30 - Fraction(found[2])) <= Fraction(1, 2)
        return "fake" in found[3]
    if found := re.search(r"marked (\w+)\. That mark promises (\d+) (\w+)/s, which is ([\d.]+) (\w+)/s", line):
        assert Fraction(found[4]) == Fraction(found[2]) * (8 if found[3] == "Mbyte" else Fraction(1, 8))
        return (Fraction(found[2]), found[3]) != (MARKS[found[1]], "Mbyte")
    if found := re.search(r"the last (\d+) (hours|days)\. Something was seen (\d+) hours ago\. (.*)", line):
        holds = int(found[1]) * (24 if found[2] == "days" else 1)
        return (holds > int(found[3])) != (found[4] == "It is still on the card.")
    if found := re.search(r"cut from (\d+:\d+) to (\d+:\d+)\. A clip on the card (runs|ends)", line):
        return found[3] == "ends"
    if found := re.search(r"card of (\d+) GB was fitted.*some (\d+) GiB", line):
        return abs(Fraction(found[2]) * 2**30 / (Fraction(found[1]) * 10**9) - 1) > Fraction(1, 20)
    found = re.search(r"endurance is (\d+) TB written.* writes ([\d.]+) Mbit/s .*some ([\d.]+) years", line)
    tbw, mean, said = map(Fraction, found.groups())
    return abs(said * mean * GB_H * YEAR_H / 1000 / tbw - 1) > Fraction(1, 10)


def points_of(kind) -> list[dict[str, str]]:
    text = files("edgestore.training.exercises").joinpath(f"{TOPICS[kind]}.toml").read_text("utf-8")
    return tomllib.loads(text)["point"]


@pytest.mark.parametrize("kind", TOPICS)
def test_exactly_one_of_five_statements_is_wrong_and_it_is_the_answer(kind):
    points = points_of(kind)
    for seed, made in enumerate(of_all_seeds(kind)):
        wrong = [letter for letter, line in zip(LETTERS, made.options, strict=True) if is_wrong(line, points)]
        assert wrong == [made.answer], (seed, made.options)
        assert made.answer not in made.hints[-1].rpartition(":")[2], seed


@of_kind(*CASES)
def test_each_other_letter_of_a_case_has_its_own_reason_why_it_is_not_the_answer(thousand):
    for made in thousand:
        assert isinstance(made, Case)
        assert len(set(made.options)) == len(made.options) == 5
        assert set(made.mistakes) | {made.answer} == set(LETTERS)
        assert made.answer not in made.mistakes
        assert all(made.whys)


@pytest.mark.parametrize("kind", TOPICS)
def test_every_point_of_practice_says_where_it_comes_from(kind):
    points = points_of(kind)
    assert len(points) >= 8
    for point in points:
        assert set(point) == {"source", "right", "wrong", "why_right", "why_wrong"}
        assert all(point.values())


def test_all_letters_are_the_answer_about_equally_often():
    for kind in CASES:
        answers = [made.answer for made in of_all_seeds(kind)]
        # 200 expected of each letter; a deviation of 5 standard deviations, sqrt(1000 x 0.2 x 0.8) = 12.6, is 63.
        assert all(137 <= answers.count(letter) <= 263 for letter in LETTERS)


@pytest.mark.parametrize("kind", KINDS)
def test_learners_have_exercises_of_their_own(kind):
    asked = {(made.question, getattr(made, "options", ())) for made in of_all_seeds(kind)}
    assert len(asked) >= 150


@pytest.mark.parametrize("kind", KINDS)
def test_the_next_number_is_another_exercise_and_the_same_one_comes_again(kind):
    first, second = exercise(kind, 7, 1), exercise(kind, 7, 2)
    assert first != second
    assert exercise(kind, 7, 1) == first


def test_a_seed_gives_the_same_numbers_in_every_version():
    # Not a proof but a guard: whoever changes these changes the class sheets that are in use. numpy promises the
    # raw integers of PCG64 (its docstring: Compatibility Guarantee).
    assert {kind: exercise(kind, 412322).answer for kind in KINDS} == PINNED
    assert seed_of("Robin") == 412322


PINNED = {
    "what_is_recorded": "D",
    "hours_held": "33.9",
    "capacity_wanted": "254",
    "gib_shown": "545.8",
    "gb_on_screen": "387.5",
    "mbyte_s_needed": "1.94",
    "cap_for_label": "24.0",
    "motion_part": "37.3",
    "writes_a_year": "6.7",
    "life_by_endurance": "5.6",
    "life_by_hours": "12.5",
    "backup_or_alone": "194",
    "choose_card": "D",
    "spot_fault": "E",
    "prove_it": "C",
}
