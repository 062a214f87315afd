"""A build told back in a few lines, as it was understood: what `sumpwright check` prints. Nothing is worked out."""

from __future__ import annotations

import re
from collections.abc import Sequence

from hydro.checks.queries import asked_back_of
from hydro.description.build import Build, Chamber, Drain, Height, Item, Pump, Return, Run, Vessel
from hydro.quantities.formatting import show, unit_name
from hydro.quantities.tape import mark, tape
from hydro.quantities.uncertain import Uncertain
from hydro.report.content.grouped_text import grouped_lines
from hydro.report.content.grouping import Grouping
from hydro.report.terminal.layout import clean, labelled, wrap

SEVERAL = re.compile(r"([0-9]{1,3})\s*[x×]\s")


def understood(build: Build, system: str) -> list[str]:
    """Return the lines."""
    lines = [*wrap(f"{build.file or 'The build'} is sound: {build.title}", 80), ""]
    lines += _vessels(build, system)
    lines += labelled("Drains", *grouped_lines(build, [(one.name, drain(one, system, build)) for one in build.drains]))
    lines += _pumps(build, system)
    lines += labelled("Returns", *grouped_lines(build, [(one.name, described_return(one, system,
                                                                                    build)) for one in build.returns]))
    lines += labelled("Pipes", *grouped_lines(build, [(one.name, described_run(one, system, build)) for one in build.runs]))
    lines += labelled("Water", water(build, system))
    lines += labelled("Counts on", " and ".join(build.counts_on) or "no siphon break and no check valve in a power cut")
    if build.wishes:
        lines += labelled("Wishes", ", ".join(_wish(build, name, system) for name in build.wishes))
    if build.overrides:
        lines += labelled("Overridden", ", ".join(build.overrides))
    if build.notes:
        lines += labelled("Noted", "; ".join(build.notes))
    asked = asked_back_of(build)
    if asked:
        asked = asked if build.one else Grouping.by(build).notes(asked)
        lines += labelled("Asked back", *(f"{question}." for question in asked))
    return lines


def _vessels(build: Build, system: str) -> list[str]:
    """Return the lines of tanks, boxes, sumps and chambers; where there is one of each they go without names."""
    tanks, sumps = [(tank.name, vessel(tank, system)) for tank in build.tanks], build.sumps
    lines = labelled("Tank", tanks[0][1]) if tanks and build.one else labelled("Tanks", *grouped_lines(build, tanks))
    lines += labelled("Boxes", *grouped_lines(build, [
        (box.name, f"at {box.tank}, {vessel(box.vessel, system)}, filled over {item(box.edge, system)}") for box in build.boxes]))
    if len(sumps) == 1:
        name = "" if sumps[0].name == "sump" else f"{sumps[0].name}: "
        lines += labelled("Sump", name + vessel(sumps[0].vessel, system))
        return lines + labelled("Chambers", *(chamber(one, system) for one in build.chambers))
    lines += labelled("Sumps", *(f"{sump.name}: {vessel(sump.vessel, system)}" for sump in sumps))
    return lines + labelled("Chambers", *(f"{sump.name}, {chamber(one, system)}" for sump in sumps for one in sump.chambers))


def _pumps(build: Build, system: str) -> list[str]:
    """Return the lines of the pumps."""
    if len(build.pumps) == 1:
        return labelled("Pump", pump(build.pump, system))
    return labelled("Pumps", *grouped_lines(build, [(one.name, pump(one, system)) for one in build.pumps]))


def described_height(described: Height, system: str) -> str:
    """Return a height as so much above or below its place."""
    offset = described.offset.middle
    if offset == 0.0:
        return f"at {described.place}"
    return f"{tape(abs(offset), system)} {'above' if offset > 0.0 else 'below'} {described.place}"


def described_number(uncertain: Uncertain, dimension: str, system: str) -> str:
    """Return a number, 'about' where it has a band of its own."""
    return ("about " if not uncertain.is_exact else "") + show(uncertain.middle, dimension, system)


def item(described: Item, system: str) -> str:
    """Return an element in its word with its heights and lengths; parts of a line as their author wrote them."""
    if described.text and "{" not in described.text:
        return described.text
    values = []
    for name, value in described.values.items():
        if isinstance(value, Height):
            values.append(f"{name} {described_height(value, system)}")
        elif isinstance(value, str):
            values.append(f"{name} {value}")
    return " ".join([described.kind, ", ".join(values)]).strip()


