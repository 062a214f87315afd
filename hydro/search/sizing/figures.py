"""What designs are weighed by: noise, energy, room, holes, pipe, reserve. All but room and reserve are better when smaller.

    noise       largest J = V/sqrt(g D) of a drain that carries air; a full siphon counts as 0
    energy      watts of the pumps at their operating points; hydraulic power, rho g Q H, where no watts are known
    room        volume left in the sump after the power cut that has to fit
    hole        largest hole to drill for a bulkhead (upper end of the catalogue's band: measure the fitting in hand)
    reserve     where goals are set: how far the nearest of the checks asked stands from failing, from 0 to 1; 1 is 5 cm of
                height, or a quarter of the limit, and more
    pipe        outside size x length of all pipe and hose, as a stand-in for its cost (m2); with prices, their sum
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from hydro.catalog import PipeSize, PriceList, bulkheads, hoses, size_of
from hydro.checks import Check
from hydro.checks.assessment import pumped_flow
from hydro.description.build import Build, Item
from hydro.elements.bulkhead import LENGTH as BULKHEAD_LENGTH
from hydro.elements.drain import SIPHON
from hydro.elements.registry import KINDS
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.results import Results
from hydro.search.pumps.candidate import own_pump
from hydro.search.pumps.point import point_of
from hydro.search.pumps.power import hydraulic_power, power_draw

NOISE, ENERGY, ROOM, HOLE, PIPE, RESERVE = "noise", "energy", "room", "hole", "pipe", "reserve"
FIGURES = (NOISE, ENERGY, ROOM, HOLE, PIPE, RESERVE)
BETTER = {ROOM: -1.0, RESERVE: -1.0}
"""A figure that is better when larger counts with the other sign."""
HYDRAULIC = "hydraulic power"
TALL, AMPLE = 0.05, 0.25
"""A margin of height (m), and a share of any other limit, that leave nothing to wish for (chosen here)."""
WALL = 2.0e-3
"""Wall of a pipe or hose of which only the bore is known, m: it counts for its cost alone (chosen here)."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """The figures of one design in SI units by name (W, m3, m, m2 or money); a figure that does not exist is not in `values`.

    `energy_basis` says what the watts are.
    """

    values: Mapping[str, float]
    energy_basis: str = ""

    def costs(self, names: tuple[str, ...]) -> tuple[float, ...]:
        """Return figures so that less is better, by names."""
        return tuple(BETTER.get(name, 1.0) * self.values[name] for name in names)


@dataclass(slots=True)
class DesignScale:
    """Weighs designs. `prices` is an owner's list; `unpriced` collects the pipes that it does not hold."""

    prices: PriceList | None = None
    density: float = 1000.0
    unpriced: dict[str, None] = field(default_factory=dict)

    def weigh(self, results: Results, numbers: Mapping[str, Uncertain], asked: Sequence[Check] = ()) -> Weighed:
        """Return the figures of a design that runs; `numbers` are the rough numbers that its choice sets, `asked` its goals."""
        values = {NOISE: greatest_air_number(results)}
        if asked:
            values[RESERVE] = min(reserve(row) for row in asked)
        watts, basis = power(results, self.density)
        values[ENERGY] = watts
        values[ROOM] = results.stopped[results.wanted_cut()].spare
        hole = largest_hole(results.build, numbers)
        if hole is not None:
            values[HOLE] = hole
        values[PIPE] = self.pipe(results.build, numbers)
        return Weighed(values, basis)

    def pipe(self, build: Build, numbers: Mapping[str, Uncertain]) -> float:
        """Return what all pipe and hose comes to: outside size x length, m2, or money where every price is known."""
        area = money = 0.0
        for items in build.lines:
            for item in items:
                size, length = _sized(item, numbers)
                if size is None or length is None:
                    continue
                known = size_of(size)
                outside = known.outside if isinstance(known, PipeSize) else size.middle + 2.0 * WALL
                area += outside * length.middle
                money += self._price(item, known, size, length.middle)
        return area if self.prices is None else money

    def _price(self, item: Item, known: PipeSize | None, size: Uncertain, length: float) -> float:
        if self.prices is None:
            return 0.0
        hose = next((one.words for one in hoses().values() if "hose" in item.kind and abs(one.bore - size.middle) < 1e-4), "")
        words = known.words if known is not None else hose or f"{item.kind} {1000.0 * size.middle:g} mm"
        price = self.prices.find(words)
        metre = None if price is None else price.per_metre
        if metre is None:
            self.unpriced[words] = None
            return 0.0
        return metre * length


