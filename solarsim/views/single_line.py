"""A home's single-line diagram: arrays, inverter, battery, panels and meter, each with what its checks found.

Each box names the element, its ratings, and in words how many checks are ok, fail or are not made. A box that fails
has a thick border and a triangle, one with open checks a dashed border: shape and word tell, not only color.
"""

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from solarsim.scenario.model import Scenario
from solarsim.scenario.roof.roof import Array
from solarsim.scenario.wiring import BatteryCircuit, InverterCircuit, Panel, PvCircuit
from solarsim.scenario.wiring import Wiring as WiringTable
from solarsim.studies.wiring._check import Check
from solarsim.studies.wiring.wiring import Wiring
from solarsim.views.figure import BLACK, BLUE, VERMILION, new_figure
from solarsim.views.wiring import numbers

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PHASES = {"single": "single-phase", "split": "split-phase", "three": "three-phase"}
_WIDE, _HIGH, _GAP = 3.0, 1.75, 0.4
_ARRAYS_X, _INVERTER_X, _PANEL_X, _METER_X = 0.0, 4.6, 9.2, 12.9


class _Box(NamedTuple):
    """An element of the diagram: its middle at the left, its lines of text, and the part whose checks it shows."""

    x: float
    y: float
    title: str
    lines: tuple[str, ...]
    part: str

    @property
    def left(self) -> tuple[float, float]:
        """Middle of its left side."""
        return self.x, self.y

    @property
    def right(self) -> tuple[float, float]:
        """Middle of its right side."""
        return self.x + _WIDE, self.y


def single_line(result: Wiring) -> "Figure":
    """Draw the single-line diagram.

    Parameters
    ----------
    result : Wiring
        Checks of a scenario.

    Returns
    -------
    matplotlib.figure.Figure
        14.5 inches wide.
    """
    scenario, table = result.described, result.described.wiring
    assert table is not None  # noqa: S101  # the study refuses a scenario without it
    arrays = [_array_box(table, array, place) for place, array in enumerate(scenario.arrays)]
    rows = max(3, len(arrays))
    middle = -(rows - 1) / 2 * (_HIGH + _GAP)
    drawn = new_figure(14.5, 2.2 + 1.5 * rows, f"{result.scenario}: single-line diagram; {_verdict(result)}")
    axes = drawn.subplots()
    axes.set_axis_off()
    inverter = _inverter_box(scenario, table.inverter or InverterCircuit(), middle)
    main = _panel_box("main panel", "Main panel", table.main_panel, middle)
    meter = _Box(_METER_X, middle, "Meter and service", _service_lines(scenario, table), "service")
    boxes = [*arrays, inverter, main, meter]
    for box, array in zip(arrays, scenario.arrays, strict=True):
        if array.input is not None:
            _line(
                axes,
                (box.x + _WIDE, box.y),
                inverter.left,
                f"input {array.input}, DC",
                box.x + _WIDE + 1.3,
                at_start=True,
            )
        else:
            _line(axes, box.right, main.left, "AC-coupled", _INVERTER_X + _WIDE + 0.8, at_start=True)
    if scenario.battery_in_use is not None:
        battery = _battery_box(scenario, table.battery or BatteryCircuit(), middle - _HIGH - _GAP - 0.4)
        boxes.append(battery)
        _line(axes, (battery.x + _WIDE / 2, battery.y + _HIGH / 2), (inverter.x + _WIDE / 2, inverter.y - _HIGH / 2),
              "fuse, disconnect")  # fmt: skip
    if scenario.arrangement is not None and scenario.arrangement.islands:
        backup = _panel_box("backup panel", "Backup panel", table.backup_panel, middle + _HIGH + _GAP + 0.4)
        boxes.append(backup)
        _line(axes, inverter.right, backup.left, "transfer", around=inverter.x + _WIDE + 0.6)
    if scenario.generator_in_use is not None:
        generator = _Box(
            _PANEL_X, middle - _HIGH - _GAP - 0.4, "Generator", (f"{scenario.generator_in_use.kw:g} kW",), "generator"
        )
        boxes.append(generator)
        _line(axes, inverter.right, generator.left, "transfer", around=inverter.x + _WIDE + 0.6)
    _line(axes, inverter.right, main.left, "")
    axes.text(inverter.x + _WIDE + 1.1, inverter.y - 0.22, "AC breaker", fontsize=8.5, ha="center", zorder=4)
    _line(axes, main.right, meter.left, "")
    for box in boxes:
        _draw(axes, box, result)
    axes.set_xlim(-0.3, _METER_X + _WIDE + 0.3)
    lowest, highest = min(box.y for box in boxes), max(box.y for box in boxes)
    axes.set_ylim(lowest - _HIGH, highest + _HIGH)
    drawn.text(
        0.5, 0.015,
        "Not for construction. Local code and licensed professionals decide."
        " Not drawn: grounding, rapid shutdown, labels.",
        ha="center", fontsize=10, style="italic",
    )  # fmt: skip
    return drawn


def _verdict(result: Wiring) -> str:
    """Return in words how the checks ended."""
    fail = {0: "no check fails", 1: "1 check fails"}.get(result.failures, f"{result.failures} checks fail")
    return f"{fail}, {result.open_checks} not checked"


def _array_box(table: WiringTable, array: Array, place: int) -> _Box:
    """Return an array: strings, fuses and conductors."""
    circuit = next((each for each in table.pv if each.array == array.name), PvCircuit(array=array.name))
    fuse = "fuses not stated" if circuit.fuse_a is None else f"string fuses: {_amperes(circuit.fuse_a)}"
    size = "" if circuit.conductor is None else f", {_size(circuit.conductor.awg, circuit.conductor.section_mm2)}"
    own = "" if array.ac_inverter is None else f"inverter: {array.ac_inverter}"
    lines = (f"{array.strings} x {array.modules_in_series} modules", own or f"{fuse}{size}")
    return _Box(_ARRAYS_X, -place * (_HIGH + _GAP), array.name, lines, array.name)


