"""Columns of numbers from text."""

from pathlib import Path

import pytest

from solarsim.errors import LoadError
from solarsim.scenario.csv_columns import numbers_from_csv

HERE = Path("here.csv")


def read(text: str) -> list[float]:
    return [float(value) for value in numbers_from_csv(text, HERE, ("load_kw",), LoadError)["load_kw"]]


def test_named_column_is_read_and_others_are_left_alone() -> None:
    assert read("time,load_kw\na,1\nb,2.5\n\n") == [1.0, 2.5]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "is empty"),
        ("load_kw,x\n1,2,3\n", "line 2 has 3 of 2 columns"),
        ('load_kw\n"1\n', "cannot be read as CSV"),
        ("load_k\n1\n", "has no column 'load_kw'; did you mean 'load_k'"),
        ("time;load_kw\n1;2\n", "columns are separated by ';', must be separated by ','"),
        ("load_kw,load_kw\n1,2\n", "has two columns 'load_kw'"),
        ("load_kw,x\n1\n", "line 2 has 1 of 2 columns"),
        ("load_kw\n1\nmuch\n", "line 3: load_kw is 'much', must be a number"),
        ("load_kw\nnan\n", "line 2: load_kw is nan, must be a finite number"),
    ],
)
def test_bad_text_is_refused_with_its_line(text: str, told: str) -> None:
    with pytest.raises(LoadError, match=told):
        read(text)
