"""The rows of the result: a home's comparison in; one row for each strategy, with all annual figures, out."""

from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from solarsim.results import Fact
from solarsim.run import Run
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.life.life import Life

if TYPE_CHECKING:
    import pyarrow as pa

#: Keys of ``Run`` that are no figure of a year, or are not asked for here.
_NO_FIGURES = ("name", "monthly_bill", "battery_savings_share", "misfits")
_WHOLE = ("generator_starts",)

#: The columns that say whose row it is.
HEAD: dict[str, Fact] = {
    "id": Fact("the home, as in the table of homes", "text"),
    "strategy": Fact("name of the strategy; null where the home could not be run", "text"),
    "error": Fact("why the home could not be run; null where it could", "text"),
    "best": Fact("whether the strategy has the lowest cost, or less than 1 more", "true or false"),
    "currency": Fact("ISO 4217 code of all money in the row", "text"),
}
#: Figures of the home, the same in each of its rows.
OF_HOME: dict[str, Fact] = {
    "baseline_annual_bill": Fact("bill of the home without any system", "currency"),
    "baseline_energy_cost": Fact("energy cost of the home without any system", "currency"),
    "solar_only_annual_bill": Fact("bill with the same arrays and no battery; null where there is none", "currency"),
    "solar_only_energy_cost": Fact("energy cost of the same; null where there is none", "currency"),
    "input_clipped_kwh": Fact("what the arrays could deliver above the limits of the DC inputs", "kWh DC"),
}
OF_YEAR: dict[str, Fact] = {key: what for key, what in Run.facts().items() if key not in _NO_FIGURES}
OF_LIFE: dict[str, Fact] = {
    "upfront_cost": Fact("parts and installation, before incentives", "currency"),
    "npv": Fact("net present value over the life; null where not comparable", "currency"),
    "simple_payback_years": Fact("simple payback; null where never, or not comparable", "years"),
}


def columns(with_life: bool) -> dict[str, Fact]:
    """Return meaning and unit of the columns of the result, without those of the table of homes."""
    return {**HEAD, **OF_HOME, **OF_YEAR, **(OF_LIFE if with_life else {})}


def schema(with_life: bool) -> "pa.Schema":
    """Return the types of these columns."""
    import pyarrow as pa

    kinds = {"text": pa.string(), "true or false": pa.bool_()}
    whole = {"generator_starts": pa.int64()}
    named = columns(with_life)
    return pa.schema([(key, whole.get(key, kinds.get(what.unit, pa.float64()))) for key, what in named.items()])


def rows_of(home: str, result: Comparison, life: Life | None) -> Iterator[dict[str, Any]]:
    """Yield the row of each strategy of a home."""
    lowest = result.lowest
    head = {"id": home, "error": None, "currency": result.currency, "input_clipped_kwh": result.input_clipped_kwh}
    for name, run in (("baseline", result.baseline), ("solar_only", result.solar_only)):
        for key in ("annual_bill", "energy_cost"):
            head[f"{name}_{key}"] = None if run is None else getattr(run, key)
    for place, run in enumerate(result.runs):
        figures = {key: getattr(run, key) for key in OF_YEAR}
        row = {**head, "strategy": run.name, "best": run in lowest, **figures}
        if life is not None:
            lived = life.strategies[place]
            row |= {"upfront_cost": life.upfront_cost, "npv": lived.npv}
            row["simple_payback_years"] = lived.simple_payback_years
        yield row


def row_of_failure(home: str | None, reason: str) -> dict[str, Any]:
    """Return the row of a home that could not be run."""
    return {"id": home, "error": reason}


def digest_of(rows: Iterable[Mapping[str, Any]]) -> int:
    """Return a number for some rows: of more rows it is the sum, in any order, without what exceeds 256 bits."""
    texts = (repr(sorted((key, value) for key, value in row.items() if value is not None)) for row in rows)
    return sum(int.from_bytes(sha256(text.encode()).digest(), "big") for text in texts) % 2**256
