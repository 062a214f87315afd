"""Changes of a line: a valve closed or opened, a check valve more, wider pipe."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from hydro.case.syntax.items import every_field
from hydro.catalog import Size, hoses, pipe_sizes, size_of, sizes_of
from hydro.description.build import Build, Drain, Item
from hydro.elements.fittings import TUNED
from hydro.elements.registry import KINDS as WORDS
from hydro.quantities.uncertain import Uncertain
from hydro.search.remedies.change import (
    MILLIMETRE,
    PIPE,
    SIXTEENTH,
    VALVE,
    Change,
    Changed,
    Write,
    path_of,
    tape_text,
    with_numbers,
)
from hydro.search.remedies.texts import in_line, with_opening, with_size

CHECK = "check valve"
PART, LEAST_OPEN = 0.05, 0.10
"""Steps of a valve's opening, and the least it is closed to, as shares."""
SIZES = 4
"""How many sizes up a pipe goes."""


def line_changes(build: Build) -> Iterator[Change]:
    """Yield every change of a valve and of a line's bore that this build has."""
    seen: set[str] = set()
    for name, owner, line, drain in lines_of_build(build):
        numbers = tuple(value.name for item in line for value in item.values.values() if isinstance(value, Uncertain))
        if owner in seen or (numbers and numbers[0] in seen):
            continue
        seen.update((owner, *numbers[:1]))
        for number, item in enumerate(line):
            yield from _valve(build, name, owner, line, number, item)
        yield from _wider(build, name, owner, line, drain)
    yield from _held_back(build)


def _held_back(build: Build) -> Iterator[Change]:
    """A check valve behind each of several pumps that has none: nothing runs back through one that is off, whichever it is."""
    bare = [pump for pump in build.pumps if not any(item.kind == CHECK for item in pump.line)]
    if not any(pump.off for pump in bare):
        return

    def make(mark: float) -> Changed:
        owners = {pump.name: path_of(pump.intake.offset.name)[0] for pump in bare}
        pumps = tuple(replace(pump, line=(*pump.line, Item(CHECK, {}, text=CHECK, label=f"{owners[pump.name]}: {CHECK}")))
                      if pump in bare else pump for pump in build.pumps)
        writes = tuple(Write(owner, ("line",), lambda old: f"{old[:-1]}{', ' if old[1:-1].strip() else ''}{CHECK}]", f"[{CHECK}]")
                       for owner in owners.values())
        told = f"fit a check valve behind {' and behind '.join(owners)}"
        return Changed(replace(build, pumps=pumps), lambda system: told, writes)
    yield Change(VALVE, f"{' and '.join(pump.name for pump in bare)}: held back", (1.0,), make)


def lines_of_build(build: Build) -> Iterator[tuple[str, str, tuple[Item, ...], Drain | None]]:
    """Yield every line: whose it is by its name, its owner in the names of its numbers, its parts, and its drain."""
    for drain in build.drains:
        yield drain.name, path_of(drain.end.offset.name)[0], drain.line, drain
    for pump in build.pumps:
        yield "the pump" if len(build.pumps) == 1 else pump.name, path_of(pump.intake.offset.name)[0], pump.line, None
    for described in build.returns:
        yield described.name, path_of(described.end.offset.name)[0], described.line, None
    for run in build.runs:
        labels = [item.label.rpartition(": ")[0] for item in run.line if item.label]
        yield run.name, labels[0] if labels else run.name, run.line, None


def _with_line(build: Build, old: tuple[Item, ...], new: tuple[Item, ...]) -> Build:
    """Return a build with one line in place of another, wherever it stands: twins have the same parts under other labels."""
    parts = [(item.kind, dict(item.values)) for item in old]
    named = any(isinstance(value, Uncertain) for item in old for value in item.values.values())

    def line(there: tuple[Item, ...]) -> tuple[Item, ...]:
        if there is not old and not (named and [(item.kind, dict(item.values)) for item in there] == parts):
            return there
        return tuple(replace(made, label=item.label) for made, item in zip(new, there, strict=True))
    return replace(build, drains=tuple(replace(one, line=line(one.line)) for one in build.drains),
                   returns=tuple(replace(one, line=line(one.line)) for one in build.returns),
                   pumps=tuple(replace(one, line=line(one.line)) for one in build.pumps),
                   runs=tuple(replace(one, line=line(one.line)) for one in build.runs))


def _valve(build: Build, called: str, owner: str, line: tuple[Item, ...], number: int, item: Item) -> Iterator[Change]:
    """A throttle that is there, closed or opened by five per cent at a time."""
    kind = WORDS[item.kind]
    if "open" not in every_field(kind) or "K" in item.values or kind.family != "part":
        return
    stands = item.values.get("open")
    if stands == TUNED:
        return
    here = stands.middle if isinstance(stands, Uncertain) else 1.0
    name = stands.name if isinstance(stands, Uncertain) else f"{item.label}: open"

    def make(opening: float) -> Changed:
        values = {**item.values, "open": Uncertain.exact(opening, name)}
        made = (*line[:number], replace(item, values=values), *line[number + 1:])
        return Changed(_with_line(build, line, made),
                       lambda system: f"set the {item.kind} of {called} to {100 * opening:.0f} % open",
                       (in_line(owner, number, with_opening(opening)),))
    for word, marks in shares(here, LEAST_OPEN):
        yield Change(VALVE, f"{called}: {item.label.rpartition(': ')[2]} {word}", marks, make)