def described_line(parts: Sequence[Item], system: str) -> str:
    """Return the parts of a line; those written once for several ('2 x elbow 90') are said once."""
    said: list[str] = []
    same = 0
    for part in parts:
        if same > 0:
            same -= 1
            continue
        said.append(item(part, system))
        times = SEVERAL.match(part.text)
        same = int(times[1]) - 1 if times else 0
    return ", ".join(said)


def vessel(described: Vessel, system: str) -> str:
    """Return a vessel's shape, bottom and lowest opening."""
    sides = {name: value for name, value in described.shape.values.items() if isinstance(value, Uncertain)}
    if described.shape.kind == "inside":
        marks = [mark(sides[name].middle, system) for name in ("length", "width", "height") if name in sides]
        size = f"{' x '.join(marks)} {unit_name('length', system)} inside"
    else:
        plans = [f"{name} {mark(sides[f'{name}_length'].middle, system)} x {tape(sides[f'{name}_width'].middle, system)}"
                 for name in ("rim", "bottom") if f"{name}_length" in sides]
        high = [f"{tape(sides['height'].middle, system)} high"] if "height" in sides else []
        size = ", ".join([described.shape.kind, *plans, *high])
    opening = "" if described.lowest_opening is None else f", lowest opening {described_height(described.lowest_opening, system)}"
    about = "about " if described.approximate else ""
    return f"{about}{size}, bottom {described_height(described.bottom, system)}{opening}"


def chamber(described: Chamber, system: str) -> str:
    """Return a chamber and what it ends in."""
    end = "is the rest" if described.end is None else f"ends in {item(described.end, system)}"
    gear = "" if described.gear is None else f", with {described_number(described.gear, 'volume', system)} of gear"
    return f"{described.name}: {end}{gear}"


def drain(described: Drain, system: str, build: Build) -> str:
    """Return a drain's inlet, the parts of its line and where it ends."""
    where = "" if len(build.tanks) == 1 and not build.boxes else f"in {described.tank}, "
    return (f"{where}{item(described.inlet, system)}; {described_line(described.line, system)}; into {described.into}, end "
            f"{described_height(described.end, system)}")


def described_run(described: Run, system: str, build: Build) -> str:
    """Return a pipe between two places, its mouths where they stand in water, and its parts."""
    ends = [place + ("" if at is None else f" ({described_height(at, system)})") for place, at in
            ((described.start, described.start_at), (described.finish, described.finish_at))]
    over = "" if described.highest is None else f", over {described_height(described.highest, system)}"
    named = any(described.name in group.members for group in build.groups)
    return ("" if named else f"from {ends[0]} to {ends[1]}; ") + described_line(described.line, system) + over


def pump(described: Pump, system: str) -> str:
    """Return what is known of the pump."""
    known = []
    if described.curve:
        known.append(f"a curve of {len(described.curve)} points up to {show(described.curve[-1][0], 'flow', system)}")
    if described.most_flow is not None and described.most_height is not None:
        known.append(f"its box: {show(described.most_flow.middle, 'flow', system)}, "
                     f"{show(described.most_height.middle, 'length', system)}")
    if described.tests:
        known.append(f"{len(described.tests)} timed bucket{'s' if len(described.tests) > 1 else ''}")
    into = f"; into {described.header}" if described.header else ""
    return (f"in {described.chamber}, known by {' and '.join(known)}, intake {described_height(described.intake, system)}"
            + (" (assumed)" if described.intake.offset.source.startswith("default") else "")
            + (f"; {described_line(described.line, system)}" if described.line else "") + into
            + ("; stands still" if described.off else ""))


def described_return(described: Return, system: str, build: Build) -> str:
    """Return a return's line, its end and its siphon break."""
    broken = "no siphon break" if described.hole is None else "with a siphon break"
    where = "" if len(build.tanks) == 1 else f"in {described.tank}, "
    fed = f"from {described.source}, " if described.source and len(build.pumps) + len(build.runs) > 1 else ""
    return (f"{where}{fed}{described_line(described.line, system)}; ends {described_height(described.end, system)}, pointing "
            f"{described.points}, {broken}")


def water(build: Build, system: str) -> str:
    """Return how the amount of water is given."""
    given = build.water
    if given.level is None:
        return f"{described_number(given.total, 'volume', system)} in all" if given.total is not None else "not given"
    how = "pump running" if given.kind == "line" else "all at rest"
    where = f"chamber {given.chamber}" if given.chamber else "the pump chamber"
    return f"{where} stands {described_height(given.level, system)}, {how}"


def _wish(build: Build, name: str, system: str) -> str:
    from hydro.case.keys import SECTIONS

    return clean(f"{name} {show(build.wishes[name].middle, SECTIONS['wishes'][name].kind, system)}")
