"""How the file of a meter is to be read: one key for each thing that the file itself may leave open."""

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.fields import FileName, Frozen, field, no_repeats

Column = Annotated[str, Field(min_length=1, max_length=200)]


class IntervalCsv(Frozen):
    """What settles an ambiguity of a CSV of intervals; a key that is left out is found in the file or asked for."""

    delimiter: Literal[",", ";", "\t", "|"] | None = field(
        "what separates columns: a comma, semicolon, tab or |", "text", default=None
    )
    decimal: Literal[".", ","] | None = field("the decimal separator: . or ,", "text", default=None)
    time_columns: (
        Annotated[tuple[Column, ...], Field(min_length=1, max_length=2), AfterValidator(no_repeats)] | None
    ) = field("one column of date and time; or two: date and time of day, or start and end", "text", default=None)
    date_order: Literal["ymd", "dmy", "mdy"] | None = field("ymd, dmy or mdy", "text", default=None)
    clock: Literal["wall", "utc"] | None = field("wall (with daylight saving) or utc", "text", default=None)
    labels: Literal["start", "end"] | None = field(
        "whether a row's time is the start or the end of its interval", "text", default=None
    )
    unit: Literal["kwh", "wh", "kw", "w"] | None = field(
        "kwh or wh for each interval, kw or w for its mean power", "text", default=None
    )
    kind: Literal["interval", "register"] | None = field(
        "interval, or register for a counter that only rises", "text", default=None
    )

    def read_from(self, column: str) -> "MeterCsv":
        """Read one column of it, as a meter whose import it is."""
        keys = {key: getattr(self, key) for key in IntervalCsv.model_fields}
        return MeterCsv(import_column=column, **keys)


class MeterCsv(IntervalCsv):
    """A CSV of the utility's meter."""

    import_column: Column | None = field("column of energy from the grid", "text", default=None)
    export_column: Column | None = field("column of energy to the grid", "text", default=None)


class ProductionLog(IntervalCsv):
    """What a home's solar delivered while its meter was read: a CSV of AC energy or power."""

    file: FileName = field("log of the inverter or the production meter", "text")
    column: Column = field("column that holds the AC production", "text")

    def as_meter(self) -> MeterCsv:
        """Read it as a meter whose import is the production."""
        return self.read_from(self.column)


class MeterFile(MeterCsv):
    """A year or more of the utility's interval data."""

    file: FileName = field("as the utility's website provides it", "text")
    format: Literal["green_button", "csv"] = field(
        "green_button (NAESB ESPI, XML) or csv; the other keys are for csv", "text"
    )
    until: date | None = field(
        "last day that counts, where the latest year is not the one that is wanted", "date", default=None
    )
    production: ProductionLog | None = field(
        "log of a home that already had solar: its load is import - export + production", "table", default=None
    )

    @model_validator(mode="after")
    def _keys_of_csv(self) -> Self:
        if self.format != "csv":
            for key in MeterCsv.model_fields:
                if getattr(self, key) is not None:
                    raise ValueError(f"{key} settles what a csv leaves open; a green_button file states it")
        return self
