"""What happened at a site, as an answer to a page: planned and achieved, what was learnt, and the plan made anew."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtri

from edgestore.inputs.saved_answers import SavedAnswers, read_answers
from edgestore.plan.happened import BAND, CANNOT_TELL, VERDICTS, Held, failed_early, held_by_cameras, learnt_site
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.site import Site
from edgestore.plan.site_plan import SitePlan, site_plan
from edgestore.text import NO_BREAK, counted, hold_span, number, percent, span
from edgestore.units import H_PER_DAY

TABLES = (
    "planned and achieved",
    "what changes",
    "gaps in the recording",
    "what was learnt of the rates",
    "what was learnt of the cards",
)
"""What may be shown as a table."""

ALL, WRONG = "all with answers", "where the plan was wrong"
OF_CAMERAS = (ALL, WRONG)
"""Which cameras may be shown."""

LEARNT = (0.5, 0.05, 0.95)
"""What was learnt is told as a middle and the ends between which nine in ten lie."""

Z_95 = float(ndtri(LEARNT[2]))
"""Standard deviations from the median of a normal law to those ends."""

LEAST_MOVE = pd.Timedelta(days=60)
"""A date that moves by less has not moved by months."""

NAMED = 6
"""So many cameras are named in a sentence."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

ASSUMPTIONS = (
    "Retention achieved: the age of the oldest footage by the camera's own clock. A card whose oldest footage is of "
    "the day on which it was fitted is not yet full: it will hold more.",
    "The mean that follows: usable capacity over the hours recorded of those held, by the saved history; without a "
    "history, all hours of a camera that records without a break, and the planned fraction of another.",
    "What is expected of the mean now: what was known before, weighed in the logarithm with what follows, by how well "
    "each is known. A card of a week averages out the hours; other weeks and the true capacity (full_card of "
    "[beliefs]) stay in doubt.",
    "Cards: failures and survivors of the service log, with what was known before.",
)


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
        What the card of each camera that answered holds.
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
        return replace(self, held=tuple(held_by_cameras(self.before.site, self.answers, band)), band=band)

    @property
    def listed(self) -> list[Held]:
        """The cameras that are shown."""
        return self.wrong if self.of_cameras == WRONG else list(self.held)

    @property
    def counts(self) -> dict[str, int]:
        """How many cameras have each verdict, of those that answered."""
        counts = Counter(of.verdict for of in self.held)
        return {verdict: counts[verdict] for verdict in VERDICTS if counts[verdict]}

    @property
    def wrong(self) -> list[Held]:
        """The cameras about which the plan was wrong."""
        return [of for of in self.held if of.is_wrong]

    @property
    def sentence(self) -> str:
        """How many cameras did as planned, about which the plan was wrong, and what changes."""
        asked = len(self.before.plan)
        if not self.held:
            return f"None of {counted(asked, 'camera')} has saved answers: nothing can be held against the plan."
        told = ", ".join(f"{count} {verdict}" for verdict, count in self.counts.items())
        names = [of.camera for of in self.wrong]
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        wrong = f" The plan was wrong about {', '.join(names[:NAMED])}{more}." if names else ""
        changes = self.happened
        cards = int((changes["planned_card_before"] != changes["planned_card"]).sum())
        days = [pd.to_datetime(changes[of]) for of in ("next_change_before", "next_change")]
        dates = int(((days[1] - days[0]).abs() > LEAST_MOVE).sum())
        then = f"{counted(cards, 'camera')} would get another card, and {counted(dates, 'next change')} moved by months"
        answered = f"Of {counted(len(self.held), 'camera')} with answers, against a band of {percent(self.band)}"
        return f"{answered}: {told}.{wrong} With what was learnt, {then}."

    @property
    def warnings(self) -> tuple[str, ...]:
        """Reasons for each camera about which the plan was wrong; then what could not be told."""
        wrong = tuple(f"{of.camera}: {of.verdict}; {'; '.join(of.why)}." for of in self.wrong if of.why)
        early = tuple(f"{camera}: {text}." for camera, text in failed_early(self.before.site).items())
        unknown = tuple(
            f"{of.camera}: {of.verdict}; {'; '.join(of.why)}." for of in self.held if of.verdict == CANNOT_TELL
        )
        silent = sorted(set(self.before.plan["camera"]) - {of.camera for of in self.held})
        without = (f"No answers were saved of {', '.join(silent)}.",) if silent and self.held else ()
        return (*wrong, *early, *unknown, *without, *self.answers.notes)

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the answer rests on."""
        return ASSUMPTIONS

    @property
    def happened(self) -> pd.DataFrame:
        """A row for each camera that answered, as it is written."""
        early, held = failed_early(self.before.site), self.held
        rows = pd.DataFrame(
            {
                "camera": [of.camera for of in held],
                "saved": [of.saved for of in held],
                "card": [of.card for of in held],
                "fitted": [of.fitted for of in held],
                "planned_h": [of.planned_h[0] for of in held],
                "planned_low_h": [of.planned_h[1] for of in held],
                "planned_high_h": [of.planned_h[2] for of in held],
                "achieved_h": [of.achieved.hours if of.achieved else np.nan for of in held],
                "verdict": [of.verdict for of in held],
                "why": ["; ".join([*of.why, *[early[c] for c in (of.camera,) if c in early]]) for of in held],
                "recorded_part": [of.achieved.recorded_h / of.achieved.hours if of.achieved else np.nan for of in held],
                "planned_mbit_s": [float(self.before.site.rates["planned_mbit_s"].iloc[of.row]) for of in held],
                "follows_mbit_s": [of.follows_mbit_s for of in held],
                "follows_low_mbit_s": [of.follows_mbit_s * np.exp(-Z_95 * of.follows_sigma) for of in held],
                "follows_high_mbit_s": [of.follows_mbit_s * np.exp(Z_95 * of.follows_sigma) for of in held],
            }
        )
        return rows.join(self._changes.set_index("camera"), on="camera")

    @property
    def _changes(self) -> pd.DataFrame:
        """Planned card and next change of each camera, before and with what was learnt."""
        columns = {"camera": self.before.plan["camera"]}
        for plan, when in ((self.before.plan, "_before"), (self.after.plan, "")):
            best = plan["card"].where(plan["card"] != "", plan["best_card"])
            columns[f"planned_card{when}"] = best
            columns[f"next_change{when}"] = plan.get("in_service_next_change", pd.Series("", plan.index))
        return pd.DataFrame(columns)

    @property
    def gaps(self) -> pd.DataFrame:
        """A row for each gap of a camera that records without a break: from when to when, UTC, and how long."""
        rows = [
            (of.camera, f"{begin:%Y-%m-%d %H:%M}", f"{end:%Y-%m-%d %H:%M}", (end - begin) / pd.Timedelta(hours=1))
            for of in self.held
            if of.achieved
            for begin, end in of.achieved.gaps
        ]
        return pd.DataFrame(rows, columns=["camera", "from_utc", "until_utc", "gap_h"])

    @property
    def by_hour(self) -> pd.DataFrame:
        """Part recorded of each hour of the week, on the camera's clocks; a column for each camera with a history."""
        hours = pd.DataFrame({"hour_of_week": [f"{day} {hour:02}:00" for day in WEEKDAYS for hour in range(24)]})
        with_history = [of for of in self.held if of.achieved and not np.isnan(of.achieved.by_hour).all()]
        return hours.assign(**{of.camera: of.achieved.by_hour for of in with_history if of.achieved})

    @property
    def rates(self) -> pd.DataFrame:
        """Mean rate while recording of each camera that answered, before and now, nine in ten between low and high."""
        before, after = (means(plan.site) for plan in (self.before, self.after))
        rows = [of.row for of in self.held]
        named = {
            f"{name}_{when}_mbit_s": of[rows, at]
            for when, of in (("before", before), ("now", after))
            for at, name in enumerate(("mean", "low", "high"))
        }
        return pd.DataFrame({"camera": [of.camera for of in self.held], **named})

    @property
    def kinds(self) -> pd.DataFrame:
        """Random failures a year of each kind of card in the service log, nine in ten between low and high."""
        site = self.after.site
        names = list(site.records)
        known = [random_failures(site, name) for name in names]
        return pd.DataFrame(
            {
                "card": names,
                "records": [site.records[name].told for name in names],
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
        tables = (self._planned_and_achieved, self._what_changes, self._gaps, self._rates, self._cards)
        return tables[TABLES.index(self.shown)]()

    def _listed(self, rows: pd.DataFrame) -> pd.DataFrame:
        return rows[rows["camera"].isin([of.camera for of in self.listed])].reset_index(drop=True)

    def _planned_and_achieved(self) -> pd.DataFrame:
        rows = self._listed(self.happened)
        return pd.DataFrame(
            {
                "Camera": rows["camera"],
                "Verdict": rows["verdict"],
                "Planned": [_planned(of) for of in self.listed],
                "Achieved": [
                    f"{'' if of.achieved.is_full else 'at least '}{_days(of.achieved.hours)}" if of.achieved else ""
                    for of in self.listed
                ],
                "Mean planned, Mbit/s": [number(rate) for rate in rows["planned_mbit_s"]],
                "Mean that follows, Mbit/s": [_follows(of) for of in self.listed],
                "Why": rows["why"],
            }
        )

    def _what_changes(self) -> pd.DataFrame:
        rows = self._listed(self.happened)
        return pd.DataFrame(
            {
                "Camera": rows["camera"],
                "Verdict": rows["verdict"],
                "Card in service": rows["card"],
                "Card planned": _moved(rows["planned_card_before"], rows["planned_card"]),
                "Next change of the card in service": _moved(rows["next_change_before"], rows["next_change"]),
            }
        )

    def _gaps(self) -> pd.DataFrame:
        rows = self._listed(self.gaps)
        return pd.DataFrame(
            {
                "Camera": rows["camera"],
                "From (UTC)": rows["from_utc"],
                "Until (UTC)": rows["until_utc"],
                "Hours": [number(hours) for hours in rows["gap_h"]],
            }
        )

    def _rates(self) -> pd.DataFrame:
        rows = self._listed(self.rates)
        columns = [name for name in rows.columns if name != "camera"]
        told = {
            f"Mean {when}, Mbit/s": [f"{number(m)} ({span(low, high)})" for m, low, high in rows[three].to_numpy(float)]
            for when, three in (("before", columns[:3]), ("now", columns[3:]))
        }
        return pd.DataFrame({"Camera": rows["camera"], **told})

    def _cards(self) -> pd.DataFrame:
        rows = self.kinds
        known = rows[["random_per_year", "random_low_per_year", "random_high_per_year"]].to_numpy(float)
        told = [f"{_percent(m)} ({_percent(low)} to {_percent(high)})" for m, low, high in known]
        return pd.DataFrame({"Card": rows["card"], "Service log": rows["records"], "Random failures a year": told})


def means(site: Site) -> npt.NDArray[np.float64]:
    """Mean rate of each camera while recording: middle, and the ends between which nine in ten lie, Mbit/s."""
    return RateLaw.of(*site.rates[OF_WRITTEN].to_numpy(float).T).mean.rate_mbit_s(np.array([LEARNT]))


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
    after = site_plan(learnt_site(plan.site, held), plan.kinds, with_reasons=False) if held else plan
    return WhatHappened(plan, after, answers, tuple(held), shown=shown)


def _planned(of: Held) -> str:
    middle, low, high = of.planned_h
    if np.isnan(middle):
        return ""
    in_unit = number(middle / H_PER_DAY) if high >= 2 * H_PER_DAY else number(middle)
    return f"{in_unit} ({hold_span(low, high)})"


def _follows(of: Held) -> str:
    """The mean that follows, with its range; of a card that is not full the most that it can be."""
    if of.achieved is None or np.isnan(of.follows_mbit_s):
        return ""
    if not of.achieved.is_full:
        return f"at most {number(of.follows_mbit_s)}"
    off = float(np.exp(Z_95 * of.follows_sigma))
    return f"{number(of.follows_mbit_s)} ({span(of.follows_mbit_s / off, of.follows_mbit_s * off)})"


def _days(hours: float) -> str:
    return f"{number(hours / H_PER_DAY)}{NO_BREAK}days" if hours >= 2 * H_PER_DAY else f"{number(hours)}{NO_BREAK}hours"


def _percent(fraction: float) -> str:
    return percent(fraction, 1)


def _moved(before: "pd.Series[str]", after: "pd.Series[str]") -> list[str]:
    return [old if old == new else f"{old or 'none'} → {new or 'none'}" for old, new in zip(before, after, strict=True)]
