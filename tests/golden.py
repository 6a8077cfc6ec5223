"""A real array and its sky, as files that a homeowner would have: the open data of one package in, CSV files out.

``pvanalytics`` 0.2.2 (MIT): 15-minute AC power of an array, stamped -07:00, and half-hourly satellite weather of the
same years. It stands in Golden, Colorado: 39.74 N, 105.18 W, 1,830 m (from memory). Nobody wrote down its size, tilt
and azimuth: what stands here of them is assumed.
"""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from tests.open_data import PVANALYTICS, open_data

PLACE = {"latitude_deg": 39.74, "longitude_deg": -105.18, "elevation_m": 1830.0, "utc_offset_h": -7.0}
LOG = {"file": "log.csv", "column": "ac_power_2", "unit": "w", "labels": "start", "side": "ac"}
#: Keys of a scenario for ``tests.builders``; sizes and angles are assumed, a south roof at about the latitude.
GOLDEN: dict[str, Any] = {
    "site__time_zone": "America/Denver",
    "arrays__0__tilt_deg": 40.0,
    "arrays__0__module_w": 360.0,
    "inverter__ac_kw": 4.0,
    "inverter__standby_w": 0.0,
    "battery": None,
    "strategies": [{"name": "sell", "surplus_to": "grid", "battery_serves_load": False, "reserve": 0.0}],
}


def write_log(path: Path) -> None:
    """Write the log as it stands in the package; a quarter of an hour without a value is an empty cell."""
    table = pd.read_parquet(open_data(PVANALYTICS, "data/system_50_ac_power_2_full_DST.parquet"))
    table.to_csv(path, index=False)


def write_sky(folder: Path, *years: int) -> list[dict[str, Any]]:
    """Write a year of hours for each; give the tables that name them.

    The package's half hours hold instants: an hour's mean is taken from both ends and the middle. It has no wind: 2 m/s
    is assumed.
    """
    table = pd.read_parquet(open_data(PVANALYTICS, "data/system_50_ac_power_2_full_DST_psm3.parquet")).set_index(
        "index"
    )
    sources = []
    for year in years:
        columns = []
        for name in ("ghi", "temp_air"):
            value = np.append(table[name].to_numpy(np.float64), 0.0)
            mean = (value[:-1:2] + 2 * value[1::2] + value[2::2]) / 4
            columns.append(mean[(pd.DatetimeIndex(table.index).year == year)[::2]])
        hours = np.arange(f"{year}-01-01", f"{year + 1}-01-01", dtype="datetime64[h]").astype(str)
        rows = [f"{hour}:00,{ghi:.1f},{temp:.1f},2.0" for hour, ghi, temp in zip(hours, *columns, strict=True)]
        text = "\n".join(["time,ghi_w_m2,temp_air_c,wind_speed_m_s", *rows]) + "\n"
        (folder / f"{year}.csv").write_text(text)
        sources.append({"file": f"{year}.csv", "format": "csv", "place": PLACE})
    return sources
