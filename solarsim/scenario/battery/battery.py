"""The battery: strings of cells or kWh, chemistry, place, heater and warranty as the user wrote them."""

from collections.abc import Callable, Iterator, Mapping
from math import inf, isclose, isnan, nan, sqrt
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, Positive, Share
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
    """Cells in series; several such strings stand in parallel.

    Attributes
    ----------
    cells_in_series : int
        Cells in one row.
    cell_ah, cell_v : float
        Rated capacity [Ah] and nominal voltage [V] of one cell.
    strings : int
        Number of such strings in parallel.
    """

    cells_in_series: Annotated[int, Field(ge=1, le=400)]
    cell_ah: Positive
    cell_v: Annotated[float, Field(gt=0, le=60)]
    strings: Annotated[int, Field(ge=1, le=100)] = 1

    @property
    def volts(self) -> float:
        """Nominal voltage of the row [V]."""
        return self.cells_in_series * self.cell_v

    @property
    def kwh(self) -> float:
        """Energy of all such strings: cells x Ah x V / 1000 [kWh] (common practice, no source)."""
        return self.strings * self.volts * self.cell_ah / 1000


class Heater(Frozen):
    """What keeps the cells warm: its power [W], and the cell temperature that it holds [C]."""

    w: Annotated[float, Field(gt=0, le=5000)]
    below_c: Annotated[float, Field(ge=-20, le=30)]


class Warranty(Frozen):
    """What a maker promises, whichever ends first.

    Attributes
    ----------
    years : float
        Its length.
    throughput_mwh : float, optional
        Energy discharged until it ends [MWh].
    remaining : float
        Share of capacity that is left at its end, 0-1.
    """

    years: Annotated[float, Field(gt=0, le=40)]
    throughput_mwh: Positive | None = None
    remaining: Annotated[float, Field(gt=0, lt=1)]


