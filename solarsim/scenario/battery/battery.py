"""The battery: strings of cells or kWh, chemistry, place, heater and warranty as the user wrote them."""

from collections.abc import Callable, Iterator, Mapping
from math import inf, isclose, isnan, nan, sqrt
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import MOST_KWH, CurrentA, Frozen, PowerKw, Share, field
from solarsim.scenario.battery.chemistry import BUILDS, LITHIUM, PRESETS, Chemistry, Preset

_COLDEST_LITHIUM_C = -20.0  # below it no maker of lithium cells known to us permits charging (from memory)
#: Without a chemistry nothing is assumed: three keys must be written, the others mean "there is none of it".
_NOTHING = Preset(nan, nan, nan, inf, inf, 1.0, -inf, -inf, inf, inf, -inf, inf, 1.0)
_ALWAYS = ("round_trip_efficiency", "low_cutoff", "self_discharge_per_month")

_Celsius = Annotated[float, Field(ge=-60, le=90)]
_Rate = Annotated[float, Field(gt=0, le=10)]


def _from_preset(key: str) -> Callable[[Mapping[str, Any]], float]:
    return lambda known: float(getattr(PRESETS.get(known["chemistry"], _NOTHING), key))


class CellString(Frozen):
    """Cells in series; several such strings are connected in parallel."""

    cells_in_series: int = field("cells in each string", "1", ge=1, le=400)
    cell_ah: float = field("rated capacity of one cell", "Ah", usual=(2, 1200), gt=0, le=5000)
    cell_v: float = field("nominal voltage of one cell", "V", gt=0, le=60)
    strings: int = field("number of such strings in parallel", "1", ge=1, le=100, default=1)

    @property
    def volts(self) -> float:
        """Nominal voltage of the row [V]."""
        return self.cells_in_series * self.cell_v

    @property
    def kwh(self) -> float:
        """Energy of all such strings: cells x Ah x V / 1000 [kWh] (common practice, no source)."""
        return self.strings * self.volts * self.cell_ah / 1000


class Heater(Frozen):
    """A heater that keeps the cells warm."""

    w: float = field("its power", "W", usual=(5, 3000), gt=0, le=5000)
    below_c: float = field("cell temperature that it holds", "C", ge=-20, le=30)


class Warranty(Frozen):
    """The maker's warranty; whichever limit is reached first ends it."""

    years: float = field("its length", "years", gt=0, le=40)
    throughput_mwh: float | None = field(
        "energy discharged until it ends", "MWh", usual=(0.5, 10_000), gt=0, le=30_000, default=None
    )
    remaining: float = field("share of capacity that it guarantees at its end", "1", gt=0, lt=1)


