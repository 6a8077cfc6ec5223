"""The check against a log as JSON: a calibration in, text out."""

from solarsim.scenario.roof.roof import SEASONS
from solarsim.studies.calibrate.calibrate import Calibration, tilt_hint
from solarsim.studies.calibrate.clock_check import ClockCheck
from solarsim.views.calibrate_tables import calibrate_lines, clock_key, moved_key
from solarsim.views.records import to_json


def calibrate_json(found: Calibration) -> str:
    """Write a calibration with stable keys.

    Parameters
    ----------
    found : Calibration
        A log and its model.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    one = len(found.factors) == 1
    log = found.scenario.production_log
    return to_json(
        {
            "scenario": found.scenario.name,
            "side": None if log is None else log.side,
            "strategy": None if log is None else log.strategy,
            "system_factor": found.factors[0] if one else None,
            "system_factor_by_season": None if one else dict(zip(SEASONS, found.factors, strict=True)),
            "follows": found.follows,
            "real_weather": found.real_weather,
            "years_of_spread": found.years_of_spread,
            **{
                name: dict(zip(("logged_kwh", "expected_kwh"), found.sums(fitted), strict=True))
                for name, fitted in (("fitted_sum", True), ("foretold_sum", False))
            },
            "logged_months": [
                {
                    "year": month.year,
                    "month": month.month,
                    "logged_kwh": month.logged_kwh,
                    "expected_kwh": month.expected_kwh,
                    "ratio": month.ratio,
                    "covered": month.covered,
                    "spread": month.spread,
                    "fitted": month.fitted,
                    "below": month.is_below,
                    "remarks": list(month.remarks),
                }
                for month in found.months
            ],
            "clock": None if found.clock is None else _clock(found.clock, found),
            "winter_to_summer": tilt_hint(found.months, found.home.weather.latitude_deg > 0) if one else None,
            "notes": [*found.notes, *calibrate_lines(found)],
        }
    )


def _clock(clock: ClockCheck, found: Calibration) -> dict[str, object]:
    keys = [clock_key(clock, found)] if clock.other_saving else []
    keys += [moved_key(clock, found)] if clock.moved_min and clock.reason != "azimuth" else []
    return {
        "as_read": vars(clock.as_read),
        "best_clock": vars(clock.best),
        "better_by": clock.better_by,
        "other_saving": clock.other_saving,
        "moved_min": clock.moved_min,
        "reason": clock.reason if clock.moved_min else None,
        "settled_by": keys,
    }
