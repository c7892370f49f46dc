"""A wrong model is noticed: each of these is swapped in for the right one, and a row of the check files fails."""

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any

import numpy as np
import pytest

from edgestore.inputs.clip import read_clip
from edgestore.plan import assured, choice
from edgestore.plan.site import Site
from edgestore.verification import own_check_files, read_checks, run
from edgestore.verification.quantities import CHECKABLE

CHECKS = read_checks(own_check_files())
Model = Callable[..., Any]


def ignoring(**fixed: Any) -> Callable[[Model], Model]:
    """Make a model take the same value of an argument whatever it is given."""

    def wrong(right: Model) -> Model:
        return wraps(right)(lambda *args, **inputs: right(*args, **{**inputs, **fixed}))

    return wrong


def times(factor: float, *names: str) -> Callable[[Model], Model]:
    """Make a model's answer, or an argument of it where one is named, too large or too small."""

    def wrong(right: Model) -> Model:
        if not names:
            return wraps(right)(lambda *args, **inputs: np.multiply(right(*args, **inputs), factor))
        return wraps(right)(
            lambda *args, **inputs: right(*args, **{**inputs, **{n: np.multiply(inputs[n], factor) for n in names}})
        )

    return wrong


def answering(**parts: Any) -> Callable[[Model], Model]:
    """Make a model give the same part of its answer whatever it is asked; a callable is given the right answer."""

    def wrong(right: Model) -> Model:
        def model(**inputs: Any) -> Any:
            answer = right(**inputs)
            return replace(answer, **{name: part(answer) if callable(part) else part for name, part in parts.items()})

        return wraps(right)(model)

    return wrong


def swapping(argument: str, words: dict[str, str]) -> Callable[[Model], Model]:
    """Make a model read one word for another."""

    def wrong(right: Model) -> Model:
        def model(**inputs: Any) -> Any:
            word = inputs.get(argument)
            return right(**{**inputs, **({argument: words[word]} if word in words else {})})

        return wraps(right)(model)

    return wrong


ORDERS = {"oldest first": "most urgent first", "most urgent first": "oldest first"}
RANDOM = {"wear_life_years": 1e9, "random_per_year": 0.1}

