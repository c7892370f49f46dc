"""The HTML document: valid, self-contained, readable by everybody, and unharmed by any text of the user."""

import itertools
import math
import re
from dataclasses import replace
from html.parser import HTMLParser

import html5lib
import pytest
from proposals import DEMO, HOSTILE, HOSTILE_TITLE, as_list, crowded, demo, hostile, once

from edgestore.documents.content import MODELS_OF_A_PLAN, proposal
from edgestore.documents.first_page import fitted
from edgestore.documents.page import TEMPLATE, page
from edgestore.documents.reading import cautions, terms, terms_used
from edgestore.look import contrast, filled
from edgestore.plan.changes import SERVICE_ASSUMPTION
from edgestore.plan.read import read_lists
from edgestore.plan.site_plan import site_plan
from edgestore.plan.warnings import OUTAGE_ASSUMPTION, grave_warnings, without_an_assured_card
from edgestore.text import visible
from edgestore.verification import own_check_files, read_checks
from edgestore.verification.quantities import CHECKABLE

SPACE = "{http://www.w3.org/1999/xhtml}"


def parse(proposal):
    return html5lib.HTMLParser(strict=True).parse(once(page, proposal))


def parsed(proposal):
    return once(parse, proposal)


def every(document, name):
    return list(document.iter(f"{SPACE}{name}"))


def words(element):
    return " ".join("".join(element.itertext()).split())


class Tags(HTMLParser):
    """The tags of a page with their attributes, read by the standard library's parser."""

    def __init__(self, html):
        super().__init__()
        self.seen = []
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        self.seen.append((tag, dict(attributes)))


@pytest.mark.parametrize("made", [demo, hostile])
def test_the_page_is_valid_has_a_language_and_a_title(made):
    document = parsed(made())  # strict: any error of the markup ends the test
    assert document.get("lang") == "en"
    assert words(every(document, "title")[0]) == made().front.title


@pytest.mark.parametrize("made", [demo, hostile])
def test_nothing_runs_and_nothing_is_asked_of_outside(made):
    html = once(page, made())
    tags = Tags(html).seen
    assert not {tag for tag, _ in tags} & {"script", "iframe", "object", "embed", "link", "form", "base"}
    for _, attributes in tags:
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href", "srcset", "action", "poster", "background"):
            assert attributes.get(name, "#").startswith(("#", "data:image/"))
    style = html[html.index("<style>") : html.index("</style>")]
    assert "url(" not in style
    assert "@import" not in style


