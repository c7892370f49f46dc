"""The value of every figure and input on the way to a figure of one camera, from a pack's own inputs."""

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from edgestore.documents.kept_inputs import KeptPack
from edgestore.documents.places import Places
from edgestore.documents.specification import specification_table, specifications
from edgestore.inputs.outages import OutageSettings
from edgestore.models.life.law import CardLife
from edgestore.models.outage.outage import hidden_failure_fraction
from edgestore.models.outage.saved import repair_law
from edgestore.models.retention import retention_h
from edgestore.models.uncertainty.laws import Z_90
from edgestore.models.wear.endurance import life_years, writes_tb_year
from edgestore.plan.input_file import CAMERAS, CARDS, LOG
from edgestore.plan.promise import OF_WRITTEN, RateLaw
from edgestore.plan.rates import camera_rates, card_endurance_tbw, card_flash, footage_sigma
from edgestore.plan.tables import with_bill
from edgestore.plan.untested_band import BAND
from edgestore.units import H_PER_DAY

MIDDLE_SHAPE = 3.0
"""The middle of the Weibull shapes that are tried, with which a chance is followed by hand."""


class Trace:
    """One camera of a pack.

    Parameters
    ----------
    pack : KeptPack
        The pack, planned anew.
    camera : str
        Name of the camera.
    """

    def __init__(self, pack: KeptPack, camera: str) -> None:
        self._pack, self.camera = pack, camera
        self._site = pack.plan.site
        self._row = int(pd.Index(self._site.cameras["camera"]).get_loc(camera))
        self._card = int(pack.plan.chosen[self._row])
        self._places = Places(pack)

    @property
    def card(self) -> str:
        """Name of the card planned; empty for none."""
        return str(self._site.offered["card"].iloc[self._card]) if self._card >= 0 else ""

    def value(self, name: str) -> Any:
        """Value of a figure; NaN where there is none, as without a card."""
        if name in STEPS:
            return STEPS[name](self) if self._card >= 0 or name not in OF_CARD else np.nan
        for row in (self._plan_row, self._asked_row, self._rates_row, self._evidence_row):
            if name in row:
                return row[name]
        return np.nan

    def input(self, part: str) -> tuple[str, str]:
        """Where an input stands, as ``camera:cap_mbit_s``, and what stands there; empty for nothing."""
        of, _, name = part.partition(":")
        if of == "wanted":
            return self._wanted(name)
        if of == "settings":
            table, _, key = name.partition(".")
            group = str(self._site.cameras["group"].iloc[self._row]) if table == "outage" else ""
            is_own = group in self._site.settings.group_outages
            return self._places.setting(table, key, group if is_own else ""), self._setting(table, key)
        if of == "log":
            return self._places.cell(LOG, self.camera, name) if self._site.log is not None else ("no service log", "")
        if of == "card" and not self.card:
            return "no card is planned", ""
        role, key = {"camera": (CAMERAS, self.camera), "card": (CARDS, self.card)}[of]
        where, cell = self._places.cell(role, key, name)
        copy = self._pack.copy(name, cell) if of == "camera" and cell else ""
        return (f"{where} (kept as {copy})" if copy else where), cell

    def _wanted(self, name: str) -> tuple[str, str]:
        """Who asks for what, and where that stands."""
        value, by = (self._site.wanted[column].iloc[self._row] for column in (name, f"{name}_from"))
        told = "no limit" if pd.isna(value) else f"{value:.6g}"
        if by == "camera":
            return self._places.cell(CAMERAS, self.camera, name)[0], told
        if str(by).startswith("group "):
            return self._places.setting("requirements", name, str(by).removeprefix("group ")), told
        if by == "peak":
            return "the camera's assumed peak over its mean", told
        settings, asked = self._site.settings.requirements, self._site.requirements
        if asked is not None and name in settings and settings[name] != getattr(asked, name):
            return "asked when the pack was made, against the settings", told
        if name not in settings and asked is not None and getattr(asked, name) != getattr(type(asked)(), name):
            return "asked when the pack was made", told
        return self._places.setting("requirements", name), told

    def _setting(self, table: str, key: str) -> str:
        settings = self._site.settings
        if table == "beliefs":
            belief = settings.beliefs[key]
            return f"{belief.median:.4g} (one in ten below {belief.low:.4g}, one in ten above {belief.high:.4g})"
        of = self._outage if table == "outage" else getattr(settings, table)
        value = "" if of is None else getattr(of, key)
        return f"{value:.6g}" if isinstance(value, float) else str(value).lower()

    @cached_property
    def _plan_row(self) -> Mapping[Any, Any]:
        plan = self._pack.plan
        return dict(with_bill(plan, self._pack.visits.bill).join(plan.untested_band[BAND]).iloc[self._row])

    def _of_bill(self, name: str) -> float:
        cameras = self._pack.visits.bill.cameras
        return float(cameras.loc[cameras["camera"] == self.camera, name].sum())

    def _ways(self) -> list[tuple[float, int, str]]:
        """Price, cameras and date of each visit to this camera."""
        table = self._pack.visits.table
        of_camera = [f", {self.camera}, " in f", {cameras}, " for cameras in table["cameras"]]
        rows = table[of_camera].assign(way=table["cost"] - table["cards_cost"])
        return [tuple(row) for row in rows[["way", "cards_to_bring", "date"]].to_numpy(object)]

    def _ways_told(self) -> str:
        ways = [f"{way:.6g} / {count} ({date})" for way, count, date in self._ways()]
        return " + ".join(ways) or "0: no visit of its own"

    def _known_before(self) -> Mapping[Any, Any]:
        """The rates as they would be without the footage."""
        site, row = self._site, [self._row]
        cameras, evidence = site.cameras.iloc[row], site.evidence.iloc[row]
        listed = cameras["mean_mbit_s"].fillna(evidence["described_mean_mbit_s"])
        unseen = evidence.assign(measured_mbit_s=np.nan, measured_peak_mbit_s=np.nan, described_mean_mbit_s=np.nan)
        return dict(camera_rates(cameras.assign(mean_mbit_s=listed), unseen, site.settings.beliefs).iloc[0])

    @cached_property
    def _asked_row(self) -> Mapping[Any, Any]:
        asked = specification_table(specifications(self._pack.plan)).iloc[self._row]
        return {name: value for name, value in asked.items() if str(name).endswith(("_asked_gb", "_asked_tbw"))}

    @property
    def _rates_row(self) -> Mapping[Any, Any]:
        return dict(self._site.rates.iloc[self._row])

    @property
    def _evidence_row(self) -> Mapping[Any, Any]:
        return dict(self._site.evidence.iloc[self._row])

    def _flash(self, which: int) -> float:
        """TB that the flash bears, and ends of the write amplification."""
        return float(card_flash(self._site.offered.iloc[[self._card]])[which][0])

    def _amplification_high(self) -> float:
        rates, card = self._rates_row, self._site.offered.iloc[[self._card]]
        lowest, _ = card_endurance_tbw(card, rates["planned_mbit_s"], rates["update_interval_s"])
        return self._flash(0) / float(lowest[0])

    def _written_tb_year(self) -> float:
        return float(writes_tb_year(self._rates_row["planned_mbit_s"], self._rates_row["recorded_fraction"]))

    def _wear_life_years(self) -> float:
        rates = self._rates_row
        tbw = self._flash(0) / self._flash(1)
        return float(life_years(tbw, rates["planned_mbit_s"], rates["recorded_fraction"]))

    def _kind(self) -> Any:
        return self._site.kinds_of(self._site.offered["card"])[self._card]

    def _works_at_planned(self) -> float:
        kind, age = self._kind(), float(self._site.wanted["life_years"].iloc[self._row])
        weak, random = kind.mean_weak_fraction, kind.mean_random_per_year
        over_median = age / (kind.quantile("stated_endurance", 0.5) * self._wear_life_years())
        sound = 2.0 ** -(over_median**MIDDLE_SHAPE) * np.exp(-random * age)
        return float((1 - weak) * sound + weak * np.exp(-age / CardLife.early_mean_years))

    def _rate_limit_mbit_s(self) -> float:
        card, asked = self._site.offered.iloc[self._card], self._site.retention_days_to_hold[self._row]
        held = retention_h(card["capacity_gb"], 1.0, self._rates_row["recorded_fraction"], card["usable_fraction"])
        return float(held) / H_PER_DAY / float(asked)

    def _days_to_cover(self) -> float:
        return float(self._site.days_to_cover[self._row]) or np.nan

    def _outage_limit_mbit_s(self) -> float:
        card = self._site.offered.iloc[self._card]
        held = retention_h(card["capacity_gb"], 1.0, self._rates_row["recorded_fraction"], card["usable_fraction"])
        return float(held) / H_PER_DAY / self._days_to_cover()

    @property
    def _outage(self) -> OutageSettings | None:
        return self._site.outages[self._row]

    def _outage_law(self) -> str:
        outage = self._outage
        numbers = "" if outage is None else " and ".join(f"{of:.6g}" for of in outage.repair_numbers)
        return "" if outage is None else f"{outage.repair_law}, {numbers}"

    def _outage_mean_h(self) -> float:
        outage = self._outage
        return np.nan if outage is None else float(repair_law(outage.repair_law, outage.repair_numbers).mean_h())

    def _unsaved_fraction(self) -> float:
        outage = self._outage
        if outage is None:
            return np.nan
        failed = hidden_failure_fraction(outage.card_failures_per_year, outage.inspected_every_days)
        return float(1 - (1 - outage.shared_cause_share) * (1 - failed))

    def _visit_cost(self) -> float:
        costs = self._site.costs
        if costs is None:
            return np.nan
        return costs.visit_with_lift_price if self._site.cameras["lift"].iloc[self._row] else costs.visit_price

    def _mean_sigma(self, rates: Mapping[Any, Any] | None = None) -> float:
        rates = self._rates_row if rates is None else rates
        return float(np.log(rates["median_mbit_s"] / rates["low_mbit_s"]) / Z_90)

    def _law(self) -> RateLaw:
        return RateLaw.of(*self._site.rates[OF_WRITTEN].iloc[[self._row]].to_numpy(float).T)

    def _measured_sigma(self) -> float:
        row = self._evidence_row
        seen_h, hours, days = (np.array([row[f"measured_{name}"]], dtype=float) for name in ("h", "hours", "days"))
        return float(footage_sigma(seen_h, hours, days, self._site.settings.beliefs)[0])

    def _retention_by(self) -> str:
        law = self._law()
        if (
            not np.isinf(law.most_mbit_s[0])
            and self._rate_limit_mbit_s() >= law.most_mbit_s[0]
            and not law.recorded_sigma[0]
        ):
            return "cap"
        return "product" if law.recorded_sigma[0] else "mean"

    def _maximum_by(self) -> str:
        if pd.isna(self._site.wanted["retention_days_max"].iloc[self._row]):
            return "none"
        if self._site.cameras["deletes_by_age"].iloc[self._row]:
            return "age"
        return "unlocked" if self._is_locked else "law"

    @property
    def _is_locked(self) -> bool:
        """Whether locked clips are expected to hold a part of the card."""
        return bool(self._site.cameras["locked_fraction"].iloc[self._row] > 0)

    def _capacity_asked_by(self) -> str:
        if self._card >= 0:
            return "card"
        return "beside_clips" if self._is_locked else "loss"

    def _endurance_by(self) -> str:
        card = self._site.offered.iloc[self._card]
        return (
            "written"
            if card["endurance_tbw"] == card["endurance_tbw"]
            else "hours"
            if card["rated_h"] == card["rated_h"]
            else "cycles"
        )


