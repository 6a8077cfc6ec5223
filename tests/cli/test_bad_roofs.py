"""Impossible modules, strings, inputs, cables and shades: each is refused by one line that names it.

A case says what its message must hold, and what is wrong, as for ``tests.builders.content``.
"""

from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import InputError
from solarsim.home import home_from
from tests.builders import PLAIN, scenario
from tests.cli.test_bad_scenarios import Case, assert_refused, bad, write_home
from tests.roofs import INPUT, MODULE, strings


def curves(*says: str, **changes: Any) -> Case:
    """Write a case about a home whose array names a module."""
    plain = {"modules": [MODULE], "arrays": [strings()], "inverter__inputs": [INPUT]}
    return bad(*says, **{**plain, **changes})


def module(*says: str, **values: Any) -> Case:
    """Write a case about the values of a module; None removes one."""
    given = {key: value for key, value in {**MODULE, **values}.items() if value is not None}
    return curves(*says, modules=[given])


def dc_input(*says: str, **values: Any) -> Case:
    """Write a case about the input; None removes a value."""
    return curves(*says, inverter__inputs=[{k: v for k, v in {**INPUT, **values}.items() if v is not None}])


def horizon(*says: str, azimuth: list[float], elevation: list[float]) -> Case:
    """Write a case about the horizon."""
    return bad("site.horizon", *says, site__horizon={"azimuth_deg": azimuth, "elevation_deg": elevation})


RATED = PLAIN["arrays"][0]
DRY = {"loss_per_day": 0.002, "most": 0.2, "cleaning_rain_mm": 5.0, "grace_days": 7}

OWN = {"name": "old", "ac_kw": 3.0, "efficiency": {"peak": 0.967, "weighted": 0.955, "weights": "cec"}}
BEHIND = {**{key: value for key, value in RATED.items() if key != "input"}, "ac_inverter": "old"}

CASES = {
    # Inverters of their own
    "array at nothing": bad("arrays.1st: give either input, or ac_inverter", arrays=[{**RATED, "input": None}]),
    "array at both": bad("arrays.1st: give either input, or ac_inverter", arrays=[{**RATED, "ac_inverter": "old"}]),
    "inverter that is not there": bad(
        "arrays: 'other' names an ac_inverter 'odl'",
        "did you mean 'old'",
        arrays=[BEHIND, {**BEHIND, "name": "other", "ac_inverter": "odl"}],
        ac_inverters=[OWN],
    ),
    "no such inverters at all": bad(
        "arrays: 'roof' names an ac_inverter 'old'", "no [[ac_inverters]]", arrays=[BEHIND]
    ),
    "inverter without an array": bad("ac_inverters: no array is connected to 'old'", ac_inverters=[OWN]),
    "two inverters of one name": bad(
        "ac_inverters: more than one is named 'old'", arrays=[BEHIND], ac_inverters=[OWN, OWN]
    ),
    # Modules: what no module, string or input can be
    "module without a value": module(
        "modules.1st: give a table_row, or all values", "missing: v_oc_per_c", v_oc_per_c=None
    ),
    "row and values": module("modules.1st: a table_row brings its own values", table_row="Sun 300"),
    "coefficient in percent": module("modules.1st.p_mp_per_c: -0.34 ", "is written -0.0034", p_mp_per_c=-0.34),
    "power grows with heat": module("modules.1st.p_mp_per_c: 0.004 must be below 0", p_mp_per_c=0.004),
    "voltages swapped": module("modules.1st: v_mp_v 37.1 must be below v_oc_v 31.2", v_oc_v=31.2, v_mp_v=37.1),
    "currents swapped": module("modules.1st: i_mp_a 13.9 must be below i_sc_a 13.15", i_sc_a=13.15, i_mp_a=13.9),
    "module of 500 V": module("modules.1st.v_oc_v: 500 must be at most 400", v_oc_v=500),
    "module of no current": module("modules.1st.i_sc_a: 0 must be above 0", i_sc_a=0),
    "no cell is like that": module("modules.1st: 'mine': no cell has these", "97%", v_mp_v=36.8, i_mp_a=13.6),
    "row that is not there": curves(
        "modules.1st: 'Sunyside 9999' is in no name",
        "closest: '",
        modules=[{"name": "mine", "table_row": "Sunyside 9999"}],
    ),
    "row of many": curves("'CS6K' is in ", "for example '", modules=[{"name": "mine", "table_row": "CS6K"}]),
    "module that is not there": curves("'roof' names a module 'mien'", "'mine'?", arrays=[strings(module="mien")]),
    "no modules table": curves("there are no [[modules]]", modules=[]),
    "two modules of a name": curves("modules: more than one is named 'mine'", modules=[MODULE, MODULE]),
    "module and rating": curves("arrays.1st: a module brings its own values", arrays=[strings(module_w=400.0)]),
    "neither module nor rating": bad("arrays.1st: give a module, or both module_w", arrays__0__module_w=None),
    # Strings and inputs
    "string too long": curves(
        "arrays: 'roof': 14 modules in series make 57",
        "V without load at -1",
        "(lowest air temperature of this weather; a design value, site.design_low_c, is lower)",
        "above max_v 500 of input 1: that destroys the inverter; at most 12",
        arrays=[strings(modules_in_series=14)],
    ),
    "string too short": curves("make 37 V", "below start_v 80", "at least 3", arrays=[strings(modules_in_series=1)]),
    "string below the window": dc_input("make 371 V", "below mppt_min_v 400", "at least 11", mppt_min_v=400.0),
    "input without voltages": dc_input(
        "inputs.1st: array 'roof' names a module", "missing: max_a, max_v", max_a=None, max_v=None
    ),
    "window upside down": dc_input("mppt_min_v 480 must be below mppt_max_v 60", mppt_min_v=480.0, mppt_max_v=60.0),
    "window above the limit": dc_input("mppt_max_v 480 must be below max_v 450", max_v=450.0),
    "starts above the limit": dc_input("start_v 520 must be below max_v 500", start_v=520.0),
    "curve beside rating": curves(
        "'roof' and 'plain' share input 1", "name a module for 'plain'", arrays=[strings(), {**RATED, "name": "plain"}]
    ),
    "cable of a rating": bad(
        "arrays.1st: a cable needs currents", arrays=[{**RATED, "cable": {"one_way_m": 10.0, "awg": "10"}}]
    ),
    "cable without a size": curves(
        "cable: give either section_mm2 or awg", arrays=[strings(cable={"one_way_m": 10.0})]
    ),
    "gauge unknown": curves(".cable.awg: '11' is not known", arrays=[strings(cable={"one_way_m": 10.0, "awg": "11"})]),
    "cable counted twice": curves(
        "losses.wiring.cables: counts the cable of array 'roof' twice",
        losses={"wiring": {"cables": 0.02}},
        arrays=[strings(cable={"one_way_m": 10.0, "awg": "10"})],
    ),
    "system of a third": bad("production.system_factor: 0.3 must be from 0.4 to 1.2", production__system_factor=0.3),
    "system of another size": bad(
        "production.system_factor_by_season.jun_aug: 1.9 must be from",
        production__system_factor_by_season={"dec_feb": 1.0, "mar_may": 1.0, "jun_aug": 1.9, "sep_nov": 1.0},
    ),
    "two factors": bad(
        "production: system_factor and system_factor_by_season say the same twice",
        production__system_factor=0.9,
        production__system_factor_by_season=dict.fromkeys(("dec_feb", "mar_may", "jun_aug", "sep_nov"), 1.0),
    ),
    # Shade and dirt
    "horizon not in order": horizon("azimuth_deg must rise; 90 follows 180", azimuth=[180, 90], elevation=[5, 5]),
    "horizon of one point": horizon("has 1 entries, must have at least 2", azimuth=[180], elevation=[5, 6]),
    "horizon without heights": horizon("2 azimuths and 3 elevations", azimuth=[90, 180], elevation=[5, 5, 5]),
    "shade of eleven months": bad(
        "near_shade.beam_blocked: has 11 entries, must have at least 12",
        arrays=[{**RATED, "near_shade": {"sky_hidden": 0.0, "beam_blocked": [[0.0] * 24] * 11}}],
    ),
    "soiling twice": bad(
        "losses.array: ",
        "soiling and soiling_by_month",
        losses={"array": {"soiling": 0.02, "soiling_by_month": [0.02] * 12}},
    ),
    "rain that nobody has": bad(
        "losses.array.soiling_by_rain: needs rain_mm", "[precipitation]", losses={"array": {"soiling_by_rain": DRY}}
    ),
    "snow without days": bad(
        "losses.array.snow_by_month: month 1: 20 cm of snow on 0 days",
        losses__array={
            "snow_by_month": {
                "snowfall_cm": [20.0] + [0.0] * 11,
                "snow_days": [0.0] * 12,
                "slope_m": 2.0,
                "relative_humidity_percent": [70.0] * 12,
                "lower_edge_m": 3.0,
            }
        },
    ),
}


@pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))
def test_an_impossible_roof_is_refused_in_one_line(tmp_path: Path, case: Case) -> None:
    says, changes = case
    with pytest.raises(InputError) as refused:
        home_from(scenario(tmp_path, **changes))
    (line,) = refused.value.problems
    assert line.startswith(f"{tmp_path / 'plain.toml'}: ")
    assert [piece for piece in says if piece not in line] == [], line
    assert len(line) < 500


@pytest.mark.parametrize("name", ["string too long", "row of many", "no cell is like that", "coefficient in percent"])
def test_an_impossible_roof_ends_the_command(tmp_path: Path, name: str) -> None:
    says, changes = CASES[name]
    write_home(tmp_path / "home.toml", **changes)
    assert_refused(tmp_path, "roof home.toml", *says)


def test_all_problems_of_modules_and_strings_are_told_at_once() -> None:
    with pytest.raises(InputError) as refused:
        home_from(
            scenario(
                modules=[MODULE, {"name": "other", "table_row": "Sunyside 9999"}],
                arrays=[strings(modules_in_series=14), strings(name="two", module="other")],
                inverter__inputs=[INPUT],
            )
        )
    assert len(refused.value.problems) == 2


def test_a_year_that_is_colder_than_the_design_temperature_is_told() -> None:
    """Thirteen modules make 482 V at 25 C and more in the cold: allowed at a design temperature of 15 C, and told."""
    tables = {"modules": [MODULE], "arrays": [strings(modules_in_series=13)], "inverter__inputs": [INPUT]}
    home = home_from(scenario(site__design_low_c=15.0, **tables))
    (note,) = home.production.notes
    assert "above max_v 500" in note
    assert note in home.notes()


def test_limits_that_a_rating_cannot_meet_are_told() -> None:
    home = home_from(scenario(inverter__inputs=[{"max_kw": 5.0, "max_a": 20.0}, {"max_kw": 5.0, "max_a": 20.0}]))
    assert home.production.notes == ("input 1: max_a not used: array 'roof' names no module",)
