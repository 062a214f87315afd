"""What a fault comes to when all has come to rest: water on the floor, the pump dry, noise; from steady states and volumes.

Each choice of faults is asked four ways, and the worst is kept:

| water | running | the power then fails |
|---|---|---|
| what is in the loop (and the reservoir, where the top-up is stuck) | steady state | stopped state |
| topped up: the pump chamber held at its line, where that takes more | steady state | stopped state |

Litres over an opening while it runs are what must leave until no level stands over an opening any more: the loop is solved for
less and less water. Topped up, nothing but the reservoir says how much that is: without one, as many litres as are added.

With one pump of several without power, or one of several tanks' pumps shut off, there is no steady state of its own, for tanks
stand wherever they came to rest: that is followed through time, from the running state on, and the power cut on top is that of
the loop before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from hydro.elements import limits
from hydro.elements.drain import QUIET_AT
from hydro.elements.limits import limit_of
from hydro.errors import SolveError
from hydro.faults.levels import (
    DROP,
    QUIET,
    SURGING,
    after,
    for_stopping,
    noise_of,
    opening_or_above_all,
    over_intakes,
    overtopped,
    pumps_on,
    solved_or_none,
    spilled,
    stopped_from,
)
from hydro.faults.restart import without_drains
from hydro.faults.single import Fault, counted_breaks, faulty
from hydro.network.model import Closing, Network
from hydro.scenarios.histories import outcome_of
from hydro.scenarios.placed_build import PlacedBuild, closing_of, held_at, with_air_only
from hydro.scenarios.results import wet_drains
from hydro.shutdown import Refilling, sealed_in, worst_shutdown
from hydro.steady.modes import operating_point
from hydro.steady.operating_point import DRAWS_AIR, NO_FLOW, NONE, SURGES, OperatingPoint
from hydro.steady.state import State
from hydro.transient.disturbances import pump_stops, simulate
from hydro.transient.level_marks import vessels_by_name

AT_INTAKE = 1e-3
"""A level this close to the intake is at it, m."""
LONGEST = 2 * 3600.0
"""Longest time that one pump without power is looked at, s."""


@dataclass(frozen=True, slots=True)
class Sound:
    """The loop with nothing wrong: network, how it runs, the pump chamber's running line (m), all the water (m3).

    `reservoir` is the top-up's (m3), `room` what the owner wants left below the sump's opening (m), `wet` the drains that
    carry water.
    """

    loop: PlacedBuild
    network: Network
    answer: OperatingPoint
    line: float
    total: float
    reservoir: float
    room: float
    quiet: float
    wet: tuple[int, ...]


def sound(loop: PlacedBuild, line: float | None = None) -> Sound:
    """Return the loop with nothing wrong, in the middle of every band; `line` (m) puts the pump chamber elsewhere.

    SolveError where it does not run.
    """
    network = counted_breaks(loop.build, loop.network())
    answer = operating_point(network, closing_of(loop, network) if line is None else held_at(network, line))
    if answer.state is None or not answer.runs:
        raise SolveError("running", 0, float("nan"), "the loop", answer.reason)
    build = loop.build
    return Sound(loop, network, answer, max(float(state.pump_level) for state in answer.states),
                 max(float(state.total) for state in answer.states), float(limit_of(build, limits.TOP_UP).at({})),
                 max(0.0, float(limit_of(build, limits.ROOM).at({}))), float(limit_of(build, QUIET_AT).at({})),
                 wet_drains(answer, network.drains))


@dataclass(frozen=True, slots=True)
class Effect:
    """What a choice of faults comes to.

    `over` is the water on the floor while running, `cut` when the power then fails (m3); `where` and `topped` say which
    vessel and which water. `endless` water goes over for as long as the sump is topped up, `unless_siphons` only if no drain
    begins to siphon before. `above` is the most by which a level stands over its opening while running, `left` the least height
    left in the sump after the cut (m, less than nothing over it). `lowest` is the pump chamber's lowest level over the intake,
    m. `in_time` says that it was followed through time, `first` when water then first goes over or a pump draws air (s; None:
    never).
    `nearly` is how near a sealed drain's drowned depth comes to its room when the power is back, m.
    """

    faults: tuple[Fault, ...]
    kind: str
    over: float = 0.0
    cut: float = 0.0
    where: str = ""
    topped: bool = False
    endless: bool = False
    unless_siphons: bool = False
    above: float = -float("inf")
    left: float = float("inf")
    dry: bool = False
    lowest: float = float("inf")
    noise: int = QUIET
    answer: OperatingPoint | None = field(default=None, compare=False)
    in_time: bool = False
    first: float | None = None
    nearly: float = float("inf")

    @property
    def litres(self) -> float:
        """All that comes to stand on the floor, m3."""
        return self.over + self.cut

    @property
    def floods(self) -> bool:
        """Whether water comes on the floor."""
        return self.litres > DROP or self.endless

    @property
    def power_fails(self) -> bool:
        """Whether a power cut is part of the faults."""
        return self.power_lost or any(fault.restarts for fault in self.faults)

    @property
    def hose_off(self) -> bool:
        """Whether a hose that came off is one of the faults."""
        return any(fault.hose_off for fault in self.faults)

    @property
    def power_lost(self) -> bool:
        """Whether the pump lifts nothing from the start; of several, whether none does."""
        lost = frozenset(k for fault in self.faults for k in fault.pumps_lost)
        return bool(lost) and not self.in_time


def water_of(base: Sound, faults: Sequence[Fault]) -> tuple[float, float]:
    """Return all the water (m3) and the line (m) that faults leave: filled too high, a top-up stuck open."""
    line = base.line + sum(fault.over for fault in faults)
    total = base.total
    if line > base.line:
        filled = solved_or_none(base.network, held_at(base.network, line), base.answer.state)
        total = max((float(state.total) for state in filled.states), default=total)
    return total + sum(fault.top_up for fault in faults), line


def topped_up(network: Network, line: float, near: State) -> tuple[OperatingPoint, bool]:
    """Return how the loop runs with the pump chamber held at a line, and whether it only keeps off the floor as it surges.

    Where it surges, the level that the drains need with air counts too: it is what overflows are rated by, and when a drain
    begins to siphon is known least of all.
    """
    answer = solved_or_none(network, held_at(network, line), near)
    if answer.kind != SURGES:
        return answer, False
    try:
        air = replace(answer, others=(*answer.others, with_air_only(network, held_at(network, line), near)))
    except SolveError:
        return answer, False
    return air, overtopped(network, answer)[0] <= 0.0 < overtopped(network, air)[0]


def effect_of(base: Sound, faults: Sequence[Fault]) -> Effect:
    """Return what faults come to."""
    network = faulty(base.network, faults)
    total, line = water_of(base, faults)
    closed = solved_or_none(network, Closing(network.pump_chamber, total=total), base.answer.state)
    if closed.state is None or closed.kind == NONE:
        return Effect(tuple(faults), NONE, answer=closed)
    if any(fault.restarts for fault in faults):
        return restarted(base, faults, closed)
    lost = frozenset(k for fault in faults for k in fault.pumps_lost)
    if lost and pumps_on(network, lost):
        return pumps_less(base, faults, closed, tuple(sorted(lost)))
    shut = shut_off(base, closed.state)
    if shut and not lost and not base.loop.build.one:
        return pumps_less(base, faults, in_network(base.answer, network), tuple(shut))
    effect = _of_intakes(faults, network, closed)
    if effect.power_lost:
        effect = replace(effect, lowest=float("inf"), dry=False)
    effect = _with(base, effect, closed, spilled(network, total, closed), False)
    topped, siphons = topped_up(network, line, closed.state)
    if topped.kind == NONE or max((float(state.total) for state in topped.states), default=0.0) <= total + DROP:
        return effect
    more = 0.0
    if overtopped(network, topped)[0] > 0.0:
        total += 0.0 if any(fault.top_up > 0.0 for fault in faults) else base.reservoir
        fuller = solved_or_none(network, Closing(network.pump_chamber, total=total), topped.state)
        more = spilled(network, total, fuller) if fuller.states else 0.0
    return replace(_with(base, effect, topped, more, True), unless_siphons=siphons and effect.over <= DROP)


def _of_intakes(faults: Sequence[Fault], network: Network, closed: OperatingPoint) -> Effect:
    """Return the effect of a loop on its pumps' intakes."""
    drawing = pumps_on(network) or list(network.pumps)
    lowest = min(over_intakes(network, state.levels, drawing) for state in closed.states)
    figure = closed.figures.get("lowest pump chamber level", float("inf"))
    lowest = min([lowest, *(figure - float(network.links[k].element.intake) for k in network.pumps
                            if network.links[k].up == network.pump_chamber)])
    return Effect(tuple(faults), closed.kind, lowest=lowest, dry=closed.kind == DRAWS_AIR or lowest < AT_INTAKE, answer=closed)


