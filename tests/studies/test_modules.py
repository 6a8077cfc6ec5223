"""Looking up modules."""

import pytest

from solarsim.studies.modules import modules


def test_a_search_is_a_table_of_its_rows() -> None:
    found = modules("cs6k 300ms")
    assert found.table().loc["Canadian Solar Inc. CS6K-300MS", "v_mp_v"] == pytest.approx(32.6, abs=0.05)
    assert next(row.name for row in modules("SunPowr SPR-X22-360").closest) == "SunPower SPR-X22-360"
