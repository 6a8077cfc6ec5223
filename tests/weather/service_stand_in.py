"""A stand-in on loopback for the open data services, which answers in the form that pvlib's getters document.

Nothing here was taken from a live answer: names, nesting and units are those that pvlib's parsers read, and those of
the answers that pvlib's own tests record. The weather is Greensboro's, each year a little different.
"""

import io
import json
import threading
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

import numpy as np
from numpy.typing import NDArray

from solarsim.weather.services._asking import Patience
from solarsim.weather.services.service import SERVICES, Service
from tests.weather.skies import SKY

Floats = NDArray[np.float64]
AT = (36.1, -79.95)
ELEVATION_M = 273.0
KEY, EMAIL = "s3cret/key+1", "someone@example.org"
_LEAP = 59 * 24


def sky_of(year: int) -> dict[str, Floats]:
    """Return a year by Greensboro's clock, 8,760 hours: warmer by 0.5 C and less humid by 2% each year."""
    humidity = 0.5 + 0.3 * np.cos(np.arange(8760) / 8760 * 2 * np.pi)
    shift = year - 2015
    return {
        **SKY,
        "temp_air_c": np.round(SKY["temp_air_c"] + 0.5 * shift, 2),
        "relative_humidity": np.round(humidity - 0.02 * shift, 4),
    }


def hours_in_utc(year: int, offset_h: int = -5) -> dict[str, Floats]:
    """Return the same by UTC, around the end of the year, with a copy of 28 February in a leap year."""
    sky = sky_of(year)
    if year % 4 == 0:
        sky = {name: np.insert(values, _LEAP, values[_LEAP - 24 : _LEAP]) for name, values in sky.items()}
    return {name: np.roll(values, -offset_h) for name, values in sky.items()}


def stamps(first: str, last: str) -> list[str]:
    return np.datetime_as_string(np.arange(first, last, dtype="datetime64[h]"), unit="h").tolist()  # type: ignore[no-any-return]


_POWER = {
    "ALLSKY_SFC_SW_DWN": ("ghi_w_m2", 1),
    "ALLSKY_SFC_SW_DNI": ("dni_w_m2", 1),
    "ALLSKY_SFC_SW_DIFF": ("dhi_w_m2", 1),
    "T2M": ("temp_air_c", 1),
    "WS10M": ("wind_speed_m_s", 1),
    "RH2M": ("relative_humidity", 100),
}


@cache
def power_answer(year: int, gaps: tuple[tuple[str, int], ...] = (), at: tuple[float, float] = AT) -> bytes:
    """Write a year as NASA POWER's JSON, with the fill value in some hours of UTC."""
    sky, times = (
        hours_in_utc(year),
        [stamp.replace("-", "").replace("T", "") for stamp in stamps(f"{year}-01", f"{year + 1}-01")],
    )
    parameter = {}
    for name, (ours, factor) in _POWER.items():
        values = (sky[ours] * factor).round(2)
        for column, hour in gaps:
            if column == name:
                values[hour] = -999.0
        parameter[name] = dict(zip(times, values.tolist(), strict=True))
    answer = {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [at[1], at[0], ELEVATION_M]},
        "properties": {"parameter": parameter},
        "header": {
            "title": "NASA/POWER Source Native Resolution Hourly Data",
            "fill_value": -999.0,
            "time_standard": "UTC",
            "start": f"{year}0101",
            "end": f"{year}1231",
        },
        "messages": [],
        "parameters": {name: {"units": "W/m^2", "longname": name} for name in _POWER},
        "times": {"data": 1.0, "process": 0.1},
    }
    return json.dumps(answer).encode()


@cache
def nsrdb_answer(year: int, minute: int = 30) -> bytes:
    """Write a year as the CSV of the NSRDB, in UTC."""
    sky = hours_in_utc(year)
    names = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s")
    head = [
        "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone,Version",
        f"NSRDB,1,-,-,-,{AT[0]},{AT[1]},0,{ELEVATION_M:g},-5,4.0.0",
        "Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Wind Speed,Relative Humidity",
    ]
    columns = [*(sky[name].tolist() for name in names), (100 * sky["relative_humidity"]).round(2).tolist()]
    rows = zip(stamps(f"{year}-01", f"{year + 1}-01"), *columns, strict=True)
    body = [
        f"{int(stamp[:4])},{int(stamp[5:7])},{int(stamp[8:10])},{int(stamp[11:])},{minute},"
        + ",".join(map(str, values))
        for stamp, *values in rows
    ]
    return ("\n".join([*head, *body]) + "\n").encode()


