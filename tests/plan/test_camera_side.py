"""What other settings of a camera change, against the encodes that were measured and hand arithmetic."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from edgestore.models.rate.frames import FRAME_BITS_PER_PIXEL
from edgestore.plan.camera_side import FRAME_RATE_HALVED, KEY_FRAMES_HALVED, SETTINGS, camera_side
from edgestore.plan.read import read_lists

DATA = Path(__file__).parents[2] / "data"
NIGHT, BUSY = ["night_busy_s4"], ["busy_people", "busy_traffic"]


def encodes(experiments, by):
    """Rates of the encodes that differ in one column alone, that column across."""
    table = pd.read_csv(DATA / "measured" / "measured_bitrates.csv")
    table = table[table["exp"].isin(experiments)]
    same = ["exp", "scene", "codec", "crf", *({"fps", "gop_s"} - {by})]
    return table.pivot_table(index=same, columns=by, values="mean_kbps").reset_index("scene")


def site_of(tmp_path, *rows, head="camera,mean_mbit_s,cap_mbit_s,scene,recording,events_per_h,event_s"):
    (tmp_path / "cameras.csv").write_text("\n".join([head, *rows]))
    return read_lists(tmp_path / "cameras.csv", DATA / "cards.csv")


@pytest.fixture(scope="module")
def demo():
    folder = DATA / "ferry_terminal"
    return camera_side(read_lists(folder / "cameras.csv", DATA / "cards.csv", folder / "site.toml"))


@pytest.mark.parametrize(
    ("scene", "clips"), [("quiet", ["quiet_people_s1", "static_loop"]), ("busy", BUSY), ("noisy night", NIGHT)]
)
def test_the_range_of_rarer_key_frames_is_the_one_measured(scene, clips):
    wide = encodes(["E4_gop"], "gop_s")
    wide = wide[wide["scene"].isin(clips)]
    ratios = np.concatenate([wide[2 * every] / wide[every] for every in (1, 2, 4)])
    assert KEY_FRAMES_HALVED[scene] == pytest.approx((ratios.min(), ratios.max()), abs=0.011)


def test_the_range_of_half_the_frame_rate_in_busy_scenes_is_the_one_measured():
    wide = encodes(["E3_fps", "E10_fps_cqp"], "fps")
    assert set(wide["scene"]) == set(BUSY)
    ratios = pd.concat([wide[5] / wide[10], wide[15] / wide[30]]).dropna()
    assert len(ratios) == 10
    assert FRAME_RATE_HALVED["busy"] == pytest.approx((ratios.min(), ratios.max()), abs=0.005)


@pytest.mark.parametrize(("scene", "noise"), [("quiet", "none"), ("noisy night", "visible")])
def test_where_it_was_not_measured_it_follows_from_the_sizes_of_frames(scene, noise):
    # In 2 s one key frame and 2 fps - 1 others become one and fps - 1; at 20 to 60 frames/s before.
    seen = [FRAME_BITS_PER_PIXEL[kind][noise] for kind in (("quiet",) if scene == "quiet" else ("quiet", "busy"))]
    pairs = [pair for by_codec in seen for sizes in by_codec.values() for clips in sizes.values() for pair in clips]
    ratios = [(key + other * (fps - 1)) / (key + other * (2 * fps - 1)) for key, other in pairs for fps in (10, 30)]
    low, high = FRAME_RATE_HALVED[scene]
    assert low == pytest.approx(min(ratios), abs=0.01)
    assert high == pytest.approx(max(ratios), abs=0.01)


def test_a_lower_cap_takes_a_quarter_at_the_most_and_leaves_a_mean_far_below_it_as_it_is(tmp_path):
    table = camera_side(site_of(tmp_path, "gate,1,8,quiet,continuous,,", "lane,4,4,busy,continuous,,")).table
    gate, lane = (
        table[(table["camera"] == name) & (table["setting"] == "lower cap")].iloc[0] for name in ("gate", "lane")
    )
    assert gate["gb_per_day_now"] == pytest.approx(10.8)  # 1 Mbit/s x 86 400 s / 8 / 1000
    assert (gate["gb_per_day_high"], gate["gb_per_day_low"]) == pytest.approx((10.8, 8.1))
    assert (lane["gb_per_day_high"], lane["gb_per_day_low"]) == pytest.approx((32.4, 32.4))  # 3 Mbit/s: the new cap


def test_frames_and_key_frames_change_a_listed_mean_as_its_scene_says_and_no_constant_rate(tmp_path):
    table = camera_side(site_of(tmp_path, "gate,1,8,quiet,continuous,,")).table.set_index("setting")
    assert table.loc["half the frame rate", ["gb_per_day_high", "gb_per_day_low"]].tolist() == pytest.approx(
        [10.8, 9.828]  # 0.91 of it
    )
    assert table.loc["key frames half as often", ["gb_per_day_high", "gb_per_day_low"]].tolist() == pytest.approx(
        [7.236, 5.508]  # 0.67 and 0.51 of 10.8
    )


def test_on_motion_a_camera_writes_a_tenth_to_a_half_and_one_that_does_already_is_not_asked(tmp_path):
    rows = "gate,1,8,quiet,continuous,,", "door,1,8,quiet,motion,20,30"
    table = camera_side(site_of(tmp_path, *rows)).table
    motion = table[table["setting"] == "recording on motion"]
    assert motion["camera"].tolist() == ["gate"]
    assert motion[["gb_per_day_high", "gb_per_day_low"]].to_numpy().ravel() == pytest.approx([5.4, 1.08])


def test_without_a_cap_no_lower_one_is_tried(tmp_path):
    table = camera_side(site_of(tmp_path, "gate,1,,quiet,continuous,,")).table
    assert set(table["setting"]) == set(SETTINGS) - {"lower cap"}


def test_a_setting_that_writes_less_never_costs_more(demo):
    table = demo.table[(demo.table["setting"] != "recording on motion") & (demo.table["card_now"] != "")]
    assert len(table) > 30
    slack = 1e-6 * table["cost_now"]
    assert (table["cost_high"] <= table["cost_now"] + slack).all()
    assert (table["cost_low"] <= table["cost_high"] + slack).all()


def test_every_setting_is_told_with_what_it_saves_and_what_is_seen_less(demo):
    assert len(demo.sentences) == len(SETTINGS)
    assert all(any(setting.sees_less in text for setting in SETTINGS.values()) for text in demo.sentences)
    lower = next(text for text in demo.sentences if text.startswith("A cap at 75"))
    rows = demo.table[demo.table["setting"] == "lower cap"]
    most = (rows["cost_now"] - rows["cost_low"]).sum()
    assert f"{most:.0f} credits in 10 years" in lower


def test_where_no_setting_applies_nothing_is_told(tmp_path):
    site = site_of(tmp_path, "gate,1,,quiet,motion,20,30")
    vars(site)["rates"] = site.rates.assign(mean_basis="described")  # a constant bit rate without a cap
    none = camera_side(site)
    assert none.table.empty
    assert none.sentences == ()


def test_without_prices_it_is_told_how_many_cameras_get_another_card(tmp_path):
    cards = pd.read_csv(DATA / "cards.csv").drop(columns="price")
    cards.to_csv(tmp_path / "cards.csv", index=False)
    (tmp_path / "cameras.csv").write_text("camera,mean_mbit_s,cap_mbit_s\ngate,4,8\n")
    told = camera_side(read_lists(tmp_path / "cameras.csv", tmp_path / "cards.csv"))
    assert told.table["cost_now"].isna().all()
    assert any("another card for" in text for text in told.sentences)
    assert not any("credits" in text for text in told.sentences)


def test_the_table_to_read_tells_ranges_and_the_one_that_may_save_most_first(demo):
    shown = demo.shown
    saves = [text.replace("\N{NO-BREAK SPACE}", "") for text in shown["Saves in 10 years, credits"]]
    most = [float(text.split(" to ")[-1] or 0) for text in saves]
    assert most == sorted(most, reverse=True)
    table = demo.table.set_index(["camera", "setting"])
    row = shown.iloc[0]
    raw = table.loc[(row["Camera"], next(name for name, of in SETTINGS.items() if of.name == row["Setting"]))]
    assert saves[0] == f"{raw['cost_now'] - raw['cost_high']:.0f} to {raw['cost_now'] - raw['cost_low']:.0f}"
    assert row["Card now"] == raw["card_now"]
    assert row["Card then"] == " to ".join(dict.fromkeys([raw["card_high"], raw["card_low"]]))
    assert row["Image quality given up"] == raw["sees_less"]
    # Where neither the card nor the cost changes nothing is told; where a camera has no card now, that it gets one.
    assert len(shown) < len(table)
    assert ((shown["Card now"] != shown["Card then"]) | (np.array(saves) != "0")).all()
    assert (shown.loc[shown["Card now"] == "none", "Card then"] != "none").all()


def test_the_table_to_read_is_empty_where_no_setting_changes_anything(tmp_path):
    assert camera_side(site_of(tmp_path, "gate,0.1,0.2,quiet,motion,1,10")).shown.empty
