"""How far to close a valve, or how slow to run, for a wanted flow: a root of the solved loop, not of a formula.

    flow(opening of a ball valve) = wanted          valve first in the pump's line, K by the table of `hydro.elements.fittings`
    flow(speed) = wanted                            affinity of the curve

Both rise with the opening or speed, so the root is looked for between its ends (Illinois, with halving). Each flow asked for
is that of the whole loop with its levels and the drains' ways of running. On a drooping curve the flow may jump over the wanted
one: then there is no such setting, and that is said.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import isnan
from typing import Any

from hydro.description.build import Build, Item, Pump
from hydro.elements.fittings import Valve
from hydro.elements.pump import BOX_EXPONENT, STRENGTH
from hydro.errors import SolveError
from hydro.quantities.uncertain import Sample, Uncertain
from hydro.scenarios.placed_build import PlacedBuild, closing_of
from hydro.search.pumps.candidate import SPEED, THROTTLE, with_pump
from hydro.search.pumps.point import CLOSEST
from hydro.steady.modes import operating_point
from hydro.steady.state import State

VALVE_LABEL = "throttle behind the pump"
ENDS: dict[str, Sample] = {"low": {STRENGTH.name: "low", BOX_EXPONENT.name: "low"}, "middle": {},
                          "high": {STRENGTH.name: "high", BOX_EXPONENT.name: "high"}}
"""The pump as weak and as strong as its points, or the label on its box, leave open."""
LEAST = {THROTTLE: 0.02, SPEED: 0.05}
NAMES = {THROTTLE: "throttle opening", SPEED: "chosen speed"}


@dataclass(frozen=True, slots=True)
class PumpSetting:
    """A setting that gives the wanted flow: `value` is the valve's opening or the speed, a share.

    `low` and `high` are the same for the pump at the strong and at the weak end of what is known of it, None where it then
    does not come to that flow. `k` and `bore` (m) tell the valve's loss on its bore; `loop` is the build so set, `flow` what
    then runs (m3/s).
    """

    kind: str
    value: float
    flow: float
    loop: PlacedBuild
    low: float | None = None
    high: float | None = None
    k: float | None = None
    bore: float | None = None


def settable(loop: PlacedBuild, name: str, kind: str, bore: float) -> PlacedBuild:
    """Return the loop with a ball valve, or a speed, at the pump of a name; fully open or full speed until a pick says else.

    `bore` (m) is the valve's where the pump's own line names none.
    """
    pump = next(one for one in loop.build.pumps if one.name == name)
    return replace(loop, build=with_pump(loop.build, name, _set(loop.build, pump, kind, 1.0, bore)))


def _set(build: Build, pump: Pump, kind: str, share: float, bore: float) -> Pump:
    value = Uncertain.exact(share, NAMES[kind])
    if kind == SPEED:
        return replace(pump, speed=value)
    return replace(pump, line=(Item("ball valve", {"open": value, **_sized(pump, bore)}, VALVE_LABEL, VALVE_LABEL), *pump.line))


def _sized(pump: Pump, bore: float) -> dict[str, Uncertain]:
    """Return the valve's size where nothing else in the pump's line names one."""
    return {} if any("size" in item.values for item in pump.line) else {"size": Uncertain.exact(bore, "throttle size")}


def bore_at(state: State, k: int) -> float:
    """Return the bore that a valve behind the pump of a link takes: of its own line, else of the first return, m."""
    network = state.network
    own = float(network.links[k].element.line.first_bore)
    if not isnan(own):
        return own
    return float(network.links[network.returns[0]].element.line.first_bore)


def setting_for(loop: PlacedBuild, name: str, kind: str, wanted: float, near: State) -> PumpSetting | None:
    """Return the setting of the pump of a name at which the wanted flow (m3/s) runs, with its band; None without one."""
    bore = bore_at(near, near.network.place(name))
    open_loop = settable(loop, name, kind, bore)
    found: dict[str, tuple[float, State] | None] = {}
    for end, sample in ENDS.items():
        found[end] = _share(open_loop, name, kind, wanted, sample, near)
    middle = found["middle"]
    if middle is None:
        return None
    share, state = middle
    pump = next(one for one in loop.build.pumps if one.name == name)
    fixed = replace(loop, build=with_pump(loop.build, name, _set(loop.build, pump, kind, share, bore)))
    k, on = _valve(state, name) if kind == THROTTLE else (None, None)
    weak, strong = found["low"], found["high"]
    return PumpSetting(kind, share, float(state.flows[state.network.place(name)]), fixed,
                   None if strong is None else strong[0], None if weak is None else weak[0], k, on)


def _share(loop: PlacedBuild, name: str, kind: str, wanted: float, sample: Sample, near: State) -> tuple[float, State] | None:
    states: dict[float, State] = {}

    def flow_at(share: float) -> float:
        chosen = {**sample, NAMES[kind]: share}
        network = loop.network(chosen)
        before = states[min(states, key=lambda one: abs(one - share))] if states else near
        state = operating_point(network, closing_of(loop, network, chosen), before).state
        if state is None:
            raise SolveError("set to a flow", 0, float("nan"), name, "no state")
        states[share] = state
        return float(state.flows[network.place(name)])
    try:
        # From above: a turnover that must be reached is not to fail by the last digit.
        share = root(lambda one: flow_at(one) / wanted - 1.0 - CLOSEST, LEAST[kind], 1.0, 0.9 * CLOSEST)
    except SolveError:
        return None
    return None if share is None else (share, states[share])


def root(ask: Callable[[float], float], low: float, high: float, enough: float) -> float | None:
    """Return where a rising function comes within `enough` of zero; None where it does not, or jumps over it."""
    at_high = ask(high)
    if at_high < -enough:
        return None
    if at_high <= enough:
        return high
    at_low = ask(low)
    if at_low > 0.0:
        return None
    side = 0
    for step in range(80):
        between = (low * at_high - high * at_low) / (at_high - at_low)
        if step % 3 == 2 or not low < between < high:
            between = 0.5 * (low + high)
        value = ask(between)
        if abs(value) <= enough:
            return between
        if high - low < 1e-9:
            return None
        if value > 0.0:
            high, at_high, at_low, side = between, value, at_low * (0.5 if side == 1 else 1.0), 1
        else:
            low, at_low, at_high, side = between, value, at_high * (0.5 if side == -1 else 1.0), -1
    return None


def _valve(state: State, name: str) -> tuple[float | None, float | None]:
    element: Any = state.network.links[state.network.place(name)].element
    for part in element.line.parts:
        if isinstance(part, Valve) and part.label == VALVE_LABEL:
            return float(part.k), float(part.bore)
    return None, None
