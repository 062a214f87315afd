"""Changes at the mouths of returns: moved up, and siphon breaks moved, drilled wider, or drilled where there is none."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from hydro.description.build import Height, Item, Return
from hydro.elements.return_line import RATIO
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild
from hydro.search.remedies.change import (
    HOLE,
    Change,
    Changed,
    Write,
    at_offset,
    by_and_to,
    height_text,
    path_of,
    rewritten_height,
    tape_marks,
    tape_text,
    with_numbers,
    with_tape,
)
from hydro.search.remedies.heights import LEAST, level, marks_up_and_down, moving, one_of_twins

BELOW_HOLE = 0.010
"""A mouth stays so far below the siphon break over it, m."""


def mouth_changes(loop: PlacedBuild) -> Iterator[Change]:
    """Yield every change of a return's mouth and of its siphon break."""
    yield from _mouths(loop)
    for described in one_of_twins(loop.build.returns, lambda one: one.end):
        yield from _breaks(loop, described)


def _under_water(loop: PlacedBuild, tank: str) -> float:
    """Return how high a siphon break may sit, m: just under the lowest lip, and so under the water; over it, it draws air."""
    lips = [lip for drain in loop.build.drains if drain.tank == tank
            if isinstance(lip := drain.inlet.values.get("lip"), Height) and "water" not in lip.place]
    return min((level(loop, lip) for lip in lips), default=loop.height(f"{tank} rim")) - LEAST


def _mouths(loop: PlacedBuild) -> Iterator[Change]:
    """No mouth of a tank's returns, nor its siphon break, lower than a level: those that lie lower are moved up to it."""
    build = loop.build
    groups: dict[str, list[Return]] = {}
    for described in one_of_twins(build.returns, lambda one: one.end):
        if "water" not in described.end.place:
            groups.setdefault(described.tank, []).append(described)
    for tank, returns in groups.items():
        lowest = min(returns, key=lambda one: level(loop, one.end))
        holed = any(one.hole is not None and one.hole.values for one in returns)
        top = _under_water(loop, tank) - BELOW_HOLE if holed else loop.height(f"{tank} rim") - LEAST
        reach = top - level(loop, lowest.end)
        marks = tape_marks(lowest.end.offset.middle, True, max(reach, 0.0), build.units)
        if marks:
            yield Change(HOLE, f"{tank}: mouths up", marks, _raising(loop, returns, lowest))


def _raising(loop: PlacedBuild, returns: Sequence[Return], lowest: Return) -> Callable[[float], Changed]:
    build = loop.build

    def make(offset: float) -> Changed:
        at = loop.height(lowest.end.place) + offset
        moves: list[tuple[Return, float]] = []
        for described in returns:
            short = at - level(loop, described.end)
            if short > 1e-6:
                moves.append((described, tape_marks(described.end.offset.middle + short - 1e-6, True, 1.0, build.units)[0]))
        numbers: dict[str, Uncertain] = {}
        writes: list[Write] = []
        moved_holes = set[str]()
        for described, end in moves:
            by = end - described.end.offset.middle
            holes = [] if described.hole is None else [described.hole.values.get("at")]
            highest = _under_water(loop, described.tank)
            for height, moved_to, path in [(described.end, end, ("end",)),
                                           *((hole, hole.offset.middle + min(by, max(0.0, highest - level(loop, hole))),
                                              ("siphon break", "at")) for hole in holes
                                             if isinstance(hole, Height) and "water" not in hole.place)]:
                if path != ("end",):
                    if moved_to <= height.offset.middle + 1e-6:
                        continue
                    moved_to = tape_marks(moved_to + 1e-6, False, 1.0, build.units)[0]
                    moved_holes.add(described.name)
                numbers |= with_tape(build, height, moved_to)
                owner = path_of(described.end.offset.name)[0]
                writes.append(Write(owner, path, rewritten_height(moved_to, build.units)))

        def said(system: str) -> str:
            return "; ".join(f"move the mouth of {one.name}{' and its siphon break' if one.name in moved_holes else ''} "
                             f"up {by_and_to(one.end, end, system)}" for one, end in moves)
        return Changed(with_numbers(build, numbers), said, tuple(writes))
    return make


def _breaks(loop: PlacedBuild, described: Return) -> Iterator[Change]:
    """A siphon break moved or drilled wider, or one drilled where there is none."""
    build, hole = loop.build, described.hole
    owner = path_of(described.end.offset.name)[0]
    if hole is None:
        yield from _drilled(loop, described, owner)
        return
    at, bore = hole.values.get("at"), hole.values.get("hole")
    if isinstance(at, Height) and "water" not in at.place:
        top = _under_water(loop, described.tank)
        for word, marks in marks_up_and_down(loop, at, level(loop, described.end), top):
            yield moving(loop, HOLE, f"{described.name}: break {word}", at, marks,
                          f"close the siphon break of {described.name} and drill one further {word}", ("siphon break", "at"))
    if isinstance(bore, Uncertain) and bore.name:
        def make(size: float) -> Changed:
            return Changed(with_numbers(build, {bore.name: Uncertain.exact(size, bore.name)}),
                           lambda system: f"drill the siphon break of {described.name} out to {tape_text(size, system)}",
                           (Write(owner, ("siphon break", "hole"), lambda old: tape_text(size, build.units)),))
        yield Change(HOLE, f"{described.name}: break wider", tape_marks(bore.middle, True, 0.015, build.units), make)


def _drilled(loop: PlacedBuild, described: Return, owner: str) -> Iterator[Change]:
    """A hole drilled into a return without one: wide enough to be counted on, from its mouth upward."""
    build, end = loop.build, described.end
    bores = [value.high for item in described.line if isinstance(value := item.values.get("size"), Uncertain)]
    pump = [value.high for pump in build.pumps for item in pump.line if isinstance(value := item.values.get("size"), Uncertain)]
    if "water" in end.place or not (bores or pump) or not end.offset.name:
        return
    size = tape_marks(RATIO.high * max(bores or pump), True, 0.1, build.units)[0]
    reach = _under_water(loop, described.tank) - level(loop, end)

    def make(offset: float) -> Changed:
        name = f"{owner}: siphon break"
        at = at_offset(end, offset, build.tape)
        at = replace(at, offset=at.offset.named(f"{name}: at"))
        text = f"{{hole: {tape_text(size, build.units)}, at: {height_text(offset, build.units, end.place)}}}"
        item = Item("siphon break", {"hole": Uncertain.exact(size, f"{name}: hole"), "at": at}, label=f"{name}: siphon break")
        returns = tuple(replace(one, hole=item) if one.end.offset.name == end.offset.name else one for one in build.returns)
        return Changed(replace(build, returns=returns),
                       lambda system: f"drill a siphon break of {tape_text(size, system)} into {described.name}, "
                       f"{height_text(offset, system, f'the {end.place}')}",
                       (Write(owner, ("siphon break",), lambda old: text, text),))
    yield Change(HOLE, f"{described.name}: a break drilled", tape_marks(end.offset.middle + size / 2, True, max(reach, 0.0),
                                                                       build.units), make)