def restarted(base: Sound, faults: Sequence[Fault], running: OperatingPoint) -> Effect:
    """Return what it comes to when the power of a loop, `running` with all its water, fails and comes back.

    By volumes, as the restart is checked (`hydro.shutdown.refilling`): drains whose air cannot leave stay shut. What goes over is
    what must leave until no level stands over an opening, or until the sump has fallen so far that they start. Nobody tops up
    meanwhile.
    """
    assert running.state is not None
    network, closed = running.state.network, running
    refilling = Refilling(for_stopping(network), worst_shutdown([stopped_from(state) for state in running.states]))
    starts = {k: refilling.start(k, sealed_in(running.states, k)) for k in refilling.network.drains}
    stuck = tuple(k for k, start in starts.items() if start.stuck)
    sealed = [(start.depth, start.room) for start in starts.values() if start.sealed]
    at_rim = [(refilling.depth(k, refilling.opening(k)), refilling.opening(k)) for k in stuck]
    nearly = min((abs(depth - head) for depth, head in (*sealed, *at_rim)), default=float("inf"))
    over = 0.0 if stuck else spilled(network, max(float(state.total) for state in running.states), running)
    if stuck:
        found = without_drains(network, refilling, running, stuck)
        if found.answer.state is None or found.answer.kind == NONE:
            return Effect(tuple(faults), NONE, answer=found.answer)
        over = found.on_the_floor
        if over > DROP or found.over <= DROP:
            network, closed = found.answer.state.network, found.answer
    return replace(_with(base, _of_intakes(faults, network, closed), closed, over, False), nearly=nearly)


