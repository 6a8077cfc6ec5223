"""Weather as text for other programs: years of weather in, JSON out."""

from solarsim.scenario.glossary_studies import SKY
from solarsim.studies.weather import Sky
from solarsim.views.records import to_json


def skies_json(skies: tuple[Sky, ...]) -> str:
    """Write years of weather with stable keys.

    Parameters
    ----------
    skies : tuple of Sky
        The year that runs take first.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    return to_json({"years": [_record(sky) for sky in skies]})


def _record(sky: Sky) -> dict[str, object]:
    weather, years = sky.weather, sky.weather.year_of_month
    months = [
        {
            "month": month + 1,
            **{key: float(values[month]) for key, values in sky.monthly.items()},
            "year_of_month": years[month] if years else None,
        }
        for month in range(12)
    ]
    where = {key: getattr(weather, key) for key in SKY if hasattr(weather, key) and key.endswith(("_deg", "_m", "_h"))}
    return {
        "source": sky.source,
        "place": {"name": weather.place, **where},
        "annual": sky.annual,
        "months": months,
        "label_offset_min": sky.label_offset_min,
        "solar_noon_h": sky.solar_noon_h,
        "notes": list(weather.notes),
    }
