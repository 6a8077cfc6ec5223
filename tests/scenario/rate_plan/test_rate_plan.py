"""Rate plans as utilities write them: what is refused, with key, window or line; files of their own; growth."""

from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import ScenarioError
from solarsim.ledger.prices import prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.read import packaged_folder, read_rate_plan, read_scenario
from tests.builders import READY_PLANS, scenario, timeline
from tests.cli.test_bad_scenarios import assert_refused, toml, write_home

ALL = {"name": "all", "import_price": 0.2}
EVENING = {"from": "16:00", "to": "21:00"}
PLAN: dict[str, Any] = {
    "name": "plan", "currency": "USD", "customer_charge_per_month": 10.0, "export": {"pay": "none"}, "rates": [ALL],
}  # fmt: skip
DEMAND = {"name": "peak", "price": 9.0}
NET = {"pay": "net_metering", "net_within": "rate", "surplus": "carried_as_kwh", "true_up_month": 3}
NET |= {"remainder_price": 0.03}
CREDITS = {"offset": ["energy"], "leftover": "carried", "remainder_share": 1.0}
FLAT = {"pay": "flat", "price": 0.05}
TABLE = [[0.05] * 24] * 12
TIERS = [{"up_to_kwh": 100.0, "price": 0.1}, {"price": 0.2}]


def write(path: Path, **changes: Any) -> Path:
    """Write the plan with keys replaced; None removes."""
    tables = {key: value for key, value in {**PLAN, **changes}.items() if value is not None}
    path.write_text("".join(f"{key} = {toml(value)}\n" for key, value in tables.items()))
    return path


def tiers(*given: dict[str, Any], **others: Any) -> dict[str, Any]:
    return {"rates": [{"name": "all", "tiers": list(given)}], **others}


