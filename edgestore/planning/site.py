"""The plan of a site: every camera with every card, and the smallest card that meets all requirements."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from edgestore.models.retention import retention_h
from edgestore.models.speed import guaranteed_write_mbyte_s, speed_margin
from edgestore.models.wear import life_years
from edgestore.planning.against_cap import compared, rates_at_cap
from edgestore.planning.evidence import no_evidence
from edgestore.planning.reasons import reasons
from edgestore.planning.remarks import ASSUMPTIONS, warnings
from edgestore.planning.requirements import Requirements
from edgestore.planning.rows import camera_rates, card_endurance_tbw
from edgestore.planning.sure import chance_and_p10_life_years
from edgestore.planning.words import number, span
from edgestore.units import H_PER_DAY

Array = npt.NDArray[np.float64]
Chosen = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]

LIKELY_SHARES = (np.arange(16) + 0.5) / 16
"""Evenly spread places between the lowest and the highest endurance of a card: any of them is as likely."""

SHOWN_RATES = (
    *("planned_mbit_s", "cap_mbit_s", "peak_mbit_s", "recorded_fraction"),
    *("mean_basis", "peak_basis", "recorded_basis", "rate_basis"),
)


@dataclass(frozen=True)
class SitePlan:
    """The plan, the inputs it came from and what it assumed.

    Attributes
    ----------
    plan : DataFrame
        One row a camera: the chosen card, what it gives, whether it meets the requirements, and why.
    candidates : DataFrame
        One row for every camera with every card.
    cameras, cards : DataFrame
        The lists as read.
    evidence : DataFrame
        What the files say that the camera list names.
    requirements : Requirements
        What was asked.
    assumptions, warnings : tuple of str
        What a reader must know before repeating an answer.
    """

    plan: pd.DataFrame
    candidates: pd.DataFrame
    cameras: pd.DataFrame
    cards: pd.DataFrame
    evidence: pd.DataFrame
    requirements: Requirements
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """The answer in one sentence."""
        served = int(self.plan["meets"].sum())
        if len(self.plan) == 1:
            return f"{'A' if served else 'No'} card of the list serves the camera."
        if served == len(self.plan):
            return f"Every one of the {served} cameras is served by a card of the list."
        return (
            f"{served} of {len(self.plan)} cameras are served by a card of the list;"
            " the reasons say what would help the others."
        )

    @property
    def table(self) -> pd.DataFrame:
        """The plan in a few columns to read: what it counts on, and in brackets the range that is likely."""
        plan = self.plan

        def figures(name: str) -> list[str]:
            columns = zip(plan[name], plan[f"{name}_low"], plan[f"{name}_high"], plan["meets"], strict=True)
            return [_with_range(*ends) if served else "" for *ends, served in columns]

        chances = zip(plan["chance_of_lasting"], plan["meets"], strict=True)
        margins = zip(plan["speed_margin"], plan["meets"], strict=True)
        return pd.DataFrame(
            {
                "camera": plan["camera"],
                "card": plan["card"].where(plan["meets"], "none"),
                "retention_days": figures("retention_days"),
                "life_years": figures("life_years"),
                "chance_of_lasting": [f"{c:.0%}" if served else "" for c, served in chances],
                "speed_margin": [number(margin) if served else "" for margin, served in margins],
                "rate_basis": plan["rate_basis"],
                "against_cap": plan["against_cap"],
                "reason": plan["reason"],
            }
        )


def site_plan(
    cameras: pd.DataFrame, cards: pd.DataFrame, requirements: Requirements, evidence: pd.DataFrame | None = None
) -> SitePlan:
    """Choose a card for every camera of a site.

    Parameters
    ----------
    cameras, cards : DataFrame
        Lists as :mod:`edgestore.inputs` reads them.
    requirements : Requirements
        What every card must reach.
    evidence : DataFrame, optional
        What the files say that the camera list names (:mod:`edgestore.planning.evidence`); nothing when left out.

    Returns
    -------
    SitePlan
        The choice, all candidates, reasons, assumptions and warnings.

    Notes
    -----
    The smallest card that meets every requirement is chosen; of equal ones the cheapest, then the first listed.
    """
    evidence = no_evidence(cameras) if evidence is None else evidence
    streams = camera_rates(cameras, evidence)
    cards = cards.iloc[np.lexsort((np.arange(len(cards)), cards["price"].fillna(np.inf), cards["capacity_gb"]))]
    given, meets, chosen = _tried(cameras, cards, streams, requirements)
    at_cap, _, chosen_at_cap = _tried(cameras, cards, rates_at_cap(streams), requirements)
    candidates = _candidates(cameras, cards, given, meets)
    plan = _plan(cameras, cards, streams, given, chosen)
    plan[["chance_of_lasting", "p10_life_years"]] = _certainty(cards, streams, chosen, requirements)
    plan = plan.join(compared(streams, cards, chosen, at_cap, chosen_at_cap))
    plan["reason"] = reasons(cameras, cards, streams, given, meets, chosen, requirements)
    told = warnings(plan, cameras, evidence)
    return SitePlan(plan, candidates, cameras, cards, evidence, requirements, ASSUMPTIONS, told)


def _tried(
    cameras: pd.DataFrame, cards: pd.DataFrame, streams: pd.DataFrame, wanted: Requirements
) -> tuple[dict[str, Array], dict[str, Flags], Chosen]:
    """What each card gives each camera, which requirements that meets, and the card chosen by number, -1 for none."""
    given = _given(cameras, cards, streams)
    meets = _meets(given, cameras, cards, wanted)
    if wanted.retention_days_max is not None:
        held = np.where(cameras["deletes_by_age"].to_numpy()[:, None], wanted.retention_days_max, np.inf)
        given |= {name: np.minimum(given[name], held) for name in given if name.startswith("retention")}
    served = np.logical_and.reduce(list(meets.values()))
    return given, meets, np.where(served.any(axis=1), served.argmax(axis=1), -1)


def _given(cameras: pd.DataFrame, cards: pd.DataFrame, streams: pd.DataFrame) -> dict[str, Array]:
    """What each card gives each camera, arrays of shape (cameras, cards)."""
    capacity, usable = cards["capacity_gb"].to_numpy(float), cards["usable_fraction"].to_numpy(float)
    recorded = streams["recorded_fraction"].to_numpy()[:, None]
    low, planned, high, peak = (
        streams[f"{name}_mbit_s"].to_numpy(float)[:, None] for name in ("low", "planned", "high", "peak")
    )
    endurance_low, endurance_high = card_endurance_tbw(cards)
    return {
        "retention_days_low": retention_h(capacity, high, recorded, usable) / H_PER_DAY,
        "retention_days": retention_h(capacity, planned, recorded, usable) / H_PER_DAY,
        "retention_days_high": retention_h(capacity, low, recorded, usable) / H_PER_DAY,
        "life_years_low": life_years(endurance_low, high, recorded),
        "life_years": life_years(endurance_low, planned, recorded),
        "life_years_high": life_years(endurance_high, low, recorded),
        "speed_margin": speed_margin(_write_mbyte_s(cameras, cards), peak),
    }


def _write_mbyte_s(cameras: pd.DataFrame, cards: pd.DataFrame) -> Array:
    """Write rate that each card promises in each camera's slot, Mbyte/s, shape (cameras, cards)."""
    marks = [text.split() for text in cards["speed_class"]]
    buses, which = np.unique(cameras["slot_bus"].to_numpy(str), return_inverse=True)
    by_bus = [[guaranteed_write_mbyte_s(m, None if bus == "unknown" else bus) for m in marks] for bus in buses]
    return np.array(by_bus, dtype=float)[which]


