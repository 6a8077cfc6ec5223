"""Results as text for other programs: runs in, the hourly CSV and JSON out."""

import json
from math import isfinite

from solarsim.home import Home
from solarsim.ledger.flows import Flows
from solarsim.run import Run
from solarsim.ledger.flows import HOURLY
from solarsim.studies.compare.compare import Comparison, facts_of
from solarsim.studies.compare.finer_steps import StepComparison
from solarsim.views.step_tables import steps_record


def hourly_csv(flows: Flows) -> str:
    """Write the hourly table, to a millionth of a watt.

    Parameters
    ----------
    flows : Flows
        A year.

    Returns
    -------
    str
        CSV with the columns of ``ledger.flows.HOURLY``.
    """
    names = [name for name in HOURLY if name != "time"]
    # Adding 0.0 turns a negative zero into a plain one.
    columns = [(flows[name].round(9) + 0.0).tolist() for name in names]
    lines = [",".join(["time", *names])]
    lines += [",".join([label, *map(repr, row)]) for label, *row in zip(flows.timeline.labels, *columns, strict=True)]
    return "\n".join(lines) + "\n"


def comparison_json(comparison: Comparison, steps: StepComparison | None = None) -> str:
    """Write a comparison with stable keys.

    Parameters
    ----------
    comparison : Comparison
        Every strategy.
    steps : StepComparison, optional
        The same by hours and by finer steps.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    scenario = comparison.home.scenario
    record: dict[str, object] = {
        "scenario": scenario.name,
        "currency": scenario.rate_plan.currency,
        "baseline": facts_of(comparison.baseline),
        "solar_only": None if comparison.solar_only is None else comparison.record_of(comparison.solar_only),
        "strategies": comparison.rows(),
        "input_clipped_kwh": float(comparison.home.production.clipped_kw.sum()) * comparison.home.timeline.step_h,
        "notes": comparison.home.notes(*comparison.runs),
    }
    if comparison.best is not None:
        record["best"] = vars(comparison.best)
    if steps is not None:
        record["finer_steps"] = steps_record(steps)
    return to_json(record)


def run_json(home: Home, run: Run) -> str:
    """Write one strategy's year by month with stable keys.

    Parameters
    ----------
    home : Home
        Names the scenario and the currency.
    run : Run
        A strategy's year.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    months = [
        {
            "month": month,
            **{key: float(values[month - 1]) for key, values in run.ledger.monthly_kwh.items()},
            "bill": float(run.ledger.bill.month_total(month)),
        }
        for month in range(1, 13)
    ]
    year: dict[str, object] = {"name": run.strategy, **facts_of(run)}
    return to_json(
        {
            "scenario": home.scenario.name,
            "currency": home.scenario.rate_plan.currency,
            "strategy": year,
            "months": months,
            "notes": home.notes(run),
        }
    )


def to_json(record: object) -> str:
    """Write a record as JSON; a number that JSON does not know is a fault of ours.

    Parameters
    ----------
    record : object
        Dicts, lists, text, numbers.

    Returns
    -------
    str
        Indented, one key a line.
    """
    return json.dumps(_tidy(record), indent=2, allow_nan=False, ensure_ascii=False)


def _tidy(value: object) -> object:
    if isinstance(value, dict):
        return {key: _tidy(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_tidy(inner) for inner in value]
    if isinstance(value, float):
        return round(value, 9) + 0.0 if isfinite(value) else value
    return value
