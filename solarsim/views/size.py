"""What to purchase, for a person: the next step first, then the best design and the way to it; tables and sentences."""

from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.studies.size.chances import Chance
from solarsim.studies.size.design import Design, some_of
from solarsim.studies.size.next_step import NextStep
from solarsim.studies.size.size import Size
from solarsim.studies.size.stages import MOST_STAGES, Stage
from solarsim.views.money import NOT_INCLUDED, amount
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MOST_ROWS = 12
_STEP_WORDS = (
    "Each step is compared with the home as written, each with its own best strategy over the whole life. Cost: change"
    " in upfront cost. Gain: change in first-year savings. Payback: of the step alone; none (-) where it adds no cost."
    " NPV gain: change in net present value."
)


def page(result: Size) -> list[Any]:
    """Return what a person sees: the next step from the home as written, then the designs along the axes.

    Parameters
    ----------
    result : Size
        Steps and designs.

    Returns
    -------
    list
        Text and tables.
    """
    parts: list[Any] = [heading(result.home), _written_words(result), "\nThe next step:", _step_table(result)]
    parts += _step_words(result)
    if result.stages is not None:
        parts += ["\nIn stages:", *_stage_parts(result, result.stages)]
    if result.axes:
        parts += ["\nDesigns:", *_design_words(result), _design_table(result), *_below_designs(result)]
    if result.chances:
        title = "each design has" if result.axes else "the home, as written or after a step, has"
        parts += [f"\nHow often {title} the highest NPV:", _chance_table(result, result.chances)]
        parts += [_chance_words(result.chances)]
    return [*parts, NOT_INCLUDED, CAUTION]


def _written_words(result: Size) -> str:
    """Return the home as written, in a sentence."""
    written = result.written
    size = f"{written.kw_dc:.2f} kWdc, {written.kw_ac:g} kWac, {written.usable_kwh:.1f} kWh usable"
    if written.npv is None:
        return f"As written: {size}, {whole(written.upfront_cost)} {result.currency}; not comparable in money."
    return (
        f"As written: {size}, {whole(written.upfront_cost)} {result.currency}, NPV {whole(written.npv)} over"
        f" {result.years} years with {written.strategy!r}."
    )


def _step_table(result: Size) -> Table:
    """Return every step, the highest NPV first."""
    table = plain_table(
        "Step",
        f"Cost\n{result.currency}",
        f"Gain\n{result.currency}/yr",
        "Payback\nyears",
        f"NPV gain\n{result.currency}",
    )
    for step in result.next_steps:
        table.add_row(
            step.name, whole(step.added_cost), amount(step.annual_gain), _payback(step), amount(step.npv_gain)
        )
    return table


def _payback(step: NextStep) -> str:
    """Return the payback of a step; a dash where it costs nothing more."""
    if step.added_cost <= 0.0:
        return "-"
    return "never" if step.payback_years is None else f"{step.payback_years:.1f}"


def _step_words(result: Size) -> list[str]:
    """Return which step adds most, which are impossible, and how to read the table."""
    told = []
    for words, more in (("Best addition", True), ("Best reduction", False)):
        first = next((step for step in result.next_steps if step.more is more), None)
        if first is not None and (first.npv_gain or 0.0) > 0.0:
            told.append(
                f"{words}: {first.name}, NPV {whole(first.npv_gain or 0.0)} {result.currency} higher, with"
                f" {first.strategy!r}."
            )
    told = told or ["No single step adds to the NPV."]
    told += [f"Not possible: {each.reason}." for each in result.impossible_steps]
    if any(step.strategy != result.written.strategy for step in result.next_steps):
        others = dict.fromkeys(step.strategy for step in result.next_steps if step.strategy != result.written.strategy)
        told.append(f"After some steps another strategy is best: {', '.join(map(repr, others))}.")
    return [*told, _STEP_WORDS]


def _stage_parts(result: Size, stages: tuple[Stage, ...]) -> list[Any]:
    """Return the stages of growth, or that no step pays back."""
    if not stages:
        return ["No step pays back, so there are no stages."]
    currency = result.currency
    table = plain_table(
        "Stage", "From\nyear", f"Cost\n{currency}", f"Gain\n{currency}/yr", "Payback\nyears", f"NPV\n{currency}",
        f"Cost so far\n{currency}",
    )  # fmt: skip
    for each in stages:
        payback = "never" if each.payback_years is None else f"{each.payback_years:.1f}"
        cells = (whole(each.cost), amount(each.annual_gain), payback, amount(each.npv), whole(each.total_cost))
        table.add_row(each.name, f"{each.year}", *cells)
    ended = [f"Only {MOST_STAGES} stages are computed; further steps may pay back."]
    return [
        table,
        *(ended if len(stages) == MOST_STAGES else []),
        "Each stage is the step with the shortest payback after the stages above it. Its cost includes size.stage_cost."
        " Added modules and cells are new; older ones keep their age. NPV: of the home with all stages so far.",
    ]


