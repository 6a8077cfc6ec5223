"""The roof: modules, arrays, their cables and shade, and the inputs that they are connected to.

Every class is one table of the scenario file; a default is always "there is none of it".
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, Field, model_validator

from solarsim.fields import CurrentA, Frozen, Name, PowerKw, Share, field

_FallPerDegree = Annotated[float, Field(ge=-0.01, lt=0)]
Shares24 = Annotated[tuple[Share, ...], Field(min_length=24, max_length=24)]

#: Sizes of copper conductors in American wire gauge, thinnest first.
Awg = Literal["14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"]

DATASHEET = ("v_oc_v", "i_sc_a", "v_mp_v", "i_mp_a", "p_mp_per_c", "v_oc_per_c", "i_sc_per_c")


class Module(Frozen):
    """A kind of module: its datasheet at standard test conditions, or a row of the module table."""

    name: Name = field("its name, which arrays refer to", "text")
    table_row: str | None = field(
        "name of a row of the module table, or words that only one row holds; in place of all that follows",
        "text",
        min_length=1,
        max_length=200,
        default=None,
    )
    v_oc_v: float | None = field("open-circuit voltage", "V", gt=0, le=400, default=None)
    i_sc_a: float | None = field("short-circuit current", "A", gt=0, le=40, default=None)
    v_mp_v: float | None = field("voltage at maximum power", "V", gt=0, le=400, default=None)
    i_mp_a: float | None = field("current at maximum power", "A", gt=0, le=40, default=None)
    p_mp_per_c: _FallPerDegree | None = field(
        "temperature coefficient of maximum power, as a share: -0.34%/C is -0.0034",
        "1/C",
        usual=(-0.006, -0.001),
        default=None,
    )
    v_oc_per_c: _FallPerDegree | None = field(
        "temperature coefficient of open-circuit voltage, as a share", "1/C", usual=(-0.006, -0.001), default=None
    )
    i_sc_per_c: float | None = field(
        "temperature coefficient of short-circuit current, as a share", "1/C", ge=-0.01, le=0.01, default=None
    )
    system_v: float | None = field(
        "maximum system voltage, from its label: for the command wiring", "V", ge=50, le=2000, default=None
    )
    series_fuse_a: float | None = field(
        "maximum series fuse rating, from its label: for the command wiring", "A", gt=0, le=100, default=None
    )
    rear_gain: float | None = field(
        "what the rear of a bifacial module adds to the front's current: for the command wiring; 0 where it has none",
        "1",
        ge=0,
        le=0.4,
        default=None,
    )

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        given = [key for key in DATASHEET if getattr(self, key) is not None]
        if self.table_row is not None:
            if given:
                raise ValueError(f"a table_row brings its own values; leave out {', '.join(given)}")
            return self
        missing = [key for key in DATASHEET if key not in given]
        if missing:
            raise ValueError(f"give a table_row, or all values of the datasheet; missing: {', '.join(missing)}")
        if (self.v_mp_v or 0) >= (self.v_oc_v or 0):
            raise ValueError(f"v_mp_v {self.v_mp_v} must be below v_oc_v {self.v_oc_v}")
        if (self.i_mp_a or 0) >= (self.i_sc_a or 0):
            raise ValueError(f"i_mp_a {self.i_mp_a} must be below i_sc_a {self.i_sc_a}")
        return self


@dataclass(frozen=True)
class ListedModule:
    """A module as the module table lists it, at standard test conditions.

    Attributes
    ----------
    name : str
        Maker and type.
    technology : str
        As in the table.
    w : float
        Power [W].
    v_oc_v, i_sc_a, v_mp_v, i_mp_a : float
        Open circuit [V], short circuit [A], maximum power [V], [A].
    p_mp_per_c, v_oc_per_c, i_sc_per_c : float
        Temperature coefficients as shares [1/C].
    """

    name: str
    technology: str
    w: float
    v_oc_v: float
    i_sc_a: float
    v_mp_v: float
    i_mp_a: float
    p_mp_per_c: float
    v_oc_per_c: float
    i_sc_per_c: float


class Cable(Frozen):
    """The copper conductors from each string to the inverter."""

    one_way_m: float = field("length from the string to the inverter; current flows there and back", "m", gt=0, le=500)
    section_mm2: float | None = field("cross-section of the conductor", "mm2", ge=1, le=300, default=None)
    awg: Awg | None = field(
        "size of the conductor in American wire gauge, in place of section_mm2", "text", default=None
    )

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if (self.section_mm2 is None) == (self.awg is None):
            raise ValueError("give either section_mm2 or awg")
        return self


class NearShade(Frozen):
    """Shade of trees, chimneys and neighbors, by month and hour."""

    beam_blocked: Annotated[tuple[Shares24, ...], Field(min_length=12, max_length=12)] = field(
        "for each month 24 shares of the direct beam that is blocked, from the hour that begins at midnight, in"
        " standard time",
        "1",
    )
    sky_hidden: Share = field("share of the sky's diffuse light that the same objects hide all year", "1")


class Array(Frozen):
    """Modules of one orientation, on a DC input of the hybrid inverter or on an inverter of their own."""

    name: Name = field("the array, for tables", "text")
    tilt_deg: float = field("tilt from horizontal", "deg", dimension="tilt", ge=0, le=90)
    azimuth_deg: float = field(
        "direction clockwise from north: 90 east, 180 south, 270 west", "deg", dimension="azimuth", ge=0, lt=360
    )
    modules_in_series: int = field("modules in each string", "1", ge=1, le=100)
    strings: int = field("strings in parallel", "1", ge=1, le=1000)
    module: Name | None = field(
        "name of an entry of modules: power then follows the module's current-voltage curve", "text", default=None
    )
    module_w: float | None = field(
        "power of one module at standard test conditions, where no module is named", "W", ge=20, le=1000, default=None
    )
    temperature_coefficient_per_c: float | None = field(
        "change of power per degree of cell temperature, with module_w",
        "1/C",
        usual=(-0.006, -0.001),
        ge=-0.01,
        le=0,
        default=None,
    )
    mounting: Literal["roof", "rack"] = field("roof (close to a roof, warmer) or rack (open, cooler)", "text")
    input: int | None = field("number of the hybrid inverter's DC input, from 1", "1", ge=1, le=100, default=None)
    ac_inverter: Name | None = field("name of an entry of ac_inverters, in place of input", "text", default=None)
    cable: Cable | None = field(
        "cable from each string to the inverter, in place of the share losses.wiring.cables", "table", default=None
    )
    near_shade: NearShade | None = field("what shades this array from nearby", "table", default=None)

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        pair = (self.module_w, self.temperature_coefficient_per_c)
        if self.module is not None and pair != (None, None):
            raise ValueError("a module brings its own values; leave out module_w and temperature_coefficient_per_c")
        if self.module is None and None in pair:
            raise ValueError("give a module, or both module_w and temperature_coefficient_per_c")
        if self.module is None and self.cable is not None:
            raise ValueError("a cable needs currents: name a module, or give a share losses.wiring.cables")
        if (self.input is None) == (self.ac_inverter is None):
            raise ValueError("give either input, or ac_inverter for an array behind an inverter of its own")
        return self


LEAST_FACTOR, MOST_FACTOR = 0.4, 1.2
SEASONS = {
    "dec_feb": (12, 1, 2),
    "mar_may": (3, 4, 5),
    "jun_aug": (6, 7, 8),
    "sep_nov": (9, 10, 11),
}


def _believable(factor: float) -> float:
    """Check that a factor is one that a fault of a model may explain."""
    if not LEAST_FACTOR <= factor <= MOST_FACTOR:
        raise ValueError(
            f"must be from {LEAST_FACTOR} to {MOST_FACTOR}; beyond that the arrays' size, their"
            " direction, or the unit of the log is wrong"
        )
    return factor


Factor = Annotated[float, AfterValidator(_believable)]


class SeasonFactors(Frozen):
    """Measured / expected production of each quarter of the year."""

    dec_feb: Factor = field("December to February", "1")
    mar_may: Factor = field("March to May", "1")
    jun_aug: Factor = field("June to August", "1")
    sep_nov: Factor = field("September to November", "1")


class Production(Frozen):
    """How irradiance is brought onto the tilted plane, and what a log says of the whole."""

    transposition: Literal["perez_driesse", "hay_davies"] = field(
        "published sky model: perez_driesse or hay_davies", "text"
    )
    system_factor: Factor | None = field(
        "measured / expected DC power, as the command calibrate finds it from a log", "1", default=None
    )
    system_factor_by_season: SeasonFactors | None = field(
        "the same by quarter of the year, in place of system_factor", "table", default=None
    )

    @model_validator(mode="after")
    def _one_factor(self) -> Self:
        if self.system_factor is not None and self.system_factor_by_season is not None:
            raise ValueError("system_factor and system_factor_by_season say the same twice; keep one")
        return self

    def factor_of(self, month: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the factor that holds in each of these months, 1 to 12."""
        if self.system_factor_by_season is None:
            return np.full(month.size, 1.0 if self.system_factor is None else self.system_factor)
        by_month = np.ones(13)
        for season, months in SEASONS.items():
            by_month[list(months)] = getattr(self.system_factor_by_season, season)
        return by_month[month]


