"""The sheets of a plan's workbook that add up its costs: each visit, each camera's failures, and the bill by year."""

from edgestore.documents.content import Proposal
from edgestore.documents.spreadsheet import ROW, Column
from edgestore.plan.bill import YEARS

VISITS, FAILURES, BILL = "Visits", "Failures", "Bill"

FIRST = "first cards, fitted with the cameras"
"""What stands for a visit that is none."""

OF_YEAR = f"{VISITS}!$C:$C,$A{ROW}"
"""The visits of the year in this row."""


def visit_columns(proposal: Proposal) -> list[Column]:
    """Columns of the visits: date, year of the bill, what is brought, and what that costs."""
    table, bill = proposal.visits.table, proposal.visits.bill
    work, dates, years = table["cameras"].tolist(), table["date"].tolist(), table["years"].astype(int).add(1).tolist()
    brought = table["cards"].tolist()
    cards_cost = table["cards_cost"].tolist()
    ways = (table["cost"] - table["cards_cost"]).tolist()
    if bill.first_cards:
        work, dates, years = [FIRST, *work], [str(bill.years["begins"][0]), *dates], [1, *years]
        brought = [f"{bill.first_cards} cards", *brought]
        cards_cost, ways = [bill.first_cost, *cards_cost], [0.0, *ways]
    costs = [card + way for card, way in zip(cards_cost, ways, strict=True)]
    currency = proposal.visits.currency
    return [
        Column("date", "Date", dates, width=12),
        Column("cameras", "Cameras", work, "words", 50),
        Column("year", "Year of the bill", years, "count", 10, is_input=True),
        Column("brought", "Cards", brought, "words", 40),
        Column("cards_cost", f"Cards with their share of spares, {currency}", cards_cost, "price", 14, is_input=True),
        Column("way", f"Way, {currency}", ways, "price", 12, is_input=True),
        Column("cost", f"Cost, {currency}", costs, "price", 12, "=[cards_cost]+[way]"),
    ]


def failure_columns(proposal: Proposal) -> list[Column]:
    """Columns of the failures expected of each camera over the horizon, and what each costs."""
    cameras, currency = proposal.visits.bill.cameras, proposal.visits.currency
    failures, cost = cameras["expected_failures"], cameras["failures_cost"]
    each = (cost / failures).where(failures > 0, 0.0)
    return [
        Column("camera", "Camera", cameras["camera"].tolist(), "words", 40),
        Column("failures", "Failures expected", failures.tolist(), "factor", 14, is_input=True),
        Column("each", f"A card and a visit, {currency}", each.tolist(), "price", 14, is_input=True),
        Column("cost", f"Cost, {currency}", cost.tolist(), "price", 12, "=[failures]*[each]"),
    ]


def bill_columns(proposal: Proposal) -> list[Column]:
    """Columns of the bill: a row a year, and the total below."""
    years, currency = proposal.visits.bill.years, proposal.visits.currency
    of_failures = years["failures_cost"] / years["failures_cost"].sum()
    count = len(years)
    last = count + 1
    total = years[[*YEARS[2:]]].sum()

    def column(name: str, head: str, formula: str) -> Column:
        return Column(name, head, [*years[name].tolist(), float(total[name])], "price", 14, formula)

    def summed(letter: str, one: str) -> str:
        return f"=IF(ISNUMBER($A{ROW}),{one},SUM({letter}$2:{letter}${last}))"

    return [
        Column("year", "Year", [*years["year"].tolist(), "Total"], "count", 8),
        Column("begins", "Begins", [*years["begins"].tolist(), ""], width=12),
        Column("part", "Part of the failures", [*of_failures.tolist(), 1.0], "chance", 12),
        column("cards_cost", f"Cards, {currency}", summed("D", f"SUMIFS({VISITS}!$E:$E,{OF_YEAR})")),
        column("visits_cost", f"Visits, {currency}", summed("E", f"SUMIFS({VISITS}!$F:$F,{OF_YEAR})")),
        column("failures_cost", f"Failures expected, {currency}", summed("F", f"[part]*SUM({FAILURES}!$D:$D)")),
        column("total", f"Total, {currency}", "=[cards_cost]+[visits_cost]+[failures_cost]"),
    ]
