"""The glossary of the studies: every key that a load, a roof, a sky, a life or an outage is told by."""

from solarsim.scenario.glossary import Entry

#: What is told of a scenario by hours and by finer steps.
STEPS: dict[str, Entry] = {
    "finer_steps": Entry("the same scenario by hours and by finer steps", "table"),
    "step_minutes": Entry("length of the finer steps", "min"),
    "load_moves": Entry("whether the load differs within any hour", "true or false"),
    "hourly": Entry("by hourly steps", "table"),
    "finer": Entry("by the finer steps", "table"),
    "difference": Entry("finer less hourly: what hourly steps hid", "of each key"),
}
