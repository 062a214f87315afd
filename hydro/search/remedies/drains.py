"""One drain more: like the largest that the tank has, its lip at the same height or, to stand dry, higher.

It is a hole to be drilled, so its place in the panel is left open: whoever drills it asks the drilling sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from hydro.case.names.renaming import Rewriting, rewritten
from hydro.case.syntax.items import every_field
from hydro.description.build import Build, Drain, Height
from hydro.elements.registry import KINDS as WORDS
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild
from hydro.search.remedies.change import (
    DRAIN,
    Change,
    Changed,
    Write,
    height_text,
    moved_height,
    path_of,
    rewritten_height,
    tape_marks,
)
from hydro.search.remedies.heights import LEAST, level

COPIED = ("standpipe", "elbow up", "side outlet")
"""The inlets that a further drain may have: a lip of their own, and nothing that is bound to its height."""
STEP = 5
"""How many marks of the tape one lip that is tried lies over the next."""
NAME = "additional"


def drain_changes(loop: PlacedBuild) -> Iterator[Change]:
    """Yield for every tank and box one drain more, its lip from that of its model upward."""
    build = loop.build
    several = {name for group in build.groups for name in group.members}
    for tank in (*build.tanks, *(box.vessel for box in build.boxes)):
        model = _model(loop, tank.name)
        if model is None or several & {model.name, tank.name}:
            continue
        lip = model.inlet.values["lip"]
        assert isinstance(lip, Height)
        reach = loop.height(f"{tank.name} rim") - LEAST - level(loop, lip)
        marks = (lip.offset.middle, *tape_marks(lip.offset.middle, True, max(reach, 0.0), build.units)[STEP - 1::STEP])
        yield _one_more(build, tank.name, model, marks)


def _model(loop: PlacedBuild, tank: str) -> Drain | None:
    """Return the widest drain of a tank that can be had once more, before others one with a line of its own down to a chamber."""
    chambers = {chamber.name for chamber in loop.build.chambers}
    found = [drain for drain in loop.build.drains if drain.tank == tank and drain.inlet.kind in COPIED
             and isinstance(drain.inlet.values.get("lip"), Height) and ": " in drain.end.offset.name
             and not any("open" in every_field(WORDS[item.kind]) for item in drain.line)]
    return max(found, key=lambda drain: (drain.into in chambers, _width(drain)), default=None)


def _width(drain: Drain) -> float:
    sizes = [item.values.get("size") for item in drain.line]
    return min((size.middle for size in sizes if isinstance(size, Uncertain)), default=0.0)


def _one_more(build: Build, tank: str, model: Drain, marks: tuple[float, ...]) -> Change:
    names = {drain.name for drain in build.drains}
    owner = path_of(model.end.offset.name)[0]
    called = model.name.rpartition(" ")[0]
    inner = bool(called) and model.name.startswith(f"{tank} ")
    name = next(name for name in (NAME, *(f"{NAME} {k}" for k in range(2, len(names) + 3)))
                if (f"{tank} {name}" if inner else name) not in names)
    whole = f"{tank} {name}" if inner else name
    lip = model.inlet.values["lip"]
    assert isinstance(lip, Height)

    def own(text: str) -> str:
        return f"drain {whole}: {text.partition(': ')[2]}" if ": " in text else text

    def make(offset: float) -> Changed:
        copied = rewritten(model, Rewriting(label=own, number=lambda uncertain: uncertain.named(own(uncertain.name))))
        there = copied.inlet.values["lip"]
        assert isinstance(there, Height)
        if offset != lip.offset.middle:
            there = replace(there, offset=moved_height(there, offset, build.tape))
        inlet = replace(copied.inlet, values={**copied.inlet.values, "lip": there})
        made = replace(copied, name=whole, inlet=inlet, drilled=None)
        drains = [one for drain in build.drains for one in ((made, drain) if drain is model else (drain,))]
        new = rewritten_height(offset, build.units) if offset != lip.offset.middle else str
        where = f" of {tank}" if len(build.tanks) + len(build.boxes) > 1 else ""
        return Changed(replace(build, drains=tuple(drains)),
                       lambda system: f"add a drain{where} like {model.name}, its lip "
                       f"{height_text(offset, system, f'the {lip.place}')}", (Write(owner, (), new, name),))
    return Change(DRAIN, f"{tank}: one drain more", marks, make)

