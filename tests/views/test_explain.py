"""Why the battery did that, on the screen."""

from dataclasses import replace

import pytest

from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.studies.explain.explain import Decision, Explanation, explain
from solarsim.views.explain import page
from solarsim.views.explain_words import NEVER, SENTENCES
from tests.homes_without_grid import storm, storm_home


def _text(result: Explanation) -> str:
    return "\n".join(part for part in page(result) if isinstance(part, str))


@pytest.fixture(scope="module")
def evening(demo: Scenario, demo_home: Home) -> Explanation:
    return explain(demo, "serve the home first", "2026-07-03T18:00", demo_home)


def test_page_says_when_which_settings_and_why(evening: Explanation) -> None:
    text = _text(evening)
    assert "Friday, July 3, 2026, 18:00 to 19:00 (wall-clock time). No window applies" in text
    served = evening.flows["grid_to_load_kw"]
    assert (
        f"- The battery stopped at 20% because of `reserve = 0.2`; the grid served {served:.2f} kW at 0.34 USD/kWh."
        f" With `reserve = 0.1`: battery to the home {served:.2f} kW more, grid to the home {served:.2f} kW less."
        in text
    )


def test_limits_at_one_point_and_no_decider_have_sentences_of_their_own(evening: Explanation) -> None:
    both = Decision(
        ("grid_charge_kw", "battery.max_charge_kw"),
        ("2 kW", "2 kW"),
        {"grid_charge_kw": ""},
        {"grid_to_battery_kw": 1.0},
        False,
    )
    text = _text(replace(evening, decisions=(both,)))
    assert "`grid_charge_kw = 2` and `battery.max_charge_kw = 2` decided together: changing only one of them" in text
    assert "Without `grid_charge_kw` and without this limit: grid to the battery 1.00 kW more" in text
    assert "No setting or limit decided this step: only load and sun did." in _text(replace(evening, decisions=()))


def test_every_decider_has_a_sentence(evening: Explanation) -> None:
    for key in SENTENCES:
        value = {"arrangement.kind": "off_grid", "surplus_to": "grid", "battery_serves_load": "false"}.get(key, "0.3")
        compared = {key: {"charge_from_grid_to": "0", "sell_down_to": "1"}[key]} if key in NEVER else {}
        one = Decision((key,), (value,), compared, {"unserved_kw": 0.5}, False)
        told = _text(replace(evening, decisions=(one,)))
        assert "Without " in told or "With " in told or "On the grid" in told
        assert "{" not in told


def test_an_outage_is_told() -> None:
    home, scenario = storm_home(), storm()
    dispatch = home.dispatches[scenario.strategies[0].name]
    number = int((~dispatch.grid).nonzero()[0][0])
    found = explain(scenario, None, home.timeline.labels[number], home)
    assert "- The grid was out. With the grid:" in _text(found)


def test_orders_to_charge_say_what_they_were_compared_with(evening: Explanation) -> None:
    def told(compared: str, **changes_kw: float) -> str:
        one = Decision(("charge_from_grid_to",), ("0.6",), {"charge_from_grid_to": compared}, changes_kw, True)
        return _text(replace(evening, decisions=(one,)))

    stopped = told("1", grid_to_battery_kw=3.0)
    assert (
        "- The order to charge stopped at 60%: `charge_from_grid_to = 0.6`. With `charge_from_grid_to = 1`:" in stopped
    )
    assert "- The grid charged the battery because of" in told("0", grid_to_battery_kw=-1.0)
    assert "- Solar charged the battery before it served the home because" in told("0", pv_to_battery_kw=-1.0)
    held = told("0", battery_to_load_kw=1.0)
    assert "- The battery did not serve the home below 60% because of" in held
    assert "With `charge_from_grid_to = 0`: battery to the home 1.00 kW more." in held