STEPS: Mapping[str, Callable[[Trace], Any]] = {
    "promised_mbyte_s": lambda one: one._site.promised_mbyte_s[one._row, one._card],
    "busiest_over_mean": lambda one: one._site.busiest_over_mean[one._row],
    "mean_sigma": Trace._mean_sigma,
    "quietest_over_mean": lambda one: one._site.quietest_over_mean[one._row],
    "rate_limit_mbit_s": Trace._rate_limit_mbit_s,
    "days_to_cover": Trace._days_to_cover,
    "outage_limit_mbit_s": Trace._outage_limit_mbit_s,
    "outage_law": Trace._outage_law,
    "outage_mean_h": Trace._outage_mean_h,
    "outage_held_h": lambda one: one._plan_row["retention_days"] * H_PER_DAY * one._site.fetched_fraction[one._row],
    "unsaved_fraction": Trace._unsaved_fraction,
    "written_tb_year": Trace._written_tb_year,
    "flash_tbw": lambda one: one._flash(0),
    "amplification": lambda one: one._flash(1),
    "amplification_high": Trace._amplification_high,
    "wear_life_years": Trace._wear_life_years,
    "records": lambda one: one._kind().basis,
    "endurance_factor": lambda one: one._kind().quantile("stated_endurance", 0.5),
    "random_per_year": lambda one: one._kind().mean_random_per_year,
    "weak_fraction": lambda one: one._kind().mean_weak_fraction,
    "works_at_planned": Trace._works_at_planned,
    "visit_cost": Trace._visit_cost,
    "measured_sigma": Trace._measured_sigma,
    "known_before_mbit_s": lambda one: one._known_before()["median_mbit_s"],
    "known_before_sigma": lambda one: one._mean_sigma(one._known_before()),
    "planned_cards": lambda one: one._of_bill("planned_cards"),
    "expected_failures": lambda one: one._of_bill("expected_failures"),
    "ways": Trace._ways_told,
    "ways_cost": lambda one: sum(way / count for way, count, _ in one._ways()),
    "part_below_cap": lambda one: one._law().part[0],
    "high_by": lambda one: "mean" if pd.isna(one._rates_row["most_mbit_s"]) else "cap",
    "update_by": lambda one: "assumed" if pd.isna(one._site.cameras["update_interval_s"].iloc[one._row]) else "listed",
    "covered_by": lambda one: "none" if pd.isna(one._days_to_cover()) else "law",
    "cap_from": lambda one: "listed" if pd.isna(one._evidence_row["described_cap_mbit_s"]) else "described",
    "retention_by": Trace._retention_by,
    "maximum_by": Trace._maximum_by,
    "endurance_by": Trace._endurance_by,
    "reached": lambda one: "lift" if one._site.cameras["lift"].iloc[one._row] else "hand",
    "counted_by": lambda one: "chance" if one._site.costs is None else "cost",
    "asked_by": lambda one: "card" if one._card >= 0 else "loss",
    "capacity_asked_by": Trace._capacity_asked_by,
    "locked_by": lambda one: "clips" if one._is_locked else "nothing",
}
"""The figures that stand in no table of the plan."""

OF_CARD = {
    *("outage_limit_mbit_s", "outage_held_h", "amplification_high"),
    *("promised_mbyte_s", "rate_limit_mbit_s", "flash_tbw", "amplification", "wear_life_years", "endurance_factor"),
    *("records", "random_per_year", "weak_fraction", "works_at_planned", "retention_by", "endurance_by"),
}
"""Those that there are only with a card."""
