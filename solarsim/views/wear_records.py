"""How each strategy wears the battery, for other programs: results in, JSON out."""

from solarsim.run import Run
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.wear import StrategyWear, Wear
from solarsim.views.records import to_json


def wear_json(comparison: Comparison, found: Wear) -> str:
    """Write the battery's life under each strategy with stable keys.

    Parameters
    ----------
    comparison : Comparison
        Names the scenario, and holds the runs.
    found : Wear
        Every strategy.

    Returns
    -------
    str
        JSON without NaN or infinity; keys as in ``glossary_studies.WEAR``.
    """
    scenario = comparison.home.scenario
    runs = {run.strategy: run for run in comparison.runs}
    return to_json(
        {
            "scenario": scenario.name,
            "currency": scenario.rate_plan.currency,
            "chemistry": found.battery.chemistry,
            "capacity_kwh": found.battery.kwh,
            "model": found.source,
            "presets": found.battery.presets,
            "end_of_life": found.battery.end_of_life,
            "years": found.years,
            "strategies": [_record(each, runs[each.strategy]) for each in found.strategies],
            "notes": comparison.home.notes(*comparison.runs),
        }
    )


def _record(each: StrategyWear, run: Run) -> dict[str, object]:
    by_year = each.by_year
    return {
        "name": each.strategy,
        "equivalent_full_cycles": each.full_cycles,
        "mean_soc": each.mean_soc,
        "mean_cell_c": each.mean_cell_c,
        "delivered_kwh": each.delivered_kwh,
        "temperature_blocked_kwh": run.ledger.annual_kwh["temperature_blocked_kwh"],
        "temperature_blocked_h": run.ledger.temperature_blocked_h,
        "calendar_loss_10_years": each.loss_to_time,
        "cycle_loss_10_years": each.loss_to_cycles,
        "years_to_end": each.years_to_end,
        "warranty": None if each.warranty is None else vars(each.warranty),
        "cost_per_kwh": each.cost_per_kwh,
        "earns_per_kwh": each.earns_per_kwh,
        "capacity_by_year": by_year.capacity.tolist(),
        "calendar_loss_by_year": by_year.calendar_loss.tolist(),
        "cycle_loss_by_year": by_year.cycle_loss.tolist(),
        "resistance_by_year": by_year.resistance.tolist(),
        "outside_range": list(each.outside),
    }
