"""Three heights that survive every single fault: the highest and the lowest running line, and where siphon breaks let in air.

    highest line    no water on the floor, and the wanted room left in the sump after a power cut on top
    lowest line     the pump chamber stays over the intake, running and through the restart after a power cut; looked for
                    below the highest line
    siphon break    the lowest level at which every return may let in air, at the line as it is, with the room left

Each fault alone is solved again at trial heights; a fault that no height survives is named instead of counted, for no line cures
a tank that runs over whatever stands in the sump. That more water is worse for the floor and better for the pump is assumed
between the trials, and proved by none.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from hydro.elements.return_line import BreakHole
from hydro.errors import SolveError
from hydro.faults.effects import Effect, Sound, effect_of, sound
from hydro.faults.levels import DROP, for_stopping
from hydro.faults.single import Fault
from hydro.network.model import Network
from hydro.shutdown import crests_held, level_for, lowest_opening
from hydro.steady.operating_point import NONE
from hydro.steady.state import State

CLOSE = 1e-4
"""Heights are found to 0.1 mm, on the side that survives."""
OVER_INTAKE, RESTART_ROOM = 1e-3, 0.010
"""What the pump chamber must keep over the intake while running and, by an estimate, through a restart, m; chosen here."""

TRIED = 0.2
"""How far below its line a height is tried where no pump draws from the line's chamber, m."""

Survives = Callable[[Fault, float], bool]


@dataclass(frozen=True, slots=True)
class SurvivableHeight:
    """A height that survives (m above the datum; None: none does) and the fault that sets it; `never` are those it cannot help.

    `free` says that it stands at the end of what was tried: no fault sets it.
    """

    level: float | None
    fault: Fault | None = None
    never: tuple[Fault, ...] = ()

    @property
    def free(self) -> bool:
        """Whether no fault sets it."""
        return self.fault is None


@dataclass(frozen=True, slots=True)
class Surviving:
    """The heights, m above the datum: highest and lowest running line, and the level where returns must let in air.

    The last two are not asked (None) of several tanks, boxes, sumps or pumps: each would need its own. `higher` is the lowest
    line for the faults that ask for one over the highest, None without such a fault: no line serves both.
    """

    highest: SurvivableHeight
    lowest: SurvivableHeight | None
    siphon_break: SurvivableHeight | None
    higher: SurvivableHeight | None = None


def stays_off_the_floor(base: Sound, effect: Effect) -> bool:
    """Whether an effect puts no water on the floor and leaves the wanted room in the sump after the power cut on top."""
    return (effect.kind != NONE and effect.litres <= DROP and not effect.endless and effect.above <= 0.0
            and effect.left >= base.room - 1e-9)


def lowest_through_restart(state: State) -> float:
    """Return the lowest level of the pump chamber while a drained-down loop fills up again, by volumes, m.

    The pump's lines are full, the drains' lines still empty, chambers stand over the pump chamber as they do while running.
    The tank rises to its running level, or on until every drain that carries water there pushes the air out of its drowned
    end: what fills the tank comes out of the sump, and the end is drowned less deep. A drain that is not sealed lets its air
    out above. An estimate: the same thing followed through time comes out some millimetres lower where drains stand
    air-locked, for which RESTART_ROOM is kept.
    """
    network = for_stopping(state.network)
    tank = network.waters[network.tank]
    assert tank.body is not None
    runs = [(k, float(state.levels[k]), held) for k, held in zip(network.chambers, crests_held(network), strict=True)]
    everything = float(state.total) - float(network.full) - _kept_by_flow(state, runs)
    stands = {k: (level if held > float("-inf") else held, level - float(state.pump_level)) for k, level, held in runs}
    locked = [(network.links[k].element, *stands[network.links[k].down]) for k in network.drains
              if network.links[k].element.sealed(max(float(state.flows[k]), 0.0))]

    def sump_at(level: float) -> float:
        assert tank.body is not None
        return level_for(network, everything - float(tank.body.stored(level)[0]), [float("inf")] * len(network.chambers))

    def starts(level: float) -> bool:
        low = sump_at(level)
        return all(level - float(drain.inlet.crest) >= max(low + higher, kept) - float(drain.end)
                   for drain, kept, higher in locked)

    level = float(state.tank_level)
    high = float(tank.opening) if tank.opening is not None else level
    if high <= level or starts(level):
        return sump_at(level)
    while high - level > CLOSE:
        middle = 0.5 * (level + high)
        level, high = (level, middle) if starts(middle) else (middle, high)
    return sump_at(high)


def _kept_by_flow(state: State, runs: Sequence[tuple[int, float, float]]) -> float:
    """Return the water that the flow keeps in chambers over the pump chamber's level or the crest behind them, m3."""
    over = 0.0
    for k, level, held in runs:
        body = state.network.waters[k].body
        below = max(held, float(state.pump_level))
        if body is not None and level > below:
            over += float(body.stored(level)[0]) - float(body.stored(below)[0])
    return over


