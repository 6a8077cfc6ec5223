"""What an interconnection form asks for: a home in, its ratings out."""

from dataclasses import dataclass

from solarsim.home import Home
from solarsim.results import Result, fact


@dataclass(frozen=True, eq=False, repr=False)
class Ratings(Result):
    """The ratings of a system."""

    kw_dc: float = fact("rating of all arrays at standard test conditions", "kWdc")
    kw_ac: float = fact("rating of all inverters: the hybrid one and those of AC-coupled arrays", "kWac")
    dc_ac_ratio: float = fact("kw_dc / kw_ac", "1")
    modules: int = fact("number of modules", "1")
    inverters: int = fact("number of inverters", "1")
    nameplate_kwh: float = fact("energy of the battery from empty to full; 0 without one", "kWh")
    usable_kwh: float = fact("of it above the low cutoff", "kWh")
    battery_v: float | None = fact("nominal voltage of the battery; null where it is not stated", "V")
    export_limit_kw: float | None = fact("the utility's limit at the meter; null without one", "kWac")
    arrangement: str | None = fact("grid_tied, hybrid or off_grid; null where it is not stated", "text")
    grid_v: float | None = fact("voltage of the service; null without a table wiring", "V")
    phases: str | None = fact("single, split or three; null without a table wiring", "text")


def ratings_of(home: Home) -> Ratings:
    """Return the ratings of a home's system."""
    scenario, limits = home.scenario, home.limits
    kw_ac = scenario.inverter.ac_kw + sum(each.ac_kw for each in scenario.ac_inverters)
    kw_dc = home.production.rated_kw
    return Ratings(
        kw_dc=kw_dc,
        kw_ac=kw_ac,
        dc_ac_ratio=kw_dc / kw_ac,
        modules=sum(each.modules_in_series * each.strings for each in scenario.arrays),
        inverters=1 + len(scenario.ac_inverters),
        nameplate_kwh=limits.capacity_kwh,
        usable_kwh=limits.capacity_kwh - limits.minimum_kwh,
        battery_v=scenario.battery_v if limits.capacity_kwh > 0.0 else None,
        export_limit_kw=None if scenario.grid is None else scenario.grid.export_limit_kw,
        arrangement=None if scenario.arrangement is None else scenario.arrangement.kind,
        grid_v=None if scenario.wiring is None else scenario.wiring.grid_v,
        phases=None if scenario.wiring is None else scenario.wiring.phases,
    )
