"""What a description leaves in doubt though it can be computed: asked back in one line each, never a verdict.

The commonest costly misreadings: a pipe named by the size it is sold as and read as its bore, and a part that everybody has and
nobody wrote down.
"""

from __future__ import annotations

from hydro.build import Build, Item
from hydro.catalog import pipe_sizes
from hydro.findings import Findings
from hydro.rough import Rough

SAME = 4e-4
"""A bore this close to an outside diameter of the catalogue is suspected to be one, m."""


def doubts(findings: Findings) -> list[str]:
    """Return the questions to ask back, in the order of the file."""
    build = findings.build
    lines = [*(drain.line for drain in build.drains), build.pump.line, *(described.line for described in build.returns)]
    asked = [question for items in lines for item in items for question in _nominal(item)]
    return [*dict.fromkeys(asked), *_tees(build), *_breaks(findings)]


def _nominal(item: Item) -> list[str]:
    size = item.values.get("size")
    if item.kind != "pipe" or not isinstance(size, Rough) or not size.is_exact:
        return []
    for known in pipe_sizes().values():
        if abs(known.outside - size.middle) < SAME:
            return [f"'{item.text or item.label}' was taken as {1000 * size.middle:.4g} mm inside; the pipe sold as "
                    f"{known.words} has that outside and {1000 * known.bore:.3g} mm inside. Measure the bore"]
    return []


def _tees(build: Build) -> list[str]:
    """Ask for the tees where several returns share one pump and none is written down."""
    if len(build.returns) < 2:
        return []
    items = [item for line in (build.pump.line, *(described.line for described in build.returns)) for item in line]
    if any(item.kind.startswith("tee") or item.kind == "K" for item in items):
        return []
    return ["several returns share the pump, but no tee or K is written in their lines: its loss is counted as nothing"]


def _breaks(findings: Findings) -> list[str]:
    asked = []
    for k in findings.network.returns:
        link, end = findings.network.links[k], findings.element(k).end
        if end.break_at is None:
            continue
        if float(end.break_at) <= float(end.lowest):
            asked.append(f"{link.name}: the siphon break sits no higher than the mouth, so it breaks nothing")
        elif end.ratio is None:
            asked.append(f"{link.name}: no bore is given for the siphon break; it is counted as large enough")
        elif float(end.ratio) < 0.3:
            asked.append(f"{link.name}: the siphon break is {float(end.ratio):.0%} of the pipe's bore; below 30 % the line may "
                         "run on as froth, and the hole is counted as plugged")
    return asked

