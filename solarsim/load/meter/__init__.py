"""Read a year of meter data as a utility exports it: a file in, the load of each step out.

::

    meter CSV (csv/)  --------------+                        production log (a home with solar)
      bytes   -> _table   rows      |                                  |
      names   -> _columns roles     |                        read_production_log, or the same
      cells   -> _times, _cells     |                        CSV reader inside meter_load
      rows    -> _order   in time   |                                  |
                                    +-> Readings -> _hours -> _year -> MeterLoad: load_kw of each step
    Green Button (green_button/) ---+   intervals   whole    on the    + MeterReport: what was read,
      XML     -> _feed    elements      by the      hours    simulated   filled and is doubtful (_warnings)
      series  -> _intervals in kWh      file's      in UTC   calendar
                                        clock

Each stage refuses what it cannot read in one line that names the file, the line and the key to set; nothing that
changes the result is guessed. ``meter_load`` runs all of it for a scenario. The readers can be used alone:
``read_meter_csv`` and ``read_green_button`` return ``Readings``.
"""

from solarsim.load.meter._hours import MeterHours, hours_from
from solarsim.load.meter._year import MeterLoad, load_from_meter
from solarsim.load.meter.csv.reader import read_meter_csv
from solarsim.load.meter.from_scenario import meter_load
from solarsim.load.meter.green_button.reader import read_green_button
from solarsim.load.meter.production_log import Logged, read_production_log
from solarsim.load.meter.readings import Readings
from solarsim.load.meter.report import Hole, MeterReport

__all__ = [
    "Hole",
    "Logged",
    "MeterHours",
    "MeterLoad",
    "MeterReport",
    "Readings",
    "hours_from",
    "load_from_meter",
    "meter_load",
    "read_green_button",
    "read_meter_csv",
    "read_production_log",
]
