"""How it runs, in words, where that is anything but one steady way: surging, no lift, air, backwards, two points, none."""

from __future__ import annotations

from hydro.checks import CheckKind
from hydro.checks.assessment import Assessment
from hydro.quantities.formatting import show
from hydro.quantities.tape import tape
from hydro.report.content.levels import bottom_of, sump_bottom
from hydro.steady.operating_point import BACKWARDS, CANNOT_LIFT, DRAWS_AIR, NONE, STEADY, SURGES, TWO_POINTS

SAID = {SURGES: "It surges", DRAWS_AIR: "The pump draws air", CANNOT_LIFT: "The pump cannot lift that high",
        BACKWARDS: "It runs backwards", TWO_POINTS: "Two operating points", NONE: "No steady state",
        STEADY: "More than one way to run"}
IN_TANK = ("lowest tank level", "highest tank level")
IN_SUMP = ("lowest pump chamber level", "highest pump chamber level", "pump chamber level", "intake")


def figure(assessment: Assessment, name: str, value: float, system: str) -> str:
    """Return a figure of the answer with its unit; levels are counted from their vessel's bottom."""
    network = assessment.results.network
    if name in IN_TANK:
        return f"{tape(value - bottom_of(network, network.tank), system)} above the tank's bottom"
    if name in IN_SUMP:
        return f"{tape(value - sump_bottom(network), system)} above the sump's bottom"
    return show(value, "flow" if "flow" in name else "length", system)


def special(assessment: Assessment, system: str) -> list[str]:
    """Return what is special about the way it runs: the reason and the figures that it rests on."""
    answer = assessment.answer
    texts = [f"{SAID[answer.kind]}: {answer.reason}."]
    if answer.kind == SURGES:
        texts += _swings(assessment, system)
    else:
        figures = [f"{name} {figure(assessment, name, value, system)}" for name, value in answer.figures.items()]
        if figures:
            texts.append("; ".join(figures) + ".")
    if answer.kind == STEADY and answer.others:
        network = assessment.results.network
        levels = [tape(float(state.tank_level) - bottom_of(network, network.tank), system) for state in answer.states]
        texts.append(f"The tank stands at {' or at '.join(levels)} above its bottom.")
    if answer.kind in (DRAWS_AIR, CANNOT_LIFT, BACKWARDS):
        texts.append("Mend that first: what follows is for the build as it stands.")
    if answer.one_reachable:
        texts.append("With so many drains this is one state that a dry start reaches; there may be others.")
    return texts


def runs_over(assessment: Assessment, system: str) -> list[str]:
    """Return a warning for each vessel that runs over while nothing is amiss; such levels cannot stand, they are wanted."""
    texts = []
    for kind, described in ((CheckKind.TANK_ROOM, assessment.build.tank), (CheckKind.SUMP_ROOM, assessment.build.sump)):
        row = next(iter(assessment.of(kind)), None)
        if row is not None and row.margin < 0.0:
            brim = "rim" if described.lowest_opening is None else "lowest opening"
            texts.append(f"The {kind.datum} runs over with nothing blocked: its water would have to stand "
                         f"{tape(-row.margin, system)} above its {brim}.")
    return [*texts, "Mend that first: what follows is for water that cannot stand so high."] if texts else []


def _swings(assessment: Assessment, system: str) -> list[str]:
    figures, network = assessment.answer.figures, assessment.results.network
    texts = []
    for name, bottom in (("tank", bottom_of(network, network.tank)), ("pump chamber", sump_bottom(network))):
        low, high = (figures.get(f"{end} {name} level") for end in ("lowest", "highest"))
        if low is not None and high is not None and high - low > 1e-3:
            vessel = "tank" if name == "tank" else "sump"
            texts.append(f"The {name} swings between {tape(low - bottom, system)} and {tape(high - bottom, system)} above "
                         f"the {vessel}'s bottom.")
    return texts
