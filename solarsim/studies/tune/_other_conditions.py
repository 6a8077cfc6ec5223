"""How a table does in years that it was not tuned on, and without knowing holidays: a strategy in, costs out."""

from dataclasses import dataclass

from solarsim.clock.timeline import DAY_KINDS
from solarsim.results import Result, computed, fact
from solarsim.run import close_year
from solarsim.scenario.strategy import Strategy
from solarsim.studies._other_years import other_years, with_strategy
from solarsim.studies.tune._problem import Asked
from solarsim.studies.tune._reference import Reference, costs_in


@dataclass(frozen=True, eq=False, repr=False)
class OutOfSampleYear(Result):
    """A year that the table was not tuned on; costs are as in ``Tuned``."""

    name: str = fact("what is other than in the year of the tuning", "text")
    cost: float = fact("under the tuned table", "currency")
    best_written_cost: float = fact("under the written strategy of the lowest mean cost in these years", "currency")

    @computed("best_written_cost less cost: what the table earns beyond it", "currency")
    def gain(self) -> float:
        return self.best_written_cost - self.cost


def out_of_sample(
    reference: Reference, asked: Asked, strategy: Strategy
) -> tuple[tuple[OutOfSampleYear, ...], Strategy]:
    """Return other years under the table and under the written strategy that does best in them; and that."""
    others = other_years(reference.home, asked.seed)
    rivals = reference.written or (reference.plain,)
    costs = [costs_in(each, (strategy, *rivals), reference) for each in others]
    number = min(range(1, len(rivals) + 1), key=lambda place: sum(each[place] for each in costs))
    years = (OutOfSampleYear(other.name, cost[0], cost[number]) for other, cost in zip(others, costs, strict=True))
    return tuple(years), rivals[number - 1]


def holidays_cost(reference: Reference, strategy: Strategy) -> float | None:
    """Return what a table costs more than one whose windows for some days know holidays."""
    timeline = reference.home.timeline
    if not (timeline.day_kind == DAY_KINDS.index("holiday")).any():
        return None
    known: dict[tuple[str, ...], tuple[str, ...]] = {("mon-fri",): ("weekday",), ("sat-sun",): ("weekend", "holiday")}
    windows = tuple(
        window if window.days is None else window.model_copy(update={"days": known.get(window.days, window.days)})
        for window in strategy.windows
    )
    if windows == strategy.windows:
        return None
    aware = strategy.model_copy(update={"windows": windows})
    ledgers = [close_year(with_strategy(reference.home, each), each.name) for each in (strategy, aware)]
    return reference.cost(ledgers[0]) - reference.cost(ledgers[1])
