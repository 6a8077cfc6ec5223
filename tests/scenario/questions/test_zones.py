"""Zones that are offered for coordinates, and distances."""

import pytest

from solarsim.scenario.questions.zones import CURRENCY_OF, country_of, distance_km, likely_zone

# By any map of time zones (common practice, no source).
PLACES = {
    (36.1, -79.95): "America/New_York",
    (25.8, -80.3): "America/New_York",
    (55.3, -160.5): "America/Anchorage",
    (42.0, -87.9): "America/Chicago",
    (52.5, 13.4): "Europe/Berlin",
    (-33.9, 18.5): "Africa/Johannesburg",
    (-33.9, 151.2): "Australia/Sydney",
    (19.0, 72.9): "Asia/Kolkata",
    (35.7, 139.7): "Asia/Tokyo",
    (-23.5, -46.6): "America/Sao_Paulo",
}


@pytest.mark.trade
@pytest.mark.parametrize(("place", "zone"), PLACES.items(), ids=map(str, PLACES))
def test_zone_of_a_place_on_a_machine_without_a_place(
    place: tuple[float, float], zone: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Etc/UTC")
    assert likely_zone(*place) == zone


def test_zone_of_the_machine_is_offered_where_the_sun_agrees(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "America/Indiana/Indianapolis")
    assert likely_zone(39.8, -86.2) == "America/Indiana/Indianapolis"
    monkeypatch.setenv("TZ", ":America/Toronto")
    assert likely_zone(36.1, -79.95) == "America/Toronto"
    assert likely_zone(52.5, 13.4) == "Europe/Berlin"


@pytest.mark.by_hand
def test_distances() -> None:
    """A degree of a great circle is 6,371 km x pi / 180 = 111.195 km; a quarter of the Earth is 90 of them."""
    assert distance_km((0.0, 0.0), (1.0, 0.0)) == pytest.approx(111.1949, abs=1e-3)
    assert distance_km((0.0, 179.5), (0.0, -179.5)) == pytest.approx(111.1949, abs=1e-3)
    assert distance_km((90.0, 12.0), (0.0, 50.0)) == pytest.approx(10007.54, abs=1e-2)
    assert distance_km((60.0, 0.0), (60.0, 180.0)) == pytest.approx(60 * 111.1949, rel=1e-4)


def test_currencies_are_three_letters_of_known_countries() -> None:
    assert all(len(code) == 3 and code.isupper() for code in CURRENCY_OF.values())
    assert CURRENCY_OF[country_of("Australia/Perth") or ""] == "AUD"
    assert country_of("UTC") is None
