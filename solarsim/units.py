"""Units in which a value of a scenario may be written: a text such as "30 mi" in, the number in the key's own unit out.

Exact factors: the yard, the US gallon, the international mile and the conventional Btu are definitions (NIST Special
Publication 811, 2008 edition, appendix B). A text becomes a fraction first, so that "12 c/kWh" is the number 0.12.
"""

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import NamedTuple

from solarsim.errors import nearest

_NUMBER = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?)\s*(.*)", re.DOTALL)
_PITCH = re.compile(r"(\d+\.?\d*)\s*[/:]\s*(\d+\.?\d*)")
_POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
_DIRECTIONS = {"N": "north", "E": "east", "S": "south", "W": "west"}
# ISO 4217 (list one of January 2026): currencies without decimals, with three or four; MGA and MRU have fifths.
_ODD_MONEY = (
    "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    "BHD IQD JOD KWD LYD OMR TND CLF UYW",
    "MGA MRU",
)
_NO_HUNDREDTHS = frozenset(code for codes in _ODD_MONEY for code in codes.split())
_PENCE = "GBP"
_MONEY = re.compile(r"([A-Z]{3}|c|p)(/\w+|$)")

_MILE_KM = Fraction("1.609344")
_FOOT_M = Fraction("0.3048")
_INCH_M = Fraction("0.0254")
_GALLON_L = Fraction("3.785411784")
_UK_GALLON_L = Fraction("4.54609")
_BTU_KWH = Fraction("1055.05585262") / 3_600_000  # the International Table Btu
_MJ_KWH = Fraction(10, 36)
_ONE = Fraction(1)
_MOST = Fraction(10) ** 30


class Unit(NamedTuple):
    """How a number of this unit becomes one of the key's unit: times a factor, plus an offset, or the factor by it."""

    factor: Fraction
    offset: Fraction = Fraction(0)
    inverse: bool = False


class Dimension(NamedTuple):
    """What a key measures: its name for messages, the units in which it may be written, and an example."""

    name: str
    units: Mapping[str, Unit]
    example: str


def _table(name: str, example: str, **units: Fraction | Unit | int) -> Dimension:
    return _dimension(name, example, units)


def _dimension(name: str, example: str, units: Mapping[str, Fraction | Unit | int]) -> Dimension:
    made = {key: each if isinstance(each, Unit) else Unit(Fraction(each)) for key, each in units.items()}
    return Dimension(name, made, example)


_MILLI, _CENTI, _KILO = Fraction(1, 1000), Fraction(1, 100), 1000
_FAHRENHEIT = Unit(Fraction(5, 9), Fraction(-160, 9))
_TON_KW = 12_000 * _BTU_KWH  # of cooling: 12,000 Btu/h

