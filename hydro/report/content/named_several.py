"""Named figures of a build of several tanks, sumps or pumps: each carries the name of what it is about, nothing is grouped."""

from __future__ import annotations

from hydro.checks import CheckKind
from hydro.checks.assessment import Assessment
from hydro.report.content.flows import DrainRun, ReturnRun, drain_runs, return_runs
from hydro.report.content.levels import bottom_of, levels, stated_line, vessel_of
from hydro.report.content.pipe_flows import pipe_runs
from hydro.report.content.pump_points import pump_runs
from hydro.report.content.tank_flows import tank_runs
from hydro.scenarios.results import COMBINATIONS

Figures = dict[str, tuple[float, str] | None]


def case_words(breaks: bool, holds: bool) -> str:
    """Return the words for a case of a power cut."""
    return f"siphon breaks {'working' if breaks else 'plugged'}, check valves {'holding' if holds else 'stuck'}"


def of_several(assessment: Assessment) -> Figures:
    """Return the figures by name."""
    found: Figures = {}
    if assessment.answer.state is not None:
        found.update(_flows(assessment))
        found.update(_waters(assessment))
    return {**found, **_stopped(assessment), **_lines(assessment), **_blocked(assessment)}


def _flows(assessment: Assessment) -> Figures:
    """Return the flow of everything, and the speed in drains, returns and pipes."""
    state = assessment.results.state
    found: Figures = {}
    for name, band, dimension in (("flow of all pumps", assessment.flow, "flow"), ("bucket of 10 L", assessment.bucket, "time")):
        for end, value in zip(("low", "middle", "high"), band or (), strict=False):
            found[f"{name}, {end}"] = (value, dimension)
    for one in pump_runs(assessment, state):
        found[f"flow of {one.name}"], found[f"head of {one.name}"] = (one.flow[1], "flow"), (one.head, "length")
    runs: list[DrainRun | ReturnRun] = [*drain_runs(assessment, state), *return_runs(assessment, state)]
    for run in runs:
        found[f"flow of {run.name}"], found[f"speed in {run.name}"] = (run.flow[1], "flow"), (run.speed, "speed")
    for pipe in pipe_runs(assessment, state):
        found[f"flow of {pipe.name}"], found[f"speed in {pipe.name}"] = (pipe.flow[1], "flow"), (pipe.speed, "speed")
    return found


def _waters(assessment: Assessment) -> Figures:
    """Return every level, counted from the bottom of its vessel, and what each tank gets."""
    state = assessment.results.state
    found: Figures = {}
    for level in levels(assessment, state):
        name = f"level in {level.name}"
        found[name] = (level.height - level.bottom, "length")
        found[f"{name}, low"], found[f"{name}, high"] = (level.over_bottom[0], "length"), (level.over_bottom[2], "length")
        found[f"{name}, below its opening"] = (level.under_opening, "length")
    for tank in tank_runs(assessment, state):
        found[f"flow into {tank.name}"], found[f"turnover of {tank.name}"] = (tank.flow[1], "flow"), (tank.turnover, "turnover")
        found[f"water in {tank.name}"] = (tank.volume, "volume")
    found["all the water"] = (float(state.total), "volume")
    for check in assessment.of(CheckKind.TURNOVER_OF_ALL):
        found["turnover of all the water"] = (check.value, "turnover")
    return found


def _stopped(assessment: Assessment) -> Figures:
    """Return what comes down in each case of a power cut, and where sumps, tanks and boxes end."""
    results, network = assessment.results, assessment.results.network
    found: Figures = {}
    for case in COMBINATIONS:
        stopped, words = results.stopped.get(case), case_words(*case)
        if stopped is None:
            continue
        found[f"comes down, {words}"] = (stopped.comes_down, "volume")
        found[f"over the rims of tanks, {words}"] = (stopped.floor, "volume")
        for sump in network.sumps:
            name = vessel_of(results, sump[0]).name
            found[f"room left in {name}, {words}"] = (stopped.spare_of(sump), "volume")
            found[f"level in {name} at rest, {words}"] = (stopped.sump_level_of(sump) - bottom_of(network, sump[0]), "length")
        for k, level in stopped.levels.items():
            found[f"level in {network.waters[k].name} at rest, {words}"] = (level - bottom_of(network, k), "length")
    return found


def _lines(assessment: Assessment) -> Figures:
    """Return the running lines, counted from the bottom of the sump whose chamber closes the balance."""
    wanted, stated = assessment.wanted_line, stated_line(assessment)
    found: Figures = {"running line as stated": None if stated is None else (stated, "length")}
    if wanted is not None:
        found["highest running line"] = None if wanted.safe is None else (wanted.safe, "length")
        found["highest running line, middle"] = None if wanted.height is None else (wanted.height, "length")
    for line in assessment.lines:
        height = None if line.height is None else (line.height, "length")
        found[f"highest running line, {case_words(line.breaks, line.holds)}"] = height
    return found


def _blocked(assessment: Assessment) -> Figures:
    """Return the level nearest to an opening with drains blocked, and what comes up into each tank with all of its own."""
    network = assessment.results.network
    found: Figures = {}
    for overflow in assessment.results.overflows:
        if overflow.water is None:
            continue
        names = ", ".join(network.links[k].name for k in overflow.out)
        what = f"with {names} blocked" if names else "with the pumps at their best"
        level = overflow.level - bottom_of(network, overflow.water)
        found[f"{network.waters[overflow.water].name} {what}"] = (level, "length")
    for case in assessment.results.blocked_tanks:
        name = network.waters[case.tank].name
        found[f"all drains of {name} blocked, comes up"] = (case.all, "volume")
        found[f"all drains of {name} blocked, room in it"] = (case.room, "volume")
    return found
