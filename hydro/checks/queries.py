"""What a description leaves in doubt though it can be computed: asked back in one line each, never a verdict.

The commonest costly misreadings: a pipe named by the size it is sold as and read as its bore, and a part that everybody has and
nobody wrote down.
"""

from __future__ import annotations

from hydro.catalog import PipeSize, adaptor, pipe_sizes, size_of
from hydro.description.build import Build, Item
from hydro.elements.registry import all_defaults
from hydro.network.vessels import stands_inside
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.results import Results

SAME = 4e-4
"""A bore this close to an outside diameter of the catalogue is suspected to be one, m."""


def doubts(results: Results) -> list[str]:
    """Return the questions to ask back, in the order of the file."""
    build = results.build
    asked = [question for items in build.lines for item in items for question in _nominal(item)]
    return [*dict.fromkeys(asked), *_joints(build), *_tees(build), *_breaks(results), *_small_pump(results),
            *_low_lips(results), *_low_boxes(results), *_far_defaults(build)]


def _small_pump(results: Results) -> list[str]:
    """Ask about a pump of a few litres an hour: a point for thousands reads as a decimal."""
    most = {k: 3.6e6 * float(results.element(k).curve.flows[-1]) for k in results.network.pumps}
    names = {k: "the pump" if len(most) == 1 else results.network.links[k].name for k in most}
    return [f"{names[k]}'s most flow reads as {flow:.3g} L/h; thousands are written without a point: 3000 L/h"
            for k, flow in most.items() if flow < 50.0]


def _low_lips(results: Results) -> list[str]:
    """Ask about tanks that returns fill and a lip keeps less than half full: a height may be meant from the other end."""
    network, asked = results.network, []
    fed = {network.links[k].down for k in network.returns}
    for tank in network.tanks:
        crests = [(float(results.element(k).inlet.crest), network.links[k].name) for k in network.leaving(tank, network.drains)]
        body = network.waters[tank].body
        if tank not in fed or body is None or not crests:
            continue
        lowest, name = min(crests)
        if lowest < 0.5 * (float(body.bottom) + float(body.rim)):
            who = network.waters[tank].name
            asked.append(f"the lip of {name} keeps {who} less than half full; its height may be meant from the rim"
                         if who != "tank" else f"the lip of {name} keeps the tank less than half full; its height may be meant "
                         "from the rim")
    return asked


def _low_boxes(results: Results) -> list[str]:
    """Ask about boxes whose rim lies under the edge they are filled over: inside a tank the water comes over the rim first."""
    network, asked = results.network, []
    for k in network.edges:
        box, body = network.waters[network.links[k].down].name, network.waters[network.links[k].down].body
        under = float(results.element(k).crest) - float(body.rim) if body is not None else 0.0
        if under > 1e-3:
            asked.append(f"the rim of {box} lies {1000.0 * under:.0f} mm under the edge it is filled over; a box inside its tank "
                         "is filled over its rim first")
    return [*asked, *_unplaced_boxes(results)]


def _unplaced_boxes(results: Results) -> list[str]:
    """Ask about boxes of which nobody says whether they stand in their tank: there they take its room."""
    network, asked = results.network, []
    for box in results.build.boxes:
        waters = [network.waters[network.water(name)] for name in (box.name, box.tank)]
        if box.inside is None and waters[0].body is not None:
            where = "inside" if stands_inside(box, waters[0].body, waters[1]) else "outside"
            who = box.tank if box.tank != "tank" else "the tank"
            asked.append(f"whether {box.name} stands inside {who} is not said, and it is taken to stand {where}; 'inside tank: "
                         "yes' or 'no' says it")
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


def _breaks(results: Results) -> list[str]:
    asked = []
    for k in results.network.returns:
        end = results.element(k).end
        if end.break_at is None:
            continue
        if float(end.break_at) <= float(end.lowest):
            asked.append(f"{end.name}: the siphon break sits no higher than the mouth, so it breaks nothing")
        elif end.ratio is None:
            asked.append(f"{end.name}: no bore is given for the siphon break; it is counted as large enough")
        elif float(end.ratio) < 0.3:
            asked.append(f"{end.name}: the siphon break is {float(end.ratio):.0%} of the pipe's bore; below 30 % the line may "
                         "run on as froth, and the hole is counted as plugged")
    return asked

