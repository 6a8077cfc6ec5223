"""The year's energy from source to use: sums of the flows in; what each source fed to each use, and losses, out."""

from collections.abc import Mapping
from dataclasses import dataclass, fields

from solarsim.results import Result, computed, fact


@dataclass(frozen=True, eq=False, repr=False)
class EnergyFlow(Result):
    """Who fed whom in a year.

    Examples
    --------
    >>> from solarsim import flows, read_scenario
    >>> flow = flows(read_scenario(), "zero export").energy_flow
    >>> flow.pv_to_grid_kwh + flow.battery_to_grid_kwh
    0.0
    """

    pv_available_kwh: float = fact("solar energy that the arrays could deliver", "kWh DC")
    pv_to_load_kwh: float = fact("solar energy serving load and standby", "kWh AC")
    pv_to_battery_kwh: float = fact("solar energy into the battery's terminals", "kWh DC")
    pv_to_grid_kwh: float = fact("solar energy exported", "kWh AC")
    clipped_kwh: float = fact("solar energy that the inverter's AC rating cuts off", "kWh DC")
    curtailed_kwh: float = fact("solar energy left over when the battery is full and export is limited", "kWh DC")
    battery_to_load_kwh: float = fact("battery energy serving load and standby", "kWh AC")
    battery_to_grid_kwh: float = fact("battery energy exported", "kWh AC")
    grid_to_load_kwh: float = fact("import that serves load and standby", "kWh AC")
    grid_to_battery_kwh: float = fact("import that charges the battery", "kWh AC")
    generator_to_load_kwh: float = fact("generator energy serving load and standby", "kWh AC")
    generator_to_battery_kwh: float = fact("generator energy that charges the battery", "kWh AC")
    demand_kwh: float = fact("load and standby, served or not", "kWh AC")
    unserved_kwh: float = fact("load and standby that no source served", "kWh AC")

    @computed("clipped and curtailed", "kWh DC")
    def pv_not_used_kwh(self) -> float:
        return self.clipped_kwh + self.curtailed_kwh

    @computed("solar energy used less what of it arrives at load, battery and grid: lost in conversion", "kWh")
    def pv_losses_kwh(self) -> float:
        arrives_kwh = self.pv_to_load_kwh + self.pv_to_battery_kwh + self.pv_to_grid_kwh
        return self.pv_available_kwh - float(self.pv_not_used_kwh) - arrives_kwh

    @computed("what charges the battery, from all sources", "kWh")
    def charge_kwh(self) -> float:
        return self.pv_to_battery_kwh + self.grid_to_battery_kwh + self.generator_to_battery_kwh

    @computed("what the battery delivers to load and grid", "kWh AC")
    def discharge_kwh(self) -> float:
        return self.battery_to_load_kwh + self.battery_to_grid_kwh

    @computed("charge_kwh less discharge_kwh: lost in cells and conversion, or still stored", "kWh")
    def battery_losses_kwh(self) -> float:
        return float(self.charge_kwh - self.discharge_kwh)

    @computed("lost from sun and battery", "kWh")
    def losses_kwh(self) -> float:
        return float(self.pv_losses_kwh + self.battery_losses_kwh)

    @computed("load and standby that were served", "kWh AC")
    def served_kwh(self) -> float:
        return self.demand_kwh - self.unserved_kwh

    @computed("all that enters the home: solar energy available, import, generator", "kWh")
    def supply_kwh(self) -> float:
        return float(self.pv_available_kwh + self.import_kwh + self.generator_kwh)

    @computed("energy from the grid", "kWh AC")
    def import_kwh(self) -> float:
        return self.grid_to_load_kwh + self.grid_to_battery_kwh

    @computed("energy to the grid", "kWh AC")
    def export_kwh(self) -> float:
        return self.pv_to_grid_kwh + self.battery_to_grid_kwh

    @computed("output of the generator", "kWh AC")
    def generator_kwh(self) -> float:
        return self.generator_to_load_kwh + self.generator_to_battery_kwh


def energy_flow_from(sums: Mapping[str, float]) -> EnergyFlow:
    """Return the flow of a year's energy.

    Parameters
    ----------
    sums : mapping of str to float
        ``Ledger.sums``: the year's sum of each flow [kWh].

    Returns
    -------
    EnergyFlow
        Every kilowatt-hour that enters reaches a use, is lost, or stays in the battery.
    """
    demand_kwh = sums["load_kwh"] + sums["standby_kwh"]
    flow = {field.name: sums[field.name] for field in fields(EnergyFlow) if field.name != "demand_kwh"}
    return EnergyFlow(demand_kwh=demand_kwh, **flow)
