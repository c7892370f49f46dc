"""The settings file: what it states is what is read, and every fault is told with its table and key."""

import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from edgestore import InputError
from edgestore.inputs.beliefs import Beliefs
from edgestore.inputs.outages import OutageSettings
from edgestore.inputs.settings import (
    COST_KEYS,
    GROUPS,
    SERVICE_KEYS,
    TABLES,
    CardSpecification,
    Costs,
    Document,
    Service,
    Settings,
    group_notes,
    read_settings,
)

DATA = Path(__file__).parents[2] / "data"
README = (DATA / "README.md").read_text(encoding="utf-8")


def refused(text: str) -> list[str]:
    with pytest.raises(InputError, match=r"site\.toml") as caught:
        read_settings(text.encode(), "site.toml")
    return [str(fault) for fault in caught.value.faults]


def test_what_a_file_states_is_read_and_nothing_else():
    read = read_settings(
        b"""
[requirements]
retention_days = 7
assurance = 0.8
[groups."quay, north"]
retention_days = 14
retention_days_max = 30.5
assurance = 0.95
[costs]
visit_price = 60
visit_with_lift_price = 260.5
first_fitting_is_a_visit = false
[document]
title = " Cards "
date = 2026-03-15
[card_specification]
temperature_low_c = -25
"""
    )
    assert read == Settings(
        {"retention_days": 7.0, "assurance": 0.8},
        {"quay, north": {"retention_days": 14.0, "retention_days_max": 30.5, "assurance": 0.95}},
        Costs(60.0, 260.5, first_fitting_is_a_visit=False),
        Document("Cards", date=datetime.date(2026, 3, 15)),
        CardSpecification(-25.0),
    )


@pytest.mark.parametrize("content", [b"", b"# nothing\n", b"[document]\n", "\ufeff[groups]\n".encode()])
def test_an_empty_file_states_nothing(content):
    assert read_settings(content) == Settings()


def test_every_fault_of_a_file_is_told_together_with_its_table_and_key():
    faults = refused(
        """
owner = "me"
[requirments]
[requirements]
retention_day = 7
life_years = -1
speed_margin = true
[groups.quay]
retention_days = "14"
[groups.rooms]
retention_days = 9
retention_days_max = 3
[costs]
visit_price = nan
first_fitting_is_a_visit = "no"
currency = 5
[document]
date = 2026-03-15T10:00:00
[card_specification]
temperature_low_c = 50
temperature_high_c = 10
"""
    )
    starts = [
        "site.toml, 'owner': found an unknown table; allowed: requirements, costs, document",
        "site.toml, 'requirments': found an unknown table; allowed: requirements",
        "site.toml, [requirements] 'retention_day': found an unknown key; allowed: retention_days, life_years",
        "site.toml, [requirements] life_years: is -1 years; must be 0.001 or more and at most 10000 years",
        "site.toml, [requirements] speed_margin: found true; allowed: a number without quotes, no unit",
        "site.toml, [costs] visit_price: is nan; must be 0 or more and at most 1000000000 currency units",
        "site.toml, [costs] visit_with_lift_price: found nothing; allowed: a visit to a camera",
        "site.toml, [costs] first_fitting_is_a_visit: found 'no'; allowed: true or false",
        "site.toml, [costs] currency: found 5; allowed: a text in quotes",
        "site.toml, [document] date: found 2026-03-15 10:00:00; allowed: a date as 2026-03-15, without quotes",
        "site.toml, [card_specification] temperature_high_c: found 10; allowed: 50 or more",
        "site.toml, [groups.\"quay\"] retention_days: found '14'; allowed: a number without quotes, days",
        'site.toml, [groups."rooms"] retention_days_max: found 3; allowed: 9 or more, the retention wanted',
    ]
    assert len(faults) == len(starts)
    for fault, start in zip(faults, starts, strict=True):
        assert fault.startswith(start)
    assert faults[1].endswith("Is it requirements?")
    assert faults[2].endswith("Is it retention_days?")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[costs", "Expected ']'"),
        ("[document]\ntitle = 'a'\ntitle = 'b'\n", "a file as TOML 1.0 has it"),
        ("groups = 5", 'tables, each as [groups."NAME"]'),
        ("[groups]\nquay = 5", '[groups."quay"]: found 5; allowed: a table of keys'),
        ("[[costs]]\nvisit_price = 1", "[costs]: found a list; allowed: a table of keys"),
        ("document = 'me'", "[document]: found 'me'; allowed: a table of keys"),
        ("[requirements]\nretention_days = inf", "retention_days: is inf"),
        ("[requirements]\nretention_days = [7]", "retention_days: found a list; allowed: a number without quotes"),
        (f"[requirements]\nlife_years = 1{'0' * 400}", "life_years: is inf; must be 0.001 or more"),
        ("[document]\ntitle = ['a']", "title: found a list; allowed: a text in quotes"),
        ("[costs]\nvisit_price = 1\nvisit_with_lift_price = 2\nspare_fraction = 10", "A percentage is divided by 100."),
    ],
)
def test_a_file_of_another_shape_is_refused(text, told):
    assert any(told in fault for fault in refused(text))


