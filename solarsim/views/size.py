"""What to purchase, for a person: the next step first, then the best design and the way to it; tables and sentences."""

from collections.abc import Callable, Sequence
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
_BACKUP_WORDS = (
    "Backup: median backup duration with the best strategy of outages that start in the worst month, at most 72 h; the"
    " NPV does not include it."
)
_STEP_WORDS = (
    "Each step is compared with the home as written, each with its own best strategy over the whole life. Cost: change"
    " in upfront cost. Savings: change in first-year savings. Payback: of the step alone; none (-) where it adds no"
    " cost or has no price. NPV: change in net present value."
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
    parts: list[Any] = [heading(result.home), _written_words(result), "\nThe next step:"]
    parts += [_step_table(result), *_best_words(result)] if result.next_steps else []
    parts += [f"Skipped: {each.reason}." for each in result.impossible_steps]
    backed = result.written.backup_duration_h is not None
    parts += [f"{_STEP_WORDS} {_BACKUP_WORDS}" if backed else _STEP_WORDS] if result.next_steps else []
    parts += _loan_words(result)
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
    money, backed = result.currency, result.written.backup_duration_h is not None
    columns = (f"Cost\n{money}", f"Savings\n{money}/yr", "Payback\nyears", f"NPV\n{money}")
    table = plain_table("Change", *columns, *(["Backup\nh"] if backed else []))
    for step in result.next_steps:
        if step.price_missing is None:
            cells = (_change(step.added_cost), _change(step.annual_gain), _payback(step), _change(step.npv_gain))
        else:
            cells = ("no price", _change(step.annual_gain), "-", "-")
        table.add_row(step.name, *cells, *([_backup(step)] if backed else []))
    if backed:
        table.add_section()
        table.add_row("as written", "", "", "", "", _backup(result.written))
    return table


def _change(value: float | None) -> str:
    """Write a change of an amount with its sign."""
    return "-" if value is None else f"{round(value) + 0:+,}"


def _payback(step: NextStep) -> str:
    """Return the payback of a step; a dash where it costs nothing more."""
    if step.added_cost <= 0.0:
        return "-"
    return "never" if step.payback_years is None else f"{step.payback_years:.1f}"


def _best_words(result: Size) -> list[str]:
    """Return which step adds most, and where another strategy is best after it."""
    told = []
    for words, more in (("Best addition", True), ("Best reduction", False)):
        priced = (step for step in result.next_steps if step.price_missing is None)
        first = next((step for step in priced if step.more is more), None)
        if first is not None and (first.npv_gain or 0.0) > 0.0:
            told.append(
                f"{words}: {first.name}, NPV {whole(first.npv_gain or 0.0)} {result.currency} higher, with"
                f" {first.strategy!r}."
            )
    if not told:
        any_price = any(step.price_missing is None for step in result.next_steps)
        told.append("No single step raises the NPV." if any_price else "No step has a price, so none can be ranked.")
    told += _price_words(result)
    if any(step.strategy != result.written.strategy for step in result.next_steps):
        others = dict.fromkeys(step.strategy for step in result.next_steps if step.strategy != result.written.strategy)
        told.append(f"After some steps another strategy is best: {', '.join(map(repr, others))}.")
    return told


def _price_words(result: Size) -> list[str]:
    """Return what steps without a price may cost, and why they have none."""
    without = [step for step in result.next_steps if step.price_missing is not None]
    if not without:
        return []
    most = [
        f"{step.name} {whole(step.break_even_cost)} {result.currency}"
        for step in without
        if step.break_even_cost is not None
    ]
    reasons = "; ".join(dict.fromkeys(step.price_missing or "" for step in without))
    told = [f"No price: {reasons}."]
    return told + ([f"Break-even cost (the NPV stays the same): {'; '.join(most)}."] if most else [])


def _loan_words(result: Size) -> list[str]:
    """Return how a loan counts, where there is one."""
    costs = result.home.scenario.costs
    if costs is None or costs.loan is None:
        return []
    return ["Paybacks here are as if everything were paid in full at the purchase; the NPV includes the loan."]


def _stage_parts(result: Size, stages: tuple[Stage, ...]) -> list[Any]:
    """Return the stages of growth, or that no step raises the NPV."""
    if not stages:
        return ["No step with a price raises the NPV, size.stage_cost included, so there are no stages."]
    currency = result.currency
    table = plain_table(
        "Stage", "From\nyear", f"Cost\n{currency}", f"Savings\n{currency}/yr", "Payback\nyears", f"NPV\n{currency}",
        f"Cost so far\n{currency}",
    )  # fmt: skip
    for each in stages:
        payback = "never" if each.payback_years is None else f"{each.payback_years:.1f}"
        cells = (whole(each.cost), amount(each.annual_gain), payback, amount(each.npv), whole(each.total_cost))
        table.add_row(each.name, f"{each.year}", *cells)
    return [
        table,
        _end_of_growth(result, stages),
        "Each stage is the step with the shortest payback, of those that raise the NPV, after the stages above it. Its"
        " cost includes size.stage_cost; savings: what it adds in its first year."
        " Added modules and cells are new; older ones keep their age. NPV: of the home with all stages so far.",
    ]


def _end_of_growth(result: Size, stages: tuple[Stage, ...]) -> str:
    """Return why no further stage follows."""
    limits = result.home.scenario.size
    every = 0 if limits is None else limits.stage_years
    if len(stages) == MOST_STAGES:
        return f"Only {MOST_STAGES} stages are computed; further steps may pay back."
    if every and stages[-1].year + every > result.years:
        return "The next stage would come after the years of the study."
    return "No further step raises the NPV."


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
    frontiers = (
        _distinct(result.frontier, lambda each: amount(each.npv)),
        _distinct(result.bill_frontier, lambda each: amount(each.energy_cost)),
        _distinct(result.backup_frontier, _backup),
    )
    written, best = result.written, result.best or result.written
    rows = {_values(each, result): each for each in (written, best)}  # of equal designs one
    for each in (each for line in frontiers for each in some_of(line, _MOST_ROWS)):
        rows.setdefault(_values(each, result), each)
    for values, each in sorted(rows.items(), key=lambda row: row[1].upfront_cost):
        payback = "never" if each.payback_years is None else f"{each.payback_years:.1f}"
        cells = (amount(each.energy_cost), amount(each.annual_savings), payback, amount(each.npv), _backup(each))
        mark = (" *" if each is result.best else "") + (" (as written)" if values == _values(written, result) else "")
        table.add_row(values + mark, whole(each.upfront_cost), *cells)
    return table


def _distinct(line: Sequence[Design], figure: Callable[[Design], str]) -> list[Design]:
    """Return the designs of a frontier whose figure a reader can tell from that of the cheaper one."""
    kept: dict[str, Design] = {}
    for each in line:
        kept.setdefault(figure(each), each)
    return list(kept.values())


def _backup(design: Design | NextStep) -> str:
    """Return the backup duration in the worst month [h]."""
    return "-" if design.backup_duration_h is None else f"{design.backup_duration_h:.1f}"


def _below_designs(result: Size) -> list[str]:
    """Return the order of the values, what was skipped, and how sure the figures are."""
    told = [
        f"Design: value of {', '.join(result.axes)}. * Highest NPV. The table shows, cheapest first, the home as"
        " written and designs that have a higher NPV, a lower energy cost or a longer backup than every cheaper one."
        f" Energy cost and savings: of the first year. {_BACKUP_WORDS}"
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
    strategies = dict.fromkeys(repr(each.strategy) for each in chances)
    return (
        f"In {chances[0].highest_share:.0%} of {chances[0].lifetimes:,} lifetimes drawn from [life.uncertainty], the"
        f" same for all rows, the first row has the highest NPV. Strategy: {', '.join(strategies)}. P90: reached or"
        " exceeded in 90% of lifetimes."
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
