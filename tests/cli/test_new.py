"""``new``: from nothing to a comparison, at a terminal, by options, or as a copy; what is wrong is refused at once."""

import json
import resource
import shlex
import tomllib
from pathlib import Path

import pytest

from solarsim.cli.new import last_whole_year
from solarsim.scenario.questions.answers import QUESTIONS, Setting, answers_from, tables_from
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.weather_get import weather_get
from tests.cli.at_a_terminal import Terminal, interview
from tests.cli.command import process, run
from tests.weather.service_stand_in import ELEVATION_M, at_stand_in, serving

EXAMPLES = {each.stem: each for each in sorted(packaged_folder("scenarios").glob("*.toml"))}
MEANS = "means 273 m 2.3 3.1 4.2 5.3 5.9 6.3 6.1 5.5 4.6 3.7 2.5 2.1 / 4 6 10 15 19 24 26 25 22 16 10 6"
PLACE = ("--at", "36.1,-79.95", "--zone", "America/New_York", "--weather", MEANS)


def test_options_make_a_home_and_compare_its_strategies(tmp_path: Path) -> None:
    rates = "0.34 16-21 weekdays; 0.12"
    done = run("new", "my home.toml", *PLACE, "--kwh", "9400", "--array", "5 kW south 30", "--array", "3 kW west 30",
               "--rates", rates, folder=tmp_path)  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "  array     5 kW south tilt 30 roof; 3 kW west tilt 30 roof\n" in done.stdout
    assert "  battery   10 kWh lfp indoor   (default)\n" in done.stdout
    assert "Written: my home.toml, solarsim.schema.json.\n" in done.stdout
    assert "hold for the peak" in done.stdout
    assert "Without a price of the system, savings, life, offers, risk and size do not run" in done.stdout
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my home.toml", "solarsim.schema.json"]
    text = (tmp_path / "my home.toml").read_text()
    assert text.startswith("#:schema ./solarsim.schema.json\n")
    found = answers_from(tomllib.loads(text))
    assert found["rates"] == "USD 0.34 16:00-21:00 weekdays; 0.12 other hours"
    again = run("new", "my home.toml", *PLACE, "--kwh", "9400", folder=tmp_path)
    assert (again.returncode, again.stderr) == (2, "solarsim: my home.toml: exists; --force replaces it\n")


@pytest.mark.slow
def test_what_to_buy_is_answered_at_once_where_an_offer_is_given(tmp_path: Path) -> None:
    done = run("new", "mine.toml", *PLACE, "--kwh", "9400", "--array", "8.2 kW south 30", "--battery", "2 x 5 kWh",
               "--rates", "0.34 16-21 weekdays; 0.12", "--offer", "18500 with battery 7000",
               folder=tmp_path)  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Next: 'solarsim life mine.toml', after you have replaced what is assumed in" in done.stdout
    for words in (("life",), ("savings",), ("risk",), ("size",), ("offers", "--variant", "battery=none")):
        told = run(words[0], "mine.toml", *words[1:], folder=tmp_path)
        assert told.returncode == 0, told.stderr
    assert "battery: one more unit of 5 kWh" in run("size", "mine.toml", folder=tmp_path).stdout


