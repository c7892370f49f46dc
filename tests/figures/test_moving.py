"""A figure that was moved is the figure that would have been drawn."""

import importlib
import pkgutil
from dataclasses import replace
from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from matplotlib.text import Text
from PIL import Image

from edgestore import panels
from edgestore.answers.certainty import certainty
from edgestore.answers.change import REACHED, upkeep
from edgestore.answers.flash_wear import flash_use
from edgestore.answers.footage import footage_of, writing
from edgestore.answers.hold import holding
from edgestore.answers.life import lasting
from edgestore.answers.outage import saving
from edgestore.figures.assurance import AssuranceFigure
from edgestore.figures.certainty import SureFigure
from edgestore.figures.change import UpkeepFigure
from edgestore.figures.choice import KindsFigure
from edgestore.figures.flash_wear import FlashFigure
from edgestore.figures.footage import WritesFigure
from edgestore.figures.hold import HoldsFigure
from edgestore.figures.life import LastsFigure
from edgestore.figures.moving import MovingFigure
from edgestore.figures.outage import SavesFigure
from edgestore.figures.site import MOST_ROWS, SiteFigure
from edgestore.panels.panel import Panel
from edgestore.plan.assurance_curve import site_chances
from edgestore.plan.read import read_lists
from edgestore.plan.requirements import Requirements
from edgestore.plan.site_plan import site_plan

DATA = Path(__file__).parents[2] / "data"


@cache
def site(assurance=0.9, settings=None, **wanted):
    lists = read_lists(DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", settings)
    return site_chances(replace(lists, requirements=Requirements(**wanted))).at(assurance)


@cache
def priced():
    return site(settings=DATA / "ferry_terminal" / "site.toml").chances


def front(settings=None, **wanted):
    lists = read_lists(DATA / "ferry_terminal" / "cameras.csv", DATA / "cards.csv", settings)
    return site_plan(replace(lists, requirements=Requirements(**wanted))).front


def many_cameras(count):
    rows = "\n".join(f"camera {n},2,4" for n in range(count))
    cameras = ("many.csv", f"camera,mean_mbit_s,cap_mbit_s\n{rows}\n".encode())
    return site_chances(read_lists(cameras, DATA / "cards.csv")).at(0.9)


@cache
def clips():
    return footage_of(DATA / "ferry_terminal" / "footage" / "waiting_room")


@cache
def one_clip():
    return footage_of(next((DATA / "ferry_terminal" / "footage" / "waiting_room").glob("*.mp4")))


@cache
def made(results):
    """Compute the answers of a figure, once for all tests."""
    return results()


MOVES = [
    pytest.param(
        WritesFigure,
        lambda: [
            writing(clips(), cap_mbit_s=0.5),
            writing(clips(), cap_mbit_s=32, wanted_days=30),
            writing(one_clip()),
            writing(clips(), cap_mbit_s=0.5, capacity_gb=512),
        ],
        id="writes",
    ),
    pytest.param(
        HoldsFigure,
        lambda: [
            holding(),
            holding(256, 8, scene="busy", mean_over_cap=0.9, recorded_fraction=0.2),
            holding(16, 1, wanted_days=30),
        ],
        id="holds",
    ),
    pytest.param(
        LastsFigure,
        lambda: [
            lasting(),
            lasting(32, 8, recorded_fraction=0.1),
            lasting(endurance_kind="terabytes written", wanted_years=8),
            lasting(1024, 0.25, wanted_years=15),
        ],
        id="lasts",
    ),
    pytest.param(
        SavesFigure,
        lambda: [
            saving(),
            saving(256, 8, outage_h=40),
            saving(512, outage_h=700, repair_law="working hours"),
            saving(link_mbit_s=5, outage_h=0),
            saving(recorder_mtbf_h=float("inf"), outage_h=3000),
        ],
        id="saves",
    ),
    pytest.param(
        SureFigure, lambda: [certainty(), certainty(wanted_years=9, early_percent=5), certainty(512)], id="sure"
    ),
    pytest.param(
        UpkeepFigure,
        lambda: [
            upkeep(),
            upkeep(2, 3, lost_cost=200, confidence_percent=99),
            upkeep(lost_cost=0, cards=1000),
            upkeep(10, 30, reached=REACHED[0], confidence_percent=50),
        ],
        id="upkeep",
    ),
    pytest.param(
        FlashFigure,
        lambda: [
            flash_use(),
            flash_use(passes=2),
            flash_use("page", "static", small_updates="no"),
            flash_use("unit with log", "dynamic"),
        ],
        id="flash",
    ),
    pytest.param(
        SiteFigure,
        lambda: [
            site(),
            site(0.5),
            site(retention_days=20, retention_days_max=40),
            many_cameras(3),
            priced().at(0.9),
            priced().at(0.95),  # one camera is doubtful: three counts, and a cost of four digits
        ],
        id="site",
    ),
    pytest.param(
        AssuranceFigure,
        lambda: [priced().at(0.9), priced().at(0.6), priced().at(0.92, "site"), site()],
        id="assurance",
    ),
    pytest.param(
        KindsFigure,
        lambda: [
            front(DATA / "ferry_terminal" / "site.toml"),
            front(),
            front(retention_days=2000),
            front(retention_days=20),
        ],
        id="kinds",
    ),
]


@cache
def anew(figure, results):
    """Draw a figure anew for each of its answers, once for all tests: the picture, and what it says in words."""
    return [(drawn.png(), drawn.alt_text()) for drawn in map(figure, made(results))]


each_figure = pytest.mark.parametrize(("figure", "results"), MOVES)


@each_figure
def test_a_moved_figure_equals_one_drawn_anew(figure, results):
    first, *later = made(results)
    moved = figure(first)
    for result, (drawn, _) in zip(later, anew(figure, results)[1:], strict=True):
        moved.update(result)
        picture = pixels(moved.png())
        assert picture.shape == pixels(drawn).shape
        assert np.array_equal(picture, pixels(drawn))


@each_figure
def test_another_answer_is_another_picture(figure, results):
    assert len({drawn for drawn, _ in anew(figure, results)}) == len(made(results))


@each_figure
def test_nothing_is_drawn_outside_the_picture(figure, results):
    for drawn, _ in anew(figure, results):
        picture = pixels(drawn)
        border = np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])
        assert (border >= 254).all()  # white, as few colours make it