WRONG: list[tuple[str, str, Callable[[Model], Model]]] = [
    # rate
    ("Hurst parameter ignored", "cv_of_mean", ignoring(hurst=0.5)),
    ("Hurst parameter ignored in the spread", "retention_spread", ignoring(hurst=0.5)),
    ("night read as busy", "mean_range_mbit_s", swapping("scene", {"noisy night": "busy"})),
    ("noise of the night ignored", "estimated_range_mbit_s", ignoring(night_noise="none")),
    ("quality ignored", "estimated_range_mbit_s", ignoring(quality="usual")),
    ("mean under a cap 2 % high", "mean_under_cap_mbit_s", times(1.02)),
    ("sound ignored", "stored_mbit_s", ignoring(audio_mbit_s=0)),
    ("roll after the event ignored", "recorded_fraction", ignoring(post_roll_s=0)),
    ("roll before the event ignored over the day", "mean_recorded_fraction", ignoring(pre_roll_s=0)),
    # retention
    ("GB read as GiB", "retention_h", times(1.073741824, "capacity_gb")),
    ("usable fraction ignored in the capacity", "capacity_gb_for_retention", ignoring(usable_fraction=1)),
    ("recorded fraction ignored in the capacity", "capacity_gb_for_retention", ignoring(recorded_fraction=1)),
    ("usable fraction ignored in the rate", "bitrate_mbit_s_for_retention", ignoring(usable_fraction=1)),
    ("recorded fraction ignored in the rate", "bitrate_mbit_s_for_retention", ignoring(recorded_fraction=1)),
    ("worst hour taken for the oldest", "retention_through_week", answering(worst_h=lambda it: it.oldest_h.max())),
    # speed
    ("keeps up, always", "keeps_up", answering(keeps_up=True)),
    ("keeps up, never", "keeps_up", answering(keeps_up=False)),
    ("slot ignored", "guaranteed_write_mbyte_s", ignoring(slot_bus=None)),
    ("margin of speed ignored", "write_mbyte_s_for_margin", ignoring(speed_margin=1)),
    ("lump ignored", "stall_buffer_mb", ignoring(burst_mb=0)),
    ("update ignored", "sustained_write_mbyte_s", ignoring(update_s=0.1)),
    # wear
    ("mapping ignored", "write_amplification_camera", ignoring(mapping="unit")),
    ("write amplification ignored", "endurance_tbw_from_cycles", ignoring(write_amplification=1)),
    ("temperature of storage ignored", "unpowered_keep_years", ignoring(storage_c=30)),
    ("activation energy ignored", "arrhenius_factor", ignoring(activation_ev=1.1)),
    ("recorded fraction ignored in the life", "life_years", ignoring(recorded_fraction=1)),
    ("open units ignored by the simulated card", "simulated_write_amplification_camera", ignoring(open_units=4)),
    # life and lots
    ("weak share ignored", "CardLife.mean_life_years", ignoring(early_fraction=0)),
    ("weak share ignored in the chance", "CardLife.chance_of_lasting", ignoring(early_fraction=0)),
    ("age ignored in the chance", "CardLife.chance_of_lasting", ignoring(age_years=0)),
    ("running cards ignored", "fit_weibull", ignoring(running_years=())),
    ("accept number ignored", "acceptance_chance", ignoring(failures=0)),
    ("accept number ignored in a lot", "lot_acceptance_chance", ignoring(failures=0)),
    ("what a trial cannot see ignored", "updated_weak_fraction", ignoring(detected_fraction=1)),
    # outage
    ("cameras ignored while footage is fetched", "lost_in_backfill_h", ignoring(cameras=1)),
    ("rate of the cameras ignored while footage is fetched", "backfill_h", ignoring(bitrate_mbit_s=4)),
    ("wait for the visit ignored", "lost_in_wait_h", ignoring(wait_h=0)),
    ("age of the footage ignored", "lost_in_wait_h", ignoring(ended_h=0)),
    ("order of fetching swapped", "backfill_of_site", swapping("order", ORDERS)),
    ("inspections ignored", "outage_figures", ignoring(inspected_every_days=365)),
    ("what the card never saves ignored", "retention_h_for_fraction", ignoring(unsaved_fraction=0)),
    # upkeep
    ("age ignored in the replacements", "expected_replacements", ignoring(age_years=0)),
    ("age ignored in the next change", "next_change_years", ignoring(age_years=0)),
    ("age of change one step of 1 % late", "best_change_years",
     answering(interval_years=lambda it: it.interval_years * 1.01)),
    ("planned changes at the end counted", "expected_changes", answering(planned=lambda it: it.planned + 1)),
    ("spares for half the lead time", "spares_for_confidence", times(0.5, "failures")),
    ("uncertain rate ignored in the spares", "spares_for_confidence", ignoring(failures_cv=0)),
    ("lifts ignored", "cheapest_card", ignoring(lift_price=0)),
    ("failures between group visits replaced", "best_group_years", ignoring(between="replaced")),
    ("law of life ignored by inspections", "best_inspection_years", lambda right: wraps(right)(
        lambda card, **inputs: right(card=type(card)(**RANDOM), **inputs))),
    ("cost of the best inspection 2 % high", "best_inspection_years",
     answering(cost_per_year=lambda it: it.cost_per_year * 1.02)),
    ("no inspection after the mean life", "best_inspection_years",
     answering(interval_years=lambda it: np.minimum(it.interval_years, 10))),
    # uncertainty
    ("chances of the states ignored", "evppi", ignoring(chance=None)),
    ("error of the measurement ignored", "evsi", ignoring(sigma=0)),
    ("confidence ignored", "tolerance_factor", ignoring(confidence=0.95)),
    # registers
    ("checksum ignored", "register_crc7", answering(state="right")),
    ("what is erased reads as zeros, always", "decoded_scr", answering(ones_after_erase=False)),
    ("three commands known, always", "decoded_scr", answering(commands=("CMD20", "CMD23", "CMD48/49"))),
    ("one line or four, always", "decoded_scr", answering(bus_widths_bits=(1, 4))),
    ("first byte of the checksum ignored", "crc7", lambda right: wraps(right)(
        lambda message_hex: right(message_hex=message_hex[2:] or "00"))),
    # answers
    ("usable fraction ignored in what a card holds", "holding", ignoring(usable_fraction=1)),
    ("recorded fraction ignored in how long a card lasts", "lasting", ignoring(recorded_fraction=1)),
    ("way an endurance is stated ignored", "lasting", ignoring(endurance_kind="cycles of the flash")),
    ("lost footage ignored in the upkeep", "upkeep", ignoring(lost_cost=0)),
    ("cards ignored in the spares", "upkeep", ignoring(cards=1)),
    ("outages that take the camera too ignored", "saving", ignoring(shared_cause_share=0)),
    ("mean ignored in what a card saves", "saving", ignoring(mean_over_cap=1)),
    ("weak cards ignored in how sure it is", "certainty", ignoring(early_percent=0)),
    ("recorded fraction ignored in how sure it is", "certainty", ignoring(recorded_fraction=1)),
]  # fmt: skip


