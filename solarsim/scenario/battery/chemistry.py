"""The chemistries of battery cells: a name in, what its datasheets commonly say out.

The values are typical of makers' datasheets, from memory: common practice, no source. Of iron
phosphate cells, no charging below 0 C and at most about 0.2 C below 10 C are in many of them. A bank's
own datasheet and warranty decide: what the scenario states replaces these values.
"""

from typing import Literal, NamedTuple

Chemistry = Literal["lfp", "nmc", "flooded_lead_acid", "sealed_lead_acid"]
LITHIUM = ("lfp", "nmc")


class Preset(NamedTuple):
    """What a scenario may leave out where it names a chemistry; names as in ``battery.Battery``.

    Attributes
    ----------
    round_trip_efficiency, low_cutoff, self_discharge_per_month : float
        Shares.
    charge_c_rate, discharge_c_rate : float
        Highest power / capacity [1/h].
    taper_from : float
        State of charge above which the charger must slow down, 0-1.
    charge_min_c, charge_slow_below_c, charge_max_c : float
        Cell temperatures: no charging at or below, slow below, none at or above [C].
    charge_slow_c_rate : float
        What slow means [1/h].
    discharge_min_c, discharge_max_c : float
        No discharging at or below, and at or above [C].
    peukert, rated_h : float
        Peukert's exponent, 1 where there is no such loss, and the hours in which the rated capacity is given [h].
    room_c : float
        Of a living space [C].
    end_of_life : float
        Share of capacity at which a bank is said to be worn out.
    """

    round_trip_efficiency: float
    low_cutoff: float
    self_discharge_per_month: float
    charge_c_rate: float
    discharge_c_rate: float
    taper_from: float
    charge_min_c: float
    charge_slow_below_c: float
    charge_slow_c_rate: float
    charge_max_c: float
    discharge_min_c: float
    discharge_max_c: float
    peukert: float
    rated_h: float = 20.0
    room_c: float = 20.0
    end_of_life: float = 0.8


class Build(NamedTuple):
    """How the cells of a chemistry are built.

    Attributes
    ----------
    title : str
        For a person.
    low_v, high_v : float
        Lowest and highest nominal voltage of a cell [V].
    wh_per_k : float
        Heat capacity of a bank for each kWh [Wh/K].
    liters : float
        Volume of a bank with its housing for each kWh.
    caution : str
        What a person who works on such cells must know.
    """

    title: str
    low_v: float
    high_v: float
    wh_per_k: float
    liters: float
    caution: str


_LITHIUM_CAUTION = (
    "Do not charge lithium cells below 0 °C or above their maximum voltage: it damages them and can start a fire. The"
    " battery management system must prevent both."
)
_LEAD_CAUTION = (
    "Lead-acid cells release hydrogen while they charge, which can explode: ventilate the room. Discharged cells can"
    " freeze and burst."
)

PRESETS: dict[str, Preset] = {
    "lfp": Preset(0.94, 0.10, 0.02, 0.5, 1.0, 0.95, 0.0, 10.0, 0.2, 45.0, -20.0, 55.0, 1.0),
    "nmc": Preset(0.94, 0.10, 0.02, 0.5, 1.0, 0.85, 0.0, 10.0, 0.2, 45.0, -20.0, 55.0, 1.0),
    "flooded_lead_acid": Preset(0.80, 0.50, 0.05, 0.13, 0.20, 0.80, -20.0, -20.0, 0.13, 50.0, -20.0, 50.0, 1.25),
    "sealed_lead_acid": Preset(0.85, 0.50, 0.03, 0.20, 0.25, 0.80, -20.0, -20.0, 0.20, 50.0, -20.0, 50.0, 1.12),
}
BUILDS: dict[str, Build] = {
    "lfp": Build("lithium iron phosphate", 3.0, 3.4, 2.8, 7.0, _LITHIUM_CAUTION),
    "nmc": Build("lithium nickel manganese cobalt oxide", 3.5, 3.8, 1.9, 5.0, _LITHIUM_CAUTION),
    "flooded_lead_acid": Build("flooded lead-acid", 1.9, 2.1, 7.0, 15.0, _LEAD_CAUTION),
    "sealed_lead_acid": Build("sealed lead-acid", 1.9, 2.1, 7.0, 13.0, _LEAD_CAUTION),
}
