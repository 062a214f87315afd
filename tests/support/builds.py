"""Hand-made builds for the tests: one loop whose every number is a keyword. All of them are invented.

    build = loop(line=0.2, returns=[way("a", end=1.40)])
    found = find(place(build))

Lengths in m, volumes in m3, flows in m3/s, heights in m above the ground unless a `Height` says otherwise. A bare number is
exact; a `Uncertain` brings its own band. Every default of the library that has a band is overridden by its middle, so that
nothing moves but what a test moves; `overrides` puts bands back by name.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from hydro.case.sections.settings import known_defaults
from hydro.description.build import BucketTest, Build, Chamber, Drain, GivenWater, Height, Item, Pump, Return, Sump, Value, Vessel
from hydro.elements.registry import load_all
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import Results, results_of
from hydro.shutdown import Shutdown
from hydro.steady.state import State

Length = float | Uncertain
Level = float | Uncertain | Height

CURVE = ((0.0, 5.0), (1800 / 3.6e6, 4.7), (3600 / 3.6e6, 3.9), (5000 / 3.6e6, 2.9), (6200 / 3.6e6, 1.6), (7200 / 3.6e6, 0.0))
"""Flow in m3/s and head in m of the pump that a loop has unless it is given another."""


def uncertain(value: Length, name: str) -> Uncertain:
    """Return a number under a name, exact unless it has a band."""
    return value.named(name) if isinstance(value, Uncertain) else Uncertain.exact(float(value), name)


def band(low: float, middle: float, high: float) -> Uncertain:
    """Return a number with a band, to be named by what takes it."""
    return Uncertain(low, middle, high)


def height(level: Level, name: str, place: str = "ground") -> Height:
    """Return a height under a name; a `Height` keeps its place."""
    if isinstance(level, Height):
        return Height(level.offset.named(name), level.place)
    return Height(uncertain(level, name), place)


def above(place: str, offset: Length) -> Height:
    """Return a height `offset` above a place (below it where negative)."""
    return Height(uncertain(offset, ""), place)


def item(kind: str, owner: str, **values: Length | Height | str) -> Item:
    """Return an element with its values named 'OWNER: VALUE'."""
    named: dict[str, Value] = {}
    for key, value in values.items():
        if isinstance(value, Height):
            named[key] = height(value, f"{owner}: {key}")
        else:
            named[key] = value if isinstance(value, str) else uncertain(value, f"{owner}: {key}")
    return Item(kind, named, label=f"{owner}: {kind}")


def box(name: str, length: Length, width: Length, high: Length) -> Item:
    """Return a box by its inside."""
    return item("inside", name, length=length, width=width, height=high)


def taper(name: str, rim: tuple[float, float], bottom: tuple[float, float], high: float, corners: float = 0.0) -> Item:
    """Return a tub that narrows downward, sides at rim and bottom as (length, width)."""
    return item("taper", name, rim_length=rim[0], rim_width=rim[1], bottom_length=bottom[0], bottom_width=bottom[1],
                height=high, corners=corners)


def bucket(name: str, *fills: tuple[float, float], high: float | None = None) -> Item:
    """Return a table of fills (m3, m above the bottom)."""
    table = tuple((uncertain(volume, f"{name}: fill {k} volume"), uncertain(level, f"{name}: fill {k} height"))
                  for k, (volume, level) in enumerate(fills, 1))
    values: dict[str, Value] = {"table": table}
    if high is not None:
        values["height"] = uncertain(high, f"{name}: height")
    return Item("bucket fill", values, label=name)


def plate(top: float, owner: str = "plate") -> Item:
    """Return a plate with its top edge so much above the ground."""
    return item("plate", owner, top=height(top, ""))


def slot(gap: float, owner: str = "slot") -> Item:
    """Return a wall with a gap under it, as high as the sump."""
    return item("slot", owner, gap=gap)


def mat(top: float, owner: str = "mat") -> Item:
    """Return a coarse mat with its top edge so much above the ground."""
    return item("mat", owner, top=height(top, ""))


def chamber(name: str, length: Length | None = None, end: Item | None = None, share: float | None = None,
            gear: float | None = None, gear_top: float | None = None) -> Chamber:
    """Return a chamber of the sump; the last one takes what is left of it."""
    return Chamber(name, None if length is None else uncertain(length, f"{name}: length"),
                   None, None if share is None else uncertain(share, f"{name}: share"), end,
                   None if gear is None else uncertain(gear, f"{name}: gear"),
                   None if gear_top is None else height(gear_top, f"{name}: gear top"))


def drain(name: str = "drain", lip: Level = 1.470, bore: Length = 0.057, rim: Length | None = None, length: Length = 1.25,
          k: Length = 2.3, into: str = "inflow", end: Level = 0.24) -> Drain:
    """Return an upright pipe with an open top, and a line of one run with one K."""
    return Drain(name, item("standpipe", f"drain {name}", rim=bore if rim is None else rim, lip=height(lip, "")),
                 pipe(f"drain {name}", bore, length, k), into, height(end, f"drain {name}: end"))


def pipe(owner: str, bore: Length, length: Length, k: Length = 0.0) -> tuple[Item, ...]:
    """Return a straight run and one K behind it."""
    return item("pipe", owner, size=bore, length=length), item("K", owner, K=k)


def way(name: str = "return", end: Level = 1.455, bore: Length = 0.0284, length: Length = 0.65, k: Length = 2.9,
        points: str = "down", hole_at: Level | None = None, hole: Length | None = None, valve: bool = False,
        mark: bool = False, valve_last: bool = False) -> Return:
    """Return a return; `mark` says that its siphon break sits in the line, `valve` puts a check valve before that mark.

    `valve_last` puts the check valve behind it, at the mouth.
    """
    owner = f"return {name}"
    at = None
    if hole_at is not None:
        given = {"at": height(hole_at, "")}
        at = item("siphon break", owner, **given, **({} if hole is None else {"hole": hole}))
    check = (item("check valve", owner, K=2.0, crack=0.0),)
    line = pipe(owner, bore, length, k)
    if valve:
        line = (*line[:1], *check, *line[1:])
    if mark:
        line = (*line, Item("siphon break", {}, label=f"{owner}: mark"), item("pipe", f"{owner} (2)", size=bore, length=0.1))
    return Return(name, (*line, *check) if valve_last else line, height(end, f"{owner}: end"), points, at)


def pump(into: str = "pump", curve: Sequence[tuple[float, float]] = CURVE, intake: Level = 0.07, bore: Length = 0.0284,
         length: Length = 1.70, k: Length = 3.2, valve: bool = False, riser: bool = True, most_flow: Length | None = None,
         most_height: Length | None = None, tests: Sequence[tuple[float, float, float]] = (), speed: Length | None = None,
         ) -> Pump:
    """Return the pump with its riser; `tests` are (m3, s, m)."""
    line = pipe("pump", bore, length, k) if riser else ()
    if valve:
        line = (*line, item("check valve", "pump", K=2.0, crack=0.0))
    timed = tuple(BucketTest(*(uncertain(value, f"pump: bucket {n} {what}")
                               for value, what in zip(test, ("volume", "time", "height"), strict=True)))
                  for n, test in enumerate(tests, 1))
    return Pump("pump", into, height(intake, "pump: intake"), tuple(curve),
                None if most_flow is None else uncertain(most_flow, "pump: most flow"),
                None if most_height is None else uncertain(most_height, "pump: most height"), timed,
                None if speed is None else uncertain(speed, "pump: speed"), line=line)


def exact_defaults() -> dict[str, Uncertain]:
    """Return every default of the library that has a band, as its bare middle."""
    load_all()
    return {name: Uncertain.exact(default.middle, name, default.source) for name, default in known_defaults().items()
            if default.low != default.high and name not in ("kinematic viscosity", "water temperature")} | {
                "kinematic viscosity": Uncertain.exact(0.95e-6, "kinematic viscosity")}


def loop(*, tank: Item | None = None, tank_bottom: Level = 0.92, tank_opening: Level | None = None, tank_about: bool = False,
         sump: Item | None = None, sump_bottom: Level = 0.0, sump_opening: Level | None = None, sump_about: bool = False,
         chambers: Sequence[Chamber] | None = None, drains: Sequence[Drain] | None = None,
         returns: Sequence[Return] | None = None, driven_by: Pump | None = None, line: Level | None = None,
         still: Level | None = None, total: Length | None = None, overrides: Mapping[str, Uncertain] | None = None,
         wishes: Mapping[str, Length] | None = None, counts_on: Sequence[str] = (), salinity: float | None = None) -> Build:
    """Return a loop: a tank of 2.06 x 0.78 x 0.65 m over a sump of 1.02 x 0.50 x 0.46 m in two chambers with a plate at 0.29 m.

    One drain, one return on the pump's riser, no check valve, no siphon break, the pump chamber at 0.205 m while running.
    `wishes` leave no room at the sump's rim unless they ask for some.
    """
    given = (GivenWater("still", height(still, "water: still")) if still is not None
             else GivenWater("total", total=uncertain(total, "water: total")) if total is not None
             else GivenWater("line", height(0.205 if line is None else line, "chamber pump: line")))
    asked = {"room at the sump rim": 0.0, **(wishes or {})}
    return Build(
        "invented", (Vessel("tank", tank or box("tank", 2.06, 0.78, 0.65), height(tank_bottom, "tank: bottom"),
                           None if tank_opening is None else height(tank_opening, "tank: lowest opening"), tank_about),),
        (Sump(Vessel("sump", sump or box("sump", 1.02, 0.50, 0.46), height(sump_bottom, "sump: bottom"),
               None if sump_opening is None else height(sump_opening, "sump: lowest opening"), sump_about),
              tuple(chambers or (chamber("inflow", 0.62, plate(0.29)), chamber("pump")))),),
        tuple(drains or (drain(),)), tuple(returns or (way(),)), (driven_by or pump(),), given,
        {**exact_defaults(), **(overrides or {})}, {name: uncertain(value, f"wishes: {name}") for name, value in asked.items()},
        salinity=None if salinity is None else uncertain(salinity, "salinity"), counts_on=tuple(counts_on))


def three_chambers(low: float = 0.29, high: float = 0.25) -> tuple[Chamber, ...]:
    """Return the worked loop's chambers: 0.42, 0.32 and 0.28 m long, plates at 0.29 and 0.25 m unless others are asked for."""
    return (chamber("inflow", 0.42, plate(low, "plate 1")), chamber("media", 0.32, plate(high, "plate 2")), chamber("pump"))


