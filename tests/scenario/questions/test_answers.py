"""Answers make a home, and a home has its answers: read, refused, read back."""

import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.errors import ScenarioError
from solarsim.scenario.needs import missing
from solarsim.scenario.questions.answers import (
    QUESTIONS,
    Setting,
    answers_from,
    default_of,
    home_from,
    questions_for,
    tables_from,
)
from solarsim.scenario.read import packaged_folder
from solarsim.studies import offers, savings
from solarsim.studies.life import life
from solarsim.studies.risk import risk
from solarsim.studies.size import size

HERE = Setting(Path("/homes"), 2026)
EXAMPLES = {each.stem: each for each in sorted(packaged_folder("scenarios").glob("*.toml"))}
#: Where the packaged weather is of, as its files state it.
PLACES = {
    "723170TYA.CSV": "At 36.1, -79.95, 273 m.",
    "12839.tm2": "At 25.8, -80.27, 2 m.",
    "703165TY.csv": "At 55.32, -160.52, 7 m.",
}
#: The questions cannot express an array behind an inverter of its own, or modules with voltages and currents.
BEYOND = {"older_roof": {"array", "inverter"}, "ridge_farm": {"array"}}


def test_there_are_at_most_fifteen_questions_and_their_offered_answers_make_a_home() -> None:
    assert len(QUESTIONS) <= 15
    home = home_from({}, HERE)
    assert answers_from(home.tables) == {
        **{name: default_of(name, {}, HERE) for name in questions_for({}, HERE)},
        "weather": "means " + " ".join(["1"] * 12) + " / " + " ".join(["10"] * 12),  # stands for what is not fetched
    }


