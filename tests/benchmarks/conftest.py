"""Benchmarks run where times are judged; that their bodies run is tested elsewhere."""

from pathlib import Path

import pytest


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip them where no times are judged."""
    if config.getoption("benchmark_disable") and not config.getoption("benchmark_enable"):
        for item in items:
            if Path(__file__).parent in item.path.parents:
                item.add_marker(pytest.mark.skip(reason="judged with --benchmark-enable"))
