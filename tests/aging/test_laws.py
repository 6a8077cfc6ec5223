"""The models of aging: how stress adds up, each law by hand, and what happens outside its range."""

import numpy as np
import pytest

from solarsim.aging import lead_acid, lfp, nmc
from solarsim.aging.history import History, _cycles_of, history_from
from solarsim.aging.law import Law, Stress, _held, condition, plus

pytestmark = pytest.mark.by_hand
HOURS = 8760
LAWS = (lfp.LFP, nmc.NMC, lead_acid.FLOODED, lead_acid.SEALED)


def standing(soc: float, temperature_c: float) -> History:
    """Live a year in which nothing moves."""
    return history_from(np.full(HOURS + 1, soc), np.full(HOURS, temperature_c), 1.0)


def cycling(low: float, high: float, temperature_c: float = 25.0, hours: int = 4) -> History:
    """Live a year of whole cycles, ``hours`` each way."""
    up = np.linspace(low, high, hours + 1)
    day = np.concatenate([up[:-1], up[::-1][:-1]])
    soc = np.tile(day, HOURS // day.size)
    return history_from(np.append(soc, soc[0]), np.full(soc.size, temperature_c), 1.0)


@pytest.mark.parametrize("law", LAWS)
def test_a_new_battery_has_lost_nothing(law: Law) -> None:
    new = condition(law, Stress())
    assert list(map(float, new)) == [0.0, 0.0, 1.0, 1.0]


@pytest.mark.parametrize("law", LAWS)
def test_four_years_are_one_year_after_another(law: Law) -> None:
    yearly = law.stress(cycling(0.3, 0.8))
    state = Stress()
    for _ in range(4):
        state = plus(state, yearly)
    at_once = condition(law, plus(Stress(), yearly, 4.0))
    assert np.array(condition(law, state)) == pytest.approx(np.array(at_once))


def test_iron_phosphate_ages_with_the_root_of_time() -> None:
    yearly = lfp.LFP.stress(standing(0.5, 25.0))
    one, four = (condition(lfp.LFP, plus(Stress(), yearly, years)) for years in (1.0, 4.0))
    assert one.calendar_loss == pytest.approx(0.042516, abs=5e-7)  # Naumann et al. 2018, as in tests/published
    assert four.calendar_loss == pytest.approx(2 * one.calendar_loss)
    # (3.419e-10 / s) 1.5604 x 31,536,000 s = 0.016825
    assert one.resistance == pytest.approx(1.016825, abs=1e-6)


def test_iron_phosphate_cycles_by_throughput() -> None:
    # 1095 cycles of 0.5 at 0.125 C, taken as 0.2: (0.0126+0.0971)(4.0253(-0.1)^3+1.0923) sqrt(547.5) = 2.79343 %
    year = cycling(0.3, 0.8)
    assert year.cycles.full == pytest.approx(547.5)
    loss = condition(lfp.LFP, lfp.LFP.stress(year)).cycle_loss
    assert loss == pytest.approx(0.0279343, abs=5e-7)


def test_nmc_by_its_own_law() -> None:
    # At 35 C and 3.69 V: (7.543 x 3.69 - 23.75) 1e6 exp(-6976/308.15) = 6.0261e-4; x 365^0.75 = 83.505
    loss, _ = nmc._calendar_rates(3.69, 35.0)
    assert loss == pytest.approx(4.08367e6 * np.exp(-22.63833), rel=1e-5)
    yearly = nmc.NMC.stress(standing(0.5, 35.0))
    assert condition(nmc.NMC, yearly).calendar_loss == pytest.approx(float(loss) * 365**0.75)
    # 3.667 V is where cycling hurts least: 7.6e-4 + 4.081e-3 x 0.5 = 2.8005e-3 for each root of an Ah
    assert nmc._cycle_rates(3.667, 0.5)[0] == pytest.approx(2.8005e-3)


def test_nmc_voltage_of_a_cycle_is_its_root_mean_square() -> None:
    # From 0.5 to 0.6 it is linear from 3.69 to 3.77 V: sqrt((3.69^2 + 3.69 x 3.77 + 3.77^2) / 3) = 3.7300715 V.
    # From 0 to 1, ten such parts, the first (3.30^2 + 3.30 x 3.50 + 3.50^2) / 3 = 11.5633: their mean is 14.03289.
    mean, depth = np.array([0.55, 0.5, 0.55, 1.0]), np.array([0.1, 1.0, 0.0, 0.0])
    volts = nmc._root_mean_square_v(mean, depth)
    assert volts == pytest.approx([3.7300715, 3.746050, 3.73, 4.18], abs=2e-5)
    # A deep cycle around the middle is above the voltage of the middle, 3.69 V.
    year = cycling(0.1, 0.9, 35.0)
    deep = float(nmc._root_mean_square_v(np.array([0.5]), np.array([0.8]))[0])
    assert 3.70 < deep < 3.76
    through_ah = 2 * 2.05 * year.cycles.full
    loss, rise = nmc._cycle_rates(deep, 0.8)
    after = condition(nmc.NMC, nmc.NMC.stress(year))
    assert after.cycle_loss == pytest.approx(float(loss) * np.sqrt(through_ah), rel=1e-6)
    calendar_rise = nmc.NMC.stress(year).calendar_rise
    assert after.resistance == pytest.approx(1 + float(rise) * through_ah + float(calendar_rise) ** 0.75, rel=1e-6)


def test_lead_acid_wears_out_by_the_curve() -> None:
    # 1095 cycles of 0.5, of 1200: 0.9125 of its life, 18.25 % of its capacity; a tenth by float at 25 C.
    yearly = lead_acid.FLOODED.stress(cycling(0.5, 1.0))
    after = condition(lead_acid.FLOODED, yearly)
    assert after.cycle_loss == pytest.approx(0.2 * 1095 / 1200)
    assert after.calendar_loss == pytest.approx(0.2 / 10)
    assert lead_acid._float_years(35.0, 8.0) == pytest.approx(4.0)


def test_lead_acid_curve_is_carried_on_below_its_first_point() -> None:
    table = np.array([4000.0, 2000.0, 1300.0, 700.0, 400.0, 300.0])
    # Twice the depth is half the cycles there: 0.05 is 8000.
    assert lead_acid._cycles_to_failure(0.05, table) == pytest.approx(8000.0)
    assert lead_acid._cycles_to_failure(0.3, table) == pytest.approx(1300.0)


def test_capacity_never_falls_below_nothing() -> None:
    assert condition(lead_acid.SEALED, plus(Stress(), lead_acid.SEALED.stress(cycling(0.0, 1.0)), 40.0)).capacity == 0.0


@pytest.mark.parametrize(
    ("law", "year", "says"),
    [
        (
            lfp.LFP,
            standing(0.5, -5.0),
            "100% of the year the cells are outside 0 to 60 °C: aged at the nearer limit",
        ),
        (lfp.LFP, cycling(0.3, 0.8), "100% of the throughput is slower than C/5"),
        (
            lfp.LFP,
            cycling(0.0, 1.0, hours=2)._replace(cycles=_cycles_of(np.array([0.0, 1.0, 0.0]), 0.5)),
            "faster than 1C",
        ),
        (
            nmc.NMC,
            standing(0.5, 20.0),
            "100% of the year the cells are cooler than the 35 to 50 °C tested: extrapolated",
        ),
        (nmc.NMC, standing(0.5, 55.0), "100% of the year they are outside 0 to 50 °C: aged at the nearer limit"),
        (lead_acid.SEALED, standing(0.5, 5.0), "outside 15 to 50 °C"),
    ],
)
def test_outside_its_range_a_model_says_so(law: Law, year: History, says: str) -> None:
    assert any(says in sentence for sentence in law.outside(year)), law.outside(year)


def test_inside_its_range_a_model_is_silent() -> None:
    assert lfp.LFP.outside(cycling(0.2, 0.8, hours=2)) == []
    assert nmc.NMC.outside(standing(0.5, 40.0)) == []
    assert lead_acid.FLOODED.outside(standing(0.5, 25.0)) == []


def test_held_at_the_edge_is_the_edge() -> None:
    cold = condition(lfp.LFP, lfp.LFP.stress(standing(0.5, -20.0)))
    edge = condition(lfp.LFP, lfp.LFP.stress(standing(0.5, 0.0)))
    assert cold.calendar_loss == edge.calendar_loss
    within, share = _held(np.array([-1.0, 0.0, 1.0, 2.0]), 0.0, 1.0)
    assert (within.tolist(), share) == ([0.0, 0.0, 1.0, 1.0], 0.5)
