"""What it takes to find something out, as the settings of a site state it: the table ``[efforts]``."""

from collections.abc import Mapping
from dataclasses import dataclass

from edgestore.checks import MAX_PRICE
from edgestore.inputs.beliefs import GUESS
from edgestore.inputs.tables import Column


@dataclass(frozen=True)
class Effort:
    """One way to find something out: its key in ``[efforts]``, what it is, and what it costs where nobody says.

    That is told in visits, so that it holds in any currency; all of these are our guesses.
    """

    name: str
    help: str
    visits: float


EFFORTS = (
    Effort("footage_day_price", "to fetch a day of a camera's footage and measure it", 0.5),
    Effort("footage_week_price", "to fetch a week of a camera's footage and measure it", 1.0),
    Effort("event_log_price", "to fetch a week of a camera's event log", 0.5),
    Effort("ask_maker_price", "to have the maker of a card say which part of its cards reaches the rating", 0.5),
    Effort("lot_trial_price", "to write a lot of one kind of card to its end, without the cards themselves", 2.0),
    Effort("recorder_log_price", "to count the outages of the recorder", 0.5),
)

EFFORT_KEYS = tuple(
    Column(
        effort.name,
        "number",
        effort.help,
        "currency units",
        default=f"{effort.visits:g} of visit_price, {GUESS}",
        at_least=0,
        at_most=MAX_PRICE,
    )
    for effort in EFFORTS
)


def effort_price(name: str, stated: Mapping[str, float], visit_price: float) -> float:
    """Price of an effort, currency units: as stated, else so many visits as we guess.

    Parameters
    ----------
    name : str
        Its key.
    stated : mapping of str to float
        What the settings state, currency units.
    visit_price : float
        Price of a visit, currency units.

    Returns
    -------
    float
        The price.

    Examples
    --------
    >>> effort_price("footage_week_price", {}, 60), effort_price("footage_week_price", {"footage_week_price": 15}, 60)
    (60.0, 15)
    """
    visits = next(effort.visits for effort in EFFORTS if effort.name == name)
    return stated.get(name, visits * visit_price)
