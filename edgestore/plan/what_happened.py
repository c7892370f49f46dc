"""What happened at a site, as an answer to a page: planned and achieved, what to do next, and the plan made anew."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.inputs.saved_answers import SavedAnswers, read_answers
from edgestore.plan.as_asked import Asked, against_asked, asked_of, asked_words, by_summary_words, not_as_asked
from edgestore.plan.card_life import known_before
from edgestore.plan.credible import learnt_words
from edgestore.plan.happened import NO_LOG, failed_early, held_by_cameras, learnt_site
from edgestore.plan.happened_assumptions import ASSUMPTIONS, LOCKED_ASSUMPTION
from edgestore.plan.happened_tables import TABLES, shown_table
from edgestore.plan.judge import about_clock, judged
from edgestore.plan.next_actions import CARD_DUE, Action, next_actions
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.plan.verdicts import (
    AS_IT_WAS,
    AS_PLANNED,
    BAND,
    CANNOT_TELL,
    CLOCK,
    NO_ANSWER,
    OPEN,
    OTHERWISE,
    SHORTER,
    VERDICTS,
    Held,
)
from edgestore.text import counted, percent

ALL, WRONG = "all", "not as planned"
OF_CAMERAS = (ALL, WRONG)
"""Which cameras may be shown."""

LEARNT = (0.5, 0.05, 0.95)
"""What was learnt is told as a middle and the ends between which nine in ten lie."""

LEAST_MOVE = pd.Timedelta(days=60)
"""A date that moves by less has not moved by months."""

LEARNT_ONCE = ("_early", "_changes", "_asked", "rates", "kinds")
"""What depends neither on the band nor on what is shown."""

NAMED = 5
"""So many cameras that do not record are named in the sentence; the list has all."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class WhatHappened:
    """What happened at a site.

    Attributes
    ----------
    before, after : SitePlan
        The plan, and the plan made anew with what was learnt.
    answers : SavedAnswers
        What the cameras said.
    held : tuple of Held
        What the card of each camera holds.
    band : float
        Part of such cameras that should lie within the retention planned, 0 to 1.
    shown : str
        One of ``TABLES``.
    of_cameras : str
        One of ``OF_CAMERAS``: those that table and picture show; all are written.
    """

    before: SitePlan
    after: SitePlan
    answers: SavedAnswers
    held: tuple[Held, ...]
    band: float = BAND
    shown: str = TABLES[0]
    of_cameras: str = ALL

    def within(self, band: float) -> "WhatHappened":
        """The same against another band; what was learnt does not depend on it."""
        if band == self.band:
            return self
        return self.showing(held=tuple(judged(of, band) for of in self.held), band=band)

    def showing(self, **changes: Any) -> "WhatHappened":
        """The same shown otherwise; what does not depend on that stays computed."""
        other = replace(self, **changes)
        vars(other).update({name: getattr(self, name) for name in LEARNT_ONCE})
        return other

    @property
    def listed(self) -> list[Held]:
        """The cameras that are shown, the most urgent first."""
        by_camera = {of.camera: of for of in self.held}
        ordered = [by_camera[action.camera] for action in self.actions]
        return [of for of in ordered if of.is_wrong or self.of_cameras != WRONG]

    @property
    def counts(self) -> dict[str, int]:
        """How many cameras have each verdict; each camera has one."""
        counts = Counter(of.verdict for of in self.held)
        return {verdict: counts[verdict] for verdict in VERDICTS if counts[verdict]}

    @cached_property
    def actions(self) -> list[Action]:
        """What to do next at each camera, the most urgent first."""
        others = {camera: (before, now) for camera, before, now in self.other_cards.itertuples(index=False, name=None)}
        return next_actions(self.held, self.after, others)

    @property
    def sentence(self) -> str:
        """How many cameras did as planned, how many did not, where to begin, and what changes."""
        asked = counted(len(self.held), "camera")
        if all(of.verdict == NO_ANSWER for of in self.held):
            return f"None of {asked} has saved answers: nothing can be held against the plan."
        counts = self.counts
        parts = [
            f"{sum(counts.get(of, 0) for of in group)} {told}{_of_these(counts, group)}"
            for group, told in (
                (AS_IT_WAS, "did as planned"),
                (OTHERWISE, "did not"),
                (OPEN, "cannot be judged yet"),
            )
            if any(of in counts for of in group)
        ]
        first = self.actions[0]
        told = [of for of in self.held if of.camera == first.camera and of.why]
        whys = (of.why[0] for of in told if of.has_no_card or not of.taken_out)
        why = next(whys, first.what)
        begin = f" Begin with {first.camera}: {why.removesuffix('.')}." if first.rank < CARD_DUE else ""
        changes = self._changes
        cards = len(self.other_cards)
        moved = pd.to_datetime(changes["next_change"]) - pd.to_datetime(changes["next_change_before"])
        dates = int((moved.abs() > LEAST_MOVE).sum())
        then = f"{counted(cards, 'camera')} would get another card, and {counted(dates, 'next change')} moved by months"
        band = f"The band planned holds {percent(self.band)} of such cameras."
        asked_for = asked_words(self.against_asked)
        known = by_summary_words(self.held)
        return (
            f"{self._dead}Of {asked}, {', '.join(parts)}.{begin}{asked_for} {band} With what was learnt, {then}{known}."
        )

    @property
    def _dead(self) -> str:
        """Name the cameras that do not record where there are several, the longest silent first."""
        listed = self.showing(of_cameras=ALL).listed
        dead = [of.camera for of in listed if of.is_silent]
        if len(dead) < 2:
            return ""
        more = f" and {len(dead) - NAMED} more" if len(dead) > NAMED else ""
        return f"Not recording: {', '.join(dead[:NAMED])}{more}. "

    @cached_property
    def against_asked(self) -> tuple[str, ...]:
        """Whether each camera holds less than is asked, or longer than is allowed; empty where that is not known."""
        return tuple(against_asked(of, asked) for of, asked in zip(self.held, self._asked, strict=True))

    @cached_property
    def _asked(self) -> tuple[Asked, ...]:
        return tuple(asked_of(self.after))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Why cameras did not do as planned; clocks that are off; what could not be told or read; early failures."""
        all_held = self.showing(of_cameras=ALL).listed
        open_ones = [of for of in all_held if of.verdict in (CLOCK, CANNOT_TELL) and of.why != (NO_LOG,)]
        told = [of for of in all_held if of.is_wrong] + open_ones
        fine = [of for of in all_held if of.camera not in {wrong.camera for wrong in told}]
        without = [of.camera for of in all_held if NO_LOG in of.why]
        clocks = [of.camera for of in all_held if of.verdict == CLOCK]
        faults = [(camera, fault) for camera, all_of in self.answers.unread.items() for fault in all_of]
        unread = [f"{camera}: {fault}" for camera, fault in faults if camera not in clocks]
        silent = [of.camera for of in self.held if of.verdict == NO_ANSWER and not (of.unread or of.gone)]
        taken_out = [f"{of.camera} (on {of.taken_out})" for of in self.held if of.taken_out]
        return (
            *(f"{of.camera}: {of.verdict}; {'; '.join(of.why)}." for of in told if of.why),
            *(f"{of.camera}: {of.verdict}, but {clock}." for of in fine for clock in about_clock(of)),
            *([f"Nothing can be said of {counted(len(without), 'camera')}: {NO_LOG}."] if without else ()),
            *([f"Taken out since it answered is the card of {', '.join(taken_out)}."] if taken_out else ()),
            *not_as_asked(self.held, self._asked, self.against_asked),
            *unread,
            *(f"{camera}: {text}." for camera, text in self._early.items()),
            *([f"No answers were saved of {', '.join(silent)}."] if silent else ()),
            *self.answers.notes,
        )

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the answer rests on."""
        return (*ASSUMPTIONS, *((LOCKED_ASSUMPTION,) if self.before.site.has_locked else ()))

    @cached_property
    def _early(self) -> dict[str, str]:
        return failed_early(self.before.site)

    @property
    def _why(self) -> dict[str, str]:
        """Give why each camera has its verdict, in words."""
        return {
            of.camera: "; ".join([*of.why, *[text for camera, text in self._early.items() if camera == of.camera]])
            for of in self.held
        }

    @cached_property
    def happened(self) -> pd.DataFrame:
        """A row for each camera, as it is written."""
        held, actions = self.held, {action.camera: action for action in self.actions}
        rows = pd.DataFrame(
            {
                "camera": [of.camera for of in held],
                "saved": [of.saved for of in held],
                "card": [of.card for of in held],
                "fitted": [of.fitted for of in held],
                "taken_out": [of.taken_out for of in held],
                "planned_h": [of.planned_h[0] for of in held],
                "planned_low_h": [of.planned_h[1] for of in held],
                "planned_high_h": [of.planned_h[2] for of in held],
                "achieved_h": [of.achieved.hours if of.achieved else np.nan for of in held],
                "all_tracks_h": [of.all_tracks_h for of in held],
                "without_gaps_h": [of.achieved.without_gaps_h if of.achieved else np.nan for of in held],
                "kept_h": [of.kept_h for of in held],
                "asked_h": [asked.held_h for asked in self._asked],
                "allowed_h": [asked.allowed_h for asked in self._asked],
                "against_asked": self.against_asked,
                "verdict": [of.verdict for of in held],
                "why": list(self._why.values()),
                "urgency": [actions[of.camera].rank for of in held],
                "when": [actions[of.camera].when for of in held],
                "next": [actions[of.camera].what for of in held],
                "recorded_part": [of.achieved.recorded_part if of.achieved else np.nan for of in held],
                "planned_mbit_s": self.before.site.rates["planned_mbit_s"].to_numpy(float),
                "follows_mbit_s": [of.follows_mbit_s for of in held],
                "follows_low_mbit_s": [of.follows_ends_mbit_s[0] for of in held],
                "follows_high_mbit_s": [of.follows_ends_mbit_s[1] for of in held],
                "locked_gb": [of.locked_gb if of.verdict == SHORTER else np.nan for of in held],
            }
        )
        return rows.join(self._changes.set_index("camera"), on="camera")

    @cached_property
    def _changes(self) -> pd.DataFrame:
        """Planned card and next change of each camera, before and with what was learnt."""
        columns = {"camera": self.before.plan["camera"]}
        for plan, when in ((self.before.plan, "_before"), (self.after.plan, "")):
            columns[f"planned_card{when}"] = plan["card"].where(plan["state"] != "doubtful", plan["best_card"])
            columns[f"next_change{when}"] = plan.get("in_service_next_change", pd.Series("", plan.index))
        return pd.DataFrame(columns)

    @property
    def other_cards(self) -> pd.DataFrame:
        """The rows of the cameras for which what was learnt plans another card: that card, and the previous one."""
        cards = self._changes[["camera", "planned_card_before", "planned_card"]]
        return cards[cards["planned_card_before"] != cards["planned_card"]]

    @property
    def gaps(self) -> pd.DataFrame:
        """A row for each gap of a camera that records without a break: from when to when, and how long."""
        rows = [
            (
                of.camera,
                *(f"{moment:%Y-%m-%d %H:%M}" for moment in (*gap, *map(of.local, gap))),
                of.time_zone,
                (gap[1] - gap[0]) / pd.Timedelta(hours=1),
            )
            for of in self.held
            if of.achieved
            for gap in of.achieved.gaps
        ]
        columns = ["camera", "from_utc", "until_utc", "from_local", "until_local", "time_zone", "gap_h"]
        return pd.DataFrame(rows, columns=columns)

    @property
    def by_hour(self) -> pd.DataFrame:
        """Part recorded of each hour of the week, on the camera's clocks; a column for each camera with a history."""
        hours = pd.DataFrame({"hour_of_week": [f"{day} {hour:02}:00" for day in WEEKDAYS for hour in range(24)]})
        with_history = [of for of in self.held if of.achieved and not np.isnan(of.achieved.by_hour).all()]
        return hours.assign(**{of.camera: of.achieved.by_hour for of in with_history if of.achieved})

    @cached_property
    def rates(self) -> pd.DataFrame:
        """Mean rate while recording of each camera, before and now, nine in ten between low and high."""
        before, after = (means(plan.site) for plan in (self.before, self.after))
        named = {
            f"{name}_{when}_mbit_s": of[:, at]
            for when, of in (("before", before), ("now", after))
            for at, name in enumerate(("mean", "low", "high"))
        }
        learnt = {"learnt": [learnt_words(of) for of in self.held]}
        return pd.DataFrame({"camera": [of.camera for of in self.held], **named, **learnt})

    @cached_property
    def kinds(self) -> pd.DataFrame:
        """Random failures a year of each kind of card in the service log, nine in ten between low and high."""
        site = self.after.site
        names = list(site.records)
        known = [random_failures(site, name) for name in names]
        return pd.DataFrame(
            {
                "card": names,
                "records": [site.records[name].told for name in names],
                "expected_failures": [expected_failures(site, name) for name in names],
                "random_per_year": [middle for middle, _, _ in known],
                "random_low_per_year": [low for _, low, _ in known],
                "random_high_per_year": [high for _, _, high in known],
            }
        )

    @property
    def tables(self) -> Mapping[str, pd.DataFrame]:
        """The tables that are written."""
        named = {
            "what_happened": self.happened,
            "gaps": self.gaps,
            "recorded_by_hour": self.by_hour if len(self.by_hour.columns) > 1 else pd.DataFrame(),
            "rates_learnt": self.rates,
            "cards_learnt": self.kinds,
        }
        return {name: table for name, table in named.items() if name == "what_happened" or not table.empty}

    @property
    def table(self) -> pd.DataFrame:
        """The table that is shown, with headings to read."""
        return shown_table(self)


