"""What to try where a figure weighs that no ruler tells: a coefficient shows in what the water does."""

from __future__ import annotations

from hydro.case.sections.settings import known_defaults
from hydro.checks import Check, CheckKind
from hydro.elements.rim import ELBOW_HEIGHT
from hydro.report.content.view import View

OPEN = "let it run with its valves open, and watch how high {tank} rises"
PULL = "pull the plug, and watch {where} until all is still"
BUCKET = "time a bucket of the whole flow"
TRIALS = {
    CheckKind.BLOCKED: "close {who} by hand, {pumps} running, a hand at the plug, and watch how high {tank} rises",
    CheckKind.EMERGENCY_ALONE: "close all its wet drains by hand, {pumps} running, a hand at the plug, and watch how high "
                               "{tank} rises",
    CheckKind.ALL_BLOCKED: "bail {tank} 10 cm low and shut the top-up, then close its drains by hand, {pumps} running, a hand at "
                           "the plug, and watch how far it rises",
    CheckKind.CAPACITY: OPEN, CheckKind.TANK_ROOM: OPEN,
    CheckKind.POWER_CUT: PULL, CheckKind.CUT_OVER_RIMS: PULL,
    CheckKind.RESTART: "pull the plug, put it back once all is still, and watch whether {who} starts",
    CheckKind.PRIME: "let it run for a day, and watch whether {who} keeps its water",
    CheckKind.SHARED_PIPE: "let it run, and watch whether air or water comes up out of a drain",
    CheckKind.DRY_EMERGENCY: "let it run, and watch whether a drain of {tank} stays dry",
    CheckKind.STEADY: "let it run for an hour, and watch whether the levels swing",
    CheckKind.INTAKE: "let it run at its line, and watch for a whirl over the intake",
    CheckKind.SUCTION: "let it run, and watch whether {who} draws itself flat"}
"""What shows whether a check holds, by its kind; of pumps that is their flow."""


def no_ruler_tells(name: str) -> bool:
    """Whether an input is a default that stands for what water or a pump does: a coefficient, a ratio, a share."""
    known = known_defaults().get(name)
    return known is not None and known is not ELBOW_HEIGHT and known.dimension in ("number", "share")


def trial(view: View, check: Check) -> str:
    """Return what to do with water in it, and what to watch, to see whether a check holds."""
    who, water = check.worst or check.subject, check.water
    tank = view.water(water) if water in view.network.uppers and water is not None else view.called(who or "tank")
    where = "the rims of the tanks" if check.kind == CheckKind.CUT_OVER_RIMS else "the sump"
    return TRIALS.get(check.kind, BUCKET).format(who=f"'{who}'", tank=tank, where=where, pumps=view.pumps)
