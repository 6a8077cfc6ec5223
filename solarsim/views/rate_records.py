"""Bills and rate plans as JSON for other programs."""

from solarsim.home import Home
from solarsim.ledger.lines import Bill
from solarsim.run import Run
from solarsim.studies.plans import Pair, Plans
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


def plans_json(found: Plans) -> str:
    """Write the bills of every rate plan with every strategy with stable keys.

    Parameters
    ----------
    found : Plans
        Every pair.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    scenario = found.home.scenario

    def told(pair: Pair) -> dict[str, object]:
        return {
            "rate_plan": pair.rate_plan,
            "strategy": pair.strategy,
            "annual_bill": pair.annual_bill,
            "annual_savings": found.annual_savings(pair),
        }

    return to_json(
        {
            "scenario": scenario.name,
            "currency": scenario.rate_plan.currency,
            "plans": [
                {
                    "rate_plan": rate_plan.name,
                    "baseline": {"annual_bill": found.pair(rate_plan.name, "").annual_bill},
                    "strategies": [
                        {"name": pair.strategy, "annual_bill": pair.annual_bill, "why_none": pair.why_none}
                        for pair in found.pairs
                        if pair.rate_plan == rate_plan.name and pair.strategy
                    ],
                }
                for rate_plan in found.rate_plans
            ],
            "present": told(found.present),
            "only_rate_plan": told(found.only_rate_plan),
            "only_strategy": told(found.only_strategy),
            "cheapest": told(found.cheapest),
            "notes": found.notes(),
        }
    )