@cache
def era5_archive(year: int) -> bytes:
    """Write a year as ERA5's zipped CSV: sums of the hour that ends [J/m2], the rest of the instant [K, Pa, m/s]."""
    sky, after = hours_in_utc(year), hours_in_utc(year + 1)
    size = sky["ghi_w_m2"].size
    hours = {name: np.concatenate([values, after[name][:24]]) for name, values in sky.items()}
    ended = {name: np.roll(values, 1) for name, values in hours.items()}
    kelvin = hours["temp_air_c"] + 273.15
    logs = np.log(hours["relative_humidity"]) + 17.625 * hours["temp_air_c"] / (243.04 + hours["temp_air_c"])
    dew = 243.04 * logs / (17.625 - logs)
    columns = {
        "u10": 0.6 * hours["wind_speed_m_s"],
        "v10": -0.8 * hours["wind_speed_m_s"],
        "d2m": dew + 273.15,
        "t2m": kelvin,
        "sp": np.full(size + 24, 98088.0),
        "ssrd": 3600 * ended["ghi_w_m2"],
        "fdir": 3600 * np.maximum(ended["ghi_w_m2"] - ended["dhi_w_m2"], 0.0),
        "latitude": np.full(size + 24, 36.0),
        "longitude": np.full(size + 24, -80.0),
    }
    times = [f"{stamp[:10]} {stamp[11:]}:00:00" for stamp in stamps(f"{year}-01-01", f"{year + 1}-01-02")]
    rows = zip(times, *(values.tolist() for values in columns.values()), strict=True)
    text = "\n".join([",".join(["valid_time", *columns]), *(",".join(map(str, row)) for row in rows)])
    archive = io.BytesIO()
    with zipfile.ZipFile(archive, "w") as file:
        file.writestr("reanalysis.csv", text + "\n")
    return archive.getvalue()


class StandIn:
    """What the server was asked, and what it answers first in place of a good answer."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.headers: list[dict[str, str]] = []
        #: A status with its body, "cut": a body that ends too soon, "gone": no answer, or "slow": one at the end of the
        #: test; one for each request, then good answers.
        self.first: list[tuple[int, bytes] | str] = []
        self.gaps: tuple[tuple[str, int], ...] = ()
        self.url = ""
        self.over = threading.Event()

    def good(self, path: str, body: bytes) -> bytes:
        """Return the good answer to a request."""
        parts = urlsplit(path)
        query = {name: values[0] for name, values in parse_qs(parts.query).items()}
        if "parameters" in query:
            at = (float(query["latitude"]), float(query["longitude"]))
            return power_answer(int(query["start"][:4]), self.gaps, at)
        if "wkt" in query:
            return nsrdb_answer(int(query["names"]))
        if parts.path.endswith("/execution"):
            year = json.loads(body)["inputs"]["date"][0][:4]
            return json.dumps({"jobID": f"job-{year}", "status": "accepted", "metadata": {"messages": []}}).encode()
        if parts.path.endswith("/results"):
            year = parts.path.split("/")[-2][-4:]
            return json.dumps({"asset": {"value": {"href": f"{self.url}file/{year}"}}}).encode()
        if "/jobs/" in parts.path:
            return json.dumps({"status": "successful"}).encode()
        return era5_archive(int(parts.path[-4:]))


@contextmanager
def serving() -> Iterator[StandIn]:
    """Run a stand-in on a free port of loopback."""
    stand_in = StandIn()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:  # as the base class has it
            stand_in.asked.append(self.path)
            stand_in.headers.append(dict(self.headers))
            body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
            special = stand_in.first.pop(0) if stand_in.first else None
            if special == "slow":
                stand_in.over.wait(10)
            if special == "gone":
                self.close_connection = True
                return
            status, content = special if isinstance(special, tuple) else (200, stand_in.good(self.path, body))
            self.send_response(status)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content[: len(content) // 2] if special == "cut" else content)

        do_POST = do_GET  # noqa: N815

        def log_message(self, *_: object) -> None:
            """Keep quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    stand_in.url = f"http://127.0.0.1:{server.server_address[1]}/"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield stand_in
    finally:
        stand_in.over.set()
        server.shutdown()
        server.server_close()
        thread.join()


def at_stand_in(name: str, url: str, limit_s: float = 30.0, tries: int = 4) -> Service:
    """Return a service at the stand-in's address, that is not waited for between tries."""
    return replace(SERVICES[name], url=url, patience=Patience(limit_s, tries, pause_s=0.0))