REFUSED = {
    "nothing": ((), "questions need a terminal: answer with options (--at, and --kwh or --meter are required)"),
    "place": (("--kwh", "9400"), "--at is missing: --at, and --kwh or --meter are required"),
    "use": (("--at", "1,2"), "--kwh is missing"),
    "two": ((*PLACE, "--kwh", "1", "--meter", "a.csv"), "--kwh and --meter both say what the home uses"),
    "meter": ((*PLACE, "--meter", "a.csv"), "--meter: "),
    "latitude": (("--at", "91,2", "--kwh", "9400"), "--at: latitude_deg: 91.0 must be at most 90 deg"),
    "a blank": (
        ("--at", "36.1", "-79.95", "--kwh", "9400"),
        "--at 36.1 -79.95: must be LAT,LON without a blank, for example --at=36.1,-79.95\n",
    ),
    "a comma and a blank": (
        ("--at=36.1,", "-79.95"),
        "--at 36.1, -79.95: must be LAT,LON without a blank, for example",
    ),
    "a blank east": (("--at", "-33.9", "151.2"), "--at -33.9 151.2: must be LAT,LON without a blank"),
    "several": (
        (*PLACE, "--kwh", "9400", "--array", "8 kW", "--offer", "x", "--outages", "often"),
        "--array: the direction (south, west-south-west, azimuth 170) is missing; for example: 8.2 kW south 30; 3 kW"
        " west 30\nsolarsim: --offer: the price of the whole offer is missing",
    ),
    "holidays": ((*PLACE, "--kwh", "9400", "--holidays", "US"), "--holidays: is not asked after the other answers"),
    "example": (("--example", "mami"), "--example mami: is no packaged home; did you mean 'miami'?"),
    "both": (("--example", "miami", "--kwh", "9400"), "--example copies a home as it is; leave out --kwh"),
    "folder": (("--example", "miami"), "no/mine.toml: folder no does not exist"),
}