def _size(awg: str | None, section_mm2: float | None) -> str:
    return f"{awg} AWG" if awg is not None else f"{section_mm2:g} mm²"


def _inverter_box(scenario: Scenario, circuit: InverterCircuit, y: float) -> _Box:
    """Return the inverter: rating and breaker."""
    breaker = "breaker not stated" if circuit.breaker_a is None else f"breaker {_amperes(circuit.breaker_a)}"
    return _Box(_INVERTER_X, y, "Hybrid inverter", (f"{scenario.inverter.ac_kw:g} kWac", breaker), "inverter")


def _amperes(rating: float | str) -> str:
    return f"{rating:g} A" if isinstance(rating, float) else rating


def _battery_box(scenario: Scenario, circuit: BatteryCircuit, y: float) -> _Box:
    """Return the battery: energy, strings, fuse."""
    battery = scenario.battery_in_use
    kwh, rows = (0.0, ()) if battery is None else (battery.kwh, battery.bank or ())
    strings = sum(row.strings for row in rows)
    fuse = "fuse not stated" if circuit.fuse_a is None else f"fuse {_amperes(circuit.fuse_a)}"
    lines = (f"{kwh:.1f} kWh" + (f", {strings} strings" if strings > 1 else ""), fuse)
    return _Box(_INVERTER_X, y, "Battery", lines, "battery")


def _panel_box(part: str, title: str, panel: Panel | None, y: float) -> _Box:
    """Return a panel: busbar and main breaker."""
    panel = panel or Panel()
    busbar = "busbar not stated" if panel.busbar_a is None else f"busbar {panel.busbar_a:g} A"
    main = "main not stated" if panel.main_a is None else f"main {_amperes(panel.main_a)}"
    return _Box(_PANEL_X, y, title, (busbar, main), part)


def _service_lines(scenario: Scenario, table: WiringTable) -> tuple[str, ...]:
    rated_a = None if table.service is None else table.service.rated_a
    limit = "" if scenario.grid is None else f"export limit {scenario.grid.export_limit_kw:g} kW"
    return (f"{table.grid_v:g} V, {_PHASES[table.phases]}" + ("" if rated_a is None else f", {rated_a:g} A"), limit)


def _draw(axes: "Axes", box: _Box, result: Wiring) -> None:
    """Draw a box with its text and what its checks found."""
    from matplotlib.patches import Rectangle

    checks = [each for each in result.checks if each.part == box.part]
    counts = {outcome: sum(each.result == outcome for each in checks) for outcome in ("ok", "fails", "not checked")}
    fails, still_open = counts["fails"] > 0, counts["not checked"] > 0
    edge = VERMILION if fails else BLACK
    axes.add_patch(
        Rectangle(
            (box.x, box.y - _HIGH / 2), _WIDE, _HIGH, facecolor="white", edgecolor=edge, zorder=3,
            linewidth=3.0 if fails else 1.3, linestyle="--" if still_open and not fails else "-",
        )
    )  # fmt: skip
    axes.text(box.x + 0.12, box.y + 0.62, box.title, fontsize=11, weight="bold", va="center", zorder=4)
    axes.text(box.x + 0.12, box.y + 0.15, "\n".join(box.lines), fontsize=9.5, va="center", zorder=4)
    told = [f"{count} {outcome if outcome != 'fails' else 'FAIL'}" for outcome, count in counts.items() if count]
    words = ", ".join(told) or "no checks"
    axes.text(box.x + 0.12, box.y - 0.35, words, fontsize=9.5, va="center", zorder=4, color=edge if fails else BLUE)
    axes.text(box.x + 0.12, box.y - 0.66, _tightest(checks), fontsize=7.5, va="center", zorder=4)
    if fails:
        x, y = box.x + _WIDE - 0.35, box.y + 0.5
        axes.plot([x], [y], marker="^", markersize=22, color=VERMILION, zorder=4)
        axes.text(x, y - 0.05, "!", color="white", weight="bold", ha="center", va="center", fontsize=12, zorder=5)


def _tightest(checks: list[Check]) -> str:
    """Return the check with the least margin: its value, of its limit."""
    known = [each for each in checks if each.margin is not None and each.value is not None]
    if not known:
        return ""
    found = min(known, key=lambda each: each.margin or 0.0)
    value, limit = numbers(found)
    return f"{found.name}: {value}, {limit}"


def _line(
    axes: "Axes",
    start: tuple[float, float],
    end: tuple[float, float],
    words: str,
    around: float | None = None,
    at_start: bool = False,
) -> None:
    """Draw a conductor with right angles, and what is on it."""
    points = [start, end]
    if start[0] != end[0] and start[1] != end[1]:
        turn = (start[0] + end[0]) / 2 if around is None else around
        points = [start, (turn, start[1]), (turn, end[1]), end]
    axes.plot([x for x, _ in points], [y for _, y in points], color=BLACK, linewidth=1.4, zorder=2)
    # At its start, or on its last horizontal part; beside a line that has none.
    parts = [((a[0] + b[0]) / 2, a[1]) for a, b in pairwise(points) if a[1] == b[1]]
    if parts:
        x, y = (start[0] + 0.65, start[1]) if at_start else parts[-1]
        axes.text(x, y + 0.12, words, fontsize=8.5, ha="center", zorder=4)
    else:
        axes.text(start[0] + 0.1, (start[1] + end[1]) / 2, words, fontsize=8.5, va="center", zorder=4)