BAD: dict[str, tuple[str, dict[str, Any]]] = {
    # Energy
    "no price": ("rates.1st: needs either import_price or tiers", {"rates": [{"name": "all"}]}),
    "price and tiers": ("rates.1st: needs either import_price or tiers", {"rates": [{**ALL, "tiers": TIERS}]}),
    "tiers out of order": (
        "rates.1st: tiers are out of order: tier 2 ends at 50 kWh, tier 1 already at 100",
        tiers(TIERS[0], {"up_to_kwh": 50.0, "price": 0.2}, {"price": 0.3}),
    ),
    "two equal tiers": ("tier 2 ends at 100 kWh", tiers(TIERS[0], TIERS[0], {"price": 0.3})),
    "last tier with an end": ("rates.1st: tier 1 is the last and must have no end", tiers(TIERS[0])),
    "first tier without end": (
        "rates.1st: tier 1 has no end, but is not the last",
        tiers({"price": 0.1}, {"price": 0.2}),
    ),
    "tier with two ends": ("tier 1 ends twice", tiers({**TIERS[0], "up_to_kwh_per_day": 3.0}, {"price": 0.2})),
    "tiers of two kinds": (
        "rates.1st: some tiers end by up_to_kwh and some by",
        tiers(TIERS[0], {"up_to_kwh_per_day": 9.0, "price": 0.2}, {"price": 0.3}),
    ),
    "tier of no size": (
        "rates.1st.tiers.1st.up_to_kwh: 0 must be above 0",
        tiers({"up_to_kwh": 0, "price": 0.1}, {"price": 1}),
    ),
    "tier misspelled": (
        "tiers.1st.upto_kwh: unknown key; did you mean 'up_to_kwh'?",
        tiers({"upto_kwh": 9, "price": 0.1}),
    ),
    "tiers of what": (
        "'tiers_count' belongs to plans with tiers and more than one rate",
        {"rates": [{"name": "a", "tiers": TIERS, "windows": [EVENING]}, ALL]},
    ),
    "tiers of nothing": ("'tiers_count' belongs to plans with tiers", {"tiers_count": "own_rate"}),
    "negative price": ("rates.1st.import_price: -0.2 must be at least 0", {"rates": [{**ALL, "import_price": -0.2}]}),
    "rider twice": ("two riders are named 'fuel'", {"riders": [{"name": "fuel", "price": 0.01}] * 2}),
    "rider misspelled": (
        "riders.1st.pric: unknown key; did you mean 'price'?",
        {"riders": [{"name": "fuel", "pric": 1}]},
    ),
    "allowance of nothing": ("allowances.1st: needs either", {"allowances": [{"name": "base", "credit_price": 0.1}]}),
    "twenty minutes": (
        "rates.1st.windows.1st.from: '16:20' must be a full, half or quarter hour",
        {"rates": [{**ALL, "windows": [{"from": "16:20", "to": "21:00"}]}]},
    ),
    # Bills
    "29 February": ("reading_day: 29 is no day of every month, February has none", {"reading_day": 29}),
    "day 0": ("reading_day: 0 is no day of every month", {"reading_day": 0}),
    "half a day": ("reading_day: 3.5 must be a whole number", {"reading_day": 3.5}),
    "currency in words": ("currency: 'dollars' must be three capital letters", {"currency": "dollars"}),
    "two minima": ("minimum: needs either per_month or per_day", {"minimum": {"per_month": 9, "per_day": 1}}),
    "percent for a share": (
        "adders.1st.share: 7 must be at most 1; 7% is written 0.07",
        {"adders": [{"name": "tax", "share": 7, "on": ["energy"]}]},
    ),
    "tax on what": ("adders.1st.on: is missing", {"adders": [{"name": "tax", "share": 0.07}]}),
    "tax on a misspelling": (
        "adders.1st.on.1st: 'enrgy' is not known; did you mean 'energy'?",
        {"adders": [{"name": "tax", "share": 0.07, "on": ["enrgy"]}]},
    ),
    "half a ratchet": (
        "demand.1st: 'ratchet_share' and 'ratchet_months'",
        {"demand": [{**DEMAND, "ratchet_share": 0.5}]},
    ),
    "ratchet of years": (
        "demand.1st.ratchet_months: 24 must be at most 11",
        {"demand": [{**DEMAND, "ratchet_share": 0.5, "ratchet_months": 24}]},
    ),
    "demand by window of one end": (
        "demand.1st.windows.1st: has only one end: 'to' is missing",
        {"demand": [{**DEMAND, "windows": [{"from": "16:00"}]}]},
    ),
    # Exports
    "pay misspelled": (
        "export.pay: 'net_meter' is not known; did you mean 'net_metering'?",
        {"export": {"pay": "net_meter"}},
    ),
    "flat without price": (
        "export: 'price' belongs to pay = 'flat', 'by_window', 'feed_in'",
        {"export": {"pay": "flat"}},
    ),
    "netting of nothing": ("export: 'net_within' belongs to pay = 'net_metering'", {"export": {"pay": "net_metering"}}),
    "surplus of flat pay": ("export: 'surplus' belongs to", {"export": {**FLAT, "surplus": "paid_monthly"}}),
    "no true-up": ("export: 'true_up_month' belongs to what is carried", {"export": {**NET, "true_up_month": None}}),
    "true-up of nothing": ("export: 'true_up_month' belongs to", {"export": {**FLAT, "true_up_month": 3}}),
    "month 13": ("export.true_up_month: 13 must be at most 12", {"export": {**NET, "true_up_month": 13}}),
    "remainder unsaid": ("export: 'remainder_price' belongs to", {"export": {**NET, "remainder_price": None}}),
    "money without rule": (
        "export: surplus = 'carried_as_money' needs 'credits'",
        {"export": {**NET, "surplus": "carried_as_money", "remainder_price": None}},
    ),
    "credits of kWh": ("export: 'credits' belongs to exports that earn money", {"export": {**NET, "credits": CREDITS}}),
    "credits pay taxes": (
        "export.credits.offset.1st: 'tax' is not known; allowed: energy, rider, customer_charge, demand",
        {"export": {**FLAT, "true_up_month": 1, "credits": {**CREDITS, "offset": ["tax"]}}},
    ),
    "remainder of what is lost": (
        "export.credits: 'remainder_share' belongs to leftover = 'carried'",
        {"export": {**FLAT, "credits": {**CREDITS, "leftover": "lost"}}},
    ),
    "eleven months": ("export.prices: has 11 entries", {"export": {"pay": "by_month_and_hour", "prices": TABLE[:11]}}),
    "23 hours": (
        "export.prices.2nd: has 23 entries, must have at least 24",
        {"export": {"pay": "by_month_and_hour", "prices": [TABLE[0], [0.05] * 23, *TABLE[2:]]}},
    ),
    "tiers at retail": (
        "rate 'all' has tiers, so its hours have no one price",
        tiers(*TIERS, export={"pay": "same_as_import"}),
    ),
    "hourly file missing": (
        "none.csv: cannot be read: No such file",
        {"export": {"pay": "hourly_file", "file": "none.csv"}},
    ),
    # Holidays
    "observed unsaid": ("holidays: 'observed' must say", {"holidays": {"country": "US"}}),
    "Sundays of nothing": (
        "holidays: 'sundays_only' belongs to observed = true",
        {"holidays": {"country": "US", "observed": False, "sundays_only": True}},
    ),
}


