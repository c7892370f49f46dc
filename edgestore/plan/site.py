"""A site that is to be planned: its cameras, the cards on offer, what is asked and known of them; told as one thing."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.checks import Fault, InputError, refuse
from edgestore.inputs.outages import OutageSettings
from edgestore.inputs.service_log import FAILED
from edgestore.inputs.settings import MOST_ASKED, Costs, Settings
from edgestore.inputs.sheet import shown
from edgestore.models.outage.backfill import useful_retention_h
from edgestore.models.retention import WeekOfWrites
from edgestore.models.speed.classes import guaranteed_write_mbyte_s
from edgestore.plan.card_life import CardKind, known_before
from edgestore.plan.flash_writes import laws_of
from edgestore.plan.input_file import InputFile
from edgestore.plan.promise import ROUNDING, wear_life_years
from edgestore.plan.rates import camera_rates, card_flash
from edgestore.plan.requirements import Requirements, override, wanted_by_camera
from edgestore.plan.service_records import Records, learnt
from edgestore.text import number
from edgestore.units import DAYS_PER_YEAR, H_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

TRIED = ["card", "tried_cards", "weak_found", "trial_finds"]
"""What the card list says of a trial of a kind of card."""

OF_CARDS = ("costs", "offered", "flash")
"""What follows from the list of cards and the settings alone."""


@dataclass(frozen=True)
class Site:
    """What a plan is made from. What follows from it is computed once, when it is first asked for.

    Attributes
    ----------
    cameras, cards : DataFrame
        Lists as :mod:`edgestore.inputs` reads them.
    evidence : DataFrame
        What the files say that the camera list names (:mod:`edgestore.plan.evidence`); a row a camera.
    requirements : Requirements or None
        What is asked of every card where neither its camera nor its group asks otherwise; None as the settings say.
    settings : Settings
        What the settings file says: requirements, of groups too, costs, service, outages, and of the document.
    log : DataFrame or None
        Rows of the service log, by the day that the settings tell: the next change is then a date.
    settings_name : str
        Name of the settings file; empty for none.
    notes : tuple of str
        What there is to say about the lists and the files read.
    inputs : tuple of InputFile
        All files that were read.
    taught : dict
        What the log taught, with that log: a site that asks more, or has some of the cameras, knows as much of cards.
    """

    cameras: pd.DataFrame
    cards: pd.DataFrame
    evidence: pd.DataFrame
    requirements: Requirements | None = None
    settings: Settings = field(default_factory=Settings)
    log: pd.DataFrame | None = None
    settings_name: str = ""
    notes: tuple[str, ...] = ()
    inputs: tuple[InputFile, ...] = ()
    taught: dict[tuple[Any, ...], tuple[Any, tuple[CardKind, dict[str, CardKind]]]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def files(self) -> tuple[Path, ...]:
        """Where all is that was read, each once."""
        return tuple(dict.fromkeys(file.source for file in self.inputs if isinstance(file.source, Path)))

    @cached_property
    def rates(self) -> pd.DataFrame:
        """The rates of each camera, of :func:`edgestore.plan.rates.camera_rates`."""
        return camera_rates(self.cameras, self.evidence, self.settings.beliefs)

    @cached_property
    def wanted(self) -> pd.DataFrame:
        """What each camera asks of its card, of :func:`edgestore.plan.requirements.wanted_by_camera`."""
        asked = Requirements(**self.settings.requirements) if self.requirements is None else self.requirements
        return wanted_by_camera(self.cameras, self.rates, asked, self.settings.groups)

    def asking(self, requirements: Requirements) -> "Site":
        """The same site asked for something else; what does not depend on that stays computed."""
        other = replace(self, requirements=requirements)
        vars(other).update({name: getattr(self, name) for name in ("rates", *OF_CARDS, "promised_mbyte_s")})
        return other

    def of_cameras(self, rows: npt.NDArray[np.intp]) -> "Site":
        """A site of some of the cameras, by their numbers, one perhaps several times; what is computed stays so."""
        tables = (self.cameras, self.evidence, self.rates, self.wanted)
        cameras, evidence, rates, wanted = (table.iloc[rows].reset_index(drop=True) for table in tables)
        other = replace(self, cameras=cameras, evidence=evidence)
        vars(other).update(rates=rates, wanted=wanted, promised_mbyte_s=self.promised_mbyte_s[rows])
        vars(other).update({name: getattr(self, name) for name in OF_CARDS})
        return other

    @property
    def override(self) -> str:
        """In what the requirements depart from the settings file; empty when in nothing, or without a file."""
        if self.requirements is None or not self.settings_name:
            return ""
        return override(self.requirements, self.settings.requirements, self.settings_name)

    @cached_property
    def costs(self) -> Costs | None:
        """What visits cost; None where no cost is counted, for want of prices too."""
        return self.settings.costs if self.cards["price"].notna().any() else None

    @cached_property
    def offered(self) -> pd.DataFrame:
        """The cards planned with, from small to large, of equal ones the cheapest first; with costs, those priced."""
        price, capacity = self.cards["price"], self.cards["capacity_gb"]
        cards = self.cards.iloc[np.lexsort((np.arange(len(price)), price.fillna(np.inf), capacity))]
        return cards if self.costs is None else cards[cards["price"].notna()]

    @cached_property
    def flash(self) -> tuple[Array, Array, Array]:
        """What the flash of the cards offered bears, and their write amplification, of :func:`card_flash`."""
        return card_flash(self.offered)

    @cached_property
    def records(self) -> dict[str, Records]:
        """What the service log says of each kind of card, of those that the lists know, in cameras that they know."""
        if self.log is None or self.settings.service.as_of is None:
            return {}
        log = self.log[self.is_known(self.log)]
        log = log[self.years_in_service(log) > 0]
        return {str(card): self.records_of(str(card), rows) for card, rows in log.groupby("card", sort=False)}

    def is_known(self, log: pd.DataFrame) -> Flags:
        """Tell of which rows of a service log the lists know both camera and card."""
        return (log["camera"].isin(self.cameras["camera"]) & log["card"].isin(self.cards["card"])).to_numpy(bool)

    @property
    def as_of(self) -> pd.Timestamp:
        """Day by which the service log was written; refused where the settings do not tell it."""
        as_of = self.settings.service.as_of
        if as_of is None:
            raise refuse("as_of", "no day", "the day by which the service log was written")
        return pd.Timestamp(as_of)

    def years_in_service(self, log: pd.DataFrame) -> Array:
        """Age of cards of a service log when they were taken out, or on the day of the log, years."""
        until = log["removed"].fillna(self.as_of)
        return (until - log["fitted"]).dt.days.to_numpy(float) / DAYS_PER_YEAR

    def records_of(self, card: str, log: pd.DataFrame) -> Records:
        """What rows of a service log say of one kind of card; the lists know it and the cameras."""
        flash_tbw, *ends = card_flash(self.cards[self.cards["card"] == card])
        in_camera = pd.Index(self.cameras["camera"]).get_indexer(pd.Index(log["camera"]))
        _, writes = laws_of(self.rates.iloc[in_camera], ends, self.settings.beliefs)
        wear = wear_life_years(flash_tbw, writes.nodes_tb_year)[0]
        return Records(self.years_in_service(log), (log["why"] == FAILED).to_numpy(), wear, writes.means[0])

    @property
    def _learnt(self) -> tuple[CardKind, dict[str, CardKind]]:
        """What is known of kinds of card, computed once for a log; sites made from this one share it."""
        tried = tuple(self.cards.loc[self.cards["tried_cards"] > 0, TRIED].fillna(0).itertuples(index=False, name=None))
        by = (id(self.log), self.settings.beliefs, self.settings.service.as_of, tried)
        if by not in self.taught:
            any_kind, kinds = learnt(known_before(self.settings.beliefs), self.records)
            together = self.settings.beliefs["batch_correlation"].median
            kinds |= {
                card: kinds.get(card, any_kind).tried(cards, weak, finds, together)
                for card, cards, weak, finds in tried
            }
            self.taught[by] = (self.log, (any_kind, kinds))
        return self.taught[by][1]

    @property
    def any_kind(self) -> CardKind:
        """What is known of the life of a kind of card of which there are no records."""
        return self._learnt[0]

    def kinds_of(self, cards: "pd.Series[str]") -> tuple[CardKind, ...]:
        """What is known of the life of cards, by their names."""
        any_kind, by_name = self._learnt
        return tuple(by_name.get(card, any_kind) for card in cards)

    @cached_property
    def busiest_over_mean(self) -> Array:
        """Writes of the busiest stretch of the days required, over the mean of the week; 1 where no week is seen."""
        return self._stretches(WeekOfWrites.busiest_over_mean, self.wanted["retention_days"].to_numpy(float))

    @cached_property
    def quietest_over_mean(self) -> Array:
        """Writes of the quietest stretch of the days allowed, over the mean of the week; else 1."""
        return self._stretches(WeekOfWrites.quietest_over_mean, self.most_days)

    def _stretches(self, over_mean: Callable[[WeekOfWrites, float], Array], days: Array) -> Array:
        ratio = np.ones(len(days))
        for row, week in enumerate(self.evidence["week"]):
            if isinstance(week, WeekOfWrites) and np.isfinite(days[row]):
                ratio[row] = over_mean(week, days[row] * H_PER_DAY)
        return ratio

    @property
    def has_locked(self) -> bool:
        """Whether locked clips are expected to hold a part of the card in some camera."""
        return bool((self.cameras["locked_fraction"] > 0).any())

    @property
    def ring_fraction(self) -> Array:
        """Part of the usable space that locked clips leave to the ring in each camera."""
        return np.asarray(1 - self.cameras["locked_fraction"].to_numpy(float))

    @property
    def retention_days_to_hold(self) -> Array:
        """Days of mean writes that the whole card must have room for, so that its ring holds the retention required.

        The ring, which locked clips leave of it, holds what the busiest stretch of these days writes.
        """
        return np.asarray(self.wanted["retention_days"].to_numpy(float) * self.busiest_over_mean / self.ring_fraction)

    @property
    def days_to_hold(self) -> Array:
        """Days of mean writes that the whole card must have room for, for the retention and the outage required."""
        return np.maximum(self.retention_days_to_hold, self.days_to_cover)

    @cached_property
    def outages(self) -> list[OutageSettings | None]:
        """How the recorder of each camera fails: that of its group, else of the site; None where neither is stated."""
        own, of_site = self.settings.group_outages, self.settings.outage
        return [own.get(group, of_site) for group in self.cameras["group"]]

    @cached_property
    def fetched_fraction(self) -> Array:
        """Part of what each card holds that back-fill saves, at the planned rate; 1 where the card is brought in."""
        fraction = np.ones(len(self.cameras))
        rates = np.array([outage.backfill_mbit_s if outage else np.inf for outage in self.outages])
        if len(rows := np.flatnonzero(np.isfinite(rates))):
            written = (self.rates["planned_mbit_s"] * self.rates["recorded_fraction"]).to_numpy(float)[rows]
            fraction[rows] = useful_retention_h(1.0, written, written + rates[rows])
        return fraction

    @cached_property
    def covered_h(self) -> Array:
        """Length of the outage that the card in each camera must cover, h; 0 where none is required."""
        return np.array([outage.covered_h if outage else 0.0 for outage in self.outages])

    @cached_property
    def busiest_in_outage(self) -> Array:
        """Writes of the busiest stretch as long as that outage, over the mean of the week; 1 where no week is seen."""
        days = np.where(self.covered_h > 0, self.covered_h / H_PER_DAY, np.nan)
        return self._stretches(WeekOfWrites.busiest_over_mean, days)

    @property
    def days_to_fetch(self) -> Array:
        """Days that footage must stay on each card to be fetched after the outage required; 0 where none is."""
        return np.asarray(self.covered_h / H_PER_DAY / self.fetched_fraction)

    @cached_property
    def days_to_cover(self) -> Array:
        """Days of mean writes that the whole card must have room for to cover the outage required; 0 where none is."""
        days = self.covered_h / H_PER_DAY
        if not days.any():
            return days
        if (is_deleted := self.days_to_fetch > self.most_days_deleted * (1 + ROUNDING)).any():
            asked = np.unique(self.covered_h[is_deleted])
            raise InputError(self._deleted_before_fetched(is_deleted & (self.covered_h == hours)) for hours in asked)
        return np.minimum(days * self.busiest_in_outage / self.fetched_fraction, MOST_ASKED) / self.ring_fraction

    def _deleted_before_fetched(self, of: Flags) -> Fault:
        """Tell of cameras that delete by age before the same outage is fetched; named is the one that keeps least."""
        row = int(np.where(of, self.most_days_deleted * self.fetched_fraction, np.inf).argmin())
        most_days, fetched = self.most_days_deleted[row], self.fetched_fraction[row]
        others = f" and {of.sum() - 1} more" if of.sum() > 1 else ""
        found = f"{self.covered_h[row]:g} h at {shown(self.cameras['camera'].iloc[row])}{others}"
        back, faster = "", ""
        if fetched < 1:
            back, faster = " with the time that the link takes to fetch it", " or for a faster link (backfill_mbit_s)"
        longest_h = np.floor(np.round(10 * most_days * H_PER_DAY * fetched, 6)) / 10  # never more than is allowed
        allowed = f"{longest_h:g} h or less{back}: it deletes at {number(most_days)} days"
        mend = (
            f"Ask for a shorter outage to be covered{faster}, or have the policy changed; retention_days_max tells"
            " the age."
        )
        return Fault("covered_h", found, allowed, mend)

    @property
    def most_days_to_hold(self) -> Array:
        """Most days of mean writes that the card in each camera may hold: what the quietest stretch allowed writes.

        Nothing is locked then, as before the first clip is: locked clips must not be what keeps a maximum.
        """
        return np.asarray(self.most_days * self.quietest_over_mean)

    @cached_property
    def most_days(self) -> Array:
        """Most days that the card in each camera may hold; infinite where nothing limits it, or the camera deletes."""
        most = self.wanted["retention_days_max"].fillna(np.inf).to_numpy(float)
        return np.where(self.cameras["deletes_by_age"].to_numpy(bool), np.inf, most)

    @property
    def most_days_deleted(self) -> Array:
        """Age at which each camera deletes footage, days; infinite where it does not."""
        most = self.wanted["retention_days_max"].fillna(np.inf).to_numpy(float)
        return np.where(self.cameras["deletes_by_age"].to_numpy(bool), most, np.inf)

    @cached_property
    def promised_mbyte_s(self) -> Array:
        """Write rate that each card offered promises in each camera's slot, Mbyte/s; shape (cameras, cards)."""
        marks = [text.split() for text in self.offered["speed_class"]]
        buses, which = np.unique(self.cameras["slot_bus"].to_numpy(str), return_inverse=True)
        by_bus = [[guaranteed_write_mbyte_s(m, None if bus == "unknown" else bus) for m in marks] for bus in buses]
        return np.array(by_bus, dtype=float)[which]
