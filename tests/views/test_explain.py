"""Why the battery did that, on the screen."""

from dataclasses import replace

import pytest

from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.studies.explain.explain import Decision, Explanation, explain
from solarsim.views.explain import _SENTENCES, page
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
        f" Without it: battery to the home {served:.2f} kW more, grid to the home {served:.2f} kW less." in text
    )


def test_limits_at_one_point_and_no_decider_have_sentences_of_their_own(evening: Explanation) -> None:
    both = Decision(("grid_charge_kw", "battery.max_charge_kw"), ("2 kW", "2 kW"), {"grid_to_battery_kw": 1.0}, False)
    text = _text(replace(evening, decisions=(both,)))
    assert "`grid_charge_kw = 2` and `battery.max_charge_kw = 2` act at the same point" in text
    assert "Without them: grid to the battery 1.00 kW more" in text
    assert "No setting or limit decided this step: only load and sun did." in _text(replace(evening, decisions=()))


def test_every_decider_has_a_sentence(evening: Explanation) -> None:
    for key in _SENTENCES:
        value = {"arrangement.kind": "off_grid", "surplus_to": "grid", "battery_serves_load": "false"}.get(key, "0.3")
        told = _text(replace(evening, decisions=(Decision((key,), (value,), {"unserved_kw": 0.5}, False),)))
        assert "Without it" in told or "Otherwise" in told or "With " in told
        assert "{" not in told


def test_an_outage_is_told() -> None:
    home, scenario = storm_home(), storm()
    dispatch = home.dispatches[scenario.strategies[0].name]
    number = int((~dispatch.grid).nonzero()[0][0])
    found = explain(scenario, None, home.timeline.labels[number], home)
    assert "- The grid was out. With the grid:" in _text(found)