def noticed(quantity: str) -> bool:
    """Whether a row of a quantity fails now by its value, and not since the model raised; the first is enough."""
    for check in (check for check in CHECKS if check.quantity == quantity):
        row = run([check]).iloc[0]
        if not row.passed and isinstance(row.got, str) == isinstance(check.expected, str):
            return True
    return False


@pytest.mark.parametrize(("quantity", "wrong"), [row[1:] for row in WRONG], ids=[row[0] for row in WRONG])
def test_a_wrong_model_is_noticed(
    quantity: str, wrong: Callable[[Model], Model], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(CHECKABLE, quantity, wrong(CHECKABLE[quantity]))
    assert noticed(quantity)


def _dearest(burden: np.ndarray, numbers: np.ndarray) -> np.ndarray:
    return numbers[np.where(np.isfinite(burden[:, numbers]), burden[:, numbers], -np.inf).argmax(axis=1)]


@pytest.mark.parametrize(
    ("where", "name", "wrong"),
    [
        (choice, "_cheapest", _dearest),
        (assured, "speed_margin", lambda write, rate: np.full(np.broadcast(write, rate).shape, np.inf)),
        (Site, "ring_fraction", property(lambda site: np.ones(len(site.cameras)))),
        (Site, "retention_days_to_hold", property(lambda site: site.wanted["retention_days"].to_numpy(float))),
    ],
    ids=[
        "the dearest card chosen",
        "margin of speed ignored in the plan",
        "locked clips ignored in the plan",
        "locked clips ignored in the chance",
    ],
)
def test_a_wrong_plan_is_noticed(where: Any, name: str, wrong: Model, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(where, name, wrong)
    assert noticed("plan_of_site")


def test_a_plan_that_ignores_the_assurance_asked_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    right = CHECKABLE["plan_of_site"]

    @wraps(right)
    def lax(settings: Any = None, **inputs: Any) -> Any:
        return right(settings=settings.with_name("site.toml"), **inputs)

    monkeypatch.setitem(CHECKABLE, "plan_of_site", lax)
    assert noticed("plan_of_site")


def test_a_clip_whose_container_is_counted_as_video_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    def with_container(source: Any) -> Any:
        clip = read_clip(source)
        return replace(clip, mean_mbit_s=clip.stored_mbit_s)

    monkeypatch.setattr("edgestore.inputs.clip.read_clip", with_container)
    assert noticed("clip")
