"""The page and the diagram of the design checks."""

import pytest
from matplotlib.patches import Rectangle

from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.wiring.wiring import Wiring, wiring
from solarsim.views import wiring as view


@pytest.fixture(scope="module")
def older_roof() -> Wiring:
    """Return the checks of the example that fails one on purpose."""
    return wiring(read_scenario(packaged_folder("scenarios") / "older_roof.toml"))


def test_failure_is_told_by_word_shape_and_color(older_roof: Wiring) -> None:
    drawn = view.figure(older_roof)
    texts = [text.get_text() for text in drawn.axes[0].texts]
    assert "1 FAIL" in texts
    assert "!" in texts
    thick = [patch for patch in drawn.axes[0].patches if isinstance(patch, Rectangle) and patch.get_linewidth() > 2.0]
    assert len(thick) == 1
    assert "Main panel" in texts
    assert "older roof" in texts


def test_csv_has_a_row_for_each_check(older_roof: Wiring) -> None:
    lines = view.csv(older_roof).splitlines()
    assert len(lines) == len(older_roof.checks) + 1
    assert lines[0].startswith("part,name,result,source,value,limit,unit")
