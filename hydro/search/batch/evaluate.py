"""Everything that the checks of one design ask, read off arrays of all of them: the same rows as for a single loop.

What `hydro.scenarios.results.results_of` asks of one loop is asked of all designs at once: running, stopped in the four cases,
the overflows with the pump at its best, all drains and each one out, the dry drains alone. A design's `Results` are put
together from that when they are wanted; one that has no steady way to run gets the row that says so, without the bounds of its
surging."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from hydro.elements.drain import WITH_AIR
from hydro.network.model import Closing, Network
from hydro.quantities.arrays import take
from hydro.scenarios.all_drains_blocked import raised_when_blocked
from hydro.scenarios.placed_build import PlacedBuild, at_its_best, closing_of, with_drains_blocked
from hydro.scenarios.results import COMBINATIONS, DRY, OverflowCase, Results, top_of_cycle
from hydro.search.batch.power_cut import BatchPowerCut, cut
from hydro.search.batch.solve import DRAWS_AIR as AIRY
from hydro.search.batch.solve import NO_LIFT, NO_MODES, UNSOLVED, ModeCase, Ran, fits_in, run_all, solve_in, spread_out
from hydro.search.batch.subset import subset
from hydro.shutdown import Shutdown
from hydro.steady.operating_point import CANNOT_LIFT, DRAWS_AIR, NONE, STEADY, SURGES, OperatingPoint
from hydro.steady.state import State

KINDS = {AIRY: DRAWS_AIR, NO_LIFT: CANNOT_LIFT, NO_MODES: SURGES, UNSOLVED: NONE}
REASONS = {AIRY: "the water in the system does not keep the pump chamber above the intake",
           NO_LIFT: "the pump does not lift that high", UNSOLVED: "the equations were not solved",
           NO_MODES: "too much water to run with air, too little to run as a siphon"}


@dataclass(frozen=True, slots=True)
class Designs:
    """Many designs of one topology: `sample` has an array for every open number. `cuts` go with the ways of `ran`, case by case.

    `overflows` are the states with all drains running with air, by what is out; `siphons` the highest level, in its place, of a
    state in which some drain siphons (not a number where none was asked for or found); `surges` whether no combination of modes
    was found there. `alone` gives one design's network, `best` that with the pump at its best, `line` its pump chamber's level.
    """

    loop: PlacedBuild
    sample: Mapping[str, Any]
    count: int
    ran: Ran
    cuts: tuple[Mapping[tuple[bool, bool], BatchPowerCut], ...]
    overflows: Mapping[tuple[int, ...], ModeCase]
    siphons: Mapping[tuple[int, ...], Any]
    wet: Any
    alone: Callable[[Any], Network]
    surges: Mapping[tuple[int, ...], Any]
    best: Callable[[Any], Network]
    line: Any

    def picks_of(self, design: int) -> dict[str, Any]:
        """Return the values of one design by name."""
        return {name: value[design].item() for name, value in self.sample.items()}

    def results(self, design: int) -> Results:
        """Return what is found of one design."""
        sample, ran = self.picks_of(design), self.ran
        network = self.alone(design)
        kind, states = int(ran.kinds[design]), ran.states(design, network)
        if kind in (NO_LIFT, NO_MODES, UNSOLVED) or not states:
            return Results(self.loop, sample, network, OperatingPoint(KINDS.get(kind, NONE), None, (), REASONS.get(kind, "")))
        several = "more than one way to run is consistent: which one, its history decides"
        reason = REASONS.get(kind, several if len(states) > 1 else "every part balances")
        answer = OperatingPoint(KINDS.get(kind, STEADY), states[0], tuple(states[1:]), reason)
        stopped = {case: self._stopped(design, network, case) for case in COMBINATIONS}
        every = [(), *((k,) for k in network.drains)]
        tank = max(
            (raised_when_blocked(self.loop, sample, state, network.tank) for state in states), key=lambda one: one.all - one.room
        )
        dry = tuple(k for n, k in enumerate(network.drains) if self.wet[n, design])
        alone = (dry,) if 2 <= len(dry) < len(network.drains) else ()
        return Results(self.loop, sample, network, answer, stopped, tuple(self._overflow(design, network, out) for out in every),
                        (tank,), tuple(self._overflow(design, network, out) for out in alone))

    def _stopped(self, design: int, network: Network, case: tuple[bool, bool]) -> Shutdown:
        """Return the power cut of one design that leaves the least room, of all the ways it may run."""
        worst: Shutdown | None = None
        for way, cuts in zip(self.ran.ways, self.cuts, strict=True):
            place = way.among(design)
            if place is None:
                continue
            one: BatchPowerCut = take(cuts[case], place)
            made = Shutdown(*case, {network.tank: one.tank_level}, {network.tank: ""}, one.items, one.chambers, (one.spare,),
                           network.sumps, 0.0, network.tanks)
            worst = made if worst is None or made.spare < worst.spare else worst
        assert worst is not None
        return worst

    def _overflow(self, design: int, network: Network, out: tuple[int, ...]) -> OverflowCase:
        way = self.overflows[out]
        place = way.among(design)
        found = float(self.siphons[out][design])
        siphons = None if found != found else found
        flushes = self._flushes(design, out) if siphons is None and self.surges[out][design] else None
        if place is None:
            return OverflowCase(out, None, siphons, None, flushes)
        state = State(network, None, tuple(float(x[place]) for x in way.levels), tuple(float(x[place]) for x in way.flows), 0)
        return OverflowCase(out, state, siphons, None, flushes)

    def _flushes(self, design: int, out: tuple[int, ...]) -> float | None:
        """Return the highest level of the cycle of a design's drains that flush, m: asked alone, of the few where it matters."""
        network = with_drains_blocked(self.best(design), out)
        return top_of_cycle(network, Closing(network.pump_chamber, level=float(self.line[design])), network.tank)


