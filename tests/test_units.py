"""Units in which values may be written: factors from outside, and what is refused by name."""

import math
import re

import pytest
from scipy import constants

from solarsim.units import DIMENSIONS, number_from, text_pattern, units_of, written_forms


# NIST Special Publication 811 (2008), appendix B.8: seven printed digits; what is exact there in bold is exact here.
@pytest.mark.published
@pytest.mark.parametrize(
    ("text", "dimension", "printed"),
    [
        ("1 ft", "m", 0.3048),
        ("1 in", "mm", 25.4),
        ("1 mi", "km", 1.609344),
        ("1 mph", "m/s", 0.44704),
        ("1 ft2", "m2", 0.09290304),
        ("1 gal", "l", 3.785412),
        ("1 UK gal", "l", 4.54609),
        ("1 ton", "heat", 3.516853),  # "ton of refrigeration (12 000 BtuIT/h)"
        ("1000 Btu/h", "heat", 0.2930711),
        ("1 MJ", "kWh", 1 / 3.6),
        ("1 kWh/mi", "kWh/km", 1 / 1.609344),
    ],
)
def test_unit_factors_of_nist(text: str, dimension: str, printed: float) -> None:
    """NIST SP 811, appendix B (from memory)."""
    assert number_from(text, dimension) == pytest.approx(printed, rel=1.5e-7)


@pytest.mark.second_opinion
@pytest.mark.parametrize(
    ("text", "dimension", "scipy"),
    [
        ("1 ft", "m", constants.foot),
        ("1 mi", "km", constants.mile / 1000),
        ("1 gal", "l", constants.gallon_US * 1000),
        ("1 UK gal", "l", constants.gallon_imp * 1000),
        ("1 mph", "m/s", constants.mph),
        ("1 Btu/h", "heat", constants.Btu_IT / 3600 / 1000),
        ("1 ton", "heat", 12_000 * constants.Btu_IT / 3600 / 1000),
        ("68 degF", "C", float(constants.convert_temperature(68.0, "F", "C"))),
        ("-40 F", "C", float(constants.convert_temperature(-40.0, "F", "C"))),
        ("1 Btu/h/degF", "kW/K", constants.Btu_IT / 3600 / 1000 / constants.degree_Fahrenheit),
    ],
)
def test_factors_agree_with_scipy(text: str, dimension: str, scipy: float) -> None:
    assert number_from(text, dimension) == pytest.approx(scipy, rel=1e-12)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("text", "dimension", "number"),
    [
        ("30 mi", "km", 48.28032),
        ("68 °F", "C", 20.0),
        ("68 deg F", "C", 20.0),
        ("12 c/kWh", "currency/kWh", 0.12),
        ("85 USD/MWh", "currency/kWh", 0.085),
        ("0.12 USD/kWh", "currency/kWh", 0.12),
        ("20%", "1", 0.2),
        ("-0.34 %/C", "1/C", -0.0034),
        ("0.5C", "1/h", 0.5),
        ("90 min", "h", 1.5),
        ("4 km/kWh", "kWh/km", 0.25),  # the inverse
        ("25 kWh/100 km", "kWh/km", 0.25),
        ("25 kWh/100km", "kWh/km", 0.25),
        (".5 kW", "W", 500.0),
        ("1e3 W", "kW", 1.0),
        ("south", "azimuth", 180.0),
        ("South-West", "azimuth", 225.0),
        ("south southwest", "azimuth", 202.5),
        ("NNW", "azimuth", 337.5),
        ("12/12", "tilt", 45.0),
        ("0:12", "tilt", 0.0),
        ("6/12", "tilt", math.degrees(math.atan(0.5))),
        ("79.95 W", "longitude", -79.95),
        ("33.9 S", "latitude", -33.9),
    ],
)
def test_a_text_is_the_number_it_means(text: str, dimension: str, number: float) -> None:
    assert number_from(text, dimension, "USD") == number


@pytest.mark.parametrize(
    ("text", "dimension", "currency", "told"),
    [
        ("30 gal", "km", None, "is a volume, must be a length: km, mi, m"),
        ("2 ton", "kW", None, "is a heating or cooling power, must be a power: kW, W, MW"),
        ("12 kWh", "currency/kWh", "USD", "is an energy, must be a price of energy: USD/kWh, c/kWh, USD/MWh"),
        ("30 mil", "km", None, "has an unknown unit 'mil'; did you mean 'mi'?"),
        ("1 KW", "kW", None, "has an unknown unit 'KW'; did you mean 'kW'?"),
        ("1,5 kW", "kW", None, 'must be a number, or with a unit (kW, W, MW), such as "500 W"'),
        ("thirty mi", "km", None, "must be a number, or with a unit"),
        ("30", "km", None, "must be a number without quotes, or with a unit"),
        ("12 c/kWh", "currency/kWh", "JPY", "is in hundredths, which JPY does not have under that name; allowed: JPY"),
        ("12 c/kWh", "currency/kWh", "GBP", "is in hundredths, which GBP does not have under that name; allowed: GBP"),
        ("0.1 EUR/kWh", "currency/kWh", "USD", "is in EUR, but the currency is USD"),
        ("12 c", "currency/kWh", "USD", "is an amount of money, must be a price of energy"),
        ("12 c/kWh", "currency/kWh", None, "must be a number without quotes and without a unit"),
        ("3 kW", "years", None, "must be a number without quotes and without a unit"),
        ("0 mi/kWh", "kWh/km", None, "must be above 0"),
        ("9e99 km", "km", None, "is larger than any quantity of a home"),
        ("sout", "azimuth", None, "must be a number, or as a compass point or with a unit (deg)"),
        ("6/0", "tilt", None, "has an unknown unit '/0'"),
        ("30 mi", "azimuth", None, "is a length, must be a direction: a compass point, deg"),
        ("30 mi", "tilt", None, "is a length, must be a tilt: rise/run, deg"),
    ],
)
def test_what_is_wrong_is_refused_by_name(text: str, dimension: str, currency: str | None, told: str) -> None:
    with pytest.raises(ValueError, match=re.escape(told)):
        number_from(text, dimension, currency)


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_editors_accept_what_the_reader_accepts(dimension: str) -> None:
    """Every unit, the example of the guide, and not a unit of something else."""
    pattern = text_pattern(dimension)
    assert pattern is not None
    for text in [*(f"1 {unit}" for unit in units_of(dimension, "USD")), DIMENSIONS[dimension].example]:
        number_from(text, dimension, "USD")
        assert re.search(pattern, text), text
    assert not re.search(pattern, "1 furlong")
    assert DIMENSIONS[dimension].example in written_forms(dimension)