def means(site: Site) -> npt.NDArray[np.float64]:
    """Mean rate of each camera while recording: middle, and the ends between which nine in ten lie, Mbit/s."""
    return RateLaw.of(*site.rates[OF_WRITTEN].to_numpy(float).T).mean.rate_mbit_s(np.array([LEARNT]))


def expected_failures(site: Site, card: str) -> float:
    """Failures of a kind of card to be expected of cards that served so long, by what is known without the log.

    Notes
    -----
    The sum of the cumulative hazards ``-ln S(age)``, at the age at which each card failed, was taken out or was last
    seen: its mean is that of the number of failures, whenever the others were taken out.

    References
    ----------
    Andersen, Borgan, Gill and Keiding, Statistical Models Based on Counting Processes (1993), the compensator of a
    counting process (from memory).
    """
    records, before = site.records[card], known_before(site.settings.beliefs)
    works = before.survival(records.wear_life_years[None], records.years)[0]
    return float(-np.log(np.einsum("cn,nc->c", records.chance, works)).sum())


def random_failures(site: Site, card: str) -> tuple[float, float, float]:
    """Random failures a year of a kind of card: middle, and the ends between which nine in ten lie."""
    (kind,) = site.kinds_of(pd.Series([card]))
    middle, low, high = (kind.quantile("random_per_year", part) for part in LEARNT)
    return middle, low, high