@pytest.mark.parametrize("table", ["requirements", "groups.quay"])
@pytest.mark.parametrize("chance", ["90", "1", "0.4999", "nan"])
def test_an_assurance_that_is_a_percentage_or_no_chance_to_promise_is_refused(table, chance):
    (fault,) = refused(f"[{table}]\nassurance = {chance}")
    assert f"assurance: is {chance}; must be 0.5 or more and at most 0.99." in fault
    assert fault.endswith("A percentage is divided by 100.")


def test_bytes_that_are_no_text_are_refused():
    with pytest.raises(InputError, match="not UTF-8"):
        read_settings(b"title = '\xff'")


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path):
    for path, why in ((tmp_path / "none.toml", "no such file"), (tmp_path, "a folder")):
        with pytest.raises(InputError, match=why):
            read_settings(path)


def test_the_path_of_a_logo_counts_from_the_folder_of_the_file(tmp_path):
    (tmp_path / "site.toml").write_text('[document]\nlogo = "pictures/logo.png"\n')
    assert read_settings(tmp_path / "site.toml").document.logo == tmp_path / "pictures" / "logo.png"


def test_a_group_that_no_camera_has_is_a_note_with_the_nearest():
    read = read_settings(b"[groups.quai]\nlife_years = 3\n[groups.hall]\n[groups.quay]\n")
    assert group_notes(read, "site.toml", ["quay", "", "quay"]) == [
        "site.toml: no camera has the group 'quai' (is it 'quay'?); what it asks is not used",
        "site.toml: no camera has the group 'hall'; what it asks is not used",
    ]


def test_the_demo_settings_are_used_whole():
    read = read_settings(DATA / "ferry_terminal" / "site.toml")
    assert set(read.groups) == {"quay", "public rooms"}
    assert read.groups["public rooms"]["retention_days_max"] > read.groups["public rooms"]["retention_days"]
    assert read.costs is not None
    assert read.outage is not None


def readme_row(title, key):
    bounds = {"above": key.above, "from": key.at_least, "to": key.at_most}
    limits = " ".join(f"{word} {bound:.10g}" for word, bound in bounds.items() if bound is not None)
    holds = "true, false" if key.kind == "yes-no" else ", ".join(key.words) or f"{key.kind} {limits}".strip()
    default = {True: "true", False: "false"}[key.default] if isinstance(key.default, bool) else key.default
    default = f"{default:g}" if isinstance(default, float) else default
    empty = "not allowed" if key.required else "allowed" if default is None else f"means {default}"
    where = f"`[{title}]`" + (f', `[{GROUPS}."NAME"]`' if title == "requirements" else "")
    return f"| {where} | `{key.name}` | {key.unit or '-'} | {holds} | {empty} | {key.help} |"


def outage(**keys: str) -> str:
    stated = {"recorder_mtbf_h": "17520", "repair_law": "'lognormal'", "repair_median_h": "8", "repair_sigma": "1.2"}
    return "[outage]\n" + "\n".join(f"{key} = {value}" for key, value in (stated | keys).items() if value)


