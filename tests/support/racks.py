"""Builds of several tanks and pumps for what happens through time."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from builds import box, chamber, drain, exact_defaults, height, pipe, plate, uncertain, way
from builds import pump as described_pump

from hydro.description.build import Build, GivenWater, Run, Sump, Vessel
from hydro.scenarios.placed_build import place, run_placed

SMALL = ((0.0, 5.0), (1800 / 3.6e6, 4.7), (3600 / 3.6e6, 3.9), (5000 / 3.6e6, 2.9), (6200 / 3.6e6, 1.6), (7200 / 3.6e6, 0.0))


def tank(name, bottom=0.92, size=(1.2, 0.6, 0.65)):
    """Return a tank by name."""
    return Vessel(name, box(name, *size), height(bottom, f"{name}: bottom"))


def pump_of(name, into="pump", valve=False, header="", times=1.0, **changes):
    """Return a pump by name, its curve so many times as wide."""
    made = described_pump(into, curve=[(times * q, h) for q, h in SMALL], valve=valve, **changes)
    line = tuple(replace(part, label=part.label.replace("pump", name)) for part in made.line)
    return replace(made, name=name, header=header, line=line)


def one_sump(length=1.6, width=0.6):
    """Return a sump of two chambers."""
    return (Sump(Vessel("sump", box("sump", length, width, 0.46), height(0.0, "sump: bottom")),
                 (chamber("inflow", 0.6 * length, plate(0.29)), chamber("pump"))),)


def built(tanks, drains, returns, pumps, *, sumps=None, line=0.205, boxes=(), runs=(), **given):
    """Return a build with a running line in the first pump's chamber."""
    return Build("invented", tuple(tanks), tuple(sumps or one_sump()), tuple(drains), tuple(returns), tuple(pumps),
                 GivenWater("line", height(line, "chamber pump: line")), exact_defaults(),
                 {"room at the sump rim": uncertain(0.0, "wishes: room")}, boxes=tuple(boxes), runs=tuple(runs), **given)


def of(made, **places):
    """Return a drain or return with its tank (and what feeds it) named."""
    return replace(made, **places)


@cache
def state_of(build_of, *args):
    """Return the running state of a build made by a function."""
    loop = place(build_of(*args))
    answer = run_placed(loop, loop.network())
    assert answer.state is not None
    return answer.state


def two_on_a_header(valve=True, upper=1.20):
    """Return two tanks on one pump and header, the one so much higher: bottoms at `upper` and 0.92 m."""
    high = upper - 0.92
    return built(
        [tank("high", upper), tank("low")],
        [of(drain("high drain", 1.470 + high), tank="high"), of(drain("low drain", 1.470), tank="low")],
        [of(way("high return", 1.455 + high, hole_at=1.42 + high), tank="high"),
         of(way("low return", 1.40), tank="low")], [pump_of("pump", valve=valve)])


def two_pumps(valve=False):
    """Return two tanks, each on a pump of its own out of one chamber."""
    return built(
        [tank("left"), tank("right")],
        [of(drain("left drain"), tank="left"), of(drain("right drain"), tank="right")],
        [of(way("left return", 1.40, hole_at=1.45), tank="left", source="pump A"),
         of(way("right return", 1.43), tank="right", source="pump B")], [pump_of("pump A", valve=valve), pump_of("pump B")])


def rack(count, times=2.4, throttled=0, wide=0.0202):
    """Return so many small tanks, alike but for their drains' losses, on one pump and header.

    Some, spread over the rack, have a throttled drain (K = 50.1 and more) and a return so wide.
    """
    names = [f"tank {n}" for n in range(1, count + 1)]
    those = [n for n in range(1, count + 1) if n * throttled // count > (n - 1) * throttled // count]
    return built(
        [tank(name, 0.92, (0.4 + 0.02 * n, 0.4, 0.65)) for n, name in enumerate(names)],
        [of(drain(f"drain {n}", 1.470, 0.0362, k=0.1 * n + (50.0 if n in those else 2.0)), tank=f"tank {n}")
         for n in range(1, count + 1)],
        [of(way(f"return {n}", 1.40, bore=wide if n in those else 0.0142, hole_at=1.45), tank=f"tank {n}")
         for n in range(1, count + 1)],
        [pump_of("pump", times=times, bore=0.05)], sumps=one_sump(2.4, 0.8))


def two_on_one(valve=True):
    """Return two pumps that push into one header with a return to each of two tanks, the pumps with a check valve or without."""
    return built(
        [tank("left"), tank("right")],
        [of(drain("left drain"), tank="left"), of(drain("right drain"), tank="right")],
        [of(way("left return", 1.40, hole_at=1.44), tank="left", source="header"),
         of(way("right return", 1.43, bore=0.022), tank="right", source="header")],
        [pump_of("pump A", header="header", valve=valve), pump_of("pump B", header="header", valve=valve)])


def manifold():
    """Return two pumps with check valves, each on a header of its own; a pipe joins the headers; a tank hangs on each."""
    return built(
        [tank("left", 1.0), tank("right")],
        [of(drain("left drain", 1.55), tank="left"), of(drain("right drain"), tank="right")],
        [of(way("left return", 1.48), tank="left", source="near"),
         of(way("right return", 1.43), tank="right", source="far")],
        [pump_of("pump A", header="near", valve=True), pump_of("pump B", header="far", valve=True)],
        runs=[Run("bridge", "near", "far", pipe("bridge", 0.04, 3.0))])


def level(moment, name):
    """Return the level of a water by name, m."""
    return moment.levels[moment.network.water(name)]
