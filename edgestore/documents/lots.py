"""The specification by lots: the cameras that get the same kind of card ask for one card that serves them all."""

from typing import Any

import pandas as pd

from edgestore.documents.language import IN_ENGLISH, Language
from edgestore.documents.specification import enough_marks, lowest, words
from edgestore.plan.asked import chance_with
from edgestore.plan.order import order_list
from edgestore.plan.site_plan import SitePlan
from edgestore.units import GB_PER_H_AT_1_MBIT_S, GB_PER_TB

COLUMNS = (
    *("lot", "card", "cards", "spares", "price", "cost", "cameras", "camera_names", "places"),
    *("capacity", "capacity_note", "speed", "speed_note", "endurance", "endurance_note", "chance"),
)


def lots(plan: SitePlan, specifications: pd.DataFrame, language: Language = IN_ENGLISH) -> pd.DataFrame:
    """Put together what is asked of the cards of cameras that get the same kind of card.

    Parameters
    ----------
    plan : SitePlan
        The plan.
    specifications : DataFrame
        What is asked camera by camera, of :func:`edgestore.documents.specification.specifications`.
    language : Language
        Language of the texts.

    Returns
    -------
    DataFrame
        ``COLUMNS``, a row a lot in the order of the order list: its number; the card of the list that serves, how many
        to fit, spares, the price of one and of all; how many cameras, and their names; what is asked, in words and
        small print; and the least chance, of its cameras, with which any card that has it keeps all that is asked.

    Notes
    -----
    Of every figure a lot asks for the strictest of its cameras: the largest usable capacity, the smallest most usable
    one, the highest write rate, marks that promise it in every slot, the largest endurance. Each camera so gets at
    least the card that it would ask for by itself, and its chance is no lower.
    """
    order = order_list(plan)
    served = specifications[specifications["card"] != ""]
    strict = served.copy()
    rows: list[dict[str, Any]] = []
    for number, ordered in enumerate(order.to_dict("records"), start=1):
        of_lot = served[served["card"] == ordered["card"]]
        asked = _strictest(of_lot)
        strict.loc[of_lot.index, ["usable_gb", "most_usable_gb", "endurance_tbw"]] = [
            asked[name] for name in ("usable_gb", "most_usable_gb", "endurance_tbw")
        ]
        rows.append(
            {"lot": number} | {str(name): value for name, value in ordered.items()} | asked | {"of": of_lot.index}
        )
    everywhere = specifications.copy()
    everywhere.loc[strict.index, strict.columns] = strict
    kept = chance_with(plan.site, everywhere.reset_index(drop=True))
    told = []
    for row in rows:
        of = specifications.index.get_indexer(row["of"])
        row["chance"] = float(kept[of].min())
        row["chance_kept"] = float(plan.plan["chance_kept"].to_numpy()[of].min())
        row["cost"] = row["price"] * (row["cards"] + row["spares"])
        told.append({**row, **words(row, language)})
    return pd.DataFrame(told, columns=list(COLUMNS))


def _strictest(of_lot: pd.DataFrame) -> dict[str, Any]:
    """The strictest of what the cameras of a lot ask for."""
    hardest = of_lot.sort_values("endurance_tbw", ascending=False).iloc[0]
    pairs = of_lot[["slot_bus", "write_mbyte_s"]].drop_duplicates().to_numpy(object)
    marks = [set(enough_marks(bus, needed)) for bus, needed in pairs]
    return {
        "needed_gb": of_lot["needed_gb"].max(),
        "least_gb": of_lot["least_gb"].max(),
        "usable_gb": of_lot["usable_gb"].max(),
        "most_usable_gb": of_lot["most_usable_gb"].min(),
        "slot_gb": of_lot["slot_gb"].min(),
        "write_mbyte_s": of_lot["write_mbyte_s"].max(),
        "marks": lowest(set.intersection(*marks)),
        "slot_bus": " or ".join(dict.fromkeys(of_lot["slot_bus"])),
        "endurance_tbw": hardest["endurance_tbw"],
        "rated_mbit_s": hardest["rated_mbit_s"],
        "rated_h": hardest["endurance_tbw"] * GB_PER_TB / (GB_PER_H_AT_1_MBIT_S * hardest["rated_mbit_s"]),
        "assurance": of_lot["assurance"].max(),
        "cameras": len(of_lot),
        "camera_names": of_lot["camera"].tolist(),
        "places": of_lot["place"].tolist(),
    }
