"""``savings``: what each strategy saves, against what the parts cost."""

from solarsim.cli.terminal import AsJson, Changes, OnlyStrategy, ScenarioPath, present, read, working


def savings(
    path: ScenarioPath = None, changes: Changes = None, strategy: OnlyStrategy = None, json: AsJson = False
) -> None:
    """Compare the parts list with the savings of each strategy."""
    scenario = read(path, changes)
    with working("running every strategy"):
        from solarsim.studies.savings import savings as savings_of

        result = savings_of(scenario, strategy)
    present(result, json)