@each_figure
def test_on_a_phone_no_letter_is_below_11_px_and_nothing_is_drawn_outside_the_picture(figure, results):
    shown = figure(made(results)[0], 344)  # a screen of 390 px less its margins
    px_per_pt = shown.width_px / 72 / shown.figure.get_figwidth()
    letters = [text.get_fontsize() for text in shown.figure.findobj(Text) if text.get_text()]
    assert min(letters) * px_per_pt >= 11
    picture = pixels(shown.png())
    assert (len(picture[0]), shown.width_px) == (
        688 if figure is not AssuranceFigure else 340,
        min(344, shown.width_px),
    )
    border = np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])
    assert (border >= 254).all()


@each_figure
def test_between_phone_and_desk_nothing_is_drawn_outside_the_picture(figure, results):
    picture = pixels(figure(made(results)[0], 660).png())
    border = np.concatenate([picture[0], picture[-1], picture[:, 0], picture[:, -1]])
    assert (border >= 254).all()


@each_figure
def test_the_few_colours_that_are_sent_look_like_the_picture_drawn(figure, results):
    shown = figure(made(results)[0])
    width, height = shown._canvas.get_width_height()
    drawn = np.asarray(shown._canvas.buffer_rgba())[..., :3].astype(int).reshape(height, width, 3)
    off = np.abs(pixels(shown.png()).astype(int) - drawn).max(axis=2)
    assert np.mean(off > 14) < 0.002  # one level of a channel in 18: edges of a few letters
    assert off.max() <= 43  # half a step of the coarsest levels, 85


@each_figure
def test_the_alternative_text_holds_the_answer(figure, results):
    for result, (_, said) in zip(made(results), anew(figure, results), strict=True):
        if figure is SiteFigure:
            assert f"{int((result.chosen >= 0).sum())} assured" in said
        elif figure is AssuranceFigure:
            assert result.chances.curve(result.kinds).sentence in said
        else:
            assert result.sentence in said


def test_a_large_site_is_cut_to_the_first_cameras():
    picture = pixels(SiteFigure(many_cameras(MOST_ROWS + 5)).png())
    assert picture.shape == pixels(SiteFigure(many_cameras(MOST_ROWS)).png()).shape


def pixels(png):
    return np.asarray(Image.open(BytesIO(png)).convert("RGB"))


def test_a_picture_that_stands_alone_is_drawn_for_the_width_of_its_column():
    # Drawn narrower it is stretched, blurry and large on a wide screen. Two pictures share the column.
    names = [name for _, name, _ in pkgutil.iter_modules(panels.__path__)]
    rooms = [importlib.import_module(f"edgestore.panels.{name}") for name in names]
    found = [panel for room in rooms for panel in vars(room).values() if isinstance(panel, Panel)]
    assert len(found) > 8
    assert {
        p.figure.__name__ for p in found if not p.beside and p.figure.width_inch != MovingFigure.width_inch
    } == set()
