"""What is not judged, what to do instead and the figures that can be given; and cautions."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.checks import CheckKind
from hydro.checks.assessment import Assessment
from hydro.report.content.grouping import Grouping
from hydro.report.content.loads import pressures, weights

DAY = 86400.0

CAUTIONS = (
    "Mains beside water: every plug on a leakage breaker of 30 mA or less (RCD, GFCI), tested by its button; each cable with a "
    "drip loop that hangs lower than its socket; sockets never under a joint. A licensed electrician for the rest.",
    "Water weighs a tonne to the cubic metre (62 lb to the cubic foot), and all of it stands on what is under the tank: ask a "
    "structural engineer about the floor before it is filled.",
    "Never drill toughened (tempered) glass, it bursts. Ask the maker which panes are, before the drill.",
    "Whatever goes over runs downstairs: think of the rooms below, a floor drain, a leak alarm, insurance.",
    "A hose from the mains that tops up by itself needs an air gap and a run-time limit; ask a licensed plumber.",
    "Local codes and the licensed electrician, plumber or structural engineer on the spot go before anything said here.")


@dataclass(frozen=True, slots=True)
class NotJudged:
    """A thing that is not judged, what to do instead, and figures (value in SI, dimension) by words."""

    what: str
    instead: str
    figures: dict[str, tuple[float, str]]


def not_judged(assessment: Assessment, grouping: Grouping | None = None) -> list[NotJudged]:
    """Return what is not judged; figures of vessels that are told as one are of the worst of them."""
    known = [pump.power.middle for pump in assessment.build.pumps if pump.power is not None and not pump.off]
    whose = "the pump's power" if len(assessment.build.pumps) == 1 else "the pumps' power"
    heat = {whose: (sum(known), "power"), "in a day": (sum(known) * DAY, "energy")} if known else {}
    fastest = [check.value for check in assessment.of(CheckKind.SPEED)]
    speed = {"highest speed in the returns": (fastest[0], "speed")} if fastest else {}
    return [
        NotJudged("leaks, glue, seals, bulkheads", "fill with fresh water and leave it a day and a night; then pull the plug, "
                  "three times, and watch; then block each drain by hand", pressures(assessment, grouping)),
        NotJudged("walls, glass, stand, floor", "the maker's table for the pane; a structural engineer for stand and floor",
                  weights(assessment, grouping)),
        NotJudged("wiring and switches", "a licensed electrician", {}),
        NotJudged("flat runs of a drain", "a run flatter than 45 degrees that runs half full needs a slope of its own, about "
                  f"2 cm a metre (common practice, no source); here {_falling(assessment)}", {}),
        NotJudged("water hammer", "close valves slowly; no quick solenoid in the return", speed),
        NotJudged("heat", "nearly all that a pump draws ends as heat in the water; measure the temperature", heat),
        NotJudged("dirt, snails, age", "clean lips, strainers and siphon breaks; time a bucket every month: less than before "
                  "says that something clogs", {}),
        NotJudged("what moves within seconds", "the swing after a stop, waves and the film on the walls make some millimetres: "
                  "the room at the sump's rim is for them", {})]


def _falling(assessment: Assessment) -> str:
    """Say which drains are taken as falling: all of them, or the pipes without a slope of their own."""
    sloped = any({"slope", "level"} & item.values.keys() for drain in assessment.build.drains for item in drain.line)
    return ("the pipes whose slope is given, or that lie level, ask for that head, all others are taken as falling" if sloped
            else "drains are taken as falling")
