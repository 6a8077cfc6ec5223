"""What the README shows is what happens."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from solarsim.cli.app import app

README = Path(__file__).parent.parent.parent / "README.md"


def block(mark: str) -> str:
    found = re.search(rf"<!-- {mark} -->\n```\w*\n(.*?)```\n<!-- end -->", README.read_text(), re.DOTALL)
    assert found, mark
    return found[1]


def lines_of(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip("\n").splitlines()]


@pytest.mark.slow
@pytest.mark.snapshot
def test_output_is_what_the_demo_command_prints() -> None:
    words = block("demo").strip().split("solarsim ")[-1].split()
    done = subprocess.run([sys.executable, "-m", "solarsim", *words], capture_output=True, text=True, check=True)
    # The books' rounding noise differs between processors; all else is printed to whole numbers.
    shown, printed = (
        re.sub(r"closes to \S+", "closes to x", "\n".join(lines_of(text))) for text in (block("output"), done.stdout)
    )
    assert shown == printed


@pytest.mark.slow
def test_every_shell_line_runs(tmp_path: Path) -> None:
    for text in re.findall(r"```sh\n(solarsim .*?)```", README.read_text(), re.DOTALL):
        command = re.sub(r"^solarsim", f"{sys.executable} -m solarsim", text, flags=re.MULTILINE)
        done = subprocess.run(["/bin/sh", "-ec", command], capture_output=True, text=True, check=False, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
    assert {path.name for path in tmp_path.iterdir()} == {
        "january.png",
        "my_home.toml",
        "723170TYA.CSV",
        "solarsim.schema.json",
    }


def test_job_stands_in_one_paragraph_on_top_and_the_caution_is_there() -> None:
    title, job, *_ = README.read_text().split("\n\n")
    assert title == "# solarsim"
    assert len(job.split()) > 60
    assert "voltages that can kill" in README.read_text()


def test_it_is_short_and_lists_every_command() -> None:
    text = README.read_text()
    listed = set(re.findall(r"^\| `solarsim (\w+)", text, re.MULTILINE))
    assert listed == {each.callback.__name__ for each in app.registered_commands if each.callback}
    assert len(text.splitlines()) - len(listed) - len(lines_of(block("output"))) <= 90  # its own prose