def without_none(value: Any) -> Any:
    return {k: without_none(v) for k, v in value.items() if v is not None} if isinstance(value, dict) else value


@pytest.mark.parametrize(("says", "changes"), BAD.values(), ids=list(BAD))
def test_a_wrong_rate_plan_is_told_in_one_line_by_its_own_keys(
    tmp_path: Path, says: str, changes: dict[str, Any]
) -> None:
    path = write(tmp_path / "plan.toml", **without_none(changes))
    with pytest.raises(ScenarioError) as caught:
        read_rate_plan(path)
    (line,) = caught.value.problems
    assert says in line
    assert line.startswith(str(tmp_path))


LATE = {"name": "late", "import_price": 0.3, "windows": [{"from": "20:00", "to": "23:00"}]}
ON_TIMELINE: dict[str, tuple[str, dict[str, Any]]] = {
    "overlap": (
        "'early' and 'late' overlap in 365 hours, first at 2026-01-01 20:00",
        {"rates": [{"name": "early", "import_price": 0.4, "windows": [EVENING]}, LATE, ALL]},
    ),
    "no rate": ("no rate applies in 7665 hours, first at 2026-01-01 00:00", {"rates": [LATE]}),
    "export windows": (
        r"the 1st and the 2nd export window \(17:00-18:00\) overlap in 365 hours",
        {
            "export": {
                **FLAT,
                "pay": "by_window",
                "windows": [{**EVENING, "price": 1}, {"from": "17:00", "to": "18:00", "price": 2}],
            }
        },
    ),
    "holiday unknown": (
        "rate plan 'plan': holiday 'Labour Day' is not in the calendar of US; did you mean 'Labor Day'",
        {"holidays": {"country": "US", "observed": False, "names": ["Labour Day"]}},
    ),
}


@pytest.mark.parametrize(("says", "changes"), ON_TIMELINE.values(), ids=list(ON_TIMELINE))
def test_windows_that_cannot_be_meant_are_told_by_name_and_hour(
    tmp_path: Path, says: str, changes: dict[str, Any]
) -> None:
    rate_plan = read_rate_plan(write(tmp_path / "plan.toml", **changes))
    with pytest.raises(ScenarioError, match=says):
        prices_from(rate_plan, timeline())


def hours_file(path: Path, *values: object, rows: int = 8760, name: str = "export_price") -> None:
    path.write_text("\n".join([name, *map(str, values), *["0.05"] * (rows - len(values))]) + "\n")


@pytest.mark.parametrize(
    ("values", "rows", "says"),
    [
        ((), 8759, "prices.csv: has 8759 rows, must have 8760"),
        ((0.05, "x"), 8760, "prices.csv: line 3: export_price is 'x', must be a number"),
        ((0.05, "nan"), 8760, "prices.csv: line 3: export_price is nan"),
        ((5000,), 8760, "prices.csv: export_price is 5000 in row 1, must be from"),
    ],
)
def test_a_wrong_file_of_hourly_prices_is_told_by_line(
    tmp_path: Path, values: tuple[object, ...], rows: int, says: str
) -> None:
    hours_file(tmp_path / "prices.csv", *values, rows=rows)
    with pytest.raises(ScenarioError, match=says):
        read_rate_plan(write(tmp_path / "plan.toml", export={"pay": "hourly_file", "file": "prices.csv"}))


def test_hourly_prices_are_found_beside_the_rate_plan_and_hold_in_standard_time(tmp_path: Path) -> None:
    (tmp_path / "plans").mkdir()
    hours_file(tmp_path / "plans" / "prices.csv", *[-0.01, 0.07], name="hour,export_price", rows=0)
    text = "hour,export_price\n" + "".join(f"{hour},{hour / 1e5 - 0.01}\n" for hour in range(8760))
    (tmp_path / "plans" / "prices.csv").write_text(text)
    write(tmp_path / "plans" / "plan.toml", export={"pay": "hourly_file", "file": "prices.csv"})
    home = scenario(tmp_path, rate_plan="plans/plan.toml")
    prices = prices_from(home.rate_plan, timeline()).export_price
    assert prices.tolist() == pytest.approx([hour / 1e5 - 0.01 for hour in range(8760)])
    assert home.rate_plan.grown(1.0, 1.0, 1.0, 2.0).export.hourly[5000] == pytest.approx(2 * (0.05 - 0.01))


def test_model_without_its_file_of_prices_says_so() -> None:
    bare = RatePlan.model_validate({**PLAN, "rates": (ALL,), "export": {"pay": "hourly_file", "file": "prices.csv"}})
    with pytest.raises(RuntimeError, match="has not been read"):
        _ = bare.export.hourly


