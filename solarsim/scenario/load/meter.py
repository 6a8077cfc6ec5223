"""How the file of a meter is to be read: one key for each thing that the file itself may leave open."""

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.fields import Frozen, no_repeats

Column = Annotated[str, Field(min_length=1, max_length=200)]
FileName = Annotated[str, Field(min_length=1)]


class IntervalCsv(Frozen):
    """What settles an ambiguity of a CSV of intervals; a key that is left out is found in the file or asked for.

    Attributes
    ----------
    delimiter : str, optional
        What stands between columns: a comma, semicolon, tab or ``|``.
    decimal : str, optional
        What stands before the decimals: ``.`` or ``,``.
    time_columns : tuple of str, optional
        One column of date and time; or two: date and time of day, or start and end.
    date_order : str, optional
        ``ymd``, ``dmy`` or ``mdy``.
    clock : str, optional
        ``wall`` (with daylight saving, an offset beside it is then left out of account) or ``utc``.
    labels : str, optional
        Whether a row's one time is the ``start`` or the ``end`` of its interval. With ``kind =
        "register"`` and columns of start and end: at which of them the register was read.
    unit : str, optional
        ``kwh`` or ``wh`` for each interval, ``kw`` or ``w`` for its mean power.
    kind : str, optional
        ``interval``, or ``register`` for a counter that only rises.
    """

    delimiter: Literal[",", ";", "\t", "|"] | None = None
    decimal: Literal[".", ","] | None = None
    time_columns: (
        Annotated[tuple[Column, ...], Field(min_length=1, max_length=2), AfterValidator(no_repeats)] | None
    ) = None
    date_order: Literal["ymd", "dmy", "mdy"] | None = None
    clock: Literal["wall", "utc"] | None = None
    labels: Literal["start", "end"] | None = None
    unit: Literal["kwh", "wh", "kw", "w"] | None = None
    kind: Literal["interval", "register"] | None = None

    def read_from(self, column: str) -> "MeterCsv":
        """Read one column of it, as a meter whose import it is."""
        keys = {key: getattr(self, key) for key in IntervalCsv.model_fields}
        return MeterCsv(import_column=column, **keys)


class MeterCsv(IntervalCsv):
    """A CSV of the utility's meter.

    Attributes
    ----------
    import_column, export_column : str, optional
        Energy from the grid to the home, and from the home to the grid.
    """

    import_column: Column | None = None
    export_column: Column | None = None


class ProductionLog(IntervalCsv):
    """What a home's solar made while its meter was read: a CSV of AC energy or power.

    Attributes
    ----------
    file : str
        The inverter's or the production meter's log.
    column : str
        Which of its columns holds the AC production.
    """

    file: FileName
    column: Column

    def as_meter(self) -> MeterCsv:
        """Read it as a meter whose import is the production."""
        return self.read_from(self.column)


class MeterFile(MeterCsv):
    """A year or more of the utility's interval data.

    Attributes
    ----------
    file : str
        As the utility's website gives it.
    format : str
        ``green_button`` (NAESB ESPI, XML) or ``csv``; the other keys are for ``csv``.
    until : datetime.date, optional
        The last day that counts, where the latest year is not the one that is wanted.
    production : ProductionLog, optional
        Of a home that already had solar: its load is import - export + production.
    """

    file: FileName
    format: Literal["green_button", "csv"]
    until: date | None = None
    production: ProductionLog | None = None

    @model_validator(mode="after")
    def _keys_of_csv(self) -> Self:
        if self.format != "csv":
            for key in MeterCsv.model_fields:
                if getattr(self, key) is not None:
                    raise ValueError(f"{key} settles what a csv leaves open; a green_button file says it itself")
        return self
