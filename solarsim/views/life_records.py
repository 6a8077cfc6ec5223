"""A system's life as text for other programs: life and risk in, JSON out."""

from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.studies.life.life import LifeStudy, StrategyLife
from solarsim.studies.risk.risk import Risk, percentiles
from solarsim.views.records import to_json

_QUANTILES = ("p10", "p50", "p90")


def life_json(study: LifeStudy) -> str:
    """Write every strategy's life with stable keys.

    Parameters
    ----------
    study : LifeStudy
        Every strategy.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    return to_json(
        {
            "scenario": study.home.scenario.name,
            "currency": study.home.scenario.rate_plan.currency,
            "upfront_cost": study.costs.total,
            "assumed": _assumed(study.settings, study.costs),
            "strategies": [_summary(each) | {"years": each.records()} for each in study.lives],
            "notes": study.home.notes(),
        }
    )


def _summary(life: StrategyLife) -> dict[str, object]:
    returns = life.rates_of_return
    return {
        "name": life.strategy,
        "npv": life.npv,
        "average_savings": life.average_savings,
        "simple_payback_years": life.simple_payback_years,
        "discounted_payback_years": life.discounted_payback_years,
        "irr": returns[0] if len(returns) == 1 else None,
        "rates_of_return": list(returns),
        "lcoe": life.lcoe,
        "lcos": life.lcos,
        "balance_error_kwh": life.balance_error_kwh,
        "cells_left": life.cells_left,
    }


def _assumed(settings: Lifetime, costs: Costs) -> dict[str, object]:
    return {"life": settings.model_dump(exclude_none=True), "costs": costs.model_dump(exclude_none=True)}


def risk_json(risk: Risk) -> str:
    """Write many lifetimes with stable keys.

    Parameters
    ----------
    risk : Risk
        Many lifetimes.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """

    def quantiles(key: str) -> dict[str, float | None]:
        return dict(zip(_QUANTILES, percentiles(getattr(risk, key)), strict=True))

    return to_json(
        {
            "scenario": risk.home.scenario.name,
            "currency": risk.home.scenario.rate_plan.currency,
            "strategy": risk.strategy,
            "lifetimes": risk.npv.size,
            "seed": risk.seed,
            "npv": quantiles("npv"),
            "average_savings": quantiles("average_savings"),
            "simple_payback_years": quantiles("payback"),
            "share_paid_back": risk.share_paid_back,
            "share_worth_it": risk.share_worth_it,
            "npv_at_medians": risk.middle_value,
            "inputs": [
                {
                    "name": each.name,
                    "low_value": each.low_value,
                    "high_value": each.high_value,
                    "npv_at_low": each.at_low,
                    "npv_at_high": each.at_high,
                    "swing": each.swing,
                }
                for each in risk.moved
            ],
            "cells_left": risk.cells_left,
            "assumed": _assumed(risk.settings, risk.costs),
            "notes": risk.notes,
        }
    )
