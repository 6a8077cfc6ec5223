"""Bills as JSON for other programs."""

from solarsim.home import Home
from solarsim.ledger.lines import Bill
from solarsim.run import Run
from solarsim.views.records import to_json


def bill_json(home: Home, runs: list[Run], month: int | None) -> str:
    """Write the bills of some runs line by line with stable keys.

    Parameters
    ----------
    home : Home
        Names the scenario, the rate plan and the currency.
    runs : list of Run
        The home without any system, and with it.
    month : int or None
        1 to 12; None for all lines of the year.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    rate_plan = home.scenario.rate_plan
    return to_json(
        {
            "scenario": home.scenario.name,
            "currency": rate_plan.currency,
            "rate_plan": rate_plan.name,
            "month": month,
            "bills": [
                {
                    "name": run.strategy or "no system at all",
                    "lines": _lines(run.ledger.bill, month),
                    "total": float(run.ledger.bill.total if month is None else run.ledger.bill.month_total(month)),
                }
                for run in runs
            ],
            "notes": home.notes(*runs),
        }
    )


def _lines(bill: Bill, month: int | None) -> list[dict[str, object]]:
    return [
        {**line._asdict(), "amount": float(line.amount)} for line in bill.lines if month is None or line.month == month
    ]
