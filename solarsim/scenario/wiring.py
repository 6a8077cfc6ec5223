"""What the electrical design checks read: ratings, conductors, fuses and panels as the user wrote them.

Nothing here changes the energy. What is absent must be written as "none": a value that is missing is not a value of 0.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, Name, field
from solarsim.scenario.roof.roof import Awg

Amperes = Annotated[float, Field(gt=0, le=6000)]
#: A rating, or the word that says that there is no such thing.
AmperesOrNone = Amperes | Literal["none"]
_Volts = Annotated[float, Field(gt=0, le=1500)]
_Kilowatts = Annotated[float, Field(gt=0, le=1000)]
NEC_EDITIONS, IEC_EDITIONS = (2017, 2020, 2023, 2026), (2016, 2023)


class Conductor(Frozen):
    """The copper conductors of one circuit, and where they run."""

    one_way_m: float = field("length; current flows there and back", "m", gt=0, le=500)
    awg: Awg | None = field("size in American wire gauge", "text", default=None)
    section_mm2: float | None = field("cross-section, in place of awg", "mm2", ge=1, le=300, default=None)
    parallel: int = field("equal conductors in parallel for each pole", "1", ge=1, le=6, default=1)
    insulation_c: Literal[60, 75, 90] | None = field("temperature rating of the insulation", "C", default=None)
    terminals_c: Literal[60, 75, 90] | None = field(
        "temperature rating of the terminals at both ends; the lower one", "C", default=None
    )
    ambient_c: float | None = field(
        "highest air temperature around the conductor; outdoors at least site.design_high_c",
        "C",
        ge=-20,
        le=90,
        default=None,
    )
    on_roof: bool | None = field("in a raceway closer than 23 mm to a roof in the sun", "true or false", default=None)
    in_raceway: int | None = field(
        "current-carrying conductors in the same raceway or cable, this circuit's included", "1", ge=1, le=40,
        default=None,
    )  # fmt: skip
    ground_awg: Awg | Literal["none"] | None = field("size of the equipment grounding conductor", "text", default=None)

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if (self.section_mm2 is None) == (self.awg is None):
            raise ValueError("give either awg or section_mm2")
        if self.terminals_c is not None and self.insulation_c is not None and self.terminals_c > self.insulation_c:
            raise ValueError(
                f"terminals_c {self.terminals_c} is above insulation_c {self.insulation_c}: the insulation decides"
            )
        return self


class PvCircuit(Frozen):
    """The circuit of one array, from its strings to the inverter."""

    array: Name = field("name of an entry of arrays", "text")
    module: Name | None = field(
        "entry of modules whose label applies, where the array names none", "text", default=None
    )
    fuse_a: AmperesOrNone | None = field('rating of each string\'s fuse, or "none"', "A", default=None)
    conductor: Conductor | None = field("of each string", "table", default=None)


class BatteryCircuit(Frozen):
    """The circuit from the bank to the inverter, and what protects it."""

    lowest_v: _Volts | None = field(
        "lowest voltage at which the inverter still delivers its rating from the battery", "V", default=None
    )
    highest_v: _Volts | None = field("highest voltage of the bank while it charges", "V", default=None)
    string_fuse_a: AmperesOrNone | None = field(
        'rating of the fuse of each parallel string, or "none"', "A", default=None
    )
    fuse_a: AmperesOrNone | None = field(
        'rating of the fuse or breaker of the whole bank, or "none"', "A", default=None
    )
    fuse_dc_v: _Volts | None = field("DC voltage rating of the fuses", "V", default=None)
    interrupting_ka: float | None = field("current that the fuses can interrupt", "kA", gt=0, le=500, default=None)
    short_circuit_ka: float | None = field(
        "short-circuit current of the whole bank, as the manufacturer declares it", "kA", gt=0, le=500, default=None
    )
    disconnect: Literal["non_polarized", "polarized", "none"] | None = field(
        "of the bank: non_polarized (opens current in both directions), polarized or none", "text", default=None
    )
    bms_a: AmperesOrNone | None = field(
        'current that the battery management system allows, continuous, of the whole bank, or "none"', "A", default=None
    )
    bms_surge_a: Amperes | None = field(
        "current that the battery management system allows while a motor starts", "A", default=None
    )
    conductor: Conductor | None = field("from the bank to the inverter", "table", default=None)


class InverterCircuit(Frozen):
    """The inverter's AC side."""

    breaker_a: AmperesOrNone | None = field("rating of the output breaker", "A", default=None)
    grid_port_a: Amperes | None = field(
        "highest continuous current of its grid port: what passes through to the backed-up panel, and charging", "A",
        default=None,
    )  # fmt: skip
    grid_port_breaker_a: AmperesOrNone | None = field(
        "rating of the breaker that feeds the grid port", "A", default=None
    )
    export_control: bool | None = field(
        "a listed power control system holds the utility's export limit", "true or false", default=None
    )
    keeps_generator: bool | None = field(
        "the inverter reduces charging so that it does not overload a generator", "true or false", default=None
    )
    conductor: Conductor | None = field("from the inverter to its panel", "table", default=None)