def in_network(answer: OperatingPoint, network: Network) -> OperatingPoint:
    """Return an answer with its states as they are in another network: as they stand at the instant when something fails."""
    assert answer.state is not None
    return replace(answer, state=replace(answer.state, network=network),
                   others=tuple(replace(state, network=network) for state in answer.others))


def shut_off(base: Sound, state: State) -> list[int]:
    """Return the pumps that ran with nothing wrong and move nothing at a state, though they have water: something is shut."""
    before = base.answer.states[0]
    return [k for k in pumps_on(state.network) if float(state.flows[k]) < NO_FLOW < float(before.flows[k])
            and over_intakes(state.network, state.levels, [k]) > AT_INTAKE]


def pumps_less(base: Sound, faults: Sequence[Fault], before: OperatingPoint, lost: tuple[int, ...]) -> Effect:
    """Return what it comes to when some pumps stand, without power or behind what is shut, the loop running as `before`."""
    assert before.state is not None
    network = before.state.network
    try:
        history = simulate(before.state, pump_stops(network, lost), longest=LONGEST)
    except SolveError as error:
        return Effect(tuple(faults), NONE, answer=OperatingPoint(NONE, None, (), str(error)), in_time=True)
    outcome = outcome_of(history)
    on = pumps_on(network, frozenset(lost))
    above = max(max(moment.levels[k] for moment in history.moments for k in waters) - opening_or_above_all(network, waters[0])
                for _, waters in vessels_by_name(network))
    cut, left = after(before)
    most = max(outcome.over, key=lambda one: one.volume, default=None)
    noise = max(noise_of(before, base.quiet), SURGING if outcome.turns else QUIET)
    return Effect(tuple(faults), before.kind, outcome.on_the_floor, max(0.0, cut - outcome.on_the_floor),
                  most.vessel if most is not None else "the sump", above=above, left=left, dry=outcome.dry is not None,
                  lowest=min(over_intakes(network, moment.levels, on) for moment in history.moments), noise=noise, answer=before,
                  in_time=True, first=min((one.since for one in outcome.over), default=outcome.dry))


def _with(base: Sound, effect: Effect, answer: OperatingPoint, over: float, topped: bool) -> Effect:
    """Return the effect with what one of the two waters comes to, kept where that is worse."""
    above, where = overtopped(base.network, answer)
    cut, left = after(answer)
    if effect.power_lost:
        above, over = -float("inf"), 0.0
    else:
        effect = replace(effect, noise=max(effect.noise, noise_of(answer, base.quiet)))
    endless = topped and above > 0.0
    effect = replace(effect, above=max(above, effect.above), left=min(left, effect.left), endless=endless or effect.endless)
    if over + cut > effect.litres + DROP or (endless and effect.litres <= DROP):
        effect = replace(effect, over=over, cut=cut, topped=topped, where=where if over > DROP or endless else "the sump")
    return effect