def _design_words(result: Size) -> list[str]:
    """Return how many designs there are, and the best."""
    skipped = sum(each.designs for each in result.skipped)
    told = [f"{len(result.designs) + skipped:,} combinations, {len(result.designs):,} possible."]
    best = result.best
    if best is None:
        return [*told, "No design is comparable in money: too much demand is unserved."]
    values = ", ".join(f"{key} = {_value(value)}" for key, value in best.changes.items())
    payback = "never pays back" if best.payback_years is None else f"pays back in {best.payback_years:.1f} years"
    told.append(
        f"Highest NPV: {values}. It costs {whole(best.upfront_cost)} {result.currency}, {payback}, and its NPV is"
        f" {whole(best.npv or 0.0)} {result.currency} with {best.strategy!r}."
    )
    if result.ties:
        cheapest = min(result.ties, key=lambda each: each.upfront_cost)
        told.append(
            f"{len(result.ties):,} other {'design has' if len(result.ties) == 1 else 'designs have'} an NPV within"
            f" {whole(result.tie_npv or 0.0)} {result.currency} of it: a tie. The cheapest of them costs"
            f" {whole(cheapest.upfront_cost)} {result.currency}: {_values(cheapest, result)}."
        )
    return told


def _design_table(result: Size) -> Table:
    """Return the designs that have a higher NPV, lower energy cost or longer backup than every cheaper one."""
    table = plain_table(
        "Design",
        f"Cost\n{result.currency}",
        f"Energy\ncost\n{result.currency}/yr",
        f"Savings\n{result.currency}/yr",
        "Payback\nyears",
        f"NPV\n{result.currency}",
        "Backup\nh",
    )
    frontiers = (result.frontier, result.bill_frontier, result.backup_frontier)
    lines = [each for line in frontiers for each in some_of(line, _MOST_ROWS)]
    for each in sorted({id(each): each for each in lines}.values(), key=lambda each: each.upfront_cost):
        payback = "never" if each.payback_years is None else f"{each.payback_years:.1f}"
        backup = "-" if each.backup_duration_h is None else f"{each.backup_duration_h:.1f}"
        cells = (amount(each.energy_cost), amount(each.annual_savings), payback, amount(each.npv), backup)
        mark = " *" if each is result.best else ""
        table.add_row(_values(each, result) + mark, whole(each.upfront_cost), *cells)
    return table


def _below_designs(result: Size) -> list[str]:
    """Return the order of the values, what was skipped, and how sure the figures are."""
    told = [
        f"Design: value of {', '.join(result.axes)}. * Highest NPV. The table shows, cheapest first, designs that have"
        " a higher NPV, a lower energy cost or a longer backup than every cheaper one. Energy cost and savings: of the"
        " first year. Backup: median backup duration of outages that start in the worst month, at most 72 h; the NPV"
        " does not include it."
    ]
    told += [f"Not possible ({each.designs:,}): {each.reason}." for each in result.skipped]
    exact = sum(each.exact for each in result.designs)
    if exact < len(result.designs):
        told.append(
            f"{exact} designs are computed year by year, the others from a few years: their NPV is within 0.5%"
            " (or 0.1% of the upfront cost)."
        )
    return told


def _chance_table(result: Size, chances: tuple[Chance, ...]) -> Table:
    """Return how often each of the first designs has the highest NPV."""
    table = plain_table(
        "Design" if result.axes else "Home",
        "Highest NPV in",
        f"NPV P90\n{result.currency}",
        f"NPV P50\n{result.currency}",
    )
    for each in chances:
        table.add_row(_name_of(each, result), f"{each.highest_share:.0%}", amount(each.npv_p90), amount(each.npv_p50))
    return table


def _name_of(chance: Chance, result: Size) -> str:
    """Return the values of a design; without axes the step that makes it."""
    if result.axes:
        return ", ".join(_value(chance.changes[key]) for key in result.axes)
    steps = (step.name for step in result.next_steps if step.changes == chance.changes)
    return next(steps, "as written")


def _chance_words(chances: tuple[Chance, ...]) -> str:
    """Return the chance of the best in words."""
    return (
        f"In {chances[0].highest_share:.0%} of {chances[0].lifetimes:,} lifetimes drawn from [life.uncertainty], the"
        " same for all rows, the first row has the highest NPV. P90: reached or exceeded in 90% of"
        " lifetimes."
    )


def _values(design: Design, result: Size) -> str:
    """Return the values of a design, in the order of the axes."""
    return ", ".join(_value(design.changes[key]) for key in result.axes)


def _value(value: Any) -> str:
    """Return a value as a person writes it."""
    if value is None:
        return "none"
    return f"{value:g}" if isinstance(value, float) else str(value)


def figure(result: Size) -> "Figure":
    """Draw NPV along the axes, the frontiers of cost and NPV, bill and backup, and the gain of steps along each axis.

    Parameters
    ----------
    result : Size
        Steps and designs.

    Returns
    -------
    matplotlib.figure.Figure
        See ``size_figure.figure``.
    """
    from solarsim.views.size_figure import figure as draw

    return draw(result)