class Panel(Frozen):
    """A panel that sources feed."""

    busbar_a: Amperes | None = field("rating of the busbar", "A", default=None)
    main_a: AmperesOrNone | None = field("rating of the main breaker", "A", default=None)
    method: Literal["opposite_end", "sum_of_breakers", "power_control"] | None = field(
        "what the connection relies on: opposite_end (120% of the busbar, inverter breakers at the end opposite the"
        " main), sum_of_breakers (all but the main, at most the busbar) or power_control (a listed system keeps the"
        " busbar within its rating)",
        "text",
        default=None,
    )
    breakers_a: Amperes | None = field(
        "sum of all breakers but the main, loads and supplies: for sum_of_breakers", "A", default=None
    )
    power_control_a: Amperes | None = field("setting of the power control system: for power_control", "A", default=None)


class Service(Frozen):
    """The utility's service."""

    rated_a: Amperes | None = field("rating of the service", "A", default=None)
    load_a: Amperes | None = field(
        "calculated load of the home as an electrician computes it, without battery charging", "A", default=None
    )
    load_managed: bool | None = field(
        "a listed system keeps load and charging within the rating", "true or false", default=None
    )


class BackedUp(Frozen):
    """What the inverter supplies when the grid is out."""

    connected_kw: _Kilowatts | None = field("nameplate power of all loads that are transferred", "kW", default=None)
    running_kw: _Kilowatts | None = field("power of the loads that run at the same time", "kW", default=None)
    heaviest_leg_kw: _Kilowatts | None = field(
        "power of the loads that run at the same time on the more loaded leg of 120/240 V", "kW", default=None
    )
    leg_kw: _Kilowatts | None = field("power that the inverter delivers on one leg of 120/240 V", "kW", default=None)
    load_management: bool | None = field("excess load is shed automatically", "true or false", default=None)
    control_kw: _Kilowatts | None = field(
        "setting of a multimode inverter that is listed as a power control system (NEC 2026)", "kW", default=None
    )
    largest_load_kw: _Kilowatts | None = field("power of the largest single load; with control_kw", "kW", default=None)


class Wiring(Frozen):
    """What the electrical design checks read; nothing here changes the energy."""

    standard: Literal["nec", "iec"] = field("nec (NFPA 70) or iec (62548, 60364)", "text")
    edition: int = field("year of the edition that the local authority has adopted", "year", ge=2014, le=2035)
    building: Literal["dwelling", "other"] = field("dwelling (for one or two families) or other", "text")
    grid_v: float = field("from conductor to conductor, where the inverter is connected", "V", ge=100, le=690)
    phases: Literal["single", "split", "three"] = field("single, split (120/240 V) or three", "text")
    pv: tuple[PvCircuit, ...] = field("the circuit of each array", "table", default=())
    battery: BatteryCircuit | None = field("the battery's circuit", "table", default=None)
    inverter: InverterCircuit | None = field("the inverter's AC side", "table", default=None)
    main_panel: Panel | None = field("the panel behind the meter", "table", default=None)
    backup_panel: Panel | None = field("the panel behind the inverter", "table", default=None)
    service: Service | None = field("the utility's service", "table", default=None)
    backed_up: BackedUp | None = field("what is supplied in an outage", "table", default=None)

    @property
    def phase_count(self) -> int:
        """1 (split phase too) or 3."""
        return 3 if self.phases == "three" else 1

    @model_validator(mode="after")
    def _one_standard(self) -> Self:
        editions = NEC_EDITIONS if self.standard == "nec" else IEC_EDITIONS
        if self.edition not in editions:
            listed = ", ".join(map(str, editions))
            raise ValueError(f"edition {self.edition} is not one of {self.standard}: {listed}")
        if self.standard == "iec" and self.phases == "split":
            raise ValueError('phases = "split" is 120/240 V under the nec; the iec has single and three')
        names = [each.array for each in self.pv]
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"pv: two entries are of array {name!r}")
        return self
