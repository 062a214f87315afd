"""What is asked of a build: running, a drain blocked, the power cut. Each is a network with some parameters changed.

    loop = place(build)                     heights from 'tank water' made fast, once, in the middle of every band
    network = loop.network(picks)           one choice of values
    answer = running(loop, network)         with the amount of water that the file gives
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from hydro.description import heights as places
from hydro.description.build import Build, Height
from hydro.elements import comb, edge, rim, side_outlet
from hydro.elements.drain import WITH_AIR
from hydro.elements.pump import BOX_EXPONENT, STRENGTH
from hydro.errors import SolveError
from hydro.network.assembly import make_network
from hydro.network.model import Closing, Network
from hydro.network.naming import header_of
from hydro.network.paths import spilling_into
from hydro.quantities.arrays import lesser
from hydro.quantities.uncertain import Sample, Uncertain
from hydro.scenarios.tuned_valves import set_to, tuned, tuned_drains, valve_settings
from hydro.shutdown import still_volume
from hydro.steady.modes import operating_point
from hydro.steady.operating_point import NO_FLOW, OperatingPoint
from hydro.steady.state import State, solve_network

CAPACITY = {STRENGTH.name: "high", BOX_EXPONENT.name: "high", rim.WEIR.name: "low", side_outlet.HOLE.name: "low",
            comb.GAP.name: "low", comb.OPEN.name: "low", edge.EDGE.name: "low"}
"""Overflows are judged with the pump new and the edges rated no higher than the standard rates them."""
MANY = 12
"""Tanks from which on not each is asked for its own greatest inflow while no drain is out."""


@dataclass(frozen=True, slots=True)
class PlacedBuild:
    """A build with every height fixed: `tank_water` are the running levels that heights were counted from, m above ground.

    It is None where no height needs one. Under other picks a level moves with the lowest lip of its tank: whoever measured
    from the water measured in a tank that stands where it stands.
    """

    build: Build
    tank_water: Mapping[str, float] | None

    def network(self, sample: Sample | None = None, as_tuned: Network | None = None) -> Network:
        """Return the network under a choice of values; valves that are tuned are set for its running state, or as `as_tuned`."""
        network = make_network(self.build, sample, self.water_at(sample or {}))
        one = all(isinstance(value, (str, float, int)) for value in (sample or {}).values())
        if not one or not tuned_drains(network):
            return network
        if as_tuned is None:
            return tuned(network, closing_of(self, network, sample))
        return set_to(network, valve_settings(as_tuned))

    def water_at(self, sample: Sample) -> Any:
        """Return the running levels that heights count from under a choice of values, m above the ground."""
        if self.tank_water is None or not sample:
            return self.tank_water
        return {name: level + _lowest_lip(self.build, name, sample) - _lowest_lip(self.build, name, {})
                for name, level in self.tank_water.items()}

    def height(self, place: str, sample: Sample | None = None) -> float:
        """Return the level of a place by name, m above the ground."""
        return float(places.place_level(place, self.build, sample or {}, self.water_at(sample or {})))


def place(build: Build, rounds: int = 12) -> PlacedBuild:
    """Fix the heights counted from 'NAME water': solve, measure, and solve again until the levels stay within 0.02 mm.

    SolveError where they never do: a tank or its only lip is itself counted from the level that it makes.
    """
    try:
        make_network(build)
        if build.water.level is not None:
            places.resolve(build.water.level, build, {})
        return PlacedBuild(build, None)
    except places.WaterUnknown:
        pass
    names = [vessel.name for vessel in (*build.tanks, *(box.vessel for box in build.boxes))]
    levels = {name: _lowest_lip(build, name, {}) + 0.015 for name in names}
    for _ in range(rounds):
        loop = PlacedBuild(build, levels)
        answer = run_placed(loop, loop.network())
        # At rest a tank stands anywhere between its mouths and its lip: such a level is nothing to count heights from.
        if answer.state is None or all(float(answer.state.flows[k]) < NO_FLOW for k in answer.state.network.pumps):
            return loop
        network = answer.state.network
        found = {name: float(answer.state.levels[network.water(name)]) for name in names}
        step = max((abs(found[name] - levels[name]) for name in names), default=0.0)
        levels = found
        if step < 2e-5:
            return PlacedBuild(build, found)
    raise SolveError("running", rounds, step, "the tank's running level", "it does not settle while heights are counted from it: "
                     "count the tank and its lips from the ground or from the rim")


def _lowest_lip(build: Build, name: str, sample: Sample) -> Any:
    """Return the lowest lip or edge of a tank that is not itself counted from a running level, m; 1 m where there is none."""
    edges = [*(drain.inlet.values.get("lip") for drain in build.drains if drain.tank == name),
             *(value for box in build.boxes if box.tank == name for value in box.edge.values.values())]
    lowest: Any = None
    for lip in edges:
        if not isinstance(lip, Height):
            continue
        try:
            crest = places.resolve(lip, build, sample)
        except places.WaterUnknown:
            continue
        lowest = crest if lowest is None else lesser(lowest, crest)
    return 1.0 if lowest is None else lowest


def closing_of(loop: PlacedBuild, network: Network, sample: Sample | None = None) -> Closing:
    """Return the amount of water as the file gives it: the running line, a level at rest, or a total."""
    given, node = loop.build.water, network.pump_chamber
    if given.kind == "total":
        assert given.total is not None
        return Closing(node, total=given.total.at(sample or {}))
    assert given.level is not None
    level = places.resolve(given.level, loop.build, sample or {}, loop.water_at(sample or {}))
    if given.kind == "line":
        return Closing(node, level=level)
    return Closing(node, total=still_volume(network, level))


def run_placed(loop: PlacedBuild, network: Network, sample: Sample | None = None) -> OperatingPoint:
    """Return how the loop runs."""
    return operating_point(network, closing_of(loop, network, sample))


def held_at(network: Network, level: float) -> Closing:
    """Return the closing that a top-up makes: the pump chamber kept at a level, water added as needed."""
    return Closing(network.pump_chamber, level=level)


def with_air_only(network: Network, closing: Closing, near: State | None = None) -> State:
    """Return the state with every drain running with air, consistent or not: what overflows are rated by."""
    modes = dict.fromkeys(network.drains, WITH_AIR)
    return solve_network(network.in_modes(modes), closing, near, "overflows running with air")


def at_its_best(build: Build, sample: Sample, tanks: Collection[str] | None = None) -> Sample:
    """Return the picks under which overflows are judged; `sample` go before.

    The pump is at its best: new, at full speed (a controller that forgets its setting), the valves on its side open. Of
    `tanks` that are named the returns of these alone are opened: what those of others took with theirs open is left for them.
    """
    valves = {pump.speed.name: 1.0 for pump in build.pumps if pump.speed is not None}
    headers = pressed(build)
    returns = [described.line for described in build.returns if tanks is None or described.tank in tanks]
    for items in (*(pump.line for pump in build.pumps), *returns,
                  *(between.line for between in build.runs if headers & {between.start, between.finish})):
        for item in items:
            opening = item.values.get("open")
            if isinstance(opening, Uncertain):
                valves[opening.name] = 1.0
    return {**CAPACITY, **valves, **sample}


def greatest_inflows(build: Build, sample: Sample, network: Network, out: Collection[int]) -> list[Sample]:
    """Return the picks under which tanks may stand highest with some drains out, the pump at its best.

    Of several tanks on one header the open valve of one starves the others. So all are asked with every return's valve open, with
    none open beyond what is stated, and each whose drain is out (all where none is, unless there are very many) with its own and
    those of the tanks that spill into it.
    """
    every = at_its_best(build, sample)
    if len(build.tanks) == 1:
        return [every]
    uppers = {network.links[k].up for k in out} or (network.uppers if len(network.uppers) <= MANY else ())
    found = [every, at_its_best(build, sample, ())]
    for water in uppers:
        names = {network.waters[k].name for k in spilling_into(network, water)}
        found.append(at_its_best(build, sample, names))
    return [picks for k, picks in enumerate(found) if picks not in found[:k]]


def slowed(build: Build) -> tuple[str, ...]:
    """Return the pumps that are stated to run below full speed."""
    return tuple(pump.name for pump in build.pumps if pump.speed is not None and pump.speed.middle < 1.0 and not pump.off)


def at_speed_of(running: Network, network: Network) -> Network:
    """Return the network with its pumps at the speeds that they have in `running`."""
    return network.changed({k: {"speed": running.links[k].element.speed} for k in network.pumps})


def pressed(build: Build) -> set[str]:
    """Return the headers that some pump pushes into, over the pipes between headers."""
    found = {header_of(build, pump) for pump in build.pumps}
    pipes = [{run.start, run.finish} for run in build.runs if run.start_at is None and run.finish_at is None]
    while any(0 < len(ends - found) < len(ends) for ends in pipes):
        found.update(*(ends for ends in pipes if ends & found))
    return found


def with_drains_blocked(network: Network, drains: Mapping[int, float] | tuple[int, ...]) -> Network:
    """Return the network with some drains blocked."""
    shares = drains if isinstance(drains, Mapping) else dict.fromkeys(drains, 1.0)
    return network.changed({k: {"blocked": share} for k, share in shares.items()})