def test_outages_are_read_with_the_numbers_of_their_law_in_order():
    read = read_settings(outage(shared_cause_share="0.1").encode())
    assert read.outage == OutageSettings(17520.0, "lognormal", (8.0, 1.2), 0.1, 0.0, 365.0)
    assert read_settings(b"").outage is None


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"repair_sigma": ""}, "[outage] repair_sigma: found nothing; allowed: repair_median_h and repair_sigma with"),
        ({"repair_mean_h": "24"}, "[outage] repair_mean_h: found a number; allowed: repair_median_h and repair_sigma"),
        (
            {"repair_law": "'normal'"},
            "[outage] repair_law: is 'normal'; must be one of exponential, lognormal",
        ),
        ({"repair_law": "3"}, "[outage] repair_law: found 3; allowed: in quotes one of exponential"),
        ({"repair_law": "[]"}, "[outage] repair_law: found a list; allowed: in quotes one of exponential"),
        (
            {"repair_law": ""},
            "[outage] repair_law: found nothing; allowed: law of the length of an outage. Fix: Add",
        ),
        ({"recorder_mtbf_h": ""}, "[outage] recorder_mtbf_h: found nothing"),
        ({"recorder_mtbf_h": "0"}, "[outage] recorder_mtbf_h: is 0"),
        ({"recorder_mtbf_h": "inf"}, "[outage] recorder_mtbf_h: is inf"),
        ({"repair_sigma": "12"}, "[outage] repair_sigma: is 12"),
        ({"repair_median_h": "-8"}, "[outage] repair_median_h: is -8"),
        ({"shared_cause_share": "5"}, "[outage] shared_cause_share: is 5"),
        ({"inspected_every_days": "0"}, "[outage] inspected_every_days: is 0"),
        ({"inspected_every_day": "30"}, "Is it inspected_every_days?"),
    ],
)
def test_an_outage_table_that_cannot_be_used_is_told_key_by_key(keys, words):
    assert any(words in fault for fault in refused(outage(**keys)))


def test_a_group_has_the_recorder_of_the_site_but_for_what_it_states():
    own = "[groups.quay.outage]\nrecorder_mtbf_h = 8760\nbackfill_mbit_s = 2\n[groups.hall]\nretention_days = 3\n"
    read = read_settings(f"{outage()}\n{own}".encode())
    assert read.group_outages == {"quay": OutageSettings(8760.0, "lognormal", (8.0, 1.2), backfill_mbit_s=2.0)}
    assert read.groups == {"quay": {}, "hall": {"retention_days": 3.0}}


def test_a_law_that_a_group_names_comes_with_its_own_numbers():
    own = '[groups.quay.outage]\nrepair_law = "exponential"\nrepair_mean_h = 24\n'
    read = read_settings(f"{outage()}\n{own}".encode())
    assert read.group_outages == {"quay": OutageSettings(17520.0, "exponential", (24.0,))}
    alone = read_settings(f"{own}recorder_mtbf_h = 8760\n".encode())
    assert alone.outage is None
    assert alone.group_outages == {"quay": OutageSettings(8760.0, "exponential", (24.0,))}


@pytest.mark.parametrize(
    ("site", "own", "words"),
    [
        (outage(), "repair_mean_h = 24", "repair_mean_h: found a number; allowed: repair_median_h and repair_sigma"),
        (outage(), 'repair_law = "exponential"', "repair_mean_h: found nothing; allowed: repair_mean_h with the law"),
        (outage(), "recorder_mtbf_h = -1", "recorder_mtbf_h: is -1"),
        (outage(), "covered_h = 0", "covered_h: is 0"),
        (outage(), "backfill_mbit = 2", "'backfill_mbit': found an unknown key"),
        ("", "recorder_mtbf_h = 8760", "repair_law: found nothing; allowed: law of the length of an outage"),
    ],
)
def test_a_table_of_a_group_that_cannot_be_used_is_told_by_its_own_name(site, own, words):
    faults = refused(f"{site}\n[groups.quay.outage]\n{own}\n")
    assert [words in fault for fault in faults].count(True) == 1
    assert all('[groups."quay".outage]' in fault for fault in faults)


def test_outages_of_a_group_that_are_no_table_are_refused():
    assert any(
        '[groups."quay".outage]: found 5; allowed: a table' in text for text in refused("[groups.quay]\noutage = 5")
    )


def test_the_readme_of_the_data_has_every_key_in_order():
    rows = [line for line in README.splitlines() if line.startswith("| `[")]
    assert rows == [readme_row(title, key) for title, keys in TABLES.items() for key in keys]


def test_defaults_are_those_declared():
    declared = {key.name: key.default for key in COST_KEYS if not key.required}
    costs = Costs(0, 0)
    assert {name: getattr(costs, name) for name in declared} == declared
    assert Service() == Service(**{key.name: key.default for key in SERVICE_KEYS})


values = st.one_of(st.integers(-5, 100), st.floats(allow_nan=True), st.booleans(), st.text("ab7", max_size=3).map(repr))
keys = st.sampled_from([key.name for keys in TABLES.values() for key in keys] + ["mistyped"])


@given(st.dictionaries(st.sampled_from([*TABLES, "groups.a", "other"]), st.dictionaries(keys, values), max_size=4))
def test_any_file_is_read_or_refused_with_reasons_and_nothing_else(tables):
    lines = []
    for title, table in tables.items():
        lines.append(f"[{title}]")
        lines += [f"{key} = {str(value).lower() if isinstance(value, bool) else value}" for key, value in table.items()]
    stated, faults = None, ()
    try:
        stated = set(read_settings("\n".join(lines).encode(), "site.toml").requirements)
    except InputError as error:
        faults = error.faults
    assert faults or stated == set(tables.get("requirements", {}))
    assert all(fault.where.startswith("site.toml") and fault.found and fault.allowed for fault in faults)