def designs_of(loop: PlacedBuild, sample: Mapping[str, Any], count: int) -> Designs | None:
    """Return what is found of `count` designs that differ in `sample` (name -> array); None where the build is not of the kind.

    The picks are each design's own values, as if they stood in its file, no ends of bands.

    SolveError or InputError where the build itself is not one.
    """
    stopped = run_and_stop(loop, sample, count)
    if stopped is None:
        return None
    ran, cuts = stopped
    wet = _wet(ran)
    line = _line(ran)
    # A speed or an opening among the picks is how a design is set; the pump at its best is so in spite of it.
    freed = {name: value for name, value in sample.items() if name not in at_its_best(loop.build, {})}
    best = spread_out(loop.network(at_its_best(loop.build, freed)), ran.count)
    overflows, siphons, surges = _overflows(best, line, ran, wet)
    return Designs(loop, sample, count, ran, cuts, overflows, siphons, wet, subset(ran.network), surges, subset(best), line)


def run_and_stop(loop: PlacedBuild, sample: Mapping[str, Any], count: int,
                 ) -> tuple[Ran, tuple[Mapping[tuple[bool, bool], BatchPowerCut], ...]] | None:
    """Return how all designs run and, way by way, the power cut in its four cases; None where the build is not of the kind."""
    network = loop.network(dict(sample))
    if not fits_in(network):
        return None
    ran = run_all(network, closing_of(loop, network, dict(sample)), count)
    one = take(network, 0)
    return ran, tuple({case: cut(_state(ran, way), *case, one=one) for case in COMBINATIONS} for way in ran.ways)


def _state(ran: Ran, way: ModeCase) -> State:
    network = take(ran.network, way.designs).in_modes(way.modes)
    return State(network, take(ran.closing, way.designs), way.levels, way.flows, 0)


def _wet(ran: Ran) -> Any:
    """Return for each drain and design whether it carries water in some way the design may run."""
    import numpy as np

    wet = np.zeros((len(ran.network.drains), ran.count), dtype=bool)
    for way in ran.ways:
        for n, k in enumerate(ran.network.drains):
            wet[n, way.designs] |= way.holds & (way.flows[k] >= DRY)
    return wet


def _line(ran: Ran) -> Any:
    """Return the highest level of the pump chamber in the ways that each design may run, m; its lowest line where none holds."""
    import numpy as np

    line = np.full(ran.count, -np.inf)
    for way in ran.ways:
        line[way.designs] = np.maximum(line[way.designs], np.where(way.holds, way.levels[ran.network.pump_chamber], -np.inf))
    return line


def _overflows(
    best: Network, line: Any, ran: Ran, wet: Any
) -> tuple[dict[tuple[int, ...], ModeCase], dict[Any, Any], dict[Any, Any]]:
    """Return the overflows with the pump at its best and the pump chamber held: all drains, each out, all wet ones out.

    With them the levels while some drain siphons, and whether no modes hold, both where the tank goes over with air.
    """
    import numpy as np

    able = np.flatnonzero(np.isfinite(line))
    held = Closing(best.pump_chamber, level=line)
    drains = best.drains
    outs: dict[tuple[int, ...], Any] = {(): able, **{(k,): able for k in drains}}
    for pattern in {tuple(column) for column in wet[:, able].T.tolist()}:
        out = tuple(k for k, one in zip(drains, pattern, strict=True) if one)
        if 2 <= len(out) < len(drains):
            outs[out] = able[(np.array(pattern) == wet[:, able].T).all(axis=1)]
    ways, siphons, surges = {}, {}, {}
    near = ran.ways[0]
    for out, designs in outs.items():
        network = with_drains_blocked(best, out)
        way = solve_in(network, held, dict.fromkeys(drains, WITH_AIR), designs, near, guarded=False)
        ways[out], siphons[out], surges[out] = way, np.full(ran.count, np.nan), np.zeros(ran.count, dtype=bool)
        opening = np.broadcast_to(np.asarray(best.waters[best.tank].opening, dtype=float), (ran.count,))
        over = designs[~way.holds | (way.levels[best.tank] > opening[designs])]
        if len(over):
            siphons[out][over], surges[out][over] = _siphons(take(network, over), take(held, over), len(over))
    return ways, siphons, surges


def _siphons(network: Network, held: Closing, count: int) -> tuple[Any, Any]:
    """Return the lowest tank level of the consistent states in which a drain siphons, m, and whether no modes hold at all.

    The level is not a number where there is none.
    """
    import numpy as np

    ran = run_all(network, held, count)
    lowest = np.full(count, np.nan)
    for way in ran.ways:
        if any(mode != WITH_AIR for mode in way.modes.values()):
            here = way.designs[way.holds]
            lowest[here] = np.fmin(lowest[here], way.levels[network.tank][way.holds])
    return lowest, ran.kinds == NO_MODES
