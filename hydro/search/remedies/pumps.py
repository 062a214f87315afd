"""The pump at less or more of its speed, or another pump: a smaller or a larger one of the same sort."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from hydro.description.build import Build, Pump
from hydro.quantities.formatting import show
from hydro.quantities.uncertain import Uncertain
from hydro.quantities.unit_table import FOOT, US_GALLON
from hydro.search.remedies.change import PUMP, VALVE, Change, Changed, Write, path_of, with_numbers
from hydro.search.remedies.lines import PART, shares

LEAST_SPEED = 0.30
"""The least that a pump is turned down to, as a share of its full speed."""
SMALLER, LARGER = 12, 20
"""How many steps of `PART` down and up another pump goes."""
MOST_DECIMALS = 4
"""Most decimals of a flow that points are written with."""


def pump_changes(build: Build) -> Iterator[Change]:
    """Yield the speed of every pump that has a controller, and other pumps in place of each that runs."""
    seen: set[str] = set()
    for pump in build.pumps:
        if pump.speed is not None and pump.speed.name and pump.speed.name not in seen:
            seen.add(pump.speed.name)
            yield from _speed(build, pump, pump.speed)
    for group in _pumps_alike(build):
        yield from _other_pump(build, group)


def _speed(build: Build, pump: Pump, speed: Uncertain) -> Iterator[Change]:
    owner, key = path_of(speed.name)

    def make(share: float) -> Changed:
        return Changed(with_numbers(build, {speed.name: Uncertain.exact(share, speed.name)}),
                       lambda system: f"run {_the(build, pump)} at {100 * share:.0f} % of its speed",
                       (Write(owner, (key,), lambda old: f"{100 * share:.0f} %"),))
    for word, marks in shares(speed.middle, LEAST_SPEED):
        yield Change(VALVE, f"{pump.name}: speed {word}", marks, make)


def _the(build: Build, pump: Pump) -> str:
    return "the pump" if len(build.pumps) == 1 else pump.name


def _pumps_alike(build: Build) -> Iterator[tuple[Pump, ...]]:
    """Yield pumps that were described once, together."""
    grouped = {name: group.name for group in build.groups for name in group.members}
    found: dict[str, list[Pump]] = {}
    for pump in build.pumps:
        if not pump.off:
            found.setdefault(grouped.get(pump.name, pump.name), []).append(pump)
    yield from map(tuple, found.values())


def _other_pump(build: Build, pumps: tuple[Pump, ...]) -> Iterator[Change]:
    """A pump alike but smaller or larger: so many times the flow, and the square of that the height. Or one of the two alone."""
    first = pumps[0]
    if first.curve or first.most_flow is not None:
        less = tuple(round(1.0 - PART * k, 2) for k in range(1, SMALLER + 1))
        more = tuple(round(1.0 + PART * k, 2) for k in range(1, LARGER + 1))
        yield Change(PUMP, f"{first.name}: smaller", less, _making(build, pumps, 1.0, 2.0))
        yield Change(PUMP, f"{first.name}: larger", more, _making(build, pumps, 1.0, 2.0))
        yield Change(PUMP, f"{first.name}: less flow", less, _making(build, pumps, 1.0, 0.0))
        yield Change(PUMP, f"{first.name}: more height", more, _making(build, pumps, 0.0, 1.0))


def _making(build: Build, pumps: tuple[Pump, ...], flows: float, heights: float) -> Callable[[float], Changed]:
    """Return what puts other pumps in the place of some: flows and heights by a share, each to its power."""
    names, first = sorted(pump.name for pump in pumps), pumps[0]

    def make(share: float) -> Changed:
        new = {pump.name: _scaled(pump, share ** flows, share ** heights, build.units) for pump in pumps}
        made = replace(build, pumps=tuple(new.get(pump.name, pump) for pump in build.pumps))
        other = new[first.name]
        owner = path_of(first.intake.offset.name)[0]
        writes = None if first.tests or not first.curve or len(pumps) > 1 else tuple(
            Write(owner, ("curve", k), _always(point)) for k, point in enumerate(_points(other.curve, build.units)))
        # By the laws of similar pumps a smaller one of a sort is the same pump at less of its speed.
        slower = share < 1.0 and (flows, heights) == (1.0, 2.0) and all(pump.speed is None for pump in pumps)
        turned = f", or run it at {100 * share:.0f} % of its speed if it has a controller" if slower else ""
        return Changed(made, lambda system: f"take a {'smaller' if share < 1.0 else 'larger'} pump in place of "
                       f"{_the(build, first) if len(pumps) == 1 else 'each of ' + ', '.join(names)}{turned}: "
                       f"{_sort(other, share ** flows, share ** heights, system)}", writes)
    return make


def _sort(pump: Pump, share: float, high: float, system: str) -> str:
    """Say how large a pump is by the middle of its curve and by its ends, as it has to be looked for."""
    if not pump.curve:
        assert pump.most_flow is not None
        flow, height = pump.most_flow.middle, pump.most_height.middle if pump.most_height is not None else 0.0
        ends = f"{show(flow, 'flow', system)} and {show(height, 'length', system)} on its box"
        return f"at {'most' if share < 1.0 else 'least'} {ends}"
    flow, head = pump.curve[len(pump.curve) // 2]
    wide, tall = (f"{100 * by:.0f} % as" if by != 1.0 else "just as" for by in (share, high))
    return (f"at {'most' if share * high < 1.0 else 'least'} {show(flow, 'flow', system)} at {show(head, 'length', system)} "
            f"(its curve {wide} wide and {tall} high)")


def _scaled(pump: Pump, share: float, high: float, system: str) -> Pump:
    """Return a pump with flows by one share and heights by another, tests in step; points as they are written."""
    curve = tuple(_read(text, system) for text in _points([(flow * share, head * high) for flow, head in pump.curve], system))
    tests = tuple(replace(test, time=_times(test.time, 1.0 / share), height=_times(test.height, high))
                  for test in pump.tests)
    return replace(pump, curve=curve, tests=tests,
                   most_flow=None if pump.most_flow is None else _times(pump.most_flow, share),
                   most_height=None if pump.most_height is None else _times(pump.most_height, high))


def _times(value: Uncertain, factor: float) -> Uncertain:
    return replace(value, low=value.low * factor, middle=value.middle * factor, high=value.high * factor)


def _always(text: str) -> Callable[[str], str]:
    return lambda old: text


def _units(system: str) -> tuple[float, str, float, str]:
    return (1e-3 / 3600.0, "L/h", 1.0, "m") if system == "metric" else (US_GALLON / 3600.0, "US gph", FOOT, "ft")


def _points(curve: Sequence[tuple[float, float]], system: str) -> list[str]:
    """Return points as they are written: whole flows, with as many decimals more as it takes to keep them apart."""
    for decimals in range(MOST_DECIMALS + 1):
        texts = [_point(point, system, decimals) for point in curve]
        flows = [_read(text, system)[0] for text in texts]
        if all(low < high for low, high in pairwise(flows)):
            break
    return texts


def _point(point: tuple[float, float], system: str, decimals: int) -> str:
    flow_unit, flow_word, head_unit, head_word = _units(system)
    return f"{point[0] / flow_unit:.{decimals}f} {flow_word} = {round(point[1] / head_unit, 2):g} {head_word}"


def _read(text: str, system: str) -> tuple[float, float]:
    flow_unit, _, head_unit, _ = _units(system)
    flow, head = re.findall(r"[0-9.]+", text)
    return float(flow) * flow_unit, float(head) * head_unit