#: What a key measures, by its unit or by the dimension that its declaration names.
DIMENSIONS: dict[str, Dimension] = {
    "1": _dimension("a share", "20 %", {"%": _CENTI}),
    "1/C": _dimension("a temperature coefficient", "-0.34 %/C", {"1/C": 1, "%/C": _CENTI, "%/K": _CENTI}),
    "1/h": _dimension("a C-rate", "0.5 C", {"1/h": 1, "C": 1}),
    "kW": _table("a power", "500 W", kW=1, W=_MILLI, MW=_KILO),
    "W": _table("a power", "0.4 kW", W=1, kW=_KILO),
    "heat": _dimension(
        "a heating or cooling power", "2 ton", {"kW": 1, "W": _MILLI, "ton": _TON_KW, "Btu/h": _BTU_KWH}
    ),
    "kWh": _table("an energy", "500 Wh", kWh=1, Wh=_MILLI, MWh=_KILO, MJ=_MJ_KWH),
    "MWh": _table("an energy", "30000 kWh", MWh=1, kWh=_MILLI),
    "A": _table("a current", "500 mA", A=1, mA=_MILLI, kA=_KILO),
    "kA": _table("a current", "10000 A", kA=1, A=_MILLI),
    "Ah": _table("a charge", "280 Ah", Ah=1, mAh=_MILLI),
    "V": _table("a voltage", "3200 mV", V=1, mV=_MILLI, kV=_KILO),
    "C": _table("a temperature", "68 degF", degC=1, C=1, degF=_FAHRENHEIT, F=_FAHRENHEIT),
    "km": _dimension("a length", "30 mi", {"km": 1, "mi": _MILE_KM, "m": _MILLI}),
    "m": _dimension(
        "a length", "120 ft", {"m": 1, "ft": _FOOT_M, "in": _INCH_M, "cm": _CENTI, "mm": _MILLI, "km": _KILO}
    ),
    "cm": _dimension(
        "a length", "8 in", {"cm": 1, "in": 100 * _INCH_M, "ft": 100 * _FOOT_M, "mm": Fraction(1, 10), "m": 100}
    ),
    "mm": _dimension("a length", "0.3 in", {"mm": 1, "in": 1000 * _INCH_M, "cm": 10}),
    "mm2": _table("a cross-section", "6 mm2", mm2=1),
    "m2": _table("an area", "40 ft2", m2=1, ft2=_FOOT_M**2),
    "m/s": _dimension("a speed", "8 mph", {"m/s": 1, "km/h": Fraction(10, 36), "mph": _MILE_KM * 1000 / 3600}),
    "l": _dimension(
        "a volume", "50 gal", {"l": 1, "L": 1, "gal": _GALLON_L, "UK gal": _UK_GALLON_L, "ml": _MILLI, "m3": 1000}
    ),
    "l/h": _dimension("a flow", "0.6 gal/h", {"l/h": 1, "gal/h": _GALLON_L, "UK gal/h": _UK_GALLON_L}),
    "l/kWh": _dimension(
        "a specific fuel use", "0.1 gal/kWh", {"l/kWh": 1, "gal/kWh": _GALLON_L, "UK gal/kWh": _UK_GALLON_L}
    ),
    "kWh/km": _dimension(
        "an energy for a distance",
        "30 kWh/100 mi",
        {
            "kWh/km": 1,
            "Wh/km": _MILLI,
            "kWh/100 km": _CENTI,
            "kWh/mi": 1 / _MILE_KM,
            "Wh/mi": _MILLI / _MILE_KM,
            "kWh/100 mi": _CENTI / _MILE_KM,
            "mi/kWh": Unit(1 / _MILE_KM, inverse=True),
            "km/kWh": Unit(_ONE, inverse=True),
        },
    ),
    "kW/K": _dimension("a heat loss", "250 W/K", {"kW/K": 1, "W/K": _MILLI, "Btu/h/degF": _BTU_KWH * Fraction(9, 5)}),
    "kWh/m2": _dimension("an irradiation", "15 MJ/m2", {"kWh/m2": 1, "Wh/m2": _MILLI, "MJ/m2": _MJ_KWH}),
    "h": _table("a time", "30 min", h=1, min=Fraction(1, 60), s=Fraction(1, 3600), d=24),
    "min": _table("a time", "1 h", min=1, h=60, s=Fraction(1, 60)),
    "s": _table("a time", "20 ms", s=1, ms=_MILLI, min=60),
    "%": _dimension("a percentage", "60 %", {"%": 1}),
    "deg": _table("an angle", "30 deg", deg=1),
    "azimuth": _table("a direction", "south-west", deg=1),
    "tilt": _table("a tilt", "6/12", deg=1),
    "latitude": _table("a latitude", "36.1 N", deg=1, N=1, S=-1),
    "longitude": _table("a longitude", "79.95 W", deg=1, E=1, W=-1),
    "currency": _dimension("an amount of money", "250 USD", {}),
    "currency/kWh": _dimension("a price of energy", "12 c/kWh", {}),
    "currency/kW": _dimension("a price of power", "14 USD/kW", {}),
    "currency/l": _dimension("a price of fuel", "3.80 USD/gal", {}),
}
#: What may be written without a unit.
_WORDS = {"azimuth": ("a compass point",), "tilt": ("rise/run",)}
#: Other spellings of units.
_ALSO = {
    "mile": "mi",
    "miles": "mi",
    "feet": "ft",
    "foot": "ft",
    "inch": "in",
    "inches": "in",
    "gallon": "gal",
    "gallons": "gal",
    "liter": "l",
    "liters": "l",
    "tons": "ton",
    "hours": "h",
    "minutes": "min",
    "seconds": "s",
    "days": "d",
    "degrees": "deg",
    "percent": "%",
    "ct/kWh": "c/kWh",
    "cents/kWh": "c/kWh",
}