MADE: dict[str, tuple[dict[str, str], dict[str, Any]]] = {
    "place": (
        {"at": "33.87 S 151.2 E 164 ft", "zone": "Australia/Sydney"},
        # 164 ft x 0.3048 m
        {
            "weather.place.latitude_deg": -33.87, "weather.place.longitude_deg": 151.2,
            "description": "At -33.87, 151.2, 49.9872 m.",
        },
    ),
    "elevation with the means": (
        {"at": "40, -105", "weather": f"means 5280 ft {'4 ' * 12}/ {'50 ' * 12}F"},
        {"weather.place.elevation_m": 1609.344, "weather.temp_air_c.0": 10.0, "weather.ghi_kwh_m2_day.11": 4.0},
    ),
    "means with wind": (
        {"weather": f"means {'4 ' * 12}/ {'9 ' * 12}/ {'3.5 ' * 12}"},
        {"weather.wind_speed_m_s.11": 3.5, "weather.place.elevation_m": 273.0},
    ),
    "array in kW": (
        {"array": "8.2 kW south 30"},  # 20 modules of 410 W in two strings
        {"arrays.0.modules_in_series": 10, "arrays.0.strings": 2, "arrays.0.module_w": 410.0},
    ),
    "array in modules": (
        {"array": "Barn: 24 x 405 W in 2 strings azimuth 170 tilt 10 rack; 3 kWp WSW 6/12"},
        {
            "arrays.0.name": "Barn", "arrays.0.modules_in_series": 12, "arrays.0.mounting": "rack",
            "arrays.1.azimuth_deg": 247.5, "arrays.1.tilt_deg": 26.57, "arrays.1.mounting": "roof",  # atan(6 / 12)
        },
    ),
    "flat array": ({"array": "5 kW flat"}, {"arrays.0.tilt_deg": 0.0, "inverter.inputs.0.max_kw": 6.5}),
    "bank": (
        {"battery": "16 x 280 Ah 3.6 V + 16 x 230 Ah 3.6 V nmc garage"},
        {"battery.bank.1.cell_ah": 230.0, "battery.chemistry": "nmc", "battery.place": "garage"},
    ),
    "battery units": (
        {"battery": "3 x 4.8 kWh garage"},  # 3 x 4.8
        {"battery.capacity_kwh": 14.4, "size.battery_unit_kwh": 4.8, "battery.place": "garage"},
    ),
    "lead-acid": (
        {"battery": "9.6 kWh 48 V flooded lead-acid outdoor"},
        {"battery.chemistry": "flooded_lead_acid", "battery.nominal_v": 48.0, "strategies.0.reserve": 0.6},
    ),
    "no battery": ({"battery": "none"}, {"arrangement.kind": "grid_tied", "strategies.0.surplus_to": "grid"}),
    "inverter in W": ({"inverter": "7600 W"}, {"inverter.ac_kw": 7.6, "inverter.battery_charge_kw": 7.6}),
    "months": (
        {"kwh": "820,760,700,640,690,890,990,980,820,660,730,820 home all day"},
        {"load.monthly_kwh.2": 700.0, "load.shape": "home_all_day"},
    ),
    "year": ({"kwh": "9400"}, {"load.annual_kwh": 9400.0, "load.shape": "evenings"}),
    "house": (
        {
            "house": "car 25 mi in bills; heat pump 8 kW at -12 C not in bills critical; air conditioner 2 tons at"
            " 96.8 F in bills"
        },
        {
            "load.parts.0.km_per_day.weekday": 40.23,  # 25 x 1.609344
            "load.parts.0.in_bills": True,
            "load.parts.1.ua_kw_per_k": 0.296296,  # 8 kW / (15 - -12) K
            "load.parts.1.critical": True,
            "load.parts.1.in_bills": False,
            "load.parts.2.ua_kw_per_k": 0.502429,  # 24,000 x 0.29307107 W = 7.034 kW; / (36 - 22) K
        },
    ),
    "rates": (
        {"rates": "peak: 0.34 6-9,17-20 weekdays nov-feb; 12.5 c/kWh"},
        {
            "rate_plan.rates.0.name": "peak", "rate_plan.rates.0.windows.1.from": "17:00",
            "rate_plan.rates.0.windows.0.months": [1, 2, 11, 12], "rate_plan.rates.0.windows.0.days": ["weekday"],
            "rate_plan.rates.1.import_price": 0.125, "rate_plan.currency": "USD",
        },
    ),
    "capitals": (
        {"rates": "DAY: 0.3 GBP MON-FRI 7-20 JAN; 0.2"},
        {"rate_plan.currency": "GBP", "rate_plan.rates.0.name": "DAY", "rate_plan.rates.0.windows.0.months": [1]},
    ),
    "export by rate": (
        {"rates": "EUR 0.31 export 0.24 15:30-20 mon-fri sat; 0.2 export 0.05 other hours"},
        {
            "rate_plan.export.pay": "by_rate", "rate_plan.rates.0.export_price": 0.24, "rate_plan.currency": "EUR",
            "rate_plan.rates.0.windows.0.from": "15:30", "rate_plan.rates.0.windows.0.days": ["mon-fri", "sat"],
            "site.step_minutes": 30,
        },
    ),
    "holidays": (
        {"rates": "0.3 16-21 weekdays; 0.1", "holidays": "CA-ON observed"},
        {"site.holidays.country": "CA", "site.holidays.subdivision": "ON", "site.holidays.observed": True},
    ),
    "packaged plan": ({"rates": "rising_tiers"}, {"strategies.0.name": "serve the home first"}),
    "export": (
        {"export": "retail at most 5 kW"},
        {"rate_plan.export.pay": "same_as_import", "grid.export_limit_kw": 5.0},
    ),
    "no export": ({"export": "not allowed"}, {"rate_plan.export.pay": "none", "grid.export_limit_kw": 0.0}),
    "offer": (
        {"offer": "18500 with battery 7000"},
        {
            "costs.parts.0.unit_price": 11500.0, "costs.parts.1.unit_price": 7000.0, "costs.parts.1.of": "cells",
            "life.years": 25, "life.money": "nominal",
        },
    ),
    "outages": (
        {"outages": "1.4 a year of 5.6 hours critical 45 %"},
        {"outages.frequency.mean_h": 5.6, "load.critical_share": 0.45, "arrangement.backed_up": "critical"},
    ),
}  # fmt: skip


@pytest.mark.by_hand
@pytest.mark.parametrize(("answers", "expected"), MADE.values(), ids=list(MADE))
def test_an_answer_makes_the_keys_that_it_names(answers: dict[str, str], expected: dict[str, Any]) -> None:
    home = home_from(answers, HERE)
    for key, value in expected.items():
        assert value_in(home.tables, key) == value, key


@pytest.mark.parametrize("answers", [each[0] for each in MADE.values()], ids=list(MADE))
def test_a_home_reads_back_to_the_same_answers(answers: dict[str, str]) -> None:
    tables = tables_from(answers, HERE)
    found = {name: words for name, words in answers_from(tables, HERE.folder).items() if words is not None}
    assert tables_from(found, HERE) == tables
    assert answers_from(tables_from(found, HERE), HERE.folder) == found