def what_happened(plan: SitePlan, answers: SavedAnswers | Path | None, shown: str = TABLES[0]) -> WhatHappened:
    """Hold what a site did against its plan, and plan it anew with what that teaches.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    answers : SavedAnswers, Path or None
        What the cameras said, or the folder in which that was saved.
    shown : str
        One of ``TABLES``.

    Returns
    -------
    WhatHappened
        Planned and achieved for each camera, what was learnt, and what changes.

    Raises
    ------
    InputError
        With every fault of the saved answers.
    """
    if answers is None:
        answers = SavedAnswers({}, (), ())
    elif isinstance(answers, Path):
        answers = read_answers(answers, plan.site.cameras["camera"])
    held = held_by_cameras(plan.site, answers)
    has_answers = any(of.saved for of in held)
    after = site_plan(learnt_site(plan.site, held), plan.kinds, with_reasons=False) if has_answers else plan
    return WhatHappened(plan, after, answers, tuple(held), shown=shown)


def _of_these(counts: Mapping[str, int], group: Sequence[str]) -> str:
    """Write how many have each verdict of a group, where that says more than the group does."""
    told = [of for of in group if of in counts]
    return "" if told == [AS_PLANNED] else f" ({', '.join(f'{of} {counts[of]}' for of in told)})"