def test_values_are_written_as_in_the_file(evening: Explanation) -> None:
    one = Decision(("surplus_to",), ("battery",), {"surplus_to": "grid"}, {"pv_to_grid_kw": 1.0}, True)
    text = _text(replace(evening, decisions=(one,)))
    assert '`surplus_to = "battery"`. With `surplus_to = "grid"`: solar to the grid 1.00 kW more.' in text
    one = Decision(("grid_charge_a",), ("40 A",), {"grid_charge_a": ""}, {"grid_to_battery_kw": 1.0}, True)
    assert "`grid_charge_a = 40`. Without `grid_charge_a`:" in _text(replace(evening, decisions=(one,)))


def test_export_stopped_only_where_more_would_have_been_exported(evening: Explanation) -> None:
    def told(key: str, **changes_kw: float) -> str:
        one = Decision((key,), ("0 kW",), {key: ""}, changes_kw, key == "export_limit_kw")
        return _text(replace(evening, decisions=(one,)))

    assert "- Export stopped at 0 kW because of `export_limit_kw = 0`." in told("export_limit_kw", pv_to_grid_kw=1.0)
    utility = told("grid.export_limit_kw", battery_to_grid_kw=1.0)
    assert "- Export stopped at 0 kW, the utility's limit: `grid.export_limit_kw = 0`." in utility
    assert "the inverter keeps a small import: `export_limit_kw = 0`." in told("export_limit_kw", grid_to_load_kw=-0.03)


def test_foresight_starts_from_its_own_stored_energy(evening: Explanation) -> None:
    foreseen = replace(evening, foresight={**evening.flows, "soc": 0.5}, foresight_soc_before=0.8)
    text = _text(foreseen)
    assert "With perfect foresight the battery starts this step at 80.0% and ends at 50.0%" in text
    assert "The column 'Perfect foresight' is not such a comparison" in text
    assert "Perfect foresight" not in _text(evening)


def test_an_hour_that_the_clock_shows_twice_says_which_one_it_is(demo: Scenario, demo_home: Home) -> None:
    # Daylight saving ends on 1 November 2026 at 2:00.
    first, second = (explain(demo, None, f"2026-11-01T01:00{offset}", demo_home) for offset in ("", "-05:00"))
    assert (first.starts, first.other_starts) == (second.other_starts, second.starts)
    shown = "The clock shows this time twice; this is the {} of two (the other: 2026-11-01T01:00-0{}:00)."
    assert shown.format("first", 5) in _text(first)
    assert shown.format("second", 4) in _text(second)


def test_a_generator_that_could_not_start_is_told_in_words(evening: Explanation) -> None:
    keys = ("generator.start_at", "generator.may_start")
    both = Decision(keys, ("0.2", ""), {}, {"generator_to_load_kw": 1.0}, False)
    assert (
        "- The generator did not run: the battery was above `generator.start_at = 0.2`, and the generator had quiet"
        " hours. With the generator running: generator to the home 1.00 kW more."
    ) in _text(replace(evening, decisions=(both,)))


@pytest.mark.parametrize(
    ("key", "value", "in_transfer", "told"),
    [
        ("arrangement.backed_up", "critical", False, "With the whole home backed up: "),
        ("arrangement.backed_up", "critical", True, "With the whole home backed up and without transfer time: "),
        ("arrangement.kind", "hybrid", True, "Without transfer time: "),
    ],
)
def test_only_what_has_an_effect_is_named(
    evening: Explanation, key: str, value: str, in_transfer: bool, told: str
) -> None:
    one = Decision((key,), (value,), {}, {"battery_to_load_kw": 1.0}, False)
    assert told in _text(replace(evening, decisions=(one,), in_transfer=in_transfer))


def test_battery_that_serves_a_part_under_an_import_cap_is_not_said_to_serve_nothing(evening: Explanation) -> None:
    held = Decision(
        ("battery_serves_load",),
        ("false",),
        {"battery_serves_load": "true"},
        {"battery_to_load_kw": 2.0, "grid_to_load_kw": -2.0},
        False,
    )
    for served_kw, told in ((0.34, "served only 0.34 kW of the home"), (0.0, "did not serve the home")):
        flows = {**evening.flows, "battery_to_load_kw": served_kw}
        shown = _text(replace(evening, decisions=(held,), flows=flows))
        assert f"- The battery {told} because of `battery_serves_load = false`; the grid served" in shown
