"""``check``: everything that a scenario names, read and checked before it is used."""

import typer

from solarsim.cli.terminal import AsJson, Changes, ScenarioPath, present, read_part, tell, working


def check(path: ScenarioPath = None, changes: Changes = None, json: AsJson = False) -> None:
    """Check a scenario and its files. Show what is assumed, and what each command still needs."""
    from solarsim.errors import InputError
    from solarsim.scenario.model import parts_of_scenario

    first, scenario = None, None
    for kind in parts_of_scenario():
        try:
            scenario = read_part(path, changes, kind)
        except InputError as error:
            first = first or error
        else:
            break
    if scenario is None:
        assert first is not None  # noqa: S101  # for the type checker: each part was tried
        raise first
    with working("reading the files"):
        from solarsim.studies.check.check import check as check_of

        result = check_of(scenario, () if first is None else first.problems)
    for problem in result.problems:
        tell(problem)
    present(result, json)
    if result.problems:
        raise typer.Exit(2)