def value_in(tables: Any, key: str) -> Any:
    for part in key.split("."):
        tables = tables[int(part)] if part.isdecimal() else tables[part]
    return tables


WRONG = [
    ("name", "x" * 61, "must have at most 60 characters"),
    ("at", "91, 5", "latitude_deg: 91.0 must be at most 90 deg"),
    ("at", "36.1, -181", "longitude_deg: -181.0 must be at least -180 deg"),
    ("at", "36.1", "the longitude (degrees, east positive) is missing; for example: 36.1, -79.95 273 m"),
    ("at", "here", "the latitude (degrees, north positive) is missing"),
    ("at", "36.1, -79.95 900 km", "'900 km' is not understood"),
    ("zone", "EST", "'EST' is an abbreviation without daylight saving; name a place: 'America/New_York'"),
    ("zone", "Europe/Berlin", "'Europe/Berlin' is the clock of another part of the world than longitude -79.95; for"),
    ("zone", "Europe/Berln", "is not an IANA time zone; did you mean 'Europe/Berlin'?"),
    ("weather", "means 1 2", "has no slash between light and temperatures; for example: means 273 m"),
    ("weather", "means 1 2 / 3", "'3' must be twelve numbers, January to December"),
    ("weather", f"means {'4 ' * 12}/ {'70 ' * 12}", "weather.temp_air_c.1st: 70.0 must be at most 50 C"),
    ("array", "8,2 kW south 30", "numbers have a decimal point and no comma; for example: 8.2 kW south 30"),
    ("array", "8.2 kW south 91", "arrays.1st.tilt_deg: 91.0 must be at most 90 deg"),
    ("array", "8.2 kW sotuh 30", "the direction (south, west-south-west, azimuth 170) is missing"),
    ("array", "8.2 kW NEN 30", "'NEN' must be a number, or as a compass point"),
    ("array", "8.2 kW flat 91", "'91' is not understood"),
    ("array", "8.2 kW in 2 strings south 30", "strings belong to a number of modules"),
    ("array", "south 30", "the array's size (8.2 kW, or 20 x 410 W) is missing"),
    ("array", "21 x 410 W in 2 strings south 30", "21 modules do not make 2 strings of equal length"),
    ("array", "20 x 4100 W south 30", "arrays.1st.module_w: 4100.0 must be at most 1000 W"),
    ("array", ";", "an array is missing"),
    ("battery", "big", "its size (13.5 kWh) is missing; for example: 13.5 kWh lfp indoor"),
    ("battery", "10 kWh lipo", "'lipo' is not understood"),
    ("battery", "10 kW lfp", "its size (13.5 kWh) is missing"),
    ("battery", "0 x 5 kWh lfp", "'0 x' is not understood"),
    ("battery", "2 x lfp", "its size (13.5 kWh) is missing"),
    ("battery", "16 x 280 Ah 5 V lfp", "cell_v 5 is not a voltage of lithium iron phosphate"),
    ("inverter", "six", "the rating (6 kW) is missing; for example: 6 kW"),
    ("inverter", "6000 kW", "inverter.ac_kw: 6000.0 must be at most 1000 kW; 6000 W is written 6"),
    ("kwh", "a lot", "the year's or twelve months' energy (kWh) is missing"),
    ("kwh", "9,400", "numbers have a decimal point and no comma"),
    ("kwh", "820 760 700", "'760 700' is not understood"),
    ("kwh", "no_such.csv", "/homes/no_such.csv: cannot be read"),
    ("house", "sauna in bills", "is not known: car, heat pump or air conditioner"),
    ("house", "car 40 km", "say whether its energy is in the load above: in bills, or not in bills"),
    ("house", "car in bills", "the car's distance of a day (40 km or 25 mi) is missing"),
    ("house", "heat pump 8 kW at 20 C in bills", "20.0 C must be below 15 C, where the house needs neither"),
    ("house", "air conditioner 3 km at 35 C in bills", "the load of the air conditioner (8 kW) is missing"),
    ("rates", "0.3 25-26; 0.1", "'25:00' must be a time of day from 00:00 to 24:00"),
    ("rates", "0.3 16-21 weekdyas; 0.1", "'weekdyas' is not understood"),
    ("rates", "16-21; 0.1", "the price of a kWh is missing"),
    ("rates", "USD 0.3 16-21; EUR 0.1", "EUR, USD: a rate plan has one currency"),
    ("rates", "0.3; 0.1", "only one rate can hold in all other hours"),
    ("rates", "0.3 16-21 other hours; 0.1", "'other hours' has no hours, days or months of its own"),
    ("rates", "rising_tires", "nor a packaged plan; did you mean 'rising_tiers'?"),
    ("rates", "no_such.toml", "/homes/no_such.toml: cannot be read"),
    ("charge", "free", "the charge of a month is missing; for example: 12.50"),
    ("charge", "-3", "rate_plan.customer_charge_per_month: -3.0 must be at least 0"),
    ("holidays", "XX", "no holidays are known of country 'XX'"),
    ("export", "maybe", "what a kWh to the grid earns is missing"),
    ("export", "as the plan says", "the export price is missing"),
    ("offer", "cheap", "the price of the whole offer is missing"),
    ("offer", "5000 with battery 7000", "the battery's price 7000 is above that of the whole offer 5000"),
    ("outages", "often", "how many outages a year has (1.4 a year) is missing"),
    ("outages", "1.4 a year", "how long they are (5.6 h) is missing"),
    ("outages", "2000 a year of 5 h", "outages.frequency.per_year: 2000.0 must be at most 100"),
    ("outages", "90 a year of 100 h", "is a whole year or more without the grid"),
]