def _meets(
    given: dict[str, Array], cameras: pd.DataFrame, cards: pd.DataFrame, wanted: Requirements
) -> dict[str, Flags]:
    """Whether each card meets each requirement in each camera, arrays of shape (cameras, cards)."""
    largest = cameras["max_card_gb"].fillna(np.inf).to_numpy()[:, None]
    most = np.inf if wanted.retention_days_max is None else wanted.retention_days_max
    return {
        "slot": cards["capacity_gb"].to_numpy() <= largest,
        "speed": given["speed_margin"] >= wanted.speed_margin,
        "retention": given["retention_days"] >= wanted.retention_days,
        "life": given["life_years"] >= wanted.life_years,
        "maximum": (given["retention_days_high"] <= most) | cameras["deletes_by_age"].to_numpy()[:, None],
    }


def _certainty(cards: pd.DataFrame, streams: pd.DataFrame, chosen: Chosen, wanted: Requirements) -> Array:
    """Chance that the chosen card lasts the wanted years, and the age at which one such card in ten is gone."""
    answers = np.full((len(chosen), 2), np.nan)
    served = chosen >= 0
    if served.any():
        low, high = (endurance[chosen[served], None] for endurance in card_endurance_tbw(cards))
        endurance = low + (high - low) * LIKELY_SHARES
        rates = streams.loc[served, ["planned_mbit_s", "recorded_fraction"]].to_numpy()
        life = life_years(endurance, rates[:, :1], rates[:, 1:])
        answers[served] = np.column_stack(chance_and_p10_life_years(life, wanted.life_years))
    return answers


def _candidates(
    cameras: pd.DataFrame,
    cards: pd.DataFrame,
    given: dict[str, Array],
    meets: dict[str, Flags],
) -> pd.DataFrame:
    columns = {
        "camera": np.repeat(cameras["camera"].to_numpy(), len(cards)),
        "card": np.tile(cards["card"].to_numpy(), len(cameras)),
        **{name: values.ravel() for name, values in given.items()},
        **{f"meets_{name}": values.ravel() for name, values in meets.items()},
        "meets": np.logical_and.reduce(list(meets.values())).ravel(),
    }
    return pd.DataFrame(columns)


def _plan(
    cameras: pd.DataFrame,
    cards: pd.DataFrame,
    streams: pd.DataFrame,
    given: dict[str, Array],
    chosen: Chosen,
) -> pd.DataFrame:
    served = chosen >= 0
    rows = np.arange(len(cameras))
    plan = pd.DataFrame({"camera": cameras["camera"].to_numpy(), "place": cameras["place"].to_numpy()})
    plan["card"] = np.where(served, cards["card"].to_numpy(object)[chosen], "")
    plan["capacity_gb"] = np.where(served, cards["capacity_gb"].to_numpy()[chosen], np.nan)
    for name in SHOWN_RATES:
        plan[name] = streams[name].to_numpy()
    for name, values in given.items():
        plan[name] = np.where(served, values[rows, chosen], np.nan)
    plan["meets"] = served
    return plan


def _with_range(value: float, low: float, high: float) -> str:
    likely = span(low, high)
    return number(value) if likely == number(value) else f"{number(value)} ({likely})"
