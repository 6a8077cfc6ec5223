"""The table ``plans``: which other rate plans the home could be on."""

from typing import Annotated

from pydantic import AfterValidator, Field

from solarsim.fields import FileName, Frozen, field, no_repeats


class OtherPlans(Frozen):
    """Rate plans to compare with the home's own."""

    files: Annotated[tuple[FileName, ...], Field(min_length=1), AfterValidator(no_repeats)] = field(
        "rate plan files (TOML with the keys of rate_plan)", "text"
    )
