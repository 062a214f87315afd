"""What a description leaves in doubt though it can be computed: asked back in one line each, never a verdict.

The commonest costly misreadings: a pipe named by the size it is sold as and read as its bore, and a part that everybody has and
nobody wrote down.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hydro.catalog import PipeSize, adaptor, pipe_sizes, size_of
from hydro.checks.plausibility import DescribedHeights, implausible
from hydro.description.build import Build, Item, Return
from hydro.elements.limits import limit_of
from hydro.elements.registry import all_defaults
from hydro.elements.return_line import RATIO
from hydro.network.vessels import LOWER
from hydro.quantities.uncertain import Uncertain

if TYPE_CHECKING:
    from hydro.scenarios.results import Results

SAME = 4e-4
"""A bore this close to an outside diameter of the catalogue is suspected to be one, m."""


def doubts(results: Results) -> list[str]:
    """Return the questions to ask back about a build that was worked out: those that its description leaves."""
    return asked_back_of(results.build)


def asked_back_of(build: Build) -> list[str]:
    """Return the questions to ask back, in the order of the file. They need no solution: `check` asks them, too."""
    heights = DescribedHeights(build)
    asked = [question for items in build.lines for item in items for question in _nominal(item)]
    return [*dict.fromkeys(asked), *_joints(build), *_tees(build), *_breaks(build, heights), *_small_pump(build),
            *_low_lips(build, heights), *_low_boxes(build, heights), *_unplaced_boxes(build, heights),
            *_far_defaults(build), *implausible(build, heights)]


def _small_pump(build: Build) -> list[str]:
    """Ask about a pump of a few litres an hour: a point for thousands reads as a decimal."""
    asked = []
    for pump in build.pumps:
        most = pump.curve[-1][0] if pump.curve else pump.most_flow.middle if pump.most_flow is not None else max(
            (test.volume.middle / test.time.middle for test in pump.tests), default=1.0)
        if 3.6e6 * most < 50.0:
            asked.append(f"{'the pump' if len(build.pumps) == 1 else pump.name}'s most flow reads as {3.6e6 * most:.3g} L/h; "
                         "thousands are written without a point: 3000 L/h")
    return asked


def _low_lips(build: Build, heights: DescribedHeights) -> list[str]:
    """Ask about tanks that returns fill and a lip keeps less than half full: a height may be meant from the other end."""
    asked = []
    for tank in dict.fromkeys(way.tank for way in build.returns):
        crests = [(heights.level(drain.inlet.values.get("lip")), drain.name) for drain in build.drains if drain.tank == tank]
        if not crests:
            continue
        lowest, name = min(crests)
        if lowest < 0.5 * (heights.place(f"{tank} bottom") + heights.place(f"{tank} rim")):
            asked.append(f"the lip of {name} keeps {'the tank' if tank == 'tank' else tank} less than half full; its height may "
                         "be meant from the rim")
    return asked


def _low_boxes(build: Build, heights: DescribedHeights) -> list[str]:
    """Ask about boxes whose rim lies under the edge they are filled over: inside a tank the water comes over the rim first."""
    asked = []
    for box in build.boxes:
        under = heights.level(box.edge.values.get("at")) - heights.place(f"{box.name} rim")
        if under > 1e-3:
            asked.append(f"the rim of {box.name} lies {1000.0 * under:.0f} mm under the edge it is filled over; a box inside its "
                         "tank is filled over its rim first")
    return asked


def _unplaced_boxes(build: Build, heights: DescribedHeights) -> list[str]:
    """Ask about boxes of which nobody says whether they stand in their tank: there they take its room."""
    asked = []
    for box in build.boxes:
        if box.inside is None:
            lower = heights.place(f"{box.tank} rim") - heights.place(f"{box.name} rim") > LOWER
            who = box.tank if box.tank != "tank" else "the tank"
            asked.append(f"whether {box.name} stands inside {who} is not said, and it is taken to stand "
                         f"{'inside' if lower else 'outside'}; 'inside tank: yes' or 'no' says it")
    return asked


def _far_defaults(build: Build) -> list[str]:
    """Ask about defaults set to a value outside the band they had."""
    known = all_defaults()
    return [f"'{name}' is set to {uncertain.middle:.4g}; its usual band is {known[name].low:.4g} to {known[name].high:.4g} (SI)"
            for name, uncertain in build.overrides.items()
            if name in known and known[name].low < known[name].high
            and not 0.5 * known[name].low <= uncertain.middle <= 2.0 * known[name].high]


def _nominal(item: Item) -> list[str]:
    size = item.values.get("size")
    if item.kind != "pipe" or not isinstance(size, Uncertain) or not size.is_exact:
        return []
    for known in pipe_sizes().values():
        if abs(known.outside - size.middle) < SAME:
            return [f"'{item.text or item.label}' was taken as {1000 * size.middle:.4g} mm inside; the pipe sold as "
                    f"{known.words} has that outside and {1000 * known.bore:.3g} mm inside. Measure the bore"]
    return []


def _joints(build: Build) -> list[str]:
    """Name the neighbours on a line whose sizes are of two standards, once for each pair of sizes, with the lines it is on.

    Fittings without a size of their own take that of the line. What is given by its bore alone has no standard to ask about, and
    whatever is joined to it is not judged.
    """
    found = dict[frozenset[str], tuple[str, str, dict[str, None]]]()
    for items in build.lines:
        before: tuple[str, PipeSize] | None = None
        for item in items:
            bore = item.values.get("size")
            if not isinstance(bore, Uncertain):
                continue
            size = size_of(bore)
            needed = adaptor(before[1], size) if before and size else None
            if before and size and needed:
                met = f"{before[0]} {before[1].words} meets {item.kind} {size.words}"
                owners = found.setdefault(frozenset((before[1].words, size.words)), (met, needed, {}))[2]
                owners[item.label.rpartition(":")[0] or "a line"] = None
            before = (item.kind, size) if size else None
    return [f"{_names(list(owners))}: {met}: {needed}" for met, needed, owners in found.values()]


def _names(names: list[str]) -> str:
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def _tees(build: Build) -> list[str]:
    """Ask for the tees where several returns share one pump and none is written down."""
    if len(build.returns) < 2:
        return []
    drained = [drain.line for drain in build.drains]
    items = [item for line in build.lines if line not in drained for item in line]
    if any(item.kind.startswith("tee") or item.kind == "K" for item in items):
        return []
    return ["several returns share the pump, but no tee or K is written in their lines: its loss is counted as nothing"]


def _breaks(build: Build, heights: DescribedHeights) -> list[str]:
    asked, least = [], limit_of(build, RATIO).middle
    for way in build.returns:
        if way.hole is None:
            continue
        hole, at, outlet = way.hole.values.get("hole"), heights.level(way.hole.values.get("at")), heights.level(way.end)
        bores = [bore.middle for item in _whole(build, way) for bore in (item.values.get("size"),) if isinstance(bore, Uncertain)]
        runs = [bore.middle for item in _whole(build, way) for bore in (item.values.get("size"),)
                if isinstance(bore, Uncertain) and "length" in item.values and item.kind != "bulkhead"]
        wide = hole.middle if isinstance(hole, Uncertain) else None
        widest = max(*runs, *bores[-1:], 0.0, 0.0)
        if at - (wide or 0.0) / 2.0 <= outlet - (bores[-1] / 2.0 if bores and way.points == "sideways" else 0.0):
            asked.append(f"{way.name}: the siphon break sits no higher than the mouth, so it breaks nothing")
        elif wide is None:
            asked.append(f"{way.name}: no bore is given for the siphon break; it is counted as large enough")
        elif wide < least * widest:
            asked.append(f"{way.name}: the siphon break is {100.0 * wide / widest:.0f} % of the pipe's bore; "
                         f"below {100.0 * least:.0f} % the line may run on as froth, and the hole is counted as plugged")
    return asked


def _whole(build: Build, way: Return) -> tuple[Item, ...]:
    """Return the parts of a return's line, behind those of the pump's where it is the only one that this pump feeds."""
    alone = len(build.pumps) == len(build.returns) == 1 and not build.runs
    return (*(build.pumps[0].line if alone else ()), *way.line)
