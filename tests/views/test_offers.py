"""The page and the figure of ``offers``."""

import pytest

from solarsim.cli.terminal import show
from solarsim.home import Home
from solarsim.studies.offers import offers
from solarsim.views.offers import figure, page
from tests.studies.lives import other_life


def test_page_and_figure_name_every_offer(demo_home: Home, capsys: pytest.CaptureFixture[str]) -> None:
    home, _ = other_life(demo_home)
    found = offers([home, home.changed({"battery": None})], ["with", "without"])
    show(*page(found))
    shown = capsys.readouterr().out
    assert "Lowest upfront cost: without." in shown
    assert "without differs from the first offer: battery: not set (first: set)" in shown
    assert max(map(len, shown.splitlines())) <= 100
    panel = figure(found).axes[0]
    assert [str(line.get_label()).split(":")[0] for line in panel.get_lines()[1:]] == ["with", "without"]
    assert "USD" in panel.get_ylabel()