def test_rate_plan_of_a_scenario_may_stand_in_a_file_of_its_own(tmp_path: Path) -> None:
    write(tmp_path / "plan.toml")
    write_home(tmp_path / "home.toml", rate_plan="plan.toml")
    assert read_scenario(tmp_path / "home.toml").rate_plan == read_rate_plan(tmp_path / "plan.toml")


def test_problems_of_both_files_are_told_each_under_its_name(tmp_path: Path) -> None:
    write(tmp_path / "plan.toml", reading_day=31, riders=[{"name": "fuel"}])
    write_home(tmp_path / "home.toml", rate_plan="plan.toml", site__albedo=2.0)
    assert_refused(
        tmp_path,
        "compare home.toml",
        "solarsim: home.toml: site.albedo: 2.0 must be at most 1",
        "solarsim: plan.toml: riders.1st.price: is missing",
        "solarsim: plan.toml: reading_day: 31",
        lines=3,
    )


def test_rate_plan_file_that_is_not_there_is_told_by_its_name(tmp_path: Path) -> None:
    write_home(tmp_path / "home.toml", rate_plan="none.toml")
    assert_refused(tmp_path, "bill home.toml", "solarsim: none.toml: cannot be read: No such file")


def test_currencies_are_not_mixed(tmp_path: Path) -> None:
    write_home(tmp_path / "home.toml")
    write(tmp_path / "euro.toml", currency="EUR")
    assert_refused(
        tmp_path, "plans home.toml --rate-plan euro.toml", "'plan': currency is 'EUR', the scenario's is 'USD'"
    )


@pytest.mark.parametrize("path", READY_PLANS, ids=lambda path: path.stem)
def test_every_ready_rate_plan_says_that_it_is_invented(path: Path) -> None:
    assert "Invented." in path.read_text().split("\nname", maxsplit=1)[0]
    assert read_rate_plan(path).name.endswith("(invented)")


def test_ready_rate_plans_cover_the_kinds_of_plan() -> None:
    folder = packaged_folder("scenarios") / "rate_plans"
    assert {path.stem for path in folder.glob("*.toml")} == {
        "flat", "evening_peak", "three_periods", "rising_tiers", "demand", "hourly_net_billing", "net_metering",
    }  # fmt: skip


@pytest.mark.by_hand
def test_growth_multiplies_prices_and_nothing_else() -> None:
    plan = RatePlan.model_validate(
        {
            **PLAN,
            "rates": ({"name": "a", "tiers": tuple(TIERS), "export_price": 0.04},),
            "export": {"pay": "by_rate"},
            "customer_charge_per_day": 0.5,
            "minimum": {"per_month": 20.0},
            "riders": ({"name": "r", "price": -0.01},),
            "allowances": ({"name": "b", "kwh_per_day": 5.0, "credit_price": 0.02},),
            "demand": ({**DEMAND, "ratchet_share": 0.5, "ratchet_months": 3},),
            "adders": ({"name": "tax", "share": 0.07, "on": ("energy",)},),
        }
    )
    grown = plan.grown(energy=2.0, demand=3.0, customer_charge=5.0, export=7.0)
    assert [tier.price for tier in grown.rates[0].tiers] == [0.2, 0.4]
    assert grown.rates[0].tiers[0].up_to_kwh == 100.0
    assert grown.rates[0].export_price == pytest.approx(0.28)
    assert (grown.riders[0].price, grown.allowances[0].credit_price) == (-0.02, 0.04)
    assert (grown.demand[0].price, grown.demand[0].ratchet_share) == (27.0, 0.5)
    assert (grown.customer_charge_per_month, grown.customer_charge_per_day) == (50.0, 2.5)
    assert grown.minimum is not None
    assert grown.minimum.per_month == 100.0
    assert grown.adders == plan.adders
    table = tuple(tuple(row) for row in TABLE)
    pays = (
        {"pay": "by_month_and_hour", "prices": table, "weekend_prices": table},
        {"pay": "by_window", "price": 0.01, "windows": ({**EVENING, "price": 0.05},)},
        NET,
    )
    one, two, three = (
        RatePlan.model_validate({**PLAN, "rates": (ALL,), "export": pay}).grown(1, 1, 1, 2).export for pay in pays
    )
    assert one.prices is not None
    assert one.weekend_prices is not None
    assert one.prices[3][7] == one.weekend_prices[11][23] == 0.1
    assert two.windows is not None
    assert (two.price, two.windows[0].price, three.remainder_price) == (0.02, 0.1, 0.06)
