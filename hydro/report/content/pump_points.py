"""What each pump does while it runs: flow, head, where on its curve, and in what company. Numbers and short words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hydro.checks.assessment import Assessment
from hydro.network.model import JUNCTION, Network
from hydro.network.paths import fed_by
from hydro.quantities.tape import Band
from hydro.report.content.grouping import few
from hydro.report.content.head_budget import pump_head_of
from hydro.report.content.pipe_flows import flow_band
from hydro.steady.operating_point import NO_FLOW
from hydro.steady.state import State

ALONE, OFF, SHUT, BACK = "alone", "off", "delivers nothing", "off, runs back"


@dataclass(frozen=True, slots=True)
class PumpRun:
    """A pump: flow m3/s with its band, head m, head with no flow m, the last flow of its curve m3/s, and what it stands beside.

    `draws` is the water or header that it draws from; `company` 'alone', 'beside B', 'behind A', 'before B', 'off', 'delivers
    nothing' or 'off, runs back': then the flow is below zero.
    """

    name: str
    draws: str
    flow: Band
    head: float
    shutoff: float
    last: float
    company: str


def pump_runs(assessment: Assessment, state: State) -> list[PumpRun]:
    """Return what each pump does in a state."""
    network = state.network
    reached = {k: frozenset(fed_by(network, k)) for k in network.pumps}
    runs = []
    for k in network.pumps:
        pump: Any = network.links[k].element
        low, middle, high = flow_band(assessment, state, k)
        running = float(pump.running) > 0.5
        back = not running and middle < -NO_FLOW
        company = BACK if back else OFF if not running else SHUT if middle < NO_FLOW else _company(network, k, reached)
        flow = (low, middle, high) if back else (max(low, 0.0), max(middle, 0.0), max(high, 0.0))
        runs.append(PumpRun(network.links[k].name, network.waters[network.links[k].up].name,
                            flow, pump_head_of(state, k) if running else 0.0,
                            float(pump.curve.shutoff) * float(pump.speed) ** 2,
                            float(pump.curve.flows[-1]) * float(pump.speed), company))
    return runs


def _company(network: Network, k: int, reached: dict[int, frozenset[int]]) -> str:
    """Return which other pumps stand on the same way: before or behind in a row, or beside on the same pipes."""
    mine = network.links[k]
    others = [n for n in network.pumps if n != k and float(network.links[n].element.running) > 0.5]
    behind = [n for n in others if network.links[n].down == mine.up]
    before = [n for n in others if network.links[n].up == mine.down]
    beside = [n for n in others if n not in behind and n not in before and reached[n] & reached[k]
              and (network.waters[network.links[n].up].kind == JUNCTION) == (network.waters[mine.up].kind == JUNCTION)]
    words = [f"{word} {few([network.links[n].name for n in row], 2)}"
             for word, row in (("behind", behind), ("before", before), ("beside", beside)) if row]
    return ", ".join(words) or ALONE
