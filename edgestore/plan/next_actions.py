"""What to do next at each camera, by what its card turned out to hold: the most urgent first."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import pandas as pd

from edgestore.plan.as_asked import MORE, Asked, against_asked, asked_of, held_words
from edgestore.plan.credible import is_above_cap, is_covered, is_far_off, may_be_one_clip, may_have_gaps, why_not_learnt
from edgestore.plan.site_plan import SitePlan
from edgestore.plan.verdicts import (
    CLOCK,
    DELETES,
    GAPS,
    LONGER,
    NOT_FULL,
    NOT_RECORDING,
    SHORTER,
    Held,
    days,
)
from edgestore.text import counted, number
from edgestore.units import H_PER_DAY, S_PER_H, S_PER_MIN

LOST, PARTLY_LOST, HARDLY, TOO_SHORT, TOO_LONG, CARD_DUE, CORRECT, SAVE, WAIT, NOTHING = range(10)
"""How urgent an action is: footage is lost now, in part, perhaps; it is too little, or too much; a card is due; the
lists are to be corrected, answers to be saved; it is too early; nothing."""

WHEN = ("today", "today", "today", "soon", "soon", "next visit", "at the desk", "at the desk", "later", "nothing")
"""When each of them is to be done."""

SAME_TIME_H, FEWEST_GAPS = 1.0, 3
"""So many gaps or more that all begin within so long a time of the day have one cause by the clock (our choice)."""

A_WEEK = pd.Timedelta(days=7)

HISTORY = "its history"
"""In these words an action asks for the history of a camera, or goes by it."""

SAVE_HISTORY = (
    "To save a history: FindEvents with IncludeStartState from the oldest footage on, then GetEventSearchResults until "
    "SearchState is Completed, each answer as a file of the camera."
)
"""How that is done, told once beside all actions."""


@dataclass(frozen=True)
class Action:
    """What to do next at a camera.

    Attributes
    ----------
    camera : str
        The camera.
    rank : int
        How urgent: 0 is the most.
    what : str
        In sentences, the most urgent first; before those that are for later stands when they are to be done.
    """

    camera: str
    rank: int
    what: str

    @property
    def when(self) -> str:
        """One of ``WHEN``."""
        return WHEN[self.rank]


Step = tuple[int, str]
"""How urgent, and what."""


def next_actions(held: Sequence[Held], after: SitePlan, other_cards: Mapping[str, tuple[str, str]]) -> list[Action]:
    """What to do next at each camera.

    Parameters
    ----------
    held : sequence of Held
        What its cards hold, with verdicts.
    after : SitePlan
        The plan made with what was learnt.
    other_cards : mapping
        By the cameras for which that plans another card, the card planned before and that one; empty for none.

    Returns
    -------
    list of Action
        One for each camera: the most urgent first, of those that do not record the one that is silent for the longest,
        of those that hold too little the one that lacks the most, else in the order of the camera list.
    """
    actions = []
    for of, asked in zip(held, asked_of(after), strict=True):
        steps = sorted(_steps(of, asked, other_cards.get(of.camera)), key=lambda step: step[0])
        rank = steps[0][0]
        worse = _lacks(of, asked) if rank == TOO_SHORT else -of.silent_h
        actions.append((rank, worse, Action(of.camera, rank, _in_order(steps))))
    return [action for *_, action in sorted(actions, key=lambda one: one[:2])]


def how_to_save(actions: Sequence[Action]) -> str:
    """How to save a history, in a sentence, where an action asks for one; else empty.

    Parameters
    ----------
    actions : sequence of Action
        Those that are told.

    Returns
    -------
    str
        ``SAVE_HISTORY``, or empty.
    """
    return SAVE_HISTORY if any(HISTORY in action.what for action in actions) else ""


def _in_order(steps: Sequence[Step]) -> str:
    """Write steps in their order; those that are for later than the first ones are told with when they are due."""
    first, *later = (
        (when, " ".join(text for _, text in alike)) for when, alike in groupby(steps, lambda step: WHEN[step[0]])
    )
    return " ".join([first[1], *(f"{when.capitalize()}: {texts}" for when, texts in later)])


def _lacks(of: Held, asked: Asked) -> float:
    return of.retention_h / asked.held_h if of.achieved else 0.0


def _steps(of: Held, asked: Asked, other: tuple[str, str] | None) -> Iterator[Step]:
    """Give all that is to be done at a camera; where nothing is, that and until when."""
    if of.gone:
        yield (
            CORRECT,
            f"It is gone since {of.gone}, by the service log: take it off the camera list, or enter the card of the "
            "camera that is in its place in the service log.",
        )
        return
    of_card = _about_new_card(of) if of.taken_out else (*_now(of), *_about_retention(of, asked), *_about_answers(of))
    steps = [*of_card, *_about_clock(of)]
    if of.has_no_card:
        steps.append((LOST, "Fit a card, or enter in the service log the one that was fitted."))
    if other is not None:
        before, now = (card or "no card" for card in other)
        steps.append((CORRECT, f"Plan {now} as its next card, in place of {before}, by what was learnt."))
    is_due = asked.due is not None and asked.orders_by is not None and asked.due <= asked.orders_by
    if is_due:
        card = "card" if of.taken_out else f"{of.card} card".strip()
        steps.append((CARD_DUE, f"Replace its {card}, due on {asked.due:%Y-%m-%d}."))
    yield from steps
    if not steps:
        until = "" if asked.due is None else f" until its card is due, on {asked.due:%Y-%m-%d}"
        yield NOTHING, f"Nothing{until}."


def _about_new_card(of: Held) -> Iterator[Step]:
    """What to do about answers that are of the card before: they tell nothing of the one that is in the camera now."""
    yield (
        CORRECT,
        f"Save its answers again: those of {of.saved} are of the {of.card} that was taken out on {of.taken_out}.",
    )


def _now(of: Held) -> Iterator[Step]:
    """What may be losing footage now."""
    found = of.achieved
    if of.verdict == NOT_RECORDING:
        if found is not None and np.isfinite(of.deleted_h):
            yield LOST, f"Copy what is still needed: the camera may delete it at an age of {days(of.deleted_h)}."
        yield (
            LOST,
            "Open its live picture and its recording settings: is recording on, is the card detected, is it "
            "full of locked clips? Start the recording again, or replace a card that is not detected; then save its "
            "answers again, with GetSystemDateAndTime.",
        )
    elif of.verdict == GAPS and found is not None:
        if found.maybe_locked == 1:
            yield PARTLY_LOST, "Look for locked clips: where its oldest footage is one, the longest gap is none."
        elif found.maybe_from is not None:
            clips, since = f"its {found.maybe_locked} oldest clips", of.at(found.maybe_from)
            yield PARTLY_LOST, f"Look for locked clips: where {clips} are such, the gaps before {since} are none."
        hour = _same_time_h([of.local(begin) for begin, _ in found.gaps])
        if hour is None:
            yield PARTLY_LOST, "Find what stops the recording: power, restarts, a failing card."
        else:
            at = pd.Timestamp(0) + pd.Timedelta(hours=hour)
            cause = "a schedule, a restart, or power that is cut by the clock"
            yield (
                PARTLY_LOST,
                f"Find what stops the recording at about {at.round('5min'):%H:%M} {of.time_zone} each time: {cause}.",
            )
    elif of.verdict == LONGER and is_far_off(of):
        trigger = "its trigger, the mask and the sensitivity" if of.recording == "motion" else "its recording settings"
        if of.has_listed_clips and may_be_one_clip(of):
            yield (
                SAVE,
                "Look for locked clips: its oldest footage may be a locked clip, as listed. Where it is none, it may "
                f"hardly record: play back a known event, and check {trigger}.",
            )
        else:
            yield (
                HARDLY,
                "It may hardly record, or its oldest footage is a locked clip: play back a known event, check "
                f"{trigger}, and look for locked clips.",
            )


def _about_clock(of: Held) -> Iterator[Step]:
    """What to do about a clock that shows another day than that of the answers."""
    if not of.clock_ahead_days:
        return
    if of.is_clock_known:
        off = f"{counted(abs(of.clock_ahead_days), 'day')} {'ahead' if of.clock_ahead_days > 0 else 'behind'}"
        noted = f"First note how far off it is ({off}): the times of the footage on the card need it."
        yield TOO_LONG, f"Set its clock (NTP): footage with a wrong time is worth little as evidence. {noted}"
        if of.clock_ahead_days < 0 and np.isfinite(of.deleted_h):
            yield (
                TOO_LONG,
                "Copy what is still needed before that: once the clock is right, the camera may delete at once what it "
                f"then takes for older than {days(of.deleted_h)}.",
            )
    else:
        yield (
            TOO_LONG,
            "Check its clock, which seems to be ahead, and the day in the name of the folder; save "
            "GetSystemDateAndTime with the next answers.",
        )


def _about_retention(of: Held, asked: Asked) -> Iterator[Step]:
    """What to do about footage that is kept for less or for longer than is asked."""
    found = of.achieved
    if found is None or of.verdict == NOT_RECORDING:
        return
    is_short = of.retention_h < asked.held_h and (found.is_full or of.verdict == DELETES)
    if of.verdict == SHORTER:
        locked = f" ({number(of.locked_gb)} GB of them would explain it)" if of.locked_gb > 0 else ""
        urgent = TOO_SHORT if is_short else CORRECT
        yield urgent, f"Check for locked clips{locked}, then the cap and the frame rate."
        begun = f"{of.local(found.oldest) + A_WEEK:%Y-%m-%d}"
        yield urgent, f"Save its answers again in a week: a full card then has no footage from before {begun}."
    if is_above_cap(of):
        history = "" if found.recorded_part > 0 else f", and {HISTORY}"
        yield (
            CORRECT,
            "Read in the camera how large the card is, which stream is recorded and which cap is set; save its encoder "
            f"settings{history}.",
        )
    if is_short and of.verdict == DELETES:
        yield TOO_SHORT, f"Set its MaximumRetentionTime to {days(asked.held_h)} or more: it deletes required footage."
    elif is_short:
        held = f"{held_words(of)} of the {days(asked.held_h)}"
        why = "required to cover an outage" if asked.is_for_outage else "required"
        yield TOO_SHORT, f"It holds {held} {why}: {_would_hold(of, asked)}."
    if of.is_kept_longer:
        held = f"It is set to delete after {days(of.kept_h)} and yet holds {days(found.hours)}"
        yield TOO_LONG, f"{held}: it does not delete, or its oldest clip is locked; check which."
    if against_asked(of, asked) == MORE and not of.kept_h <= asked.allowed_h:
        yield TOO_LONG, f"Set it to delete after {days(asked.allowed_h)}: it keeps footage for longer than allowed."
    elif of.kept_h > asked.deleted_h:
        yield (
            TOO_LONG,
            f"Set its MaximumRetentionTime to {days(asked.allowed_h)}: the plan counts on that, and it is not set.",
        )
    else:
        return
    if found.hours > asked.allowed_h:
        yield (
            TOO_LONG,
            "Copy what is still needed before that, as evidence or for a request: the camera may delete at once what "
            f"is older than {days(asked.allowed_h)}.",
        )


def _would_hold(of: Held, asked: Asked) -> str:
    """Say which card would hold the days asked, by what was learnt; where that is nothing, to find the cause first."""
    if why_not_learnt(of) and not (may_have_gaps(of) and asked.card != of.card):
        return "find out why before another card is fitted"
    if asked.card == "":
        less = "a shorter outage to be covered" if asked.is_for_outage else "fewer days"
        return f"no card of the list holds them with the assurance asked; lower the cap, or require {less}"
    return f"fit a {asked.card}" if asked.card != of.card else f"with what was learnt, a {of.card} should hold them"


def _about_answers(of: Held) -> Iterator[Step]:
    """What of the lists to correct, and what of the answers to save, or to save again."""
    if of.correct:
        first = {SHORTER: "If no clip is locked, correct", LONGER: "If it records what it should, correct"}
        if may_be_one_clip(of):
            first[LONGER] = f"If {HISTORY} shows that its oldest footage is no single clip, correct"
        elif may_have_gaps(of):
            first[LONGER] = f"If {HISTORY} shows that it recorded all the time, correct"
        yield CORRECT, f"{first.get(of.verdict, 'Correct')} the lists: {'; '.join(of.correct)}."
    if of.remedy:
        yield TOO_LONG if of.verdict == CLOCK else SAVE, of.remedy
    elif of.unread:
        yield SAVE, f"Save again what could not be read: {'; '.join(f'{x.where} ({x.found})' for x in of.unread)}."
    if of.achieved is None:
        return
    if of.achieved.apart:
        count, pause = of.achieved.apart, days(of.achieved.apart_pause_h)
        clips = (
            "oldest clip, apart from the rest, is" if count == 1 else f"{count} oldest clips, apart from the rest, are"
        )
        yield SAVE, f"Check that its {clips} locked: else nothing was recorded for {pause}."
    if of.all_from is not None and of.all_tracks_h > 0 and of.verdict != NOT_RECORDING:
        yield (
            SAVE,
            "Save its answers again in a day, with GetRecordingInformation: if one of its video tracks still begins at "
            f"{of.at(of.all_from)}, it was switched on then; else it is kept for {days(of.all_tracks_h)} only, which "
            "then counts.",
        )
    has_history, is_wrong = of.achieved.recorded_part > 0, of.is_wrong and of.verdict != NOT_RECORDING
    if of.achieved.is_unfinished:
        yield SAVE, f"Save {HISTORY} again: the search had not ended."
    elif is_wrong and not has_history and of.recording == "motion":
        yield SAVE, f"Save {HISTORY} too: without it rate and recorded part cannot be told apart."
    elif is_wrong and not has_history and not is_above_cap(of):
        yield SAVE, f"Save {HISTORY} too: it shows gaps, and clips that stand apart."
    elif is_wrong and may_be_one_clip(of):
        yield SAVE, f"Save {HISTORY} from its oldest footage on: it shows whether that is a single clip."
    elif not (of.verdict in (NOT_RECORDING, NOT_FULL) or is_above_cap(of) or is_covered(of.achieved)):
        open_too = "gaps do not show" if of.recording == "continuous" else "the part recorded is not known"
        yield (
            SAVE,
            f"Save {HISTORY} from its oldest footage on: without it that may be a single clip, and {open_too}.",
        )
    if of.verdict == NOT_FULL:
        begun_h = max(of.achieved.begun_h, 0.0)
        full = pd.Timestamp(of.fitted) + pd.Timedelta(hours=begun_h + of.planned_h[2])
        if full > pd.Timestamp(of.saved):
            yield WAIT, f"Save its answers again from {full:%Y-%m-%d} on: by then the card should be full."


def _same_time_h(moments: Sequence[pd.Timestamp]) -> float | None:
    """Time of the day, in h, about which all gaps begin; None where they begin at any time."""
    if len(moments) < FEWEST_GAPS:
        return None
    begins = np.array([moment.hour + moment.minute * S_PER_MIN / S_PER_H for moment in moments])
    turned = np.exp(2j * np.pi * begins / H_PER_DAY).mean()
    middle = float(np.angle(turned) / (2 * np.pi) * H_PER_DAY % H_PER_DAY)
    off = (begins - middle + H_PER_DAY / 2) % H_PER_DAY - H_PER_DAY / 2
    return middle if np.abs(off).max() <= SAME_TIME_H / 2 else None
