"""What a fault comes to when all has come to rest: water on the floor, the pump dry, noise; from steady states and volumes.

Each choice of faults is asked four ways, and the worst is kept:

| water | running | the power then fails |
|---|---|---|
| what is in the loop (and the reservoir, where the top-up is stuck) | steady state | stopped state |
| topped up: the pump chamber held at its line, where that takes more | steady state | stopped state |

Litres over an opening while it runs are what must leave until no level stands over an opening any more: the loop is solved for
less and less water. Topped up, nothing but the reservoir says how much that is: without one, as many litres as are added.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from hydro import limits
from hydro.answer import DRAWS_AIR, NONE, SURGES, Answer
from hydro.elements.drain import QUIET_AT, WITH_AIR
from hydro.elements.return_line import Hole
from hydro.errors import SolveError
from hydro.faults import Fault, counted_breaks, faulty
from hydro.findings import wet_drains
from hydro.limits import limit_of
from hydro.network import Closing, Network
from hydro.regimes import run
from hydro.scenarios import Loop, closing_of, held_at, with_air_only
from hydro.state import State
from hydro.stopped import lowest_opening, stop

QUIET, NOISY, SURGING = 0, 1, 2
AT_INTAKE = 1e-3
"""A level this close to the intake is at it, m."""
DROP = 1e-6
"""Less than this is no water on the floor, m3."""
ABOVE_ALL = 1e4


@dataclass(frozen=True, slots=True)
class Sound:
    """The loop with nothing wrong: network, how it runs, the pump chamber's running line (m), all the water (m3).

    `reservoir` is the top-up's (m3), `room` what the owner wants left below the sump's opening (m), `wet` the drains that
    carry water.
    """

    loop: Loop
    network: Network
    answer: Answer
    line: float
    total: float
    reservoir: float
    room: float
    quiet: float
    wet: tuple[int, ...]


def sound(loop: Loop, line: float | None = None) -> Sound:
    """Return the loop with nothing wrong, in the middle of every band; `line` (m) puts the pump chamber elsewhere.

    SolveError where it does not run.
    """
    network = counted_breaks(loop.build, loop.network())
    answer = run(network, closing_of(loop, network) if line is None else held_at(network, line))
    if answer.state is None or answer.kind == NONE:
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
    vessel and which water. `endless` water goes over for as long as the sump is topped up. `above` is the most by which a
    level stands over its opening while running, `left` the least height left in the sump after the cut (m, less than nothing
    over it). `lowest` is the pump chamber's lowest level over the intake, m.
    """

    faults: tuple[Fault, ...]
    kind: str
    over: float = 0.0
    cut: float = 0.0
    where: str = ""
    topped: bool = False
    endless: bool = False
    above: float = -float("inf")
    left: float = float("inf")
    dry: bool = False
    lowest: float = float("inf")
    noise: int = QUIET
    answer: Answer | None = field(default=None, compare=False)

    @property
    def litres(self) -> float:
        """All that comes to stand on the floor, m3."""
        return self.over + self.cut

    @property
    def floods(self) -> bool:
        """Whether water comes on the floor."""
        return self.litres > DROP or self.endless

    @property
    def power_lost(self) -> bool:
        """Whether the pump stands from the start."""
        return any(fault.power_lost for fault in self.faults)


def overtopped(network: Network, answer: Answer) -> tuple[float, str]:
    """Return by how much a level stands over the lowest opening of its vessel in the worst state (m), and which vessel."""
    opening, brim = lowest_opening(network), network.waters[network.tank].opening
    tank = max(float(state.tank_level) for state in answer.states) - float(brim if brim is not None else ABOVE_ALL)
    sump = max(float(state.levels[k]) for state in answer.states for k in network.chambers) - opening
    return (tank, "the tank") if tank >= sump else (sump, "the sump")


def solved(network: Network, closing: Closing, near: State | None) -> Answer:
    """Return how a network runs; NONE where it is not solved."""
    try:
        return run(network, closing, near)
    except SolveError as error:
        return Answer(NONE, None, (), str(error))


