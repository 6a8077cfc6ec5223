"""What a design check is: values and where they come from in; a result that a missing value never makes ``ok``, out."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from solarsim.results import Result, computed, fact

Outcome = Literal["ok", "fails", "not checked", "not applicable"]
#: In the list of what is missing: an ampacity or size that only the tables of the other standard hold.
NO_TABLE = "no table for this standard"
_ROUNDING = 1e-9


@dataclass(frozen=True, eq=False, repr=False)
class Check(Result):
    """One design check."""

    part: str = fact("what is checked: an array, an input, the battery, a panel", "text")
    name: str = fact("of the check", "text")
    result: Outcome = fact("ok, fails, not checked or not applicable", "text")
    source: str = fact("article of the standard, or common practice", "text")
    value: float | None = fact("what the design has; null where it is not known", "as unit says", default=None)
    limit: float | None = fact("what is allowed; null where it is not known", "as unit says", default=None)
    unit: str = fact("of value and limit", "text", default="")
    at_least: bool = fact("whether the value must reach the limit, not stay below it", "true or false", default=False)
    missing: tuple[str, ...] = fact("keys, or tables, without which the check cannot be made", "list", default=())
    advice: str = fact("what would do, or what to know", "text", default="")

    @computed("how far the value is inside the limit, as a share of it; negative where it fails", "1")
    def margin(self) -> float | None:
        if self.value is None or self.limit is None or self.limit == 0.0:
            return None
        inside = self.value - self.limit if self.at_least else self.limit - self.value
        return inside / self.limit


@dataclass(frozen=True)
class Rule:
    """A check before it is made: of which part, its name, unit and source."""

    part: str
    name: str
    unit: str
    source: str

    def judged(
        self,
        needs: Mapping[str, object],
        value: float,
        limit: float,
        advice: str = "",
        at_least: bool = False,
        only_fails: str = "",
    ) -> Check:
        """Return the check.

        ``needs`` are the values that it reads, by key; where one is missing the check is not made, and what ``value``
        and ``limit`` hold in its place is not used. ``only_fails`` names the key for which a weaker value was taken:
        such a check can fail, but never passes.
        """
        missing = tuple(key for key, each in needs.items() if each is None)
        if missing:
            return self.open(*missing)
        inside = value >= limit - _ROUNDING if at_least else value <= limit + _ROUNDING
        made = Check(self.part, self.name, "ok", self.source, value, limit, self.unit, at_least, advice=advice)
        if not inside:
            return replace(made, result="fails")
        return replace(made, result="not checked", missing=(only_fails,)) if only_fails else made

    def open(self, *missing: str, advice: str = "") -> Check:
        """Return the check not made, for want of these keys."""
        return Check(self.part, self.name, "not checked", self.source, unit=self.unit, missing=missing, advice=advice)

    def told(self, passes: bool, advice: str) -> Check:
        """Return a check of words rather than numbers."""
        return Check(self.part, self.name, "ok" if passes else "fails", self.source, unit=self.unit, advice=advice)

    def not_applicable(self, why: str) -> Check:
        """Return the check of something that this home does not have."""
        return Check(self.part, self.name, "not applicable", self.source, unit=self.unit, advice=why)
