"""What page 1 says to somebody who must decide, and in which language."""

import math
import re
from dataclasses import replace
from datetime import date

import pytest
from proposals import crowded, demo

from edgestore.documents import conditions, content
from edgestore.documents.content import proposal
from edgestore.documents.first_page import fitted
from edgestore.documents.front import front_page
from edgestore.documents.language import STAYS, language
from edgestore.documents.page import page
from edgestore.inputs.settings import CardSpecification
from edgestore.plan.read import read_lists
from edgestore.plan.saved_beside import with_saved_answers
from edgestore.plan.site_plan import site_plan
from edgestore.plan.untested_band import MIDDLE, WHOLE_RANGE


def test_humidity_is_asked_as_the_settings_state_it_or_its_range_is_asked_for():
    told = dict(conditions.asked_of_offers(CardSpecification(humidity_high_percent=95)))
    assert told["Humidity"] == "up to 95 % relative humidity while recording, without dew"
    assert dict(conditions.asked_of_offers(CardSpecification()))["Humidity"].startswith("state the range")


@pytest.mark.landing
def test_what_stays_english_on_page_1_is_marked_as_english(monkeypatch):
    # German fixed texts and no pattern at all: every warning, finding and remedy of the plan stays as it is.
    german = replace(language("de"), patterns=())
    monkeypatch.setattr(content, "language", lambda code: german)
    made = proposal(crowded().plan, replace(crowded().front, language="de"))
    summary = page(made).partition('<section class="summary">')[2].partition("</section>")[0]
    marked = re.sub(r'<span lang="en">.*?</span>', "", summary, flags=re.DOTALL)
    # Names of the cameras hold English words of their own.
    assert summary.count('<span lang="en">') >= 2
    assert not re.search(r"lower the rate|no cost of its own|is known for|read the cap", marked, flags=re.IGNORECASE), (
        marked
    )


def test_page_1_says_what_the_first_year_costs_why_now_and_what_fewer_kinds_would_cost():
    facts = {what: re.sub("(?<=[0-9])\N{NO-BREAK SPACE}(?=[0-9])", "", text) for what, text in demo().first_page.facts}
    first = demo().visits.bill.years.iloc[0]
    assert facts["In the first year"].startswith(f"{first['total']:.0f} credits: cards {first['cards_cost']:.0f},")
    due = demo().visits.replacements.table["due_for"]
    broken = due.isin(["holds too few days", "cannot keep up"]).sum()
    assert facts["Why now"].startswith(f"{broken} of {len(due)} cards in service now")
    table = demo().plan.front.table.set_index("kinds")
    assert table["assured"][2] < table["assured"][3] == table["assured"][6]
    more = table["cost"][3] - table["cost"][6]
    assert facts["With fewer kinds"] == f"3 kinds would assure as many, for {more:.0f} credits more"


def test_no_warning_of_page_1_repeats_which_cameras_have_no_card():
    told = demo().first_page
    assert any("not served" in text for text in told.left)
    assert not any(text.startswith("No card of the list can serve") for text in told.warnings)


def test_page_1_says_how_firmly_the_cameras_are_assured_and_what_all_keep_together():
    facts = {what: text.replace("\N{NO-BREAK SPACE}", " ") for what, text in demo().first_page.facts}
    band = demo().plan.untested_band
    whole, middle = (int((band["assured"] == how).sum()) for how in (WHOLE_RANGE, MIDDLE))
    least = math.floor(100 * band.loc[band["assured"] != "", "chance_kept_low"].min())
    assert facts["How firmly assured"] == (
        f"{whole} over the whole range of what is assumed of an untested card; {middle} on its middle figures, with"
        f" {least} % at worst"
    )
    kept = math.floor(100 * demo().plan.all_together.table.iloc[1]["all_keep"])
    assert facts["All of them together"].startswith(f"keep what is asked with {kept} % (")


def test_page_1_says_in_both_languages_that_saved_answers_would_change_the_card_of_cameras():
    warned = with_saved_answers(demo().plan)
    for code, cameras in (("en", "Saved answers of 14 cameras"), ("de", "Gespeicherte Antworten von 14 Kameras")):
        made = replace(demo(), plan=warned, front=replace(demo().front, language=code))
        shown = fitted(made.first_page, made.front.title, has_logo=True, has_identity=True, language=made.language)
        assert shown.warnings[0].startswith(cameras)
        assert "Gangway" in shown.warnings[0]
        assert STAYS not in shown.warnings[0]