def units_of(dimension: str, currency: str | None = None) -> Mapping[str, Unit]:
    """Return the units in which a key may be written.

    Parameters
    ----------
    dimension : str
        The key's unit, or the dimension that its declaration names.
    currency : str, optional
        Of the rate plan, three letters; without it no unit of money is known.

    Returns
    -------
    mapping of str to Unit
        By their names; empty where the key is a plain number.

    Examples
    --------
    >>> list(units_of("currency/kWh", "EUR")), list(units_of("currency/kWh", "JPY"))
    (['EUR/kWh', 'c/kWh', 'EUR/MWh'], ['JPY/kWh', 'JPY/MWh'])
    """
    if not dimension.startswith("currency"):
        return DIMENSIONS[dimension].units if dimension in DIMENSIONS else {}
    if currency is None:
        return {}
    money, per = Unit(_ONE), dimension.removeprefix("currency")
    small = "" if currency in _NO_HUNDREDTHS else "p" if currency == _PENCE else "c"
    found = {f"{currency}{per}": money, **({f"{small}{per}": Unit(_CENTI)} if small else {})}
    if per == "/kWh":
        found[f"{currency}/MWh"] = Unit(_MILLI)
    if per == "/l":
        found |= {f"{currency}/gal": Unit(1 / _GALLON_L), f"{currency}/UK gal": Unit(1 / _UK_GALLON_L)}
    return found


def number_from(text: str, dimension: str, currency: str | None = None) -> float:
    """Return the number, in the key's own unit, that a text with a unit means.

    Parameters
    ----------
    text : str
        A number and a unit; of an azimuth a compass point, of a tilt the rise and the run.
    dimension : str
        The key's unit, or the dimension that its declaration names.
    currency : str, optional
        Of the rate plan.

    Returns
    -------
    float
        The nearest one to the exact value.

    Raises
    ------
    ValueError
        It is not a number with a unit, the unit is unknown, or it measures something else; the message follows the
        quoted text.

    Examples
    --------
    >>> number_from("30 mi", "km"), number_from("68 degF", "C"), number_from("12 c/kWh", "currency/kWh", "USD")
    (48.28032, 20.0, 0.12)
    >>> number_from("south-west", "azimuth"), round(number_from("6/12", "tilt"), 2)
    (225.0, 26.57)
    """
    plain = text.strip()
    special = _direction(plain) if dimension == "azimuth" else _slope(plain) if dimension == "tilt" else None
    if special is not None:
        return special
    found = _NUMBER.fullmatch(plain)
    units = units_of(dimension, currency)
    if found is None or found[2][:1] == ",":
        raise ValueError(f"must be a number{_or_written(dimension, units)}")
    name = _name(found[2], units)
    if not name:
        raise ValueError(f"must be a number without quotes{_or_written(dimension, units)}")
    if name not in units:
        raise ValueError(_wrong_unit(name, dimension, units, currency))
    value, unit = Fraction(found[1]), units[name]
    if unit.inverse:
        if value == 0:
            raise ValueError("must be above 0")
        return float(unit.factor / value)
    exact = value * unit.factor + unit.offset
    if abs(exact) > _MOST:
        raise ValueError("is larger than any quantity of a home")
    return float(exact)