@pytest.mark.parametrize(("words", "problem"), REFUSED.values(), ids=list(REFUSED))
def test_what_is_wrong_is_refused_and_nothing_is_written(
    words: tuple[str, ...], problem: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Etc/UTC")
    file = "no/mine.toml" if problem.startswith("no/") else "mine.toml"
    done = run("new", file, *words, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(f"solarsim: {problem}"), done.stderr
    assert done.stderr.count("\n") == (3 if "\nsolarsim" in problem else 1)
    assert list(tmp_path.iterdir()) == []


def test_a_copy_is_the_packaged_home_and_runs_anywhere(tmp_path: Path) -> None:
    done = run("new", "mine.toml", "--example", "greensboro", folder=tmp_path)
    plans = sorted(each.name for each in (packaged_folder("scenarios") / "rate_plans").iterdir())
    written = ["mine.toml", "723170TYA.CSV", *(f"rate_plans/{each}" for each in plans), "solarsim.schema.json"]
    assert done.stdout == f"Written: {', '.join(written)}.\nChange it to your home, then: solarsim compare mine.toml\n"
    assert run("compare", "mine.toml", folder=tmp_path).stdout == run("compare", folder=tmp_path).stdout
    again = run("new", "mine.toml", "--example", "greensboro", folder=tmp_path)
    assert (again.returncode, again.stderr) == (2, "solarsim: mine.toml: exists; --force replaces it\n")
    assert run("new", "other.toml", "--example", "greensboro", folder=tmp_path).stdout.startswith(
        "Written: other.toml.\n"
    )
    (tmp_path / "rate_plans" / "flat.toml").write_text("mine\n")
    kept = run("new", "third.toml", "--example", "greensboro", folder=tmp_path)
    assert (kept.returncode, kept.stderr) == (2, "solarsim: rate_plans/flat.toml: exists; --force replaces it\n")
    assert not (tmp_path / "third.toml").exists()
    assert (tmp_path / "rate_plans" / "flat.toml").read_text() == "mine\n"
    assert run("new", "third.toml", "--example", "greensboro", "--force", folder=tmp_path).returncode == 0


@pytest.mark.slow
@pytest.mark.parametrize("name", [each for each in EXAMPLES if each != "greensboro"])
def test_every_packaged_home_is_copied_and_costs_the_same(name: str, tmp_path: Path) -> None:
    assert run("new", "mine.toml", "--example", name, folder=tmp_path).returncode == 0
    there, copied = (run("compare", each, "--json", folder=tmp_path) for each in (name, "mine.toml"))
    assert json.loads(copied.stdout) == json.loads(there.stdout)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["greensboro", "miami", "sand_point", "net_shed", "storm_coast"])
def test_a_packaged_home_is_made_from_its_answers_to_the_digit(name: str, tmp_path: Path) -> None:
    """Its answers, with what no question asks taken from it, are the same home: energy and bills do not differ."""
    original = tomllib.loads(EXAMPLES[name].read_text())
    at = "55.32, -160.52, 7 m" if name in ("sand_point", "net_shed") else "36.1, -79.95, 273 m"
    original["description"] = f"At {at}."  # its weather file states the place
    answers = {key: words for key, words in answers_from(original).items() if words is not None}
    made = tables_from(answers, Setting(tmp_path, 2026))
    for table in ("weather", "production", "losses", "strategies", "generator", "outages", "arrangement", "costs"):
        made.pop(table, None)
        if table in original:
            made[table] = original[table]
    made["site"] = {**original["site"], "time_zone": made["site"]["time_zone"]}
    made["inverter"] = {**original["inverter"], "ac_kw": made["inverter"]["ac_kw"]}
    asked = ("bank", "capacity_kwh", "nominal_v", "place")
    kept = {key: value for key, value in original["battery"].items() if key not in asked}
    named = {key: value for key, value in made["battery"].items() if key in asked and key in original["battery"]}
    made["battery"] = {**kept, **named}
    for new, old in zip(made["arrays"], original["arrays"], strict=True):
        new |= {key: old[key] for key in ("modules_in_series", "strings", "module_w")}  # the same kW, laid out as built
        assert new["modules_in_series"] * new["strings"] * new["module_w"] == pytest.approx(
            old["modules_in_series"] * old["strings"] * old["module_w"]
        )
        new |= {key: old[key] for key in ("temperature_coefficient_per_c", "input")}
    from solarsim.studies.compare.compare import compare

    folder = EXAMPLES[name].parent
    records = [compare(read_scenario(each, folder=folder)).record() for each in (made, EXAMPLES[name])]
    for record in records:
        record.pop("rate_plan", None)
        record.pop("notes", None)
    assert records[0] == records[1]


#: Six homes of six countries: currencies, both hemispheres, Fahrenheit and Celsius. All invented; the means are about
#: those of climate tables, from memory.
HOMES: dict[str, dict[str, str]] = {
    "united_states": {
        "name": "Greensboro", "at": "36.1, -79.95", "array": "8.2 kW south 6/12; 3 kW west 6/12",
        "kwh": "1010 870 760 640 690 890 1060 1040 820 660 730 950", "house": "car 25 mi in bills",
        "rates": "0.34 16-21 weekdays jun-sep; 0.12", "holidays": "US", "export": "0.045 at most 6 kW",
        "offer": "26500 with battery 9000", "outages": "1.4 a year of 5.6 h",
    },
    "germany": {
        "name": "Haus am Wald", "at": "48.1 N 11.6 E", "zone": "Europe/Berlin",
        "weather": "means 520 m 0.9 1.6 2.9 4.2 5.2 5.6 5.6 4.9 3.4 2.0 1.1 0.7 / -1 0 4 8 13 17 19 18 14 9 4 0",
        "array": "9.8 kW south-west tilt 35", "battery": "12 kWh lfp indoor", "kwh": "4200 evenings",
        "house": "heat pump 8 kW at -12 C not in bills", "rates": "0.36", "charge": "12.9", "export": "0.08",
    },
    "australia": {
        "name": "Sydney terrace", "at": "33.87 S, 151.2 E",
        "weather": "means 40 m 6.3 5.5 4.6 3.6 2.7 2.3 2.6 3.5 4.7 5.6 6.1 6.5 / 73 73 71 66 60 56 55 57 61 65 68 71 F",
        "array": "6.6 kW north 22", "battery": "none", "inverter": "5 kW", "kwh": "5800 home_all_day",
        "rates": "peak: 0.52 15-21; 0.24 other hours", "charge": "31", "export": "0.05 at most 5 kW",
    },
    "india": {
        "name": "Bengaluru flat roof", "at": "13.0, 77.6", "zone": "Asia/Kolkata",
        "weather": "means 920 m 5.4 6.1 6.5 6.4 6.1 4.9 4.6 4.7 5.0 4.8 4.8 4.9 / 21 23 26 27 27 25 24 24 24 24 22 21",
        "array": "24 x 540 W in 2 strings azimuth 180 tilt 10 rack", "battery": "9.6 kWh 48 V flooded lead-acid garage",
        "inverter": "10 kW", "kwh": "7200", "house": "air conditioner 2 tons at 36 C in bills", "rates": "INR 7.5",
        "charge": "350", "export": "3.2", "offer": "850000", "outages": "90 a year of 1.2 h critical 50 %",
    },
    "south_africa": {
        "name": "Cape cottage", "at": "33.9 S 18.5 E 30 m",
        "weather": "means 8.0 7.1 5.6 4.0 2.8 2.4 2.6 3.3 4.6 6.2 7.5 8.2 / 21 21 20 17 15 13 12 13 14 16 18 20",
        "array": "5.4 kW north 20; 2.7 kW west 20", "battery": "10.2 kWh lfp garage", "kwh": "6500 evenings",
        "rates": "ZAR 3.1", "charge": "260", "export": "not allowed", "outages": "90 a year of 2.3 h",
    },
    "japan": {
        "name": "Kamakura house", "at": "35.3, 139.5", "zone": "Asia/Tokyo",
        "weather": "means 15 m 2.8 3.3 4.0 4.7 5.1 4.4 4.7 4.9 3.6 3.0 2.6 2.4 / 6 7 10 15 19 22 26 27 24 19 13 9",
        "array": "4.9 kW south-east 27", "kwh": "4300 evenings", "rates": "night: JPY 28 23-7; 38 other hours",
        "charge": "1500", "export": "8.5",
    },
}  # fmt: skip
CURRENCY = {
    "united_states": "USD", "germany": "EUR", "australia": "AUD", "india": "INR", "south_africa": "ZAR", "japan": "JPY",
}  # fmt: skip


def machine_s() -> float:
    """Return the processor time of all commands that have ended [s]."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


@pytest.mark.slow
@pytest.mark.parametrize("country", HOMES)
def test_a_home_is_made_at_a_terminal_without_a_wrong_turn(country: str, tmp_path: Path) -> None:
    began = machine_s()
    shown, asked, code = interview(tmp_path, "home.toml", HOMES[country])
    assert code == 0, shown
    assert "Not accepted" not in shown
    assert asked == [each.name for each in QUESTIONS if each.name in asked], "each once, in order"
    assert len(asked) <= 15
    assert "kWh available a year" in shown
    assert f" {CURRENCY[country]}/yr" in shown
    home = read_scenario(tmp_path / "home.toml")
    assert home.rate_plan.currency == CURRENCY[country]
    text = (tmp_path / "home.toml").read_text()
    assert text.count("#") > 50
    # The answers of the file make the same file.
    found = {name: words for name, words in answers_from(home.tables, tmp_path).items() if words is not None}
    assert set(found) == set(asked)
    again = tables_from(found, Setting(tmp_path, home.site.calendar_year, home.tables["weather"]))
    assert again == home.tables
    assert machine_s() - began < 120  # the promise is two minutes of machine time


@pytest.mark.slow
def test_wrong_answers_are_refused_at_their_question_and_back_returns(tmp_path: Path) -> None:
    wrong = {
        "at": ("here", "the latitude (degrees, north positive) is missing"),
        "zone": ("Europe/Zurich", "is the clock of another part of the world than longitude -79.95"),
        "weather": ("means 1 2", "has no slash"),
        "array": ("8.2 kW south 91", "arrays.1st.tilt_deg: 91.0 must be at most 90 deg"),
        "battery": ("ten", "its size (13.5 kWh) is missing"),
        "inverter": ("6000 kW", "6000 W is written 6"),
        "kwh": ("9,400", "a decimal point and no comma"),
        "house": ("sauna in bills", "car, heat pump or air conditioner"),
        "rates": ("0.3 16-21", "no rate applies in"),
        "charge": ("free", "the charge of a month is missing"),
        "export": ("maybe", "what a kWh to the grid earns is missing"),
        "offer": ("cheap", "the price of the whole offer is missing"),
        "outages": ("often", "how many outages a year has"),
    }
    right = {"at": "36.1, -79.95 273 m", "zone": "America/New_York", "weather": MEANS}
    refused, helped = set[str](), False
    with Terminal(tmp_path, "new", "home.toml") as terminal:
        text = ""
        while (shown := terminal.shown()).question is not None:
            question, text = shown.question, shown.text
            if question in wrong and question not in refused:
                refused.add(question)
                terminal.type(wrong[question][0])
                again = terminal.shown()
                assert again.question == question
                assert wrong[question][1] in " ".join(again.text.split())
                if not helped:
                    helped = True
                    terminal.type("?")
                    assert "solarsim guide new" in terminal.shown().text
                if question == "array":
                    terminal.type("back")
                    assert terminal.shown().question == "weather"
                    terminal.type("")  # the earlier answer is offered
                    assert terminal.shown().question == "array"
            terminal.type(right.get(question, ""))
        assert "Energy balance" in shown.text
        assert terminal.ended() == 0
    assert refused == set(wrong)
    assert text


@pytest.mark.slow
@pytest.mark.parametrize(("key", "code"), [(b"\x03", 130), (b"\x04", 130)])
def test_ctrl_c_and_the_end_of_input_write_nothing(key: bytes, code: int, tmp_path: Path) -> None:
    with Terminal(tmp_path, "new", "home.toml") as terminal:
        assert terminal.shown().question == "name"
        terminal.type("Home")
        assert terminal.shown().question == "at"
        terminal.press(key)
        assert "solarsim: stopped" in terminal.shown().text
        assert terminal.ended() == code
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_a_file_in_the_way_costs_no_answers(tmp_path: Path) -> None:
    (tmp_path / "solarsim.schema.json").write_text("mine")
    shown, _, code = interview(tmp_path, "home.toml", {"at": "36.1, -79.95", "weather": MEANS, "kwh": "9400"})
    assert code == 2
    assert "solarsim: solarsim.schema.json: exists; --force replaces it" in shown
    (line,) = (line for line in shown.splitlines() if line.startswith("solarsim new home.toml --name"))
    assert run(*shlex.split(line)[1:], "--force", folder=tmp_path).returncode == 0
    assert {each.name for each in tmp_path.iterdir()} == {"home.toml", "solarsim.schema.json"}


@pytest.mark.slow
def test_weather_is_fetched_and_written_beside_the_scenario(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten years from a stand-in of the service fill the cache that the command reads."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    last = last_whole_year()
    with serving() as service:
        weather_get(at_stand_in("nasa-power", service.url), 36.1, -79.95, last - 9, last, time_zone="America/New_York")
    home = tmp_path / "home"
    home.mkdir()
    done = run("new", "mine.toml", "--at", "36.1,-79.95", "--zone", "America/New_York", "--weather", "get",
               "--kwh", "9400", folder=home)  # fmt: skip
    assert done.returncode == 0, done.stderr
    years = [f"mine-weather-{year}.csv" for year in range(last - 9, last + 1)]
    names = {"mine.toml", "mine-weather.csv", *years, "solarsim.schema.json"}
    assert {each.name for each in home.iterdir()} == names
    weather = read_scenario(home / "mine.toml").tables["weather"]
    assert (weather["file"], weather["other_files"]) == ("mine-weather.csv", years)
    assert weather["place"]["elevation_m"] == ELEVATION_M
    assert run("compare", "mine.toml", folder=home).returncode == 0


@pytest.mark.slow
def test_without_a_network_weather_is_asked_again_with_what_else_there_is(tmp_path: Path) -> None:
    done = process(
        "new", "home.toml", "--at", "47,8 400 m", "--zone", "Europe/Zurich", "--kwh", "4000", folder=tmp_path
    )
    assert done.returncode == 2
    assert done.stderr.startswith("solarsim: --weather: nasa-power: cannot be reached")
    assert list(tmp_path.iterdir()) == []
