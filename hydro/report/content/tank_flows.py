"""What each tank gets while it runs: flow, turnover, and the water in it. Numbers only."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.checks.assessment import BUCKET, Assessment
from hydro.network.model import Network
from hydro.quantities.tape import Band
from hydro.report.content.head_budget import Way, way_of, ways_to
from hydro.report.content.levels import moved_to, spread_of
from hydro.scenarios.results import Results, room_of
from hydro.steady.state import State


@dataclass(frozen=True, slots=True)
class TankRun:
    """A tank: flow into it (m3/s) with its band, turnover (1/s), water in it (m3), and the room below its lowest opening (m)."""

    name: str
    place: int
    flow: Band
    turnover: float
    volume: float
    room: float

    @property
    def bucket(self) -> Band | None:
        """Seconds in which what flows into it fills a bucket of 10 L: low, middle, high; None without flow."""
        low, middle, high = self.flow
        return (BUCKET / high, BUCKET / middle, BUCKET / low) if low > 1e-7 else None


def feeding(network: Network) -> dict[int, list[tuple[int, float]]]:
    """Return for each tank the links that may feed it, with the sign of a flow that does."""
    found: dict[int, list[tuple[int, float]]] = {tank: [] for tank in network.tanks}
    for k, link in enumerate(network.links):
        if link.down in found:
            found[link.down].append((k, 1.0))
        if link.up in found and k in network.runs:
            found[link.up].append((k, -1.0))
    return found


def tank_runs(assessment: Assessment, state: State) -> list[TankRun]:
    """Return what each tank gets in a state. Bands are those of the first state, moved to this one."""
    network = state.network
    runs = []
    for tank, links in feeding(network).items():
        def into(found: Results, links: list[tuple[int, float]] = links) -> float:
            return _into(found.state, links)

        here = _into(state, links)
        low, middle, high = moved_to(spread_of(assessment, into), here)
        body = network.waters[tank].body
        assert body is not None
        volume = float(body.stored(state.levels[tank])[0])
        runs.append(TankRun(network.waters[tank].name, tank, (max(low, 0.0), middle, high),
                            here / volume if volume > 0.0 else 0.0, volume, room_of(state, tank)))
    return runs


def _into(state: State, links: list[tuple[int, float]]) -> float:
    return sum(max(sign * float(state.flows[k]), 0.0) for k, sign in links)


def worst_off(assessment: Assessment, state: State) -> tuple[Way, str] | None:
    """Return the way to the return that is worst off, and its tank: the least flow into the tank with the least turnover.

    None where no pump brings water to any return.
    """
    ways, network = ways_to(state), state.network
    tanks = sorted(tank_runs(assessment, state), key=lambda run: run.turnover)
    for tank in tanks:
        ends = [k for k in ways if network.links[k].down == tank.place]
        if ends:
            least = min(ends, key=lambda k: float(state.flows[k]))
            return way_of(state, ways[least]), tank.name
    return None
