"""What the valves that are tuned on the running build were found at: K, how far open that is, and for whose trickle."""

from __future__ import annotations

from dataclasses import dataclass

from hydro.checks.assessment import Assessment
from hydro.elements.fittings import LEAST_OPEN
from hydro.quantities.tape import Band
from hydro.report.content.levels import spread_of
from hydro.scenarios.results import Results
from hydro.scenarios.tuned_valves import next_higher, valve_settings


@dataclass(frozen=True, slots=True)
class TunedRun:
    """A tuned valve: its drain and the one that trickles ('' where none can), K and open share with their bands, the trickle.

    `label` is the valve's, `word` what it is. The share by which it is open is that of a published curve; such curves spread by
    a factor of 2 in K.
    """

    drain: str
    label: str
    word: str
    k: Band
    opening: float
    trickle: float
    beside: str


def tuned_runs(assessment: Assessment) -> list[TunedRun]:
    """Return the tuned valves, drain by drain."""
    network, runs = assessment.results.network, []
    for k, valve in valve_settings(network).items():
        def loss(found: Results, k: int = k) -> float:
            return float(valve_settings(found.network)[k].k)

        low, middle, high = spread_of(assessment, loss)

        beside = None if valve.misses else next_higher(network, k)
        word, trickles = valve.label.rpartition(": ")[2], "" if beside is None else network.links[beside].name
        losses = max(low, float(valve.opened or 0.0)), middle, high
        runs.append(TunedRun(network.links[k].name, valve.label, word, losses, valve.open_share(), float(valve.trickle or 0.0),
                             trickles))
    return runs


def tuned_told(assessment: Assessment) -> list[str]:
    """Return a sentence for every tuned valve that has a setting."""
    return [f"{run.drain}: its {run.word} is tuned to K {run.k[1]:.2g} ({run.k[0]:.2g} to {run.k[2]:.2g}), {_opened(run)}, so "
            f"that {run.beside} takes {100.0 * run.trickle:.2g} % of the flow." for run in tuned_runs(assessment) if run.beside]


def _opened(run: TunedRun) -> str:
    nearly = run.opening <= LEAST_OPEN + 1e-6
    return "nearly shut" if nearly else f"about {100.0 * run.opening:.0f} % open by the published curve"


def tuned_figures(assessment: Assessment) -> dict[str, tuple[float, str] | None]:
    """Return K and the open share of every tuned valve that has a setting, by name."""
    found: dict[str, tuple[float, str] | None] = {}
    for run in tuned_runs(assessment):
        if run.beside:
            found[f"K of {run.label}"], found[f"opening of {run.label}"] = (run.k[1], "number"), (run.opening, "share")
    return found
