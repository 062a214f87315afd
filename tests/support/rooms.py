"""Invented builds of several tanks, sumps and pumps for the tests of reports, each worked out once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from builds import CURVE, Level, above, band, box, chamber, drain, exact_defaults, height, item, pipe, plate, pump, uncertain, way

from hydro.checks.assessment import Assessment, assess
from hydro.description.build import Box, Build, Drain, GivenWater, Group, Return, Run, Sump, Vessel
from hydro.quantities.uncertain import Uncertain


def room(count: int, bore: float = 0.0428, valve: bool = False, bottoms: Sequence[float] = (), line: float = 0.13) -> Build:
    """Return a fish room: tanks alike along one header over one sump, the first ones with bottoms (m) of their own.

    Pump, header and sump grow with the number of tanks.
    """
    numbers, header = range(1, count + 1), 0.0592 * max(1.0, count / 12.0) ** 0.5
    tanks = tuple(Vessel(f"rack {k}", box("rack", 0.9, 0.45, 0.4),
                         height(bottoms[k - 1] if k <= len(bottoms) else 0.9 + 0.0005 * k, f"rack {k}: bottom")) for k in numbers)
    drains = tuple(replace(drain(f"rack {k} overflow", above(f"rack {k} rim", -0.05), bore, end=0.24), tank=f"rack {k}")
                   for k in numbers)
    returns = tuple(replace(way(f"rack {k} return", above(f"rack {k} rim", -0.08), bore=0.0157, k=8.0), tank=f"rack {k}",
                            source=f"row {k}") for k in numbers)
    runs = tuple(Run(f"row {k} to {k + 1}", f"row {k}", f"row {k + 1}", (item("pipe", "row", size=header, length=0.95),))
                 for k in range(1, count))
    driven = replace(pump(curve=tuple((q * count / 6.0, h) for q, h in CURVE), bore=header, valve=valve), header="row 1")
    wide = max(1.0, count / 4.0)
    sump = Sump(Vessel("sump", box("sump", 1.02 * wide, 0.5, 0.46), height(0.0, "sump: bottom")),
                (chamber("inflow", 0.5 * wide, plate(0.29)), chamber("pump")))
    groups = (Group("rack", tuple(tank.name for tank in tanks)), Group("rack overflow", tuple(one.name for one in drains)),
              Group("rack return", tuple(one.name for one in returns)))
    return Build("A room of racks", tanks, (sump,), drains, returns, (driven,), GivenWater("line", height(line, "line")),
                 exact_defaults(), {"room at the sump rim": uncertain(0.0, "room")}, runs=runs, groups=groups)


def _drain(name: str, tank: str, lip: float, into: str, end: Level = 0.3, bore: float = 0.057, place: str = "rim") -> Drain:
    return replace(drain(name, above(f"{tank} {place}", lip), bore, into=into, end=end), tank=tank)


def _way(name: str, tank: str, source: str, bore: float = 0.0157, k: float = 8.0) -> Return:
    return replace(way(name, above(f"{tank} rim", -0.1), bore=bore, k=k), tank=tank, source=source)


def mixed(line: Uncertain | float = 0.21, dead_end: bool = True) -> Build:
    """Return two sumps joined by a pipe, two pumps side by side and two in a row, a tank with an overflow box, three alike."""
    three = range(1, 4)
    tanks = (Vessel("show", box("show", 1.6, 0.6, 0.6), height(1.0, "show: bottom")),
             Vessel("refuge", box("refuge", 0.8, 0.5, 0.4), height(0.7, "refuge: bottom")),
             *(Vessel(f"frag {k}", box("frag", 0.6, 0.5, 0.35), height(0.9, f"frag {k}: bottom")) for k in three))
    boxes = (Box(Vessel("weir box", box("weir box", 0.3, 0.15, 0.4), height(1.2, "weir box: bottom")), "show",
                 item("edge", "weir box", length=0.3, at=above("show rim", -0.06))),)
    drains = (_drain("box main", "weir box", 0.2, "settling", bore=0.0814, place="bottom"),
              _drain("box emergency", "weir box", 0.28, "settling", place="bottom"),
              _drain("refuge overflow", "refuge", -0.06, "return"),
              *(_drain(f"frag {k} overflow", f"frag {k}", -0.06, "other pump", 0.25, 0.0428) for k in three))
    returns = (_way("show return", "show", "main", 0.0284, 2.9), _way("refuge return", "refuge", "main"),
               *(_way(f"frag {k} return", f"frag {k}", "frags") for k in three))
    pumps = (*(replace(pump("return", bore=0.0428, length=1.0), name=f"pump {letter}", header="main") for letter in "AB"),
             replace(pump("other pump"), name="frag pump", header="middle"),
             replace(pump("middle", length=0.3), name="booster", header="frags"))
    vessels = [Vessel(f"{name} sump", box(f"{name} sump", 1.6, 0.6, 0.5), height(bottom, f"{name} sump: bottom"))
               for name, bottom in (("main", 0.0), ("frag", 0.05))]
    sumps = (Sump(vessels[0], (chamber("settling", 0.6, plate(0.35)), chamber("return"))),
             Sump(vessels[1], (chamber("other pump"),)))
    runs = (Run("balance", "return", "other pump", pipe("balance", 0.0678, 0.5, 1.0), height(0.06, "balance: start"),
                height(0.06, "balance: finish")),
            *((Run("dead leg", "main", "nowhere", pipe("dead leg", 0.0284, 0.5, 1.0)),) if dead_end else ()))
    groups = tuple(Group(name, tuple(f"frag {k}{rest}" for k in three))
                   for name, rest in (("frag", ""), ("frag overflow", " overflow"), ("frag return", " return")))
    return Build("Several of everything", tanks, sumps, drains, returns, pumps, GivenWater("line", height(line, "line")),
                 exact_defaults(), {"room at the sump rim": uncertain(0.0, "room")}, boxes=boxes, runs=runs, groups=groups)


@cache
def roomed(count: int, bore: float = 0.0428, valve: bool = False, bottoms: tuple[float, ...] = (), line: float = 0.13,
           ) -> Assessment:
    """Return the assessment of a fish room."""
    return assess(room(count, bore, valve, bottoms, line))


@cache
def mixture() -> Assessment:
    """Return the assessment of the mixed build, its line known to a centimetre."""
    return assess(mixed(band(0.20, 0.21, 0.22)))
