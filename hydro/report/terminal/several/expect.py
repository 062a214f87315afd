"""What to expect while it runs: the pumps' flow, what each tank gets, its turnover, and how long a bucket takes."""

from __future__ import annotations

from hydro.checks.assessment import pumped_flow
from hydro.quantities.formatting import show
from hydro.quantities.tape import about, seconds
from hydro.report.content.buckets import BUCKETS
from hydro.report.content.grouping import TO, Fold, span
from hydro.report.content.pump_points import PumpRun, pump_runs
from hydro.report.content.tank_flows import TankRun, tank_runs
from hydro.report.content.view import View, called

QUICK = 1.0
"""A flow that fills a bucket in less is not measured with one, s."""


def expected(view: View) -> list[str]:
    """Return the flow of all pumps and of each, what flows into each tank, and bucket times."""
    assessment, system = view.assessment, view.system
    if assessment.flow is None or assessment.answer.state is None:
        return ["No flow."]
    if assessment.flow[1] <= 1e-7:
        return [f"The {view.pumps} deliver{'s' if view.pumps == 'pump' else ''} nothing."]
    flows = [pumped_flow(state) for state in assessment.answer.states]
    low, middle, high = assessment.flow
    band = (min(low, *flows), middle, max(high, *flows))
    moves = "The pump moves" if view.pumps == "pump" else "Together the pumps move"
    texts = [f"{moves} {about(band, 'flow', system)}{_each_pump(view)}."
             + (" It swings while it surges." if max(flows) - min(flows) > 0.02 * middle else "")]
    runs = tank_runs(assessment, assessment.answer.state)
    texts += [_into(view, fold) for fold in view.folding.of("tanks", [(run.name, run) for run in runs])]
    return [*texts, *_buckets(view, runs)]


def _each_pump(view: View) -> str:
    """Return what each pump gives, where there are several."""
    if view.pumps == "pump" or view.assessment.answer.state is None:
        return ""

    def told(fold: Fold[PumpRun]) -> str:
        return f"{fold.whole} {view.figure(fold, lambda run: run.flow, 'flow')}"

    folds = view.folding.of("pumps", [(run.name, run) for run in pump_runs(view.assessment, view.assessment.answer.state)])
    return f": {'; '.join(map(told, folds))}"


def _into(view: View, fold: Fold[TankRun]) -> str:
    """Return what flows into a tank or into each of many alike."""
    if fold.ends(lambda run: run.flow[1])[1] <= 1e-7:
        return f"Into {called(fold.whole)}: nothing."
    flow = view.figure(fold, lambda run: run.flow, "flow")
    least = f", least at {fold.least(lambda run: run.flow[1])[0]}" if TO in flow else ""
    low, high = (show(turned, "turnover", view.system) for turned in fold.ends(lambda run: run.turnover))
    unit = view.unit("turnover")
    turned = span(low.removesuffix(f" {unit}"), high.removesuffix(f" {unit}"))
    return f"Into {called(fold.whole)}: {flow}{least}; turnover {turned} {unit}."


def _buckets(view: View, runs: list[TankRun]) -> list[str]:
    """Return how long a bucket takes with the whole flow, and with what the tank gets that has the least."""
    if view.assessment.bucket is None:
        return []
    name, size = BUCKETS[view.system]

    def time(band: tuple[float, float, float]) -> str:
        low, middle, high = (size * one for one in band)
        return seconds((low, middle, high), view.system)

    fed = [run for run in runs if any(view.network.links[k].down == run.place for k in view.network.returns)]
    weakest = min(fed, key=lambda run: run.flow[1], default=None)
    if size * view.assessment.bucket[1] < QUICK:
        return [f"Fill a bucket at {called(weakest.name)}: {name} should take {time(weakest.bucket)}."] \
            if weakest is not None and weakest.bucket is not None else []
    text = f"Fill a bucket: {name} should take {time(view.assessment.bucket)} of the whole flow"
    if weakest is not None and len(fed) > 1:
        text += (f", {time(weakest.bucket)} of what {weakest.name} gets, the least of all" if weakest.bucket is not None
                 else f"; {weakest.name} gets too little to fill one")
    return [f"{text}."]
