"""What to buy: how many cards of each kind a plan takes, with the spares."""

import pandas as pd

from edgestore.plan.site_plan import SitePlan


def order_list(plan: SitePlan) -> pd.DataFrame:
    """Count the cards that a plan takes.

    Parameters
    ----------
    plan : SitePlan
        The plan.

    Returns
    -------
    DataFrame
        A row a kind of card, in the order of the card list: ``card``, ``capacity_gb``, ``price`` of one (NaN where the
        list has none), ``cards`` to fit and ``spares`` to keep besides.
    """
    counts = plan.plan.loc[plan.plan["meets"], "card"].value_counts()
    spares = plan.spares.set_index("card")["spares"]
    offered = plan.site.offered
    order = offered[["card", "capacity_gb", "price"]].assign(cards=offered["card"].map(counts))
    order = order.dropna(subset="cards").reset_index(drop=True)
    return order.assign(spares=order["card"].map(spares).fillna(0)).astype({"cards": int, "spares": int})