def _sized(item: Item, numbers: Mapping[str, Uncertain]) -> tuple[Uncertain | None, Uncertain | None]:
    """Return size and length of a straight run, None for what is none."""
    if "length" not in item.values or item.kind not in KINDS or BULKHEAD_LENGTH in KINDS[item.kind].defaults:
        return None, None
    size, length = (item.values.get(name) for name in ("size", "length"))
    if not isinstance(length, Uncertain) or not isinstance(size, Uncertain):
        return None, None
    return numbers.get(size.name, size), numbers.get(length.name, length)


def reserve(check: Check) -> float:
    """Return how far a check stands from failing, 0 to 1 (see above); below 0 where it fails."""
    scale = TALL if check.dimension == "length" else AMPLE * abs(check.limit) or 1.0
    return min(1.0, check.margin / scale)


def greatest_air_number(results: Results) -> float:
    """Return the largest J of a drain that carries air, in any way the loop may run."""
    numbers = [0.0]
    for k in results.network.drains:
        if {state.network.links[k].element.mode for state in results.answer.states} == {SIPHON}:
            continue
        numbers += [float(results.element(k).air_number(max(float(state.flows[k]), 0.0))) for state in results.answer.states]
    return max(numbers)


def power(results: Results, density: float) -> tuple[float, str]:
    """Return what the running pumps draw together, W, and what that figure is."""
    network = results.network
    electric = useful = 0.0
    basis: str | None = ""
    for described in results.build.pumps:
        k = next((k for k in network.pumps if network.links[k].name == described.name), None)
        point = None if k is None else point_of(results.answer, k)
        if point is None or described.off or k is None:
            continue
        useful += hydraulic_power(point.flow, point.head, density)
        own = own_pump(described)
        if described.power is not None:
            own = replace(own, rated=float(described.power.at(results.sample)))
        took = power_draw(own, point.flow, float(results.element(k).speed))
        if took is None:
            basis = None
        elif basis is not None:
            electric, basis = electric + took.watts, took.basis
    return (useful, HYDRAULIC) if basis is None else (electric, basis)


def largest_hole(build: Build, numbers: Mapping[str, Uncertain]) -> float | None:
    """Return the largest hole to drill for a bulkhead, m; None where no line has one."""
    found = [hole_of(numbers.get(size.name, size), build.units) for items in build.lines for item in items
             if BULKHEAD_LENGTH in KINDS[item.kind].defaults and isinstance(size := item.values.get("size"), Uncertain)]
    return max(found, default=None)


def hole_of(size: Uncertain, units: str) -> float:
    """Return the hole for a bulkhead, m: the upper end of the catalogue's band for the pipe it takes, else for the nearest bore.

    A bore wider than any in the catalogue takes a hole in proportion to the nearest one's.
    """
    known = size_of(size)
    metric = units == "metric" if known is None else "metric" in known.family
    among = [one for one in bulkheads().values() if one.joint == ("metric solvent" if metric else "inch solvent")]
    named = [one for one in among if known is not None and known.words.startswith(f"{one.nominal} ")]
    if named:
        return named[0].hole.high
    near = min(among, key=lambda one: abs(0.5 * (one.least + one.bore) - size.middle))
    return near.hole.high * max(1.0, size.middle / near.bore)


def operating(results: Results) -> dict[str, Any]:
    """Return the operating point: flow, m3/s; each tank's level and turnover, 1/s; the line. Levels in m over their bottoms."""
    network, state = results.network, results.state
    sump: Any = network.waters[network.sump_of(network.pump_chamber)[0]].body
    tanks: list[tuple[int, Any]] = [(k, network.waters[k].body) for k in network.tanks]
    levels = {network.waters[k].name: results.answer.highest_of(k) - float(body.bottom) for k, body in tanks}
    turnover = {network.waters[k].name: into(results, k) / float(body.stored(state.levels[k])[0]) for k, body in tanks}
    return {"flow": pumped_flow(state), "tank levels": levels, "turnover": turnover,
            "line": float(state.pump_level) - float(sump.bottom)}


def into(results: Results, tank: int) -> float:
    """Return what flows into a tank, m3/s."""
    state = results.state
    return sum(abs(float(q)) for link, q in zip(results.network.links, state.flows, strict=True)
               if (link.down if q > 0.0 else link.up) == tank)
