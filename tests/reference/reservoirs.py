"""Reservoirs of given level, joined by the project's own links: what textbook problems are put together from.

A problem's flows are found by `hydro.solve` on a `hydro.network.model.Network`, never by the formula of its source.
"""

import math

from hydro.elements.fittings import LocalLoss
from hydro.elements.line import Line, LineLink
from hydro.elements.pipe import Pipe
from hydro.elements.pump import PumpCurve, PumpLine
from hydro.network.model import JUNCTION, OUTSIDE, Link, Network, Water
from hydro.quantities.arrays import GRAVITY
from hydro.solve import solve

FOOT, INCH, GALLON = 0.3048, 0.0254, 3.785411784e-3  # the gallon is the US one
GPM, CFS, L_MIN, M3_H = GALLON / 60.0, FOOT**3, 1e-3 / 60.0, 1.0 / 3600.0
PSI, BAR = 6894.757, 1e5
EVERYWHERE_DEEP = -1e3
"""Intake of a pump that is not meant to draw air, m."""


def solved(levels, links, start=(), flow=1e-3):
    """Return levels and flows by name.

    `levels` maps the waters to their level, None for a junction; `links` maps a link to (element, from, to). `start` may
    give first guesses of junctions; every link starts with `flow`.
    """
    names = list(levels)
    waters = tuple(Water(name, JUNCTION if level is None else OUTSIDE, level=level) for name, level in levels.items())
    network = Network(waters, tuple(Link(name, element, names.index(up), names.index(down))
                                    for name, (element, up, down) in links.items()))
    guess = dict(start)
    known = [level for level in levels.values() if level is not None]
    heads = [guess.get(name, sum(known) / len(known)) if level is None else level for name, level in levels.items()]
    found = solve(network.system(None), heads, [guess.get(name, flow) for name in links], most=3000)
    assert found.solved, found
    return dict(zip((*names, *links), (*found.heads, *found.flows), strict=True))


def way(*parts):
    """Return a line of parts between two waters."""
    return LineLink("line", Line.of(parts))


def pipe(bore, length, roughness, viscosity):
    """Return a run of pipe, SI."""
    return Pipe.of(bore, length, roughness, viscosity)


def k(value, bore):
    """Return a local loss."""
    return LocalLoss.of(value, bore)


def resistance(value):
    """Return a part that loses value q |q| of head, m and m3/s."""
    return LocalLoss.of(2.0 * GRAVITY * value, math.sqrt(4.0 / math.pi))


def flow_through(head, *parts, start=1e-3):
    """Return the flow that a head drives through parts in a row, from one reservoir to another."""
    return solved({"upper": head, "lower": 0.0}, {"line": (way(*parts), "upper", "lower")}, flow=start)["line"]


def head_for(flow, *parts, level=0.0):
    """Return the level that drives a flow through parts in a row to a reservoir: that of a junction fed by a given flow."""
    feed = PumpLine("feed", PumpCurve.of([(0.0, 1e3), (10.0, 0.0)]), Line.of([]), EVERYWHERE_DEEP, driven=1.0, target=flow)
    links = {"feed": (feed, "source", "upper"), "line": (way(*parts), "upper", "lower")}
    return solved({"source": 0.0, "upper": None, "lower": level}, links, flow=flow)["upper"]


def pump(points, *parts, speed=1.0):
    """Return a pump with a curve through points, and its line."""
    curve = points if isinstance(points, PumpCurve) else PumpCurve.of(points)
    return PumpLine("pump", curve, Line.of(parts), EVERYWHERE_DEEP, speed=speed)


def area(bore):
    """Return the area of a bore, m2."""
    return math.pi / 4.0 * bore * bore


def darcy(head, flow, bore, length):
    """Return the Darcy friction factor that a head lost in a run means."""
    return head * 2.0 * GRAVITY * bore * area(bore) ** 2 / (length * flow * abs(flow))