@pytest.mark.parametrize("made", [demo, hostile])
def test_headings_go_down_one_level_at_a_time_and_there_is_one_title(made):
    levels = [int(tag[1]) for tag, _ in Tags(once(page, made())).seen if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_every_picture_says_what_it_shows_and_every_table_has_heads_and_a_caption():
    document = parsed(demo())
    assert len(every(document, "img")) == 3
    assert all(len(picture.get("alt")) > 60 for picture in every(document, "img"))
    for table in every(document, "table"):
        assert table.findall(f"{SPACE}caption")
        assert [head for head in table.iter(f"{SPACE}th") if head.get("scope") in ("row", "col")]


def test_every_entry_of_the_contents_leads_to_a_heading():
    tags = Tags(once(page, demo())).seen
    places = {attributes["id"] for tag, attributes in tags if tag == "h2"}
    links = [attributes["href"] for tag, attributes in tags if tag == "a"]
    assert len(links) == 12
    assert {link.removeprefix("#") for link in links} <= places


def test_the_contrast_is_computed_as_wcag_does():
    # WCAG 2.2: black on white is 21; #767676 on white is the lightest grey that passes 4.5 (4.54).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


def test_every_text_colour_on_every_ground_has_a_contrast_of_four_and_a_half():
    css = filled((TEMPLATE / "page.css").read_text(encoding="utf-8"))
    texts = set(re.findall(r"[\s;{]color: (#[0-9a-f]{6})", css))
    grounds = set(re.findall(r"background: (#[0-9a-f]{6})", css))
    assert len(texts) >= 3
    assert len(grounds) >= 2
    assert min(contrast(text, ground) for text in texts for ground in grounds) >= 4.5
    assert len(re.findall(r"color: |background: ", css)) == len(re.findall(r"(?:color|background): #[0-9a-f]{6}", css))


def test_every_hostile_name_stands_in_the_page_as_text():
    document = parsed(hostile())
    names = [words(cell) for cell in every(document, "bdi")]
    for name in HOSTILE:
        assert " ".join(name.split()) in names
    assert HOSTILE_TITLE in words(every(document, "h1")[0])
    assert "49" not in words(every(document, "h1")[0])  # no template in a text is filled in


def test_letters_that_nobody_sees_are_shown():
    assert visible("gate\x00\x1b \u202eevil\ud800") == "gate�� �evil�"
    assert (
        visible("line\n\ttab \N{ZERO WIDTH JOINER} \N{GRINNING FACE}")
        == "line\n\ttab \N{ZERO WIDTH JOINER} \N{GRINNING FACE}"
    )


def test_the_page_is_the_same_each_time_and_bears_no_date_of_the_clock():
    assert page(demo()) == once(page, demo())
    [made] = every(parsed(hostile()), "time")
    assert made.get("datetime") == "2024-02-29"
    told = {str(day) for day in hostile().visits.bill.years["begins"]} | {"2024-02-29", *hostile().visits.table["date"]}
    told |= set(re.findall(r"20\d\d-\d\d-\d\d", hostile().visits.not_here))
    assert set(re.findall(r"20\d\d-\d\d-\d\d", once(page, hostile()))) <= told


def test_the_page_says_all_that_a_buyer_needs():
    text = words(parsed(demo()))
    plan = demo().plan
    for camera, reason, meets in zip(*(plan.plan[name] for name in ("camera", "reason", "meets")), strict=True):
        assert camera in text
        # Of those served the rule is said once; what rules the cards out for the others is counted in a table.
        assert meets or " ".join(reason[reason.index("What would help: ") :].split()) in text
    for sentence in (*plan.warnings, *(assumption.text for assumption in demo().assumptions)):
        assert " ".join(sentence.split()) in text
    assert "\N{MINUS SIGN}25 to 85 °C while recording" in text
    assert "3 years or more" in text


def test_the_specification_names_no_card_of_the_list():
    asked = section_of(demo(), "specification")
    assert not [card for card in demo().plan.site.offered["card"] if card in words(asked)]


def test_the_cautions_are_those_of_the_safety_page_word_by_word():
    text = words(parsed(demo()))
    page_of_docs = (DEMO[1].parents[1] / "docs" / "safety.md").read_text(encoding="utf-8")
    _, by_heading = cautions()
    assert list(by_heading) == re.findall(r"^## (.+)$", page_of_docs, flags=re.MULTILINE)
    assert sum(map(len, by_heading.values())) == page_of_docs.count("\n* ")
    assert "Local codes, licensed trades and the camera's own manual rule." in text
    assert all(item.text in text and item.lead in text for items in by_heading.values() for item in items)


def test_terms_are_those_of_the_terms_page_that_the_text_uses():
    assert {"cap", "mean", "retention"} <= {term.names[0] for term in terms()}
    assert [term.names[0] for term in terms_used("The retention at the cap.")] == ["cap", "retention"]
    assert terms_used("capital") == ()


def terms_of(proposal):
    return {name for term in every(parsed(proposal), "dt") for name in words(term).split(", ")}


def test_the_terms_hold_the_speed_marks_that_are_asked_for_and_the_slot():
    assert {"C4", "C10", "U1", "U3", "V10", "V30", "speed mark", "slot"} <= terms_of(demo())


def test_the_terms_say_what_is_assured_and_what_is_not_served():
    assert {"assured", "assurance", "not served"} <= terms_of(demo())
    assert {"doubtful"} <= terms_of(crowded())


def test_the_recommendation_counts_the_cameras_that_are_assured_and_those_that_need_a_decision():
    # 512 GB, 0.9 of it usable, hold 7 days up to 6.1 Mbit/s: of four cameras one is assured.
    cameras = [[name, rate, "sdr104"] for name, rate in (("a", 40), ("b", 40), ("c", 6), ("d", 1))]
    cards = as_list("card,capacity_gb,usable_fraction,speed_class,endurance_tbw", [["large", 512, 0.9, "V90", 480]])
    plan = site_plan(read_lists(("cameras.csv", as_list("camera,mean_mbit_s,slot_bus", cameras)), ("cards.csv", cards)))
    first = proposal(plan, demo().front).first_page
    assert first.answer == (
        "Fit 1 card of 1 kind: 1 of 4 cameras then keep all that is asked for 3 years, each with a chance of"
        " 90\N{NO-BREAK SPACE}% or more. 3 cameras need a decision first: see below."
    )
    assert [text.partition(":")[0] for text in first.left][-1] == "c"
    assert first.left[-1].startswith("c: doubtful, at best ")


def test_no_chance_has_a_decimal_and_no_life_is_above_ten_years():
    for made in (demo(), hostile(), crowded()):
        table = made.plan.table
        told = "\N{NO-BREAK SPACE}%"
        assert all(re.fullmatch(rf"|\d\d?{told}( \(\d\d? to \d\d?{told}\))?", text) for text in table["chance_kept"])
        figures = " ".join([*table["nine_in_ten_years"], *table["change_years"]]).replace("more than 10", "")
        assert all(float(figure) <= 10 for figure in re.findall(r"\d+(?:\.\d+)?", figures))
        assert not re.search(r"\d\.\d+\s?% (?:to keep|chance)|chance of \d+\.\d", words(parsed(made)))
        assert not re.search(r"\bnan\b", words(parsed(made)), flags=re.IGNORECASE)


def test_the_table_says_the_state_the_chance_and_the_age_of_change():
    [table] = [t for t in every(parsed(demo()), "table") if words(t[0]).startswith("With the card of the list")]
    rows = [[words(cell) for cell in row] for row in table.iter(f"{SPACE}tr")][1:]
    for row, told in zip(rows, demo().plan.table.to_dict("records"), strict=True):
        card = "none: not served" if told["state"] == "not served" else told["card"]
        card += told["assured"] if told["assured"] == "on the middle figures" else ""
        expected = [card, told["chance_kept"], told["change_years"]]
        assert [row[2], row[5], row[6]] == [" ".join(text.split()) for text in expected]


def test_no_term_is_explained_twice():
    names = [name.casefold() for term in terms() for name in term.names]
    assert len(names) == len(set(names))  # "planned change" and "lead time" were


def test_the_terms_hold_no_word_that_means_something_else_in_a_lesson_or_inside_a_card():
    # "Speed marks", "a busy hour" and "page" stand in the document; a learner's mark and a page of flash do not.
    assert not {"mark", "busy", "seed", "page", "trace", "pass"} & terms_of(demo())
    assert terms_used("The learner's mark for a busy page, a trace and a pass.") == ()


def test_an_outage_that_must_be_covered_is_told_among_what_is_asked():
    outage = b'[outage]\nrecorder_mtbf_h = 17520\nrepair_law = "exponential"\nrepair_mean_h = 24\n'
    lists = ("cameras.csv", b"camera,cap_mbit_s\ngate,4\n"), DEMO[1]
    asked, not_asked = (
        dict(proposal(site_plan(read_lists(*lists, ("site.toml", outage + more))), demo().front).first_page.facts)
        for more in (b"covered_h = 72\n", b"")
    )
    assert "; outages of 72 h covered; " in asked["Asked"]
    assert "covered" not in not_asked["Asked"]
    assert not_asked["Against no card"].endswith(" h a year that the recorder misses")


def test_a_term_in_the_name_of_a_camera_is_no_use_of_it():
    name = "Back-fill clip store"
    plan = demo().plan
    cameras = plan.site.cameras.assign(camera=plan.site.cameras["camera"].replace("Mast top", name))
    site = replace(plan.site, cameras=cameras)
    renamed = replace(demo(), plan=replace(plan, site=site), warnings=(f"No card of the list serves {name}.",))
    assert name in once(page, renamed)
    assert "back-fill" not in terms_of(renamed)


def tables(proposal, caption):
    found = [table for table in every(parsed(proposal), "table") if words(table[0]).startswith(caption)]
    return [[words(row[0]) for row in table.iter(f"{SPACE}tr")][1:] for table in found]


def test_the_order_stands_in_full_in_its_section_and_page_1_says_how_much_of_it_is_cut():
    kinds = list(crowded().lots["card"])
    assert len(kinds) == 12
    [full] = tables(crowded(), "All lots")
    [first] = tables(crowded(), "To order")
    heads = [[words(cell) for cell in row] for row in section_of(crowded(), "order").iter(f"{SPACE}tr")]
    assert [row[1] for row in heads[1:13]] == kinds
    assert full == [*map(str, range(1, 13)), ""]
    shown = len(first) - 2
    assert 3 <= shown < 12
    assert f"and {12 - shown} more lots, see section 1" in words(parsed(crowded()))
    [full], [first] = (tables(demo(), name) for name in ("All lots", "To order"))
    assert full == ["1", "2", "3", "4", "5", "6", ""]
    assert first[:3] == full[:3]


def test_page_1_orders_no_card_at_once_where_cards_in_service_stay_until_their_change():
    def heads(of):
        return [words(table[0]) for table in every(parsed(of), "table") if words(table[0]).startswith("To order")]

    assert heads(crowded())[0].startswith("To order; prices in")  # no service log: all are fitted on the first day
    assert heads(demo()) == ["To order, each by the date of its visit in section 1; prices in credits"]


def test_the_section_of_the_order_says_that_the_first_visits_wait_for_the_cards_in_german_too():
    told = words(section_of(crowded(), "order"))  # 30 days from 2024-02-29; each card is fitted on a visit of its own
    assert "Cards that are ordered on 2024-02-29 are here on 2024-03-30, after 30 days: 14 visits before that" in told
    german = words(section_of(replace(crowded(), front=replace(crowded().front, language="de")), "order"))
    assert "Karten, die am 29.02.2024 bestellt werden, sind am 30.03.2024 da, nach 30 Tagen: 14" in german
    assert "Sonst buchen, wenn sie da sind." in german


def test_page_1_says_which_cards_are_fitted_later():
    # By the service log of the demo three cards in service can stay beyond the first year, until August 2034.
    table = demo().visits.replacements.table
    later = table[(table["replace_with"] != "") & (table["budget_year"] > 1)]
    told = dict(demo().first_page.facts)["Fitted"]
    assert told == f"9 of 12 cards in the first year, the others by {max(later['replace_on'])}"
    tight = replace(demo().plan.site.settings, costs=replace(demo().plan.site.costs, budget_per_year=300))
    poor = replace(demo(), plan=replace(demo().plan, site=replace(demo().plan.site, settings=tight)))
    assert " of these break the promise until then" in dict(poor.first_page.facts)["Fitted"]


def test_the_price_of_the_order_is_that_of_its_lots():
    # 1 x 4 + 4 x 14 + 1 x 22 + 1 x 38 + 2 x 70 + 3 x 130 = 650
    [table] = [t for t in every(parsed(demo()), "table") if words(t[0]).startswith("All lots")]
    *rows, total = [[words(cell) for cell in row] for row in table.iter(f"{SPACE}tr")][1:]
    assert sum(int(row[5]) for row in rows) == sum(int(row[2]) * int(row[4]) for row in rows) == 650
    assert total == ["", "The whole order", "12", "-", "", "650"]


def test_the_bill_of_the_document_is_that_of_the_calendar_year_by_year():
    [table] = [t for t in every(parsed(demo()), "table") if words(t[0]).startswith("The bill")]
    *rows, total = [[words(cell) for cell in row] for row in table.iter(f"{SPACE}tr")][1:]
    years = demo().visits.bill.years
    assert [row[1] for row in rows] == years["begins"].tolist()
    assert [row[7].replace(" ", "") for row in rows] == [f"{cost:.0f}" for cost in years["total"]]
    assert total[7].replace(" ", "") == f"{demo().visits.bill.cost:.0f}"
    assert f"{demo().visits.bill.cost:.0f}" in dict(demo().first_page.facts)["Cost in 10 years"].replace(
        "\N{NO-BREAK SPACE}", ""
    )


def test_section_1_says_which_cards_in_service_are_replaced_and_what_the_budget_puts_off():
    whole = demo()
    costs = replace(whole.plan.site.costs, budget_per_year=300)
    site = replace(whole.plan.site, settings=replace(whole.plan.site.settings, costs=costs))
    told = words(html5lib.parse(page(replace(whole, plan=replace(whole.plan, site=site)))))
    assert "Cards in service: " in told
    assert "The budget of 300 credits a year puts off " in told


def test_a_bidder_has_a_row_to_fill_in_for_each_lot_and_each_thing_asked_of_every_card():
    [table] = [t for t in every(parsed(demo()), "table") if words(t[0]).startswith("Asked of every card")]
    rows = [list(row) for row in table.iter(f"{SPACE}tr")][1:]
    assert all(len(row) == 4 and not words(row[2]) and not words(row[3]) for row in rows)
    names = [words(row[0]) for row in rows]
    assert names[:6] == [f"Lot {n}" for n in range(1, 7)]
    assert {"Temperature", "Humidity", "Kept without power", "Warranty", "Health", "Notice of change"} <= set(names)


def test_no_line_can_end_inside_a_figure_of_thousands():
    # The cost of all cameras, and the hours asked of the first card in three digits, whatever the page is made into.
    for made in (demo, hostile, crowded):
        document = parsed(made())
        [papers] = [table for table in every(document, "table") if "untested" in table.get("class")]
        assert not re.search(r"\d \d{3}(?!\d)", "".join(papers.itertext()))
        in_papers = {id(cell) for cell in papers.iter()}  # years, and numbers of standards
        for part in (*every(document, "td"), *every(document, "caption"), *every(document, "figcaption")):
            if id(part) in in_papers:
                continue
            text = re.sub(r"\b\d{4}-\d\d-\d\d\b", "", "".join(part.itertext()))  # dates are none
            assert not re.search(r"(?<![\d.])\d{4}|\b\d{1,3} \d{3}\b(?!-)", text)
    text = "".join(parsed(demo()).itertext())
    thousands, credits = divmod(round(demo().plan.plan["cost"].sum()), 1000)
    assert thousands > 0
    assert f"{thousands}\N{NO-BREAK SPACE}{credits:03d} credits" in text
    hours = math.ceil(demo().specifications["rated_h"][0] / 100)
    assert hours > 100
    assert f"{hours // 10}\N{NO-BREAK SPACE}{hours % 10}00\N{NO-BREAK SPACE}h at 2.6\N{NO-BREAK SPACE}Mbit/s" in text


def test_page_1_has_the_gravest_warnings_first_and_names_few_cameras_in_each():
    for made in (demo(), crowded()):
        grave = grave_warnings(made.plan.plan, made.plan.site)
        told = (grave[0], *filter(None, [made.plan.beside]), *grave[1:])
        assert made.warnings[: len(told)] == told
        assert sorted(made.warnings) == sorted(made.plan.warnings)
        told, left = made.first_page.warnings, without_an_assured_card(made.plan.plan)
        assert left
        assert len(told) == len(made.warnings) - len(left)  # page 1 names those cameras with what would help
        grave = [*filter(None, [made.plan.beside]), *(text for text in grave if text not in left)]
        assert [text.split()[:4] for text in told[: len(grave)]] == [text.split()[:4] for text in grave]
    assert max(text.count("camera over") for text in crowded().first_page.warnings) <= 3


@pytest.mark.parametrize("room", [-40, 0, 40])
def test_page_1_shows_a_beginning_of_each_list_and_counts_what_it_leaves_out(room):
    first = crowded().first_page
    fewer = fitted(replace(first, answer=first.answer + " more words" * max(0, -room * 8)), "x" * 10, has_logo=False)
    for name, least in {"order": 3, "left": 1, "find_out": 1, "warnings": 1}.items():
        shown, everything = getattr(fewer, name), getattr(first, name)
        assert shown == everything[: len(shown)]
        assert len(shown) >= min(least, len(everything))
        assert fewer.cut(name) == len(everything) - len(shown)


def test_what_is_taken_for_granted_bears_on_a_figure_of_the_document():
    # The headline tells the footage saved in outages. The demo has a log too, but no figure of it in its document.
    assert SERVICE_ASSUMPTION in demo().plan.assumptions
    told = [assumption.text for assumption in demo().assumptions]
    assert OUTAGE_ASSUMPTION in told
    assert not [text for text in told if "Spares:" in text or "Next change of" in text]
    assert OUTAGE_ASSUMPTION in [assumption.text for assumption in crowded().assumptions]  # it warns of outages too


def test_nothing_says_that_a_service_log_changes_the_guesses():
    # In one sentence; "replacement" is another thing.
    changes = re.compile(r"service log[^.]*\breplaces?\b|\breplaces?\b[^.]*service log|\breplaces? (these|the guess)")
    assert changes.findall("A service log replaces these. Your own replace the guess.") != []
    assert [text for text in (once(page, demo()), *demo().plan.assumptions) if changes.search(text)] == []


def test_the_counts_of_outside_checks_are_those_of_the_models_used():
    checks = demo().checks
    model = {quantity: function.__module__.rpartition(".")[2] for quantity, function in CHECKABLE.items()}
    used = [check for check in read_checks(own_check_files()) if model[check.quantity] in MODELS_OF_A_PLAN]
    assert {model[check.quantity] for check in used} == set(MODELS_OF_A_PLAN)
    # How long a card holds, keeps up and lasts; what its flash takes, and how many of its kind work at an age.
    told = {"retention_h", "speed_margin", "life_years", "write_amplification_camera", "CardLife.chance_of_lasting"}
    assert told <= {check.quantity for check in used}
    assert checks.passed == len(used)
    assert checks.failed == 0
    assert sum(checks.by_kind.values()) == checks.passed


def section_of(proposal, anchor):
    return next(part for part in every(parsed(proposal), "section") if part[0].get("id") == anchor)


def test_the_three_best_findings_stand_in_a_section_of_their_own_as_in_the_table_and_what_is_not_worth_a_visit_too():
    first = demo().plan.measure_first
    best = first.table[first.table["verdict"] == "worth it"].drop_duplicates(["subject", "input"]).head(3)
    section = section_of(demo(), "find-out")
    told = [words(item) for item in every(section, "li")]
    assert len(told) == 3
    for text, row in zip(told, best.to_dict("records"), strict=True):
        assert text.startswith(row["how"])
        saving = row["expected_saving"]
        assert f"expected {'extra cost' if saving < 0 else 'saving'} {abs(saving):.0f} credits" in text
        assert f"for an effort of {row['effort']:.0f} credits" in text
    paragraphs = [words(part) for part in every(section, "p")]
    refused = first.table.drop_duplicates(["subject", "input"]).query("verdict != 'worth it'")
    assert sum(text.startswith("Not worth the effort, since") for text in paragraphs) == refused["verdict"].nunique()


def test_a_section_that_is_named_by_its_number_is_the_one_meant():
    titles = [words(title) for title in every(parsed(demo()), "h2")]
    text = words(parsed(demo()))
    for named, title in {
        "says which figures are worth finding out": "What to find out before the cards are ordered",
        "say what each means": "Terms",
    }.items():
        number = re.search(rf"[Ss]ection (\d+) {named}", text)[1]
        assert f"{number} {title}" in titles