def written_forms(dimension: str) -> str:
    """Return how else than as a plain number a key may be written, for a person; empty where there is no other way.

    Parameters
    ----------
    dimension : str
        The key's unit, or the dimension that its declaration names.

    Returns
    -------
    str
        For example ``or with a unit (km, mi, m), such as "30 mi"``.

    Examples
    --------
    >>> written_forms("km")
    'or with a unit (km, mi, m), such as "30 mi"'
    """
    units = units_of(dimension, "USD")
    if not units:
        return ""
    extra = "".join(f"as {words} or " for words in _WORDS.get(dimension, ()))
    return f'or {extra}with a unit ({", ".join(units)}), such as "{DIMENSIONS[dimension].example}"'


def text_pattern(dimension: str) -> str | None:
    """Return a regular expression of the texts that a key accepts, for editors; None where it is a plain number.

    Parameters
    ----------
    dimension : str
        The key's unit, or the dimension that its declaration names.

    Returns
    -------
    str or None
        Anchored at both ends. Of money, any currency is accepted.
    """
    names = list(units_of(dimension, "USD"))
    if not names:
        return None
    if dimension.startswith("currency"):
        names = [re.escape(name).replace("USD", "[A-Z]{3}") for name in names] + [re.escape(f"p{dimension[8:]}")]
    else:
        names = [re.escape(name) for name in names]
    names += [re.escape(other) for other, name in _ALSO.items() if name in units_of(dimension, "USD")]
    number = rf"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*({'|'.join(names)})"
    if "degF" in names:
        number = number.replace("degF", "(deg|°) ?F").replace("degC", "(deg|°) ?C")
    other = {"azimuth": "[A-Za-z -]+", "tilt": r"\d+\.?\d*\s*[/:]\s*\d+\.?\d*"}.get(dimension)
    return rf"^\s*({number}{'' if other is None else f'|{other}'})\s*$"


def _name(text: str, units: Mapping[str, Unit]) -> str:
    """Return the unit's name in the table, whatever its spelling."""
    name = " ".join(text.replace("°", "deg").replace("²", "2").replace("³", "3").split()).replace("deg ", "deg")
    name = re.sub(r"/ ?100 ?(km|mi)\b", r"/100 \1", name)
    return name if name in units else _ALSO.get(name, name)


def _direction(text: str) -> float | None:
    """Return the azimuth of a compass point [deg]; None where it is none."""
    word = re.sub(r"[\s-]", "", text).lower()
    for number, point in enumerate(_POINTS):
        if word in (point.lower(), "".join(_DIRECTIONS[each] for each in point)):
            return 22.5 * number
    return None


def _slope(text: str) -> float | None:
    """Return the tilt of a rise and a run [deg]; None where there are none."""
    found = _PITCH.fullmatch(text)
    if found is None or float(found[2]) == 0:
        return None
    return math.degrees(math.atan2(float(found[1]), float(found[2])))


def _or_written(dimension: str, units: Mapping[str, Unit]) -> str:
    if not units:
        return ""
    if dimension.startswith("currency"):
        return f", or with a unit: {', '.join(units)}"
    return f", {written_forms(dimension)}"


def _wrong_unit(name: str, dimension: str, units: Mapping[str, Unit], currency: str | None) -> str:
    """Return why a unit is refused: it measures something else, or is not known."""
    if not units:
        return "must be a number without quotes and without a unit"
    meant, allowed = DIMENSIONS[dimension].name, ", ".join((*_WORDS.get(dimension, ()), *units))
    if dimension.startswith("currency") and (money := _MONEY.match(name)) and money[2] == dimension[8:]:
        if money[1] in ("c", "p"):
            return f"is in hundredths, which {currency} does not have under that name; allowed: {allowed}"
        return f"is in {money[1]}, but the currency is {currency}; allowed: {allowed}"
    for other, found in DIMENSIONS.items():
        if other != dimension and found.name != meant and name in units_of(other, currency):
            return f"is {found.name}, must be {meant}: {allowed}"
    return f"has an unknown unit {name!r}{nearest(name, units)}"