InputV = Annotated[float, Field(gt=0, le=1500)]
WINDOW = ("max_a", "mppt_min_v", "mppt_max_v", "start_v", "max_v")


class DcInput(Frozen):
    """One DC input of the inverter: its limits, and the voltages between which it tracks maximum power."""

    max_kw: PowerKw = field("highest power", "kW", usual=(0.2, 300))
    max_a: float | None = field("highest operating current", "A", usual=(1, 200), gt=0, le=2000, default=None)
    mppt_min_v: InputV | None = field("lowest voltage at which it tracks maximum power", "V", default=None)
    mppt_max_v: InputV | None = field("highest voltage at which it tracks maximum power", "V", default=None)
    start_v: InputV | None = field("open-circuit voltage from which it starts in the morning", "V", default=None)
    max_v: InputV | None = field(
        "voltage that must never be exceeded: more destroys the inverter", "V", usual=(30, 1500), default=None
    )
    max_short_circuit_a: CurrentA | None = field(
        "highest short-circuit current of the arrays on it: for the command wiring", "A", default=None
    )
    backfeed_a: float | None = field(
        "current that it can feed back into a fault of an array, 0 where its maker states none: for the command wiring",
        "A",
        ge=0,
        le=2000,
        default=None,
    )

    @property
    def missing(self) -> list[str]:
        """Return the keys that a string's curve needs of the input and that are missing."""
        return [key for key in WINDOW if getattr(self, key) is None]

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        rising = [
            (key, value) for key in ("mppt_min_v", "mppt_max_v", "max_v") if (value := getattr(self, key)) is not None
        ]
        for (low_key, low), (high_key, high) in pairwise(rising):
            if low > high or (low == high and high_key == "mppt_max_v"):
                raise ValueError(f"{low_key} {low:g} must be below {high_key} {high:g}")
        if self.start_v is not None and self.max_v is not None and self.start_v >= self.max_v:
            raise ValueError(f"start_v {self.start_v:g} must be below max_v {self.max_v:g}")
        return self