def keeps_pump_wet(base: Sound, effect: Effect) -> bool:
    """Whether the pump chamber stays over the intake, running and through a restart, with the water that is in the loop."""
    if effect.power_lost:
        return True
    if effect.answer is None or effect.answer.state is None or effect.dry or effect.lowest < OVER_INTAKE:
        return False
    network = effect.answer.state.network
    intake = float(network.links[network.pump].element.intake)
    return all(lowest_through_restart(state) - intake >= RESTART_ROOM for state in effect.answer.states)


def at_line(base: Sound, line: float) -> Sound | None:
    """Return the sound loop with the pump chamber at another line, None where it does not run there."""
    try:
        return replace(sound(base.loop, line), line=line)
    except SolveError:
        return None


def with_breaks_at(base: Sound, level: float) -> Sound:
    """Return the loop with every return letting in air at a level (m), by its mouth or by its break."""
    network = base.network
    changes: dict[int, dict[str, object]] = {
        k: {"end": replace(network.links[k].element.end, lowest=level, break_at=level)} for k in network.returns}
    for k, link in enumerate(network.links):
        if isinstance(link.element, BreakHole):
            changes[k] = {"height": level + float(link.element.hole) / 2.0}
    return replace(base, network=network.changed(changes))


def _limit(faults: Sequence[Fault], good: float, wished: float, survives: Survives) -> SurvivableHeight:
    """Return the height nearest to `wished` that all faults survive; `good` is the end that any height is measured from."""
    never = tuple(fault for fault in faults if not survives(fault, good))
    level, culprit = wished, None
    for fault in faults:
        if fault in never or survives(fault, level):
            continue
        safe, lost = good, level
        while abs(lost - safe) > CLOSE:
            middle = 0.5 * (safe + lost)
            safe, lost = (middle, lost) if survives(fault, middle) else (safe, middle)
        level, culprit = safe, fault
    return SurvivableHeight(None if len(never) == len(faults) else level, culprit, never)


def line_survives(base: Sound, judge: Callable[[Sound, Effect], bool], otherwise: bool) -> Survives:
    """Return whether a fault passes a judgement at a line; `otherwise` where the sound loop does not run at that line."""
    lines: dict[float, Sound | None] = {}

    def survives(fault: Fault, line: float) -> bool:
        if line not in lines:
            lines[line] = at_line(base, line)
        there = lines[line]
        return otherwise if there is None else judge(there, effect_of(there, (fault,)))
    return survives


def surviving(base: Sound, faults: Sequence[Fault]) -> Surviving:
    """Return the heights that survive every single fault."""
    network = base.network
    intakes = [float(network.links[k].element.intake) for k in network.pumps if network.links[k].up == network.pump_chamber]
    bottom, top = max(intakes, default=base.line - TRIED) + 2.0 * OVER_INTAKE, sump_brim(network) - base.room
    dry = line_survives(base, stays_off_the_floor, False)
    highest = _limit(faults, bottom, top, dry)
    if not len(network.uppers) == len(network.sumps) == len(network.pumps) == 1:
        return Surviving(highest, None, None)
    running = [fault for fault in faults if not fault.power_lost]
    wet, higher = line_survives(base, keeps_pump_wet, False), None
    lowest = _limit(running, top if highest.level is None else highest.level, bottom, wet)
    if highest.level is not None and lowest.never:
        asked = _limit(lowest.never, top, highest.level, wet)
        higher = None if asked.free else asked

    def breaks_survive(fault: Fault, level: float) -> bool:
        return stays_off_the_floor(base, effect_of(with_breaks_at(base, level), (fault,)))
    return Surviving(highest, lowest, _limit(faults, _lowest_lip(network), _mouth(network), breaks_survive), higher)


def sump_brim(network: Network) -> float:
    """Return the lowest opening of the sump that the line is drawn in, m."""
    sump = next((sump for sump in network.sumps if network.pump_chamber in sump), None)
    return lowest_opening(network, sump)


def _lowest_lip(network: Network) -> float:
    return min(float(network.links[k].element.inlet.crest) for k in network.drains)


def _mouth(network: Network) -> float:
    """Return the lowest level at which some return lets in air with its siphon break plugged, m."""
    return min(float(network.links[k].element.end.lowest) for k in network.returns)


def below(network: Network, level: float) -> list[str]:
    """Return the returns whose mouth lies below a level: with their siphon break plugged, the tank falls to the mouth."""
    return [str(network.links[k].element.end.name) for k in network.returns
            if float(network.links[k].element.end.lowest) < level - CLOSE]
