"""Changes of a height: the running line, lips of inlets, the lower ends of drains, walls in a sump."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from hydro.case.syntax.items import every_field
from hydro.description.build import Build, Drain, Height
from hydro.elements.registry import KINDS as WORDS
from hydro.network.naming import closing_chamber
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild
from hydro.search.remedies.change import (
    ELBOW,
    PEN,
    SAW,
    TUB,
    Change,
    Changed,
    Write,
    by_and_to,
    path_of,
    rewritten_height,
    tape_marks,
    with_numbers,
    with_tape,
)

T = TypeVar("T")

BARE_HOLE = "side outlet"
LEAST = 0.002
"""What is kept between a height that is moved and the rim or bottom that bounds it, m."""
CUT, WALL, LITRE, GALLON = 0.15, 0.15, 1e-3, 3.785411784e-3


def height_changes(loop: PlacedBuild) -> Iterator[Change]:
    """Yield every change of a height that this build has, each in both directions where it can go either way."""
    yield from _pen(loop)
    for drain in one_of_twins(loop.build.drains, lambda drain: drain.inlet.values.get("lip")):
        yield from _lip(loop, drain)
        yield from _elbow_off(loop, drain)
    for drain in one_of_twins(loop.build.drains, lambda drain: drain.end):
        yield from _end(loop, drain)
    yield from _walls(loop)


def one_of_twins(things: Sequence[T], height: Callable[[T], object]) -> Iterator[T]:
    """Yield things whose height has a name of its own: twins share one, and change together."""
    seen: set[str] = set()
    for thing in things:
        found = height(thing)
        if isinstance(found, Height) and found.offset.name and found.offset.name not in seen:
            seen.add(found.offset.name)
            yield thing


def marks_up_and_down(
    loop: PlacedBuild, height: Height, lowest: float, highest: float
) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Yield 'up' and 'down' with the tape's marks that lie within two levels (m above the ground)."""
    here, system = level(loop, height), loop.build.units
    for word, up, reach in (("up", True, highest - here), ("down", False, here - lowest)):
        marks = tape_marks(height.offset.middle, up, max(reach, 0.0), system)
        if marks:
            yield word, marks


def level(loop: PlacedBuild, height: Height) -> float:
    """Return a height in the middle of its band, m above the ground."""
    return loop.height(height.place) + float(height.offset.middle)


def moving(loop: PlacedBuild, kind: str, what: str, height: Height, marks: tuple[float, ...], words: str,
            path: tuple[str | int, ...] = (), joined: str = "to", after: str = "") -> Change:
    """Return the change that moves one height; its text is found under the last word of its name unless a path is given."""
    build = loop.build
    owner, key = path_of(height.offset.name)
    if path[:1] == ("siphon break",):
        owner = owner.removesuffix(": siphon break")

    def make(offset: float) -> Changed:
        write = Write(owner, path or (key,), rewritten_height(offset, build.units))
        return Changed(with_numbers(build, with_tape(build, height, offset)),
                       lambda system: f"{words} {by_and_to(height, offset, system, joined)}{after}", (write,))
    return Change(kind, what, marks, make)


def _pen(loop: PlacedBuild) -> Iterator[Change]:
    """The running line, or the water in the system: top up or take out."""
    build, given = loop.build, loop.build.water
    if given.level is None:
        yield from _total(build)
        return
    closing = closing_chamber(build)
    sump = next((sump for sump in build.sumps if closing in {chamber.name for chamber in sump.chambers}), build.sumps[0])
    bottom, rim = loop.height(f"{sump.name} bottom"), loop.height(f"{sump.name} rim")
    words = "draw the running line" if given.kind == "line" else "let the sump stand, all at rest,"
    for word, marks in marks_up_and_down(loop, given.level, bottom + LEAST, rim - LEAST):
        yield moving(loop, PEN, f"water: {word}", given.level, marks, f"{words} {'higher' if word == 'up' else 'lower'}")


def _total(build: Build) -> Iterator[Change]:
    total = build.water.total
    if total is None or not total.name:
        return
    unit, word = (LITRE, "L") if build.units == "metric" else (GALLON, "US gal")
    here, (owner, key) = total.middle / unit, path_of(total.name)

    def make(volume: float) -> Changed:
        text = f"{volume / unit:g} {word}"
        return Changed(with_numbers(build, {total.name: Uncertain.exact(volume, total.name)}),
                       lambda system: f"{'top up' if volume > total.middle else 'let out water'}, to {text} in all",
                       (Write(owner, (key,), lambda old: text),))
    half = max(1, int(here / 2))
    yield Change(PEN, "water: more", tuple((int(here) + 1 + k) * unit for k in range(half)), make)
    yield Change(PEN, "water: less", tuple((-int(-here) - 1 - k) * unit for k in range(half)), make)