def worked(**changes: object) -> Build:
    """Return the loop of cases/worked-loop.yaml by hand, changed in what is given."""
    given: dict[str, object] = {
        "chambers": three_chambers(),
        "drains": (drain("drain 1", 1.470, 0.0452, length=1.45, k=2.9, end=0.22), drain("drain 2", 1.478, 0.057, end=0.24)),
        "returns": (way("branch 1", 1.455, hole_at=1.484),
                    way("branch 2", 1.448, bore=0.022, length=1.90, k=3.4, hole_at=1.486)),
        "overrides": {name: Uncertain.exact(value, name) for name, value in
                      (("rim weir coefficient", 0.60), ("rim orifice coefficient", 0.60), ("inlet entrance loss", 0.0))}}
    return loop(**{**given, **changes})  # type: ignore[arg-type]


def found(build: Build) -> Results:
    """Return the findings of a build in the middle of every band."""
    return results_of(place(build))


def stated(state: State, tank: float | None = None, chambers: Sequence[float] | None = None,
           flows: Mapping[str, float] | None = None) -> State:
    """Return a state with levels and flows (by link name) put in by hand: for checks, which only compare."""
    levels, flowing = list(state.levels), list(state.flows)
    if tank is not None:
        levels[state.network.tank] = tank
    for k, level in zip(state.network.chambers, chambers or (), strict=False):
        levels[k] = level
    for name, flow in (flows or {}).items():
        flowing[state.network.place(name)] = flow
    return replace(state, levels=tuple(levels), flows=tuple(flowing))


def seen(results: Results, *states: State, **answer: Any) -> Results:
    """Return findings whose answer stands in other states, the first of them in front; `answer` changes its other fields."""
    if states:
        answer = {"state": states[0], "others": states[1:], **answer}
    return replace(results, answer=replace(results.answer, **answer))


def cut_to(results: Results, levels: Mapping[tuple[bool, bool], float | Sequence[float]]) -> Results:
    """Return findings whose power cuts (breaks work, valves hold) end with the chambers at given levels, m."""
    count = len(results.network.chambers)
    stopped = dict(results.stopped)
    for case, level in levels.items():
        chambers = (float(level),) * count if isinstance(level, (int, float)) else tuple(level)
        network = results.network
        stopped[case] = Shutdown(*case, {network.tank: 0.0}, {network.tank: ""},
                                {"tank": 0.01 + 0.02 * case[0] + 0.04 * case[1]}, chambers,
                                (0.0,) * len(network.sumps), network.sumps, 0.0, network.tanks)
    return replace(results, stopped=stopped)
