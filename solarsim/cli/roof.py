"""The roof: where its energy goes, and which modules the table knows."""

from typing import Annotated

import typer

from solarsim.cli.terminal import CAUTION, AsJson, ScenarioPath, heading, read, show, tell_notes, working


def roof(path: ScenarioPath = None, json: AsJson = False) -> None:
    """Show where the roof's energy goes, from light to inverter."""
    scenario = read(path)
    with working("following the light"):
        from solarsim.home import home_from
        from solarsim.studies.roof import roof_of

        found = roof_of(home_from(scenario))
    tell_notes(found.home.notes())
    from solarsim.views.roof_tables import loss_table, roof_by_month_table, roof_json, roof_notes

    if json:
        print(roof_json(found))
        return
    show(heading(found.home), loss_table(found), roof_by_month_table(found), *roof_notes(found), CAUTION)


def modules(
    words: Annotated[
        list[str], typer.Argument(metavar="WORDS...", help="Parts of the name, all of which it must hold.")
    ],
    json: AsJson = False,
) -> None:
    """Look modules up in the module table, for `table_row` in a scenario."""
    from solarsim.production.module_table import closest_rows, matching_rows
    from solarsim.views.module_tables import module_notes, modules_json, modules_table

    wanted = " ".join(words)
    rows = matching_rows(wanted)
    closest = [] if rows else closest_rows(wanted)
    if json:
        print(modules_json(rows, closest))
        return
    show(modules_table(rows or closest), *module_notes(wanted, rows, closest))