def _lip(loop: PlacedBuild, drain: Drain) -> Iterator[Change]:
    """An elbow turned within its range, or a standpipe cut shorter or made longer; other lips are holes in the glass."""
    lip, inlet = drain.inlet.values["lip"], drain.inlet
    assert isinstance(lip, Height)
    rim, here = inlet.values.get("rim"), level(loop, lip)
    top = loop.height(f"{drain.tank} rim") - LEAST
    turns = inlet.values.get("turns")
    if inlet.kind == "elbow up" and isinstance(rim, Uncertain):
        lowest, highest, after = here - rim.middle, min(here + rim.middle, top), " (if it turns so far)"
        if isinstance(turns, tuple) and len(turns) == 2 and all(isinstance(end, Height) for end in turns):
            ends = [level(loop, end) for end in turns if isinstance(end, Height)]
            lowest, highest, after = min(ends), min(max(ends), top), ""
        words = {word: f"turn the elbow of {drain.name} {word}" for word in ("up", "down")}
        kind, joined = ELBOW, "to"
    elif inlet.kind == "standpipe":
        lowest, highest = max(here - CUT, loop.height(f"{drain.tank} bottom") + 10 * LEAST), top
        kind, after = SAW, ""
        words, joined = {"up": f"make the standpipe of {drain.name} longer",
                         "down": f"cut the standpipe of {drain.name} shorter"}, "its lip to"
    else:
        return
    for word, marks in marks_up_and_down(loop, lip, lowest, highest):
        yield moving(loop, kind, f"{drain.name}: lip {word}", lip, marks, words[word], ("inlet", "lip"), joined, after)


def _elbow_off(loop: PlacedBuild, drain: Drain) -> Iterator[Change]:
    """A down-turned elbow taken off: what is left is the hole behind it, whose lowest point was its lip all along."""
    build, inlet = loop.build, drain.inlet
    if inlet.kind != "elbow down":
        return
    kept = {key: value for key, value in inlet.values.items() if key in every_field(WORDS[BARE_HOLE])}

    def bare(old: str) -> str:
        first, *others = re.split(r",\s*(?=[a-z][a-z ]*:)", old.strip("{} "))
        there = [one for one in others if one.partition(":")[0].strip() in kept]
        size = first.partition(":")[2].strip()
        return f"{{{', '.join([f'{BARE_HOLE}: {size}', *there])}}}"

    def make(mark: float) -> Changed:
        made = replace(drain, inlet=replace(inlet, kind=BARE_HOLE, values=kept))
        return Changed(replace(build, drains=tuple(made if one is drain else one for one in build.drains)),
                       lambda system: f"take the down-turned elbow off {drain.name}, so that it draws no lower than its lip",
                       (Write(path_of(drain.end.offset.name)[0], ("inlet",), bare),))
    yield Change(ELBOW, f"{drain.name}: elbow off", (1.0,), make)


def _end(loop: PlacedBuild, drain: Drain) -> Iterator[Change]:
    """The lower end of a drain cut shorter, so that it stays out of the water, or is drowned less deep; up to the sump's rim."""
    sump = next((sump for sump in loop.build.sumps if drain.into in {one.name for one in sump.chambers}), None)
    if sump is None:
        return
    for word, marks in marks_up_and_down(loop, drain.end, float("inf"), loop.height(f"{sump.name} rim")):
        if word == "up":
            yield moving(loop, SAW, f"{drain.name}: end up", drain.end, marks, f"cut the lower end of {drain.name} shorter",
                          ("into", "end"))


def _walls(loop: PlacedBuild) -> Iterator[Change]:
    """The crest of a wall in the sump, lower or higher."""
    for sump in loop.build.sumps:
        for chamber in sump.chambers:
            top = chamber.end.values.get("top") if chamber.end is not None else None
            if chamber.end is None or not isinstance(top, Height) or not top.offset.name:
                continue
            here = level(loop, top)
            lowest, highest = loop.height(f"{sump.name} bottom") + 10 * LEAST, loop.height(f"{sump.name} rim") - LEAST
            for word, marks in marks_up_and_down(loop, top, max(lowest, here - WALL), min(highest, here + WALL)):
                yield moving(loop, TUB, f"{chamber.name}: wall {word}", top, marks,
                              f"{'raise' if word == 'up' else 'lower'} the wall behind {chamber.name}",
                              ("ends in", "plate" if chamber.end.kind == "plate" else "top"))