@pytest.mark.parametrize("as_of", ["2100-01-01", "9999-12-31", "2026-03-17"])
def test_a_log_cannot_have_been_written_on_a_day_yet_to_come(as_of):
    text = f'[service]\nlog = "log.csv"\nas_of = {as_of}\n'.encode()
    with pytest.raises(InputError, match=rf"\[service\] as_of: found {as_of}; allowed: 2026-03-16 or before"):
        read_settings(text, today=datetime.date(2026, 3, 15))


def test_a_log_may_be_of_today_or_of_long_ago():
    for as_of in ("2026-03-15", "2016-03-15"):
        text = f'[service]\nlog = "log.csv"\nas_of = {as_of}\n'.encode()
        assert str(read_settings(text, today=datetime.date(2026, 3, 15)).service.as_of) == as_of


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "random_per_year = 0.1",
            "[beliefs] random_per_year: found 0.1; allowed: [one in ten below, one in ten above]",
        ),
        ("random_per_year = [0.1]", "two numbers from 0.0001 to 2, a year"),
        ("random_per_year = [0.1, 0.01]", "[beliefs] random_per_year: found [0.1, 0.01]; allowed: the lower end first"),
        ("random_per_year = [0.1, 5]", "[beliefs] random_per_year, upper end: is 5 a year; must be 0.0001 or more and"),
        ("random_per_year = ['a', 5]", "[beliefs] random_per_year, lower end: found 'a'"),
        ("random_per_year = [nan, 1]", "[beliefs] random_per_year, lower end: is nan"),
        ("wear_shape = [true, 5]", "[beliefs] wear_shape, lower end: found true"),
        ("wear_shapes = [2, 3]", "Is it wear_shape?"),
    ],
)
def test_a_belief_that_cannot_be_used_is_told_with_its_key_range_and_unit(line, words):
    assert any(words in fault for fault in refused(f"[beliefs]\n{line}"))


def test_not_all_ways_to_map_may_be_ruled_out_and_the_others_share_what_one_leaves():
    none = "maps_by_page = 0\nmaps_by_unit_with_log = 0\nmaps_by_unit = 0"
    assert any(
        "found 0 in all of them; allowed: one of them above 0" in fault for fault in refused(f"[beliefs]\n{none}")
    )
    shares = read_settings(b"[beliefs]\nmaps_by_unit = 0", "site.toml").beliefs.mapping_shares
    assert shares == {"page": 0.5, "unit with log": 0.5, "unit": 0}


def test_a_belief_that_is_stated_takes_the_place_of_ours_and_says_so():
    beliefs = read_settings(b"[beliefs]\nlisted_mean = [0.9, 1.2]\n", "site.toml").beliefs
    assert (beliefs["listed_mean"].low, beliefs["listed_mean"].high) == (0.9, 1.2)
    assert beliefs["listed_mean"].source == "site.toml"
    assert beliefs["wear_shape"] == Beliefs()["wear_shape"]


def test_efforts_and_the_price_of_a_broken_promise_are_read_where_they_are_stated():
    read = read_settings(
        b"[efforts]\nfootage_week_price = 15\n[costs]\nvisit_price = 60\nvisit_with_lift_price = 260\n"
    )
    assert read.efforts == {"footage_week_price": 15.0}
    assert read.costs.broken_promise_price is None
    stated = read_settings(b"[costs]\nvisit_price=60\nvisit_with_lift_price=260\nbroken_promise_price=900\n")
    assert stated.costs.broken_promise_price == 900.0
    with pytest.raises(InputError, match=r"^broken_promise_price: is -1 currency units; must be 0 or more"):
        Costs(60, 260, broken_promise_price=-1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[efforts]\nfootage_week_price = -1", "[efforts] footage_week_price: is -1 currency units; must be 0 or more"),
        ("[efforts]\nfootage_week_price = '15'", "[efforts] footage_week_price: found '15'; allowed: a number without"),
        ("[efforts]\nfootage_weeks_price = 15", "Is it footage_week_price?"),
        ("[effort]\nfootage_week_price = 15", "Is it efforts?"),
    ],
)
def test_efforts_that_cannot_be_used_are_told(text, words):
    assert any(words in fault for fault in refused(text))
