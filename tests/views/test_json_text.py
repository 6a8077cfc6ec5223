"""Text for other programs."""

import pytest

from solarsim.views.json_text import to_json


def test_json_never_holds_nan_or_infinity() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_json({"value": float("nan")})
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_json([float("inf")])
