"""What all homes do together: the sums of a fleet in; energy, coincident peaks and a table of every step out."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from solarsim.results import Result, computed, fact
from solarsim.studies.fleet._sums import COLUMNS, UNIT_KW, FleetSums, Key, Total

if TYPE_CHECKING:
    import pyarrow as pa

#: Names of the sums of energy, as in ``COLUMNS``.
_KWH = ("load", "pv_available", "charge", "discharge", "import", "export")


@dataclass(frozen=True, eq=False, repr=False)
class FleetSum(Result):
    """The sum of all homes in one case: without systems, under a strategy, or each under its best one."""

    total: Total
    kind: str = fact(
        "baseline: no home has a system; lowest: each home under its strategy of the lowest cost; strategy: the homes"
        " that have this one",
        "text",
    )
    name: str = fact("name of the strategy; empty for the other kinds", "text")
    homes: int = fact("how many homes", "1")
    load_kwh: float = fact("sum of load_kw", "kWh")
    pv_available_kwh: float = fact("sum of pv_available_kw", "kWh DC")
    import_kwh: float = fact("sum of import_kw", "kWh")
    export_kwh: float = fact("sum of export_kw", "kWh")
    peak_import_kw: float = fact("highest sum of import in a step: the coincident peak", "kW")
    peak_import_at: str = fact("start of that step, UTC", "ISO 8601")
    peak_export_kw: float = fact("highest sum of export in a step", "kW")
    peak_export_at: str = fact("start of that step, UTC", "ISO 8601")
    own_import_peaks_kw: float = fact("sum of each home's own highest import", "kW")
    own_export_peaks_kw: float = fact("sum of each home's own highest export", "kW")

    @computed("peak_import_kw / own_import_peaks_kw: 1 where all homes peak at once; null without import", "1")
    def import_coincidence(self) -> float | None:
        return self.peak_import_kw / self.own_import_peaks_kw if self.own_import_peaks_kw else None

    @computed("peak_export_kw / own_export_peaks_kw; null without export", "1")
    def export_coincidence(self) -> float | None:
        return self.peak_export_kw / self.own_export_peaks_kw if self.own_export_peaks_kw else None


def in_order(sums: FleetSums) -> list[Key]:
    """Return whose sums there are: without systems, by strategy, each home's best."""
    order = {"baseline": 0, "strategy": 1, "lowest": 2}
    return sorted(sums.totals, key=lambda key: (order[key.kind], key.name))


def sum_of(sums: FleetSums, key: Key) -> FleetSum:
    """Return the energy and the coincident peaks of one sum."""
    total, starts, step_h = sums.totals[key], sums.starts(), sums.minutes / 60.0
    kwh = {name: float(total.values[place].sum()) * UNIT_KW * step_h for place, name in enumerate(_KWH)}
    imported, exported = total.kw("import_kw"), total.kw("export_kw")
    return FleetSum(
        total=total,
        kind=key.kind,
        name=key.name,
        homes=total.homes,
        load_kwh=kwh["load"],
        pv_available_kwh=kwh["pv_available"],
        import_kwh=kwh["import"],
        export_kwh=kwh["export"],
        peak_import_kw=float(imported.max()),
        peak_import_at=f"{starts[int(imported.argmax())]}+00:00",
        peak_export_kw=float(exported.max()),
        peak_export_at=f"{starts[int(exported.argmax())]}+00:00",
        own_import_peaks_kw=total.import_peaks * UNIT_KW,
        own_export_peaks_kw=total.export_peaks * UNIT_KW,
    )


def steps_table(sums: FleetSums) -> "pa.Table":
    """Return the sum of every step: one row for each case and step of the UTC year.

    Parameters
    ----------
    sums : FleetSums
        Of a fleet.

    Returns
    -------
    pyarrow.Table
        Columns ``time`` (start of the step, UTC), ``kind`` and ``strategy`` as in ``FleetSum``, then the powers [kW].
    """
    import pyarrow as pa

    keys = in_order(sums)
    starts = sums.starts()
    found: dict[str, Any] = {
        "kind": pa.array(np.repeat([key.kind for key in keys], starts.size)),
        "strategy": pa.array(np.repeat([key.name for key in keys], starts.size)),
        "time": pa.array(np.tile(starts, len(keys)), pa.timestamp("s", "UTC")),
    }
    for column in COLUMNS:
        found[column] = pa.array(np.concatenate([sums.totals[key].kw(column) for key in keys]))
    return pa.table(found)