@pytest.mark.parametrize(("name", "words", "problem"), WRONG, ids=[f"{each[0]}: {each[1][:40]}" for each in WRONG])
def test_a_wrong_answer_is_refused_with_what_is_allowed(name: str, words: str, problem: str) -> None:
    before = {"rates": "USD 0.3 16-21 weekdays; 0.1"} if name == "holidays" else {}
    with pytest.raises(ScenarioError) as refused:
        home_from({**before, name: words}, HERE)
    assert problem in "\n".join(refused.value.problems)


def test_every_question_has_a_wrong_answer() -> None:
    assert {name for name, *_ in WRONG} == {question.name for question in QUESTIONS}


@pytest.mark.parametrize("study", [life, offers, risk, savings, size])
def test_a_home_with_an_offer_has_what_the_commands_about_money_need(study: ModuleType) -> None:
    assert missing(home_from({"offer": "18500 with battery 7000"}, HERE), study.NEEDS) == ()
    assert missing(home_from({"offer": "9000", "battery": "none"}, HERE), study.NEEDS) == ()
    without = home_from({}, HERE)
    assert missing(without, study.NEEDS)
    assert "life" not in without.tables


def test_what_depends_on_other_answers() -> None:
    with pytest.raises(ScenarioError, match="holidays: is not asked after the other answers"):
        home_from({"holidays": "US"}, HERE)
    with pytest.raises(ScenarioError, match="there is no battery"):
        home_from({"battery": "none", "offer": "9000 with battery 3000"}, HERE)
    with pytest.raises(ScenarioError, match="without a battery nothing is supplied in an outage"):
        home_from({"battery": "none", "outages": "1 a year of 3 h critical 40 %"}, HERE)
    with pytest.raises(ScenarioError, match="own export prices; allowed: as the plan says, not allowed"):
        home_from({"rates": "flat", "export": "0.05"}, HERE)
    with pytest.raises(ScenarioError, match="write it after the word, for example: means 273 m"):
        home_from({"at": "36.1, -79.95", "weather": f"means {'4 ' * 12}/ {'9 ' * 12}"}, HERE)
    with pytest.raises(ScenarioError, match="the currency is missing, three capital letters"):
        home_from({"at": "51.5, 0", "zone": "UTC", "rates": "0.2"}, HERE)
    assert "charge" not in questions_for({"rates": "demand"}, HERE)
    assert default_of("array", {"at": "-33.9, 151.2"}, HERE) == "6 kW north tilt 30 roof"
    assert default_of("rates", {"at": "35, 139", "zone": "Asia/Tokyo"}, HERE) == "JPY 15 all hours"
    assert default_of("inverter", {"array": "12 kW south 30"}, HERE) == "10 kW"


