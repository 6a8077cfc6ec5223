"""What outages mean, for other programs: a study in, JSON out."""

from math import isfinite

from solarsim.studies.outages.island import HOURS, Survival
from solarsim.studies.outages.outages import OutageStudy
from solarsim.views.records import to_json


def outages_json(study: OutageStudy) -> str:
    """Write what outages mean for one strategy with stable keys.

    Parameters
    ----------
    study : OutageStudy
        One strategy.

    Returns
    -------
    str
        JSON without NaN or infinity; keys as in ``glossary_studies.OUTAGES``.
    """
    scenario, arrangement = study.home.scenario, study.home.scenario.arrangement
    motor, drawn, wait = study.motor, study.drawn, study.transfer
    return to_json(
        {
            "scenario": scenario.name,
            "currency": scenario.rate_plan.currency,
            "strategy": study.strategy,
            "arrangement": None if arrangement is None else arrangement.kind,
            "backed_up": None if arrangement is None or arrangement.kind != "hybrid" else arrangement.backed_up,
            "outage_h": list(HOURS),
            "variants": [
                {
                    "keeps_reserve": each.keeps_reserve,
                    "with_generator": each.with_generator,
                    **_survival(each.survival),
                    "missed": None if each.missed is None else each.missed._asdict(),
                }
                for each in study.variants
            ],
            "reserve_curve": [
                {
                    "reserve": point.reserve,
                    "held": point.held,
                    "annual_bill": point.annual_bill,
                    "annual_savings": study.baseline_bill - point.annual_bill,
                    "costs": point.costs,
                    **_survival(point.survival),
                }
                for point in study.reserve
            ],
            "drawn": None
            if drawn is None
            else {
                "years": drawn.years,
                "seed": drawn.seed,
                "outages": int(drawn.start.size),
                "out_h": float(drawn.steps.sum()) * study.home.timeline.step_h / drawn.years,
                "longest_h": float(drawn.steps.max(initial=0)) * study.home.timeline.step_h,
                "shortened": drawn.shortened,
            },
            "events": [each._asdict() for each in study.events],
            "motor": None
            if motor is None
            else {
                "needed_kw": motor.needed_kw,
                "beside_kw": motor.beside_kw,
                "inverter_kw": motor.inverter_kw,
                "bank_kw": motor.bank_kw if isfinite(motor.bank_kw) else None,
                "motor_starts": motor.starts,
            },
            "transfer": None if wait is None else wait._asdict(),
            "above_rating_h": study.above_rating_h,
            "notes": study.home.notes(study.run),
        }
    )


def _survival(survival: Survival) -> dict[str, object]:
    by_season = [survival.share_by_season(hours) for hours in HOURS]
    return {
        "survival": [survival.share(hours) for hours in HOURS],
        "survival_by_season": {season: [shares[season] for shares in by_season] for season in by_season[0]},
    }
