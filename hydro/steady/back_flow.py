"""Pumps that only circulate: all they lift flows back through other pumps that stand still."""

from __future__ import annotations

from hydro.steady.operating_point import BACKWARDS, NO_FLOW, OperatingPoint
from hydro.steady.pump_lift import static_head
from hydro.steady.state import State


def all_back(state: State, running: list[int]) -> OperatingPoint | None:
    """Return the answer where all that is lifted flows back through pumps that stand still and none reaches a tank, else None."""
    network = state.network
    stands = [network.links[k].name for k in network.pumps if k not in running and float(state.flows[k]) < -NO_FLOW]
    lifts = next((k for k in running if float(state.flows[k]) > NO_FLOW), None)
    if lifts is None or not stands or any(float(state.flows[k]) > NO_FLOW for k in network.returns):
        return None
    lift = min(static_head(state, k) for k in running)
    head = max(float(state.levels[network.links[k].down] - state.levels[network.links[k].up]) for k in running)
    return OperatingPoint(
        BACKWARDS, state, (), f"all that is lifted runs back through {' and '.join(stands)}, with no check valve to hold it: no "
        "water comes to a tank", {"head over the pump chamber": head, "must lift": lift}, which=lifts)