def spilled(network: Network, total: float, answer: Answer) -> float:
    """Return the water that leaves over an opening until none stands over one, m3; `answer` is the loop with `total`."""
    above = overtopped(network, answer)[0]
    if above <= 0.0:
        return 0.0
    low, high, side, under = 0.0, total, 0, 0.0
    step = 0.02 * total
    while under >= 0.0 and high > step:
        low = high - step
        there = solved(network, Closing(network.pump_chamber, total=low), answer.state)
        if there.state is None or there.kind == NONE:
            return total - high
        under, step = overtopped(network, there)[0], 2.0 * step
        high, above = (low, under) if under >= 0.0 else (high, above)
    for _ in range(25):
        trial = (low * above - high * under) / (above - under)
        there = solved(network, Closing(network.pump_chamber, total=trial), answer.state)
        value = overtopped(network, there)[0] if there.states else 1.0
        if value > 0.0:
            high, above, under, side = trial, value, under * (0.5 if side == 1 else 1.0), 1
        else:
            low, under, above, side = trial, value, above * (0.5 if side == -1 else 1.0), -1
        if high - low < 1e-6 or abs(value) < 1e-7:
            break
    return total - low


def for_stopping(network: Network) -> Network:
    """Return the network as a power cut meets it: the tank does not fall over blocked lips or into plugged holes."""
    plugged = {k: {"height": ABOVE_ALL} for k, link in enumerate(network.links)
               if isinstance(link.element, Hole) and float(link.element.plugged) > 0.5}
    able = tuple(k for k in network.drains if float(network.links[k].element.blocked) < 0.5)
    return replace(network.changed(plugged), drains=able)


def after(answer: Answer) -> tuple[float, float]:
    """Return the water over the sump's opening after the power fails (m3) and the height left under it (m), worst state.

    What stands over an opening has gone over it before.
    """
    over, left = 0.0, float("inf")
    for state in answer.states:
        network = for_stopping(state.network)
        levels = tuple(level if water.opening is None else min(float(level), float(water.opening))
                       for level, water in zip(state.levels, network.waters, strict=True))
        found = stop(replace(state, network=network, levels=levels), True, True)
        over, left = max(over, -found.spare), min(left, lowest_opening(network) - found.sump_level)
    return over, left


def noise_of(answer: Answer, quiet: float) -> int:
    """Return how loud the drains are: all vent themselves, some carry air along, or the loop surges."""
    if answer.kind == SURGES:
        return SURGING
    for state in answer.states:
        for k in state.network.drains:
            drain = state.network.links[k].element
            if drain.mode == WITH_AIR and float(drain.air_number(max(float(state.flows[k]), 0.0))) > quiet:
                return NOISY
    return QUIET


def water_of(base: Sound, faults: Sequence[Fault]) -> tuple[float, float]:
    """Return all the water (m3) and the line (m) that faults leave: filled too high, a top-up stuck open."""
    line = base.line + sum(fault.over for fault in faults)
    total = base.total
    if line > base.line:
        filled = solved(base.network, held_at(base.network, line), base.answer.state)
        total = max((float(state.total) for state in filled.states), default=total)
    return total + sum(fault.top_up for fault in faults), line


def topped_up(network: Network, line: float, near: State) -> Answer:
    """Return how the loop runs with the pump chamber held at a line.

    Where it surges, the level that the drains need with air counts too: it is what overflows are rated by.
    """
    answer = solved(network, held_at(network, line), near)
    if answer.kind != SURGES:
        return answer
    try:
        return replace(answer, others=(*answer.others, with_air_only(network, held_at(network, line), near)))
    except SolveError:
        return answer


def effect_of(base: Sound, faults: Sequence[Fault]) -> Effect:
    """Return what faults come to."""
    network = faulty(base.network, faults)
    total, line = water_of(base, faults)
    closed = solved(network, Closing(network.pump_chamber, total=total), base.answer.state)
    if closed.state is None or closed.kind == NONE:
        return Effect(tuple(faults), NONE, answer=closed)
    intake = float(network.links[network.pump].element.intake)
    lowest = min([float(state.pump_level) for state in closed.states]
                 + [closed.figures.get("lowest pump chamber level", float("inf"))]) - intake
    effect = Effect(tuple(faults), closed.kind, lowest=lowest, dry=closed.kind == DRAWS_AIR or lowest < AT_INTAKE, answer=closed)
    if effect.power_lost:
        effect = replace(effect, lowest=float("inf"), dry=False)
    effect = _with(base, effect, closed, spilled(network, total, closed), False)
    topped = topped_up(network, line, closed.state)
    if topped.kind == NONE or max((float(state.total) for state in topped.states), default=0.0) <= total + DROP:
        return effect
    more = 0.0
    if overtopped(network, topped)[0] > 0.0:
        total += 0.0 if any(fault.top_up > 0.0 for fault in faults) else base.reservoir
        fuller = solved(network, Closing(network.pump_chamber, total=total), topped.state)
        more = spilled(network, total, fuller) if fuller.states else 0.0
    return _with(base, effect, topped, more, True)


def _with(base: Sound, effect: Effect, answer: Answer, over: float, topped: bool) -> Effect:
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
