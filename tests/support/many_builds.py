"""Hand-made builds of several tanks, sumps and pumps for the tests, and states whose levels are put in. All of them are invented.

    state = standing(two_on_header(), {"upper": 1.71, "lower": 1.21, "inflow": 0.30, "pump": 0.20})

Lengths in m, volumes in m3, heights in m above the ground, as in `builds`. No state here is solved: levels are given by the
names of the waters, headers and chambers without one stand at `otherwise`, and nothing flows unless a flow is given.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from builds import Level, box, chamber, drain, height, item, loop, pipe, plate, pump, way

from hydro.description.build import Box, Build, Drain, Pump, Return, Run, Sump, Vessel
from hydro.network.assembly import make_network
from hydro.network.model import Closing, Network
from hydro.steady.state import State


def tank(name: str, size: tuple[float, float, float], bottom: float, opening: float | None = None) -> Vessel:
    """Return a tank by its inside (length, width, height), so high over the ground."""
    return Vessel(name, box(name, *size), height(bottom, f"{name}: bottom"),
                  None if opening is None else height(opening, f"{name}: lowest opening"))


def sump(name: str = "sump", prefix: str = "", bottom: float = 0.0, size: tuple[float, float, float] = (1.02, 0.50, 0.46),
         wall: float | None = 0.29, opening: float | None = None) -> Sump:
    """Return a sump in chambers '{prefix}inflow' and '{prefix}pump' with a plate between; without a wall the last alone."""
    rest = chamber(f"{prefix}pump")
    if wall is None:
        return Sump(tank(name, size, bottom, opening), (rest,))
    return Sump(tank(name, size, bottom, opening), (chamber(f"{prefix}inflow", 0.62, plate(wall, f"{name}: plate")), rest))


def from_tank(name: str, owner: str, lip: float, into: str = "inflow", end: float = 0.24, bore: float = 0.057) -> Drain:
    """Return an upright pipe out of a tank or box, named after itself."""
    return replace(drain(name, lip, bore, into=into, end=end), tank=owner)


def into_tank(name: str, owner: str, end: Level, source: str = "", **how: Any) -> Return:
    """Return a return into a tank; `how` as for `builds.way`."""
    return replace(way(name, end, **how), tank=owner, source=source)


def driven(name: str = "pump", into: str = "pump", header: str = "", valve: bool = False, **how: Any) -> Pump:
    """Return a pump with its riser, by name; `how` as for `builds.pump`."""
    return replace(pump(into, valve=valve, **how), name=name, header=header)


def run(name: str, start: str, finish: str, bore: float = 0.04, length: float = 0.5, start_at: float | None = None,
        finish_at: float | None = None) -> Run:
    """Return a pipe between two places; mouths in waters as high as given."""
    return Run(name, start, finish, pipe(name, bore, length), *(None if at is None else height(at, f"{name}: {end}")
                                                              for at, end in ((start_at, "start"), (finish_at, "finish"))))


def several(tanks: Sequence[Vessel], drains: Sequence[Drain], returns: Sequence[Return] = (), pumps: Sequence[Pump] = (),
            sumps: Sequence[Sump] | None = None, boxes: Sequence[Box] = (), runs: Sequence[Run] = ()) -> Build:
    """Return a build of parts, everything else as in `builds.loop`."""
    return replace(loop(), tanks=tuple(tanks), sumps=tuple(sumps or (sump(),)), drains=tuple(drains), returns=tuple(returns),
                   pumps=tuple(pumps), boxes=tuple(boxes), runs=tuple(runs))


def two_on_header(upper_mouth: float = 1.60, lower_mouth: float = 1.15, valve: bool = True, lower_rim: float = 1.40,
                  lower_drain: bool = True, source: str = "pump", **how: Any) -> Build:
    """Return tanks of 1.6 m2 (lip 1.70) and 0.5 m2 (lip 1.20) on one pump; `how` for the return of the upper one."""
    lips = [from_tank("upper drain", "upper", 1.70), *([from_tank("lower drain", "lower", 1.20)] if lower_drain else ())]
    return several((tank("upper", (2.0, 0.8, 0.6), 1.2), tank("lower", (1.0, 0.5, lower_rim - 0.8), 0.8)), lips,
                   (into_tank("to upper", "upper", upper_mouth, source, **how),
                    into_tank("to lower", "lower", lower_mouth, source)), (driven(valve=valve),))


def two_sumps(joined: bool = False, header: bool = False, valve: bool = False) -> Build:
    """Return two tanks of 1 m2 (lips 1.50) over a sump each, on a pump each.

    `joined`: a pipe between the pumps' chambers, its mouths at 0.10 m; `header`: both pumps push into one header.
    """
    sides = ("left", "right")
    common = {"header": "ring"} if header else {}
    return several([tank(side, (1.0, 1.0, 0.6), 1.0) for side in sides],
                   [from_tank(f"{side} drain", side, 1.50, f"{side} inflow") for side in sides],
                   [into_tank(f"to {side}", side, 1.45, "ring" if header else f"{side} lift") for side in sides],
                   [driven(f"{side} lift", f"{side} pump", valve=valve, **common) for side in sides],
                   [sump(f"{side} sump", f"{side} ") for side in sides],
                   runs=[run("equaliser", "left pump", "right pump", start_at=0.10, finish_at=0.10)] if joined else ())


def with_box(lips: Sequence[float] = (1.38, 1.40, 1.45), edge: float = 1.47, valve: bool = False, mouth: float = 1.455) -> Build:
    """Return a tank of 1 m2 that spills over an edge into a box of 0.06 m2 with upright pipes at several heights."""
    side = Box(tank("box", (0.3, 0.2, 0.5), 1.10), "tank", item("edge", "edge", length=0.4, at=height(edge, "")))
    return several([tank("tank", (1.0, 1.0, 0.65), 0.92)], [from_tank(f"pipe {n}", "box", lip) for n, lip in enumerate(lips, 1)],
                   [into_tank("return", "tank", mouth)], [driven(valve=valve)], boxes=(side,))


def cascade(count: int = 3, step: float = 0.3, valve: bool = False) -> Build:
    """Return tanks of 0.5 m2, each one spilling into the next below over a lip 0.5 m over its bottom, the last into the sump."""
    names = [f"tank {n}" for n in range(1, count + 1)]
    bottoms = [0.6 + step * (count - n) for n in range(count)]
    return several([tank(name, (1.0, 0.5, 0.6), bottom) for name, bottom in zip(names, bottoms, strict=True)],
                   [from_tank(f"drain {n + 1}", name, bottoms[n] + 0.5, names[n + 1] if n + 1 < count else "inflow",
                              bottoms[n] - 0.1) for n, name in enumerate(names)],
                   [into_tank("return", names[0], bottoms[0] + 0.45)], [driven(valve=valve)])


def ring(count: int = 4, lip: float = 1.50, valve: bool = True) -> Build:
    """Return tanks of 1 m2 in a row on a ring main of headers, each with its own drain."""
    names = [f"tank {n}" for n in range(1, count + 1)]
    return several([tank(name, (1.0, 1.0, 0.6), 1.0) for name in names],
                   [from_tank(f"drain {n}", name, lip - 0.002 * n) for n, name in enumerate(names)],
                   [into_tank(f"return {n}", name, 1.40, f"tee {n}") for n, name in enumerate(names)],
                   [driven(header="tee 0", valve=valve)],
                   runs=[run(f"main {n}", f"tee {n}", f"tee {(n + 1) % count}") for n in range(count)])


def fish_room(count: int = 200, valve: bool = False, equalised: bool = False) -> Build:
    """Return a room of tanks on one header over one sump, in rows of different heights."""
    names = [f"tank {n:03d}" for n in range(count)]
    bottoms = [0.8 + 0.6 * (n % 3) for n in range(count)]
    if equalised:
        bottoms = [0.8] * count
    pairs = [run(f"pipe {n:03d}", one, other, start_at=0.85, finish_at=0.85)
             for n, (one, other) in enumerate(pairwise(names)) if equalised]
    return several([tank(name, (0.6, 0.4, 0.4), bottom) for name, bottom in zip(names, bottoms, strict=True)],
                   [from_tank(f"drain {n:03d}", name, bottoms[n] + 0.30 + 1e-5 * n)
                    for n, name in enumerate(names) if not equalised or n == count - 1],
                   [into_tank(f"return {n:03d}", name, bottoms[n] + 0.25, "pump") for n, name in enumerate(names)],
                   [driven(valve=valve)], [sump(size=(10.0, 1.0, 0.6))], runs=pairs)


def standing(build: Build | Network, levels: Mapping[str, float], flows: Mapping[str, float] | None = None,
             otherwise: float = 0.2, total: bool = True) -> State:
    """Return a state of a build with levels and flows by name; nothing is solved.

    `total` says that all the water is known; else only the line is.
    """
    network = build if isinstance(build, Network) else make_network(build)
    stands = tuple(levels.get(water.name, otherwise) for water in network.waters)
    given = flows or {}
    closing = Closing(network.pump_chamber, **({"total": 1.0} if total else {"level": stands[network.pump_chamber]}))
    return State(network, closing, stands, tuple(given.get(link.name, 0.0) for link in network.links), 0)


def gutter(bore: float) -> Build:
    """Return two tanks whose drains run into one pipe of a bore, and a pump that feeds both."""
    tanks = [tank(name, (1.0, 0.6, 0.6), 1.0) for name in ("left", "right")]
    drains = [from_tank(f"{one.name} drain", one.name, 1.50, "gutter", 0.55, 0.057) for one in tanks]
    returns = [into_tank(f"to {one.name}", one.name, 1.45, "pump") for one in tanks]
    down = Run("down", "gutter", "inflow", pipe("down", bore, 0.5), finish_at=height(0.35, "down: finish"))
    return several(tanks, drains, returns, [driven()], runs=[down])


def tube(start: float = 1.20, finish: float = 1.20, bore: float = 0.0452) -> Build:
    """Return a tank that spills into a box; a siphon tube leads over the rim from there into an outer box with the drain."""
    inner = Box(tank("inner", (0.3, 0.2, 0.5), 1.10), "tank", item("edge", "edge", length=0.4, at=height(1.47, "")))
    outer = tank("outer", (0.3, 0.3, 0.6), 1.05)
    over = Run("tube", "inner", "outer", pipe("tube", bore, 1.0), height(start, "tube: start"), height(finish, "tube: finish"),
               height(1.62, "tube: highest"))
    return several([tank("tank", (1.0, 1.0, 0.65), 0.92), outer], [from_tank("drain", "outer", 1.38)],
                   [into_tank("return", "tank", 1.455)], [driven(curve=((0.0, 3.0), (0.8e-3, 2.4), (1.6e-3, 0.0)))],
                   [sump()], [inner], [over])