def test_the_headline_says_how_many_cards_are_fitted_now_and_when_the_next_one_is_due():
    # Of the twelve cards planned for the demo six replace cards in service that break the promise, on the first day.
    rows = demo().visits.replacements.table
    later = rows.loc[(rows["replace_with"] != "") & (rows["replace_on"] > str(demo().front.date)), "replace_on"]
    english = f"Fit 6 cards now, the next by {min(later)}, in all 12 cards of 6 kinds: 12 of 14 cameras then keep"
    assert demo().first_page.answer.startswith(english)
    german = replace(demo(), front=replace(demo().front, language="de")).first_page.answer
    assert german.startswith("Jetzt 6 Karten einbauen, die nächste bis zum ")


def test_the_headline_orders_no_card_now_where_all_cards_in_service_stay(tmp_path):
    # 64 GB hold 7 days of 0.1 Mbit/s (7.6 GB) eight times over, and both cards went in three weeks ago.
    (tmp_path / "cameras.csv").write_text("camera,mean_mbit_s,slot_bus\na,0.1,sdr104\nb,0.1,sdr104\n")
    (tmp_path / "cards.csv").write_text("card,capacity_gb,speed_class,endurance_tbw\nlarge,64,V30,100\n")
    (tmp_path / "log.csv").write_text("camera,card,fitted\na,large,2026-10-30\nb,large,2026-10-30\n")
    (tmp_path / "site.toml").write_text(
        '[service]\nlog = "log.csv"\nas_of = 2026-11-20\n[document]\ndate = 2026-11-20\n'
    )
    plan = site_plan(read_lists(*(tmp_path / name for name in ("cameras.csv", "cards.csv", "site.toml"))))
    made = proposal(plan, replace(demo().front, date=plan.site.as_of.date()))
    first = min(made.visits.replacements.table["replace_on"])
    assert first > "2028"
    assert made.first_page.answer.startswith(f"Fit no card now, the first by {first}, in all 2 cards of 1 kind:")
    german = replace(made, front=replace(made.front, language="de")).first_page.answer
    day = ".".join(reversed(first.split("-")))
    assert german.startswith(f"Jetzt keine Karte einbauen, die erste bis zum {day}, insgesamt 2 Karten")


@pytest.mark.parametrize("code", ["en", "de"])
def test_the_smallest_margin_stands_on_page_1_whatever_the_room_and_what_matters_least_goes_first(code):
    made = replace(demo(), front=replace(demo().front, language=code))
    shown = fitted(made.first_page, made.front.title, has_logo=True, has_identity=True, language=made.language)
    say = made.language.say
    assert say("Smallest margin") in dict(shown.facts)
    assert list(dict(made.first_page.facts))[-1] == say("With fewer kinds")
    assert shown.facts == made.first_page.facts[: len(shown.facts)]
    assert len(shown.facts) < len(made.first_page.facts)


def test_a_card_of_a_kind_that_is_not_listed_is_not_said_to_break_the_promise(tmp_path):
    lists = {
        "cameras.csv": "camera,mean_mbit_s,cap_mbit_s\nGate,1,4\n",
        "cards.csv": "card,capacity_gb,speed_class,endurance_tbw\nlarge,512,V30,1000\n",
        "log.csv": "camera,card,fitted,removed,why\nGate,old kind,2024-03-01,,\n",
        "site.toml": '[requirements]\nlife_years = 1\n[service]\nlog = "log.csv"\nas_of = 2026-03-01\n',
    }
    for name, text in lists.items():
        (tmp_path / name).write_text(text)
    plan = site_plan(read_lists(*(tmp_path / name for name in ("cameras.csv", "cards.csv", "site.toml"))))
    made = proposal(plan, front_page(plan.site.settings.document, date(2026, 3, 1)))
    assert dict(made.first_page.facts)["Why now"] == (
        "1 of 1 cards in service are of a kind that the card list does not have: due at once"
    )