def test_a_meter_is_named_with_what_its_file_leaves_open(tmp_path: Path) -> None:
    here = Setting(tmp_path, 2026)
    (tmp_path / "my data.csv").write_text("time,kWh in\n")
    for words in ("my data.csv clock wall import_column 'kWh in'", '"my data.csv" import_column "kWh in" clock wall'):
        home = home_from({"kwh": words, "outages": "1 a year of 3 h critical 40 %"}, here)
        assert home.load.meter is not None
        assert home.tables["load"]["meter"] == {
            "file": str(tmp_path / "my data.csv"), "format": "csv", "clock": "wall", "import_column": "kWh in",
        }  # fmt: skip
        assert home.load.critical_share == 0.4
        assert answers_from(home.tables, tmp_path)["kwh"] == '"my data.csv" clock wall import_column "kWh in"'
    (tmp_path / "usage.xml").write_text("<feed/>")
    assert home_from({"kwh": "usage.xml"}, here).tables["load"]["meter"]["format"] == "green_button"


sizes = st.floats(0.5, 40).map(lambda kw: round(kw, 2))
arrays = st.builds(
    "{:g} kW {} tilt {} {}".format,
    sizes,
    st.sampled_from(["south", "north-west", "azimuth 12.5", "east"]),
    st.integers(0, 90),
    st.sampled_from(["roof", "rack"]),
)
batteries = st.one_of(
    st.just("none"),
    st.builds("{} x {:g} kWh {} garage".format, st.integers(1, 9), sizes, st.sampled_from(["lfp", "nmc"])),
    st.builds("{:g} kWh {} {}".format, sizes, st.sampled_from(["lfp", "nmc"]), st.sampled_from(["indoor", "outdoor"])),
)
prices = st.integers(1, 90).map(lambda cents: cents / 100)
rates = st.one_of(
    st.builds("{} {:g} all hours".format, st.sampled_from(["USD", "EUR", "KES"]), prices),
    st.builds(
        "AUD {:g} {:02d}:00-{:02d}:00 {} {}; {:g} other hours".format,
        prices,
        st.integers(12, 17),
        st.integers(18, 23),
        st.sampled_from(["weekdays", "mon-fri", "sat sun"]),
        st.sampled_from(["jun-sep", "nov-mar", "mar may dec"]),
        prices,
    ),
)
homes = st.fixed_dictionaries(
    {
        "at": st.builds("{:g}, {:g} {} m".format, st.integers(-60, 60), st.integers(-180, 180), st.integers(0, 3000)),
        "array": st.lists(arrays, min_size=1, max_size=3).map("; ".join),
        "battery": batteries,
        "kwh": st.one_of(
            sizes.map(lambda size: f"{1000 * size:g} kWh evenings"),
            st.lists(st.integers(0, 2000), min_size=12, max_size=12).map(
                lambda months: f"{' '.join(map(str, months))} kWh home_all_day"
            ),
        ),
        "rates": rates,
        "export": st.sampled_from(["unpaid", "retail", "not allowed", "0.05 at most 5 kW"]),
        "offer": st.sampled_from(["none", "18500"]),
        "outages": st.sampled_from(["none", "1.4 a year of 5.6 h"]),
    }
)


@settings(max_examples=30)
@given(homes)
def test_any_home_reads_back_to_its_answers(answers: dict[str, str]) -> None:
    tables = tables_from(answers, HERE)
    found = answers_from(tables)
    assert {name: found[name] for name in answers} == answers
    assert tables_from({name: words for name, words in found.items() if words is not None}, HERE) == tables


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_packaged_home_that_the_questions_can_express_has_its_answers(name: str) -> None:
    """What is asked has the values of the packaged home; an own rate plan, holidays by name and costs are beyond it."""
    tables = tomllib.loads(EXAMPLES[name].read_text())
    tables["description"] = PLACES[tables["weather"]["file"].rpartition("/")[2]]
    found = answers_from(tables)
    beyond = {question for question, words in found.items() if words is None}
    assert beyond - {"offer", "holidays"} == BEYOND.get(name, set())
    if name not in BEYOND:
        made = tables_from({question: words for question, words in found.items() if words is not None}, HERE)
        for key in ("name", "site.time_zone", "load.monthly_kwh", "load.shape", "inverter.ac_kw", "rate_plan.currency"):
            assert value_in(made, key) == value_in(tables, key), key
        assert made.get("grid") == tables.get("grid")
        assert [each["import_price"] for each in made["rate_plan"]["rates"]] == [
            each["import_price"] for each in tables["rate_plan"]["rates"]
        ]