def shares(here: float, least: float) -> Iterator[tuple[str, tuple[float, ...]]]:
    """Yield 'less' and 'more' with the steps of five per cent below and above a share."""
    steps = [round(PART * k, 2) for k in range(1, 21)]
    less = tuple(share for share in reversed(steps) if least - 1e-9 <= share < here - 1e-6)
    more = tuple(share for share in steps if share > here + 1e-6)
    yield from ((word, marks) for word, marks in (("less", less), ("more", more)) if marks)


@dataclass(frozen=True, slots=True)
class _New:
    """A bore with its words."""

    uncertain: Uncertain
    words: str


def _wider(build: Build, called: str, owner: str, line: tuple[Item, ...], drain: Drain | None) -> Iterator[Change]:
    """A whole line in the next sizes: pipe and hose that are sold, what is known by a bore alone in step with them."""
    lead = next((item for word in ("pipe", "hose", "ribbed hose") for item in line if item.kind == word), None)
    size = lead.values.get("size") if lead is not None else None
    if lead is None or not isinstance(size, Uncertain):
        return
    ladder = _ladder(lead.kind, size, build.units)
    if not ladder:
        return

    def make(position: float) -> Changed:
        up = int(position)
        ratio = ladder[min(up, len(ladder)) - 1].bore_rough().middle / size.middle
        items, writes = [], []
        for number, item in enumerate(line):
            there = item.values.get("size")
            if not isinstance(there, Uncertain):
                items.append(item)
                continue
            new = _next(item.kind, there, up, ratio, build.units, item is lead)
            items.append(replace(item, values={**item.values, "size": new.uncertain}))
            writes.append(in_line(owner, number, with_size(there, new.words, build.units)))
        made = _with_line(build, line, tuple(items))
        inlet, mouths, told = _inlet(build, drain, owner, ratio)
        sized = [item for item in items if "size" in item.values]

        def said(system: str) -> str:
            return f"lay {called} in wider pipe: {', '.join(dict.fromkeys(_told(item, system) for item in sized))}{told(system)}"
        return Changed(with_numbers(made, inlet), said, (*writes, *mouths))
    yield Change(PIPE, f"{called}: wider", tuple(float(k) for k in range(1, min(SIZES, len(ladder)) + 1)), make)


def _told(item: Item, system: str) -> str:
    size = item.values["size"]
    assert isinstance(size, Uncertain)
    found = size_of(size)
    if found is not None:
        return f"{item.kind} {found.words}"
    return f"{item.kind} {tape_text(size.middle, system)} bore"


def _ladder(kind: str, size: Uncertain, system: str) -> tuple[Size, ...]:
    """Return the sizes above one, from the next on: of its own series, else what is sold in the owner's units."""
    own = size_of(size)
    if own is not None:
        rungs: Sequence[Size] = sizes_of(own.series)
    elif kind == "pipe":
        rungs = sizes_of("PN10" if system == "metric" else "sch 40")
    else:
        rungs = sorted(hoses().values(), key=lambda hose: hose.bore)
        rungs = [hose for hose in rungs if (" in " in hose.words) == (system != "metric")]
    return tuple(rung for rung in rungs if rung.bore_rough().middle > size.middle + 5e-4)


def _next(kind: str, size: Uncertain, up: int, ratio: float, system: str, lead: bool) -> _New:
    ladder = _ladder(kind, size, system) if size_of(size) is not None or lead or kind in ("pipe", "hose", "ribbed hose") else ()
    if ladder:
        found = ladder[min(up, len(ladder)) - 1]
        if found.words in pipe_sizes():
            return _New(found.bore_rough().named(size.name), found.words)
        return _New(Uncertain.exact(found.bore, size.name), tape_text(found.bore, system))
    bore = scaled(size.middle, ratio, system)
    return _New(Uncertain.exact(bore, size.name), tape_text(bore, system))


def scaled(bore: float, ratio: float, system: str) -> float:
    """Return a bore in step with a line that is made wider, whole on the tape, m."""
    one = MILLIMETRE if system == "metric" else SIXTEENTH
    return round(bore * ratio / one) * one


def _inlet(build: Build, drain: Drain | None, owner: str,
           ratio: float) -> tuple[dict[str, Uncertain], list[Write], Callable[[str], str]]:
    """Return the numbers of a drain's inlet that widen with its line: an elbow or a standpipe is of the line's pipe."""
    if drain is None or drain.inlet.kind not in ("standpipe", "elbow up"):
        return {}, [], lambda system: ""
    numbers: dict[str, Uncertain] = {}
    writes = []
    for key in ("rim", "throat"):
        there = drain.inlet.values.get(key)
        if isinstance(there, Uncertain) and there.name:
            bore = scaled(there.middle, ratio, build.units)
            numbers[there.name] = Uncertain.exact(bore, there.name)
            words = tape_text(bore, build.units)
            word = drain.inlet.kind if key == "rim" else key
            writes.append(Write(owner, ("inlet", word), lambda old, words=words: words))  # type: ignore[misc]
    rim = drain.inlet.values.get("rim")
    across = numbers[rim.name].middle if isinstance(rim, Uncertain) and rim.name in numbers else 0.0
    return numbers, writes, lambda system: f", {drain.inlet.kind} of {tape_text(across, system)}"
