"""How many functions a camera's row goes through until it is a row of the plan."""

import sys
from pathlib import Path

import pandas as pd

from edgestore import plan as package
from edgestore.plan.candidates import Tried
from edgestore.plan.read import read_lists
from edgestore.plan.site import Site
from edgestore.plan.site_plan import site_plan

DATA = Path(__file__).parents[2] / "data"
FOLDER = str(Path(package.__file__).parent)
MOST_STOPS = 20


def entered(site: Site) -> list[tuple[str, list[object]]]:
    """Plan a site; give each call of a function of the package in turn, with its arguments."""
    calls = []

    def note(frame, event, _):
        code = frame.f_code
        if event == "call" and code.co_filename.startswith(FOLDER) and "<" not in code.co_name:  # no comprehension
            count = code.co_argcount + code.co_kwonlyargcount
            calls.append((code.co_qualname, [frame.f_locals[name] for name in code.co_varnames[:count]]))

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        site_plan(site)
    finally:
        sys.setprofile(before)
    return calls


def test_a_camera_comes_to_its_row_of_the_plan_in_at_most_20_stops_and_its_rates_are_computed_once():
    # A stop gets the site, all cards tried, or a table with a row a camera. What a Site or a Tried keeps of itself is
    # none, nor is arithmetic on numbers, nor the warnings: they read the plan when it stands; nor another site, such as
    # advice makes to see what would help a camera that no card serves. Log and outages are in.
    site = read_lists(*(DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv"), DATA / "ferry_terminal/site.toml")
    calls = entered(site)

    def has_cameras(value):
        is_table = isinstance(value, (pd.DataFrame, pd.Series)) and value.index.equals(site.cameras.index)
        return is_table or value is site or isinstance(value, Tried)

    names = [name for name, _ in calls]
    on_the_way = calls[: names.index("warnings")]
    stops = {name for name, values in on_the_way if any(map(has_cameras, values))}
    stops = {name for name in stops if not name.startswith(("Site.", "Tried."))}
    assert {"site_plan", "camera_rates", "wanted_by_camera", "tried", "choose", "reasons", "calendar"} <= stops
    assert len(stops) <= MOST_STOPS, sorted(stops)
    assert sum(name == "camera_rates" and values[0] is site.cameras for name, values in calls) == 1
