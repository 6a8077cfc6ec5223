"""The page of sources holds what the code cites, and nothing else."""

import re
from pathlib import Path

import pytest

import solarsim

PACKAGE = Path(solarsim.__file__).parent
PAGE = (PACKAGE / "guide" / "sources.md").read_text()
ROWS = [
    tuple(cell.strip() for cell in line.strip("| \n").split(" | "))
    for line in PAGE.splitlines()
    if line.endswith("` |")
]
#: The first author of what a docstring or a comment cites.
AUTHOR = re.compile(r"\b([A-Z][a-z]+)(?:,? [A-Z][\w-]+)*(?: et al\.|(?:,? [A-Z][\w-]+)* & [A-Z][\w-]+,? )")
#: What says that there is no publication.
PRACTICE = re.compile(r"no source|[Ff]rom memory|[Cc]ommon practice")


def texts(folder: str) -> str:
    return "\n".join(path.read_text() for path in (PACKAGE / folder).rglob("*.py"))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_every_source_of_the_page_is_in_its_folder(row: tuple[str, str, str]) -> None:
    _, source, folder = row
    text = texts(folder.strip("`"))
    names = AUTHOR.findall(source + " ") or re.findall(
        r"NAESB|NIST|ASTM|IEEE 1366|NEC|VDEW|California|DISC|Dobos", source
    )
    assert [name for name in names if name not in text] == []
    assert names or PRACTICE.search(text), source


@pytest.mark.parametrize("folder", sorted(each.name for each in PACKAGE.iterdir() if each.is_dir()))
def test_everything_that_a_folder_cites_is_on_the_page(folder: str) -> None:
    text = texts(folder)
    assert {name for name in AUTHOR.findall(text) if name not in PAGE} == set()
    if PRACTICE.search(text):
        assert any(where == f"`{folder}/`" and PRACTICE.search(source) for _, source, where in ROWS)