class Battery(Frozen):
    """The battery bank, as strings of cells or as kWh.

    Attributes
    ----------
    chemistry : str, optional
        With it every key that ``chemistry.PRESETS`` knows may be left out; what is written wins.
    bank : tuple of CellString, optional
        Rows of cells in parallel; they may differ in Ah, not in voltage.
    capacity_kwh, nominal_v : float, optional
        Energy [kWh] and nominal voltage [V], in place of a bank.
    round_trip_efficiency : float
        Energy out / energy in at the battery's own terminals, 0-1; the inverter is not in it.
    low_cutoff : float
        State of charge that nothing goes below, not even an outage, 0-1.
    self_discharge_per_month : float
        Share of the charge above the low cutoff lost in 30 days, 0-1.
    max_charge_a, max_discharge_a : float, optional
        The bank's own limits [A]; for each direction one in A or kW, here or at the inverter's port.
    max_charge_kw, max_discharge_kw : float, optional
        The same as power [kW]; where both are given the lower one holds.
    place : str, optional
        Where the bank stands: ``indoor``, ``garage`` (unheated) or ``outdoor``; a chemistry needs it.
    room_c : float
        Temperature of the living space where an indoor bank stands [C].
    heater : Heater, optional
        What keeps the cells warm.
    charge_c_rate, discharge_c_rate, charge_slow_c_rate : float
        Highest power / capacity [1/h]: a chemistry's own holds where no limit in A or kW is written.
    taper_from, charge_min_c, charge_slow_below_c, charge_max_c, discharge_min_c, discharge_max_c, peukert, rated_h
        See ``chemistry.Preset`` [C] [h].
    end_of_life : float
        Share of capacity at which the bank is worn out, 0-1.
    warranty : Warranty, optional
        What the maker promises.
    """

    chemistry: Chemistry | None = None
    bank: Annotated[tuple[CellString, ...], Field(min_length=1)] | None = None
    capacity_kwh: Annotated[float, Field(ge=0, le=5000)] | None = None
    nominal_v: Positive | None = None
    round_trip_efficiency: Annotated[float, Field(gt=0.3, le=1, default_factory=_from_preset("round_trip_efficiency"))]
    low_cutoff: Annotated[float, Field(ge=0, lt=1, default_factory=_from_preset("low_cutoff"))]
    self_discharge_per_month: Annotated[
        float, Field(ge=0, le=0.5, default_factory=_from_preset("self_discharge_per_month"))
    ]
    max_charge_a: Positive | None = None
    max_discharge_a: Positive | None = None
    max_charge_kw: Positive | None = None
    max_discharge_kw: Positive | None = None
    place: Literal["indoor", "garage", "outdoor"] | None = None
    room_c: Annotated[float, Field(ge=-10, le=45, default_factory=_from_preset("room_c"))]
    heater: Heater | None = None
    charge_c_rate: _Rate = Field(default_factory=_from_preset("charge_c_rate"))
    discharge_c_rate: _Rate = Field(default_factory=_from_preset("discharge_c_rate"))
    taper_from: Share = Field(default_factory=_from_preset("taper_from"))
    charge_min_c: _Celsius = Field(default_factory=_from_preset("charge_min_c"))
    charge_slow_below_c: _Celsius = Field(default_factory=_from_preset("charge_slow_below_c"))
    charge_slow_c_rate: _Rate = Field(default_factory=_from_preset("charge_slow_c_rate"))
    charge_max_c: _Celsius = Field(default_factory=_from_preset("charge_max_c"))
    discharge_min_c: _Celsius = Field(default_factory=_from_preset("discharge_min_c"))
    discharge_max_c: _Celsius = Field(default_factory=_from_preset("discharge_max_c"))
    peukert: Annotated[float, Field(ge=1, le=1.6, default_factory=_from_preset("peukert"))]
    rated_h: Annotated[float, Field(gt=0, le=120, default_factory=_from_preset("rated_h"))]
    end_of_life: Annotated[float, Field(ge=0.4, lt=1, default_factory=_from_preset("end_of_life"))]
    warranty: Warranty | None = None

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
                        f"strings of {self.bank[0].volts:g} V and {row.volts:g} V must not stand in parallel"
                    )
        elif self.nominal_v is None and (self.max_charge_a or self.max_discharge_a):
            raise ValueError("limits in ampere need nominal_v")
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
            yield "place is missing: what the cold does to cells depends on where they stand: indoor, garage or outdoor"
        if "room_c" in self.model_fields_set and self.place != "indoor":
            yield f"room_c {self.room_c:g} is for a bank that stands indoor, this one stands {self.place}"
        if not self.charge_min_c <= self.charge_slow_below_c < self.charge_max_c:
            yield (
                f"charge_min_c {self.charge_min_c:g}, charge_slow_below_c {self.charge_slow_below_c:g} and charge_max_c"
                f" {self.charge_max_c:g} must rise in this order"
            )
        if self.discharge_min_c >= self.discharge_max_c:
            yield (f"discharge_min_c {self.discharge_min_c:g} must lie below discharge_max_c {self.discharge_max_c:g}")
        if self.charge_slow_c_rate > self.charge_c_rate and "charge_slow_c_rate" in self.model_fields_set:
            yield f"charge_slow_c_rate {self.charge_slow_c_rate:g} is above charge_c_rate {self.charge_c_rate:g}"
        if self.taper_from <= self.low_cutoff:
            yield f"taper_from {self.taper_from:g} must lie above low_cutoff {self.low_cutoff:g}"
        if self.heater is not None and self.heater.below_c >= self.charge_max_c:
            yield f"heater.below_c {self.heater.below_c:g} must lie below charge_max_c {self.charge_max_c:g}"
        if self.warranty is not None and self.warranty.remaining > self.end_of_life:
            yield (
                f"warranty.remaining {self.warranty.remaining:g} is above end_of_life {self.end_of_life:g}:"
                " no bank is worn out before its warranty says so"
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
                    f"cell_v {row.cell_v:g} is no voltage of {build.title}:"
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
        """Give what a C-rate limits charging or discharging to.

        Parameters
        ----------
        way : str
            ``charge`` or ``discharge``.

        Returns
        -------
        float or None
            [kW]; None without a chemistry, and where a preset gives way to a written limit in A or kW.
        """
        key, others = f"{way}_c_rate", (f"max_{way}_a", f"max_{way}_kw")
        if self.chemistry is None:
            return None
        if key not in self.model_fields_set and any(getattr(self, other) is not None for other in others):
            return None
        return float(getattr(self, key)) * self.kwh

    @property
    def presets(self) -> dict[str, float]:
        """Tell which values of the chemistry's are in force, by key."""
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