class Battery(Frozen):
    """The battery bank, as strings of cells or as kWh."""

    chemistry: Chemistry | None = field(
        "lfp, nmc, flooded_lead_acid or sealed_lead_acid: with it, typical datasheet values apply to every key"
        " left out",
        "text",
        default=None,
    )
    bank: Annotated[tuple[CellString, ...], Field(min_length=1)] | None = field(
        "strings of cells in parallel; they may differ in Ah, not in voltage", "table", default=None
    )
    capacity_kwh: float | None = field(
        "nameplate energy, in place of a bank", "kWh", usual=(0.2, 2500), ge=0, le=MOST_KWH, default=None
    )
    nominal_v: float | None = field(
        "nominal voltage, with capacity_kwh", "V", usual=(10, 1000), gt=0, le=1500, default=None
    )
    round_trip_efficiency: float = field(
        "energy out / energy in at the battery's terminals, without the inverter",
        "1",
        usual=(0.6, 1),
        gt=0.3,
        le=1,
        default_factory=_from_preset("round_trip_efficiency"),
    )
    low_cutoff: float = field(
        "state of charge below which the battery never goes, not even in an outage",
        "1",
        ge=0,
        lt=1,
        default_factory=_from_preset("low_cutoff"),
    )
    restart_at: Share | None = field(
        "state of charge from which a battery that has reached its low cutoff discharges again; until then a home"
        " without the grid is served by its generator only. Left out: the low cutoff itself",
        "1",
        default=None,
    )
    self_discharge_per_month: float = field(
        "share of the charge above the low cutoff lost in 30 days",
        "1",
        usual=(0.001, 0.2),
        ge=0,
        le=0.5,
        default_factory=_from_preset("self_discharge_per_month"),
    )
    max_charge_a: CurrentA | None = field(
        "the bank's own current limit for charging", "A", usual=(1, 2000), default=None
    )
    max_discharge_a: CurrentA | None = field(
        "the bank's own current limit for discharging", "A", usual=(1, 2000), default=None
    )
    max_charge_kw: PowerKw | None = field(
        "the bank's own power limit for charging; the lower of A and kW holds", "kW", usual=(0.1, 500), default=None
    )
    max_discharge_kw: PowerKw | None = field(
        "the bank's own power limit for discharging; the lower of A and kW holds", "kW", usual=(0.1, 500), default=None
    )
    place: Literal["indoor", "garage", "outdoor"] | None = field(
        "where the bank is: indoor, garage (unheated) or outdoor; required with a chemistry", "text", default=None
    )
    room_c: float = field(
        "temperature of the living space where an indoor bank is",
        "C",
        ge=-10,
        le=45,
        default_factory=_from_preset("room_c"),
    )
    heater: Heater | None = field("what keeps the cells warm", "table", default=None)
    charge_c_rate: _Rate = field(
        "highest charging power / capacity", "1/h", default_factory=_from_preset("charge_c_rate")
    )
    discharge_c_rate: _Rate = field(
        "highest discharging power / capacity", "1/h", default_factory=_from_preset("discharge_c_rate")
    )
    taper_from: Share = field(
        "state of charge above which charging slows down", "1", default_factory=_from_preset("taper_from")
    )
    charge_min_c: _Celsius = field(
        "cell temperature at or below which it does not charge", "C", default_factory=_from_preset("charge_min_c")
    )
    charge_slow_below_c: _Celsius = field(
        "cell temperature below which it charges slowly", "C", default_factory=_from_preset("charge_slow_below_c")
    )
    charge_slow_c_rate: _Rate = field(
        "slow charging power / capacity", "1/h", default_factory=_from_preset("charge_slow_c_rate")
    )
    charge_max_c: _Celsius = field(
        "cell temperature at or above which it does not charge", "C", default_factory=_from_preset("charge_max_c")
    )
    discharge_min_c: _Celsius = field(
        "cell temperature at or below which it does not discharge", "C", default_factory=_from_preset("discharge_min_c")
    )
    discharge_max_c: _Celsius = field(
        "cell temperature at or above which it does not discharge", "C", default_factory=_from_preset("discharge_max_c")
    )
    peukert: float = field(
        "Peukert's exponent of lead-acid", "1", ge=1, le=1.6, default_factory=_from_preset("peukert")
    )
    rated_h: float = field(
        "hours of discharge for which a lead-acid capacity is rated",
        "h",
        gt=0,
        le=120,
        default_factory=_from_preset("rated_h"),
    )
    end_of_life: float = field(
        "share of capacity at which the bank counts as worn out",
        "1",
        ge=0.4,
        lt=1,
        default_factory=_from_preset("end_of_life"),
    )
    warranty: Warranty | None = field("the maker's warranty", "table", default=None)

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if (self.bank is None) == (self.capacity_kwh is None):
            raise ValueError("give either the bank (strings of cells) or capacity_kwh")
        if self.bank is not None:
            if self.nominal_v is not None:
                raise ValueError("nominal_v follows from the bank's strings; leave it out")
            for row in self.bank[1:]:
                if not isclose(row.volts, self.bank[0].volts, rel_tol=0.01):
                    raise ValueError(
                        f"strings of {self.bank[0].volts:g} V and {row.volts:g} V (cells_in_series x cell_v) must not"
                        " be connected in parallel"
                    )
        elif self.nominal_v is None and (self.max_charge_a or self.max_discharge_a):
            raise ValueError("limits in ampere need nominal_v")
        if self.restart_at is not None and self.restart_at < self.low_cutoff:
            raise ValueError(f"restart_at {self.restart_at:g} is below low_cutoff {self.low_cutoff:g}")
        return self

    @model_validator(mode="after")
    def _chemistry_is_told(self) -> Self:
        problems = list(self._without_chemistry() if self.chemistry is None else self._with_chemistry())
        if problems:
            raise ValueError("\n".join(problems))
        return self

    def _without_chemistry(self) -> Iterator[str]:
        for key in _ALWAYS:
            if isnan(getattr(self, key)):
                yield f"{key} is missing: write it, or a chemistry that has a documented one"
        written = [key for key in NEED_CHEMISTRY if key in self.model_fields_set]
        if written:
            yield f"{', '.join(written)}: needs a chemistry ({', '.join(PRESETS)})"

    def _with_chemistry(self) -> Iterator[str]:
        if self.place is None:
            yield "place is missing: indoor, garage or outdoor; what cold does to cells depends on it"
        if "room_c" in self.model_fields_set and self.place != "indoor":
            yield f"room_c {self.room_c:g} is for an indoor bank, this one is in place {self.place!r}"
        if not self.charge_min_c <= self.charge_slow_below_c < self.charge_max_c:
            yield (
                f"charge_min_c {self.charge_min_c:g}, charge_slow_below_c {self.charge_slow_below_c:g} and charge_max_c"
                f" {self.charge_max_c:g} must rise in this order"
            )
        if self.discharge_min_c >= self.discharge_max_c:
            yield (f"discharge_min_c {self.discharge_min_c:g} must be below discharge_max_c {self.discharge_max_c:g}")
        if self.charge_slow_c_rate > self.charge_c_rate and "charge_slow_c_rate" in self.model_fields_set:
            yield f"charge_slow_c_rate {self.charge_slow_c_rate:g} is above charge_c_rate {self.charge_c_rate:g}"
        if self.taper_from <= self.low_cutoff:
            yield f"taper_from {self.taper_from:g} must be above low_cutoff {self.low_cutoff:g}"
        if self.heater is not None and self.heater.below_c >= self.charge_max_c:
            yield f"heater.below_c {self.heater.below_c:g} must be below charge_max_c {self.charge_max_c:g}"
        if self.warranty is not None and self.warranty.remaining > self.end_of_life:
            yield (
                f"warranty.remaining {self.warranty.remaining:g} is above end_of_life {self.end_of_life:g}:"
                " a bank cannot be worn out before its warranty ends"
            )
        if self.chemistry in LITHIUM:
            if self.charge_min_c < _COLDEST_LITHIUM_C:
                yield f"charge_min_c {self.charge_min_c:g}: lithium cells must not be charged below -20 C"
            if self.peukert != 1.0 or "rated_h" in self.model_fields_set:
                yield "peukert and rated_h are for lead-acid"
        build = BUILDS[self.chemistry or ""]
        for row in self.bank or ():
            each_v = row.cell_v / max(1, round(2.0 * row.cell_v / (build.low_v + build.high_v)))
            if not build.low_v <= each_v <= build.high_v:
                yield (
                    f"cell_v {row.cell_v:g} is not a voltage of {build.title}:"
                    f" one cell has {build.low_v:g} to {build.high_v:g} V, a block a multiple"
                )

    @property
    def kwh(self) -> float:
        """Energy between empty and full [kWh]."""
        if self.bank is not None:
            return sum(row.kwh for row in self.bank)
        return self.capacity_kwh or 0.0

    @property
    def volts(self) -> float | None:
        """Nominal voltage [V], or None where it was not given."""
        return self.bank[0].volts if self.bank is not None else self.nominal_v

    @property
    def one_way_efficiency(self) -> float:
        """Half of the round trip, the same for charging and discharging."""
        return sqrt(self.round_trip_efficiency)

    def rate_kw(self, way: Literal["charge", "discharge"]) -> float | None:
        """Return what a C-rate limits charging or discharging to.

        Parameters
        ----------
        way : str
            ``charge`` or ``discharge``.

        Returns
        -------
        float or None
            [kW]; None without a chemistry, and where a written limit in A or kW replaces the preset.
        """
        key, others = f"{way}_c_rate", (f"max_{way}_a", f"max_{way}_kw")
        if self.chemistry is None:
            return None
        if key not in self.model_fields_set and any(getattr(self, other) is not None for other in others):
            return None
        return float(getattr(self, key)) * self.kwh

    @property
    def presets(self) -> dict[str, float]:
        """Return which values of the chemistry are in force, by key."""
        if self.chemistry is None:
            return {}
        unused = {"room_c"} if self.place != "indoor" else set()
        unused |= {"peukert", "rated_h"} if self.chemistry in LITHIUM else set()
        unused |= {f"{way}_c_rate" for way in ("charge", "discharge") if self.rate_kw(way) is None}
        return {
            key: getattr(self, key) for key in Preset._fields if key not in self.model_fields_set and key not in unused
        }


#: Keys that say nothing without a chemistry.
NEED_CHEMISTRY = ("place", "heater", "warranty", *(key for key in Preset._fields if key not in _ALWAYS))
