"""``savings``: the parts list against what each strategy saves."""

from solarsim.cli.terminal import CAUTION, AsJson, Changes, ScenarioPath, heading, read, show
from solarsim.cli.year import OnlyStrategy, compared


def savings(
    path: ScenarioPath = None, changes: Changes = None, strategy: OnlyStrategy = None, json: AsJson = False
) -> None:
    """Set the parts list against what each strategy saves."""
    from solarsim.studies.savings import costs_of
    from solarsim.studies.savings import savings as savings_of

    scenario = read(path, changes)
    costs_of(scenario)
    if strategy is not None:
        scenario.strategy(strategy)
    comparison = compared(scenario, best=False)
    found = savings_of(comparison, strategy)
    if json:
        from solarsim.views.records import savings_json

        print(savings_json(comparison, found))
        return
    from solarsim.views.tables import parts_table, payback_table

    show(
        heading(comparison.home),
        parts_table(found),
        payback_table(found),
        "Simple payback: system cost / first year's savings, without interest, incentives, price growth,"
        " aging or O&M (solarsim life counts them).",
        CAUTION,
    )
