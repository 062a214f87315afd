"""A line: parts one behind the other that carry one flow, and the link for a line that ends in a junction or at a mouth.

    head lost(q) = sum over parts of loss(part, q)

Losses add because the flow is the same in each part; changes of bore are entered on the way, and the velocity head of the
last bore is lost where the line ends in standing water or in a jet. For speed the runs of one bore are joined and all losses
in q |q| are added up once; the parts stay beside them for the head budget. Parts closer than some 10 bores disturb each
other, which adding up leaves out (band: 'fitting losses').

The link of a line, from a water at `up` to one at `down`:

    r = up - max(down, outlet) - head lost(q) - shut q        max rounded over 1 mm

`outlet` is the height of a free mouth (the jet's centre); a junction has none. A mouth in the air cannot take water back:
reversed flow meets SHUT where `down` is below the outlet. A leg of a tee loses split q |q| besides (`hydro.elements.tee`), which
may be negative, down to 95 % of what the line itself loses in q |q|: then a little less flows than with the tee's full gain.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from hydro.description.build import Item
from hydro.elements.break_above import HoleAbove, hole_notes, open_end, over_hole
from hydro.elements.fittings import SHUT, CheckValve, Closed, LocalLoss, Valve, change_of_bore, squared
from hydro.elements.pipe import Pipe
from hydro.elements.registry import KINDS, PartContext, Reader
from hydro.quantities.arrays import Number, greater, same, smooth_max, smooth_step, where

DROWNING = 1e-3
"""Width over which a free mouth turns into a drowned one, m."""
COVER = 2e-3
"""Half the band of levels, m, over which a mouth passes from air to water when the flow is reversed."""
BORNE = 0.95
"""Share of a line's own losses in q |q| that a tee may give back to it: what is left keeps the slope's sign."""
REST = 1e-3
"""Resistance of a line without anything in it, s/m2: keeps its slope from vanishing (1.4 um of head at 5000 L/h)."""
LEAKING = 1e4
"""Resistance of a leaking check valve to reversed flow, s/m2: 1 m of head passes 360 L/h; chosen here, no source."""
NO_OUTLET = -1e4
"""Height of the outlet of a line that ends in a junction: so low that it never governs, m."""


class Part(Protocol):
    """What sits on a line."""

    @property
    def label(self) -> str:
        """Say which part it is."""

    def loss(self, q: Number) -> tuple[Number, Number]:
        """Return head lost (m) and slope (s/m2) at a flow (m3/s)."""


@dataclass(frozen=True, slots=True)
class Line:
    """Parts in a row, with what the solver needs added up: runs of pipe, K on q |q|, and what opens one way only."""

    parts: tuple[Part, ...]
    pipes: tuple[Pipe, ...]
    others: tuple[Part, ...]
    quadratic: Number
    bore: Number
    first_bore: Number

    @staticmethod
    def of(parts: Sequence[Part]) -> Line:
        """Add up a list of parts."""
        pipes: list[Pipe] = []
        others: list[Part] = []
        quadratic: Number = 0.0
        for part in parts:
            if isinstance(part, Pipe):
                twin = next((k for k, pipe in enumerate(pipes) if pipe.same_wall(part)), None)
                if twin is None:
                    pipes.append(part)
                else:
                    pipes[twin] = pipes[twin].joined(part)
            elif isinstance(part, LocalLoss):
                quadratic = quadratic + part.quadratic
            else:
                others.append(part)
        bores = [part.bore for part in parts if hasattr(part, "bore")]
        return Line(tuple(parts), tuple(pipes), tuple(others), quadratic,
                    bores[-1] if bores else math.nan, bores[0] if bores else math.nan)

    def loss(self, q: Number) -> tuple[Number, Number]:
        """Return the head lost along the whole line (m) and its slope (s/m2)."""
        head, slope = squared(self.quadratic, q)
        for pipe in self.pipes:
            lost, rise = pipe.loss(q)
            head, slope = head + lost, slope + rise
        for part in self.others:
            lost, rise = part.loss(q)
            head, slope = head + lost, slope + rise
        return head + REST * q, slope + REST

    @property
    def volume(self) -> Number:
        """Return the water that fills the line, m3."""
        return sum((pipe.volume for pipe in self.pipes), 0.0)

    @property
    def check_valves(self) -> tuple[CheckValve, ...]:
        """Return its check valves."""
        return tuple(part for part in self.parts if isinstance(part, CheckValve))

    def with_check_valves(self, back: Number) -> Line:
        """Return the line with every check valve's resistance to reversed flow changed (0: stuck open)."""
        return Line.of([replace(part, back=back) if isinstance(part, CheckValve) else part for part in self.parts])

    def fastest(self, q: Number) -> tuple[Number, str]:
        """Return the highest speed in a straight run (m/s) and the label of that run."""
        speeds = [(abs(q) / (math.pi / 4.0 * pipe.bore * pipe.bore), pipe.label) for pipe in self.pipes]
        return max(speeds, default=(0.0, ""), key=lambda pair: float(pair[0]))


def first_bore(items: Sequence[Item], context: PartContext) -> Number | None:
    """Return the first bore that a list of items names, None where none does."""
    for item in items:
        if "size" in item.values:
            return Reader(item, context).number("size")
    return None


def prepare_line(items: Sequence[Item], context: PartContext, exit_loss: bool = True, entrance: Number = 0.0,
              before: Number | None = None, where_from: str = "line") -> Line:
    """Prepare the parts of a described line; changes of bore, entrance and exit losses are entered on the way.

    `entrance` is K of the inlet on the first bore, `before` the bore of what the line continues. Items that name no size
    take the bore that reaches them, at the start the first bore to come. ValueError where a line names no bore at all.
    """
    first = first_bore(items, context)
    bore = before if before is not None else first
    if bore is None:
        raise ValueError(f"{where_from}: no part names its bore")
    parts: list[Part] = [LocalLoss.of(entrance, bore, f"{where_from}: entrance")]
    for item in items:
        kind = KINDS[item.kind]
        if kind.family != "part":
            continue
        reader = Reader(item, context, bore)
        made = kind.make(reader)
        for part in made:
            if not same(part.bore, bore):
                parts.append(change_of_bore(bore, part.bore, f"{item.label}: change of bore"))
                bore = part.bore
            parts.append(part)
    # What ends a line itself (a spray bar) counts its jets from there on.
    if exit_loss and not getattr(parts[-1], "is_end", False):
        parts.append(LocalLoss.of(1.0, bore, f"{where_from}: exit"))
    return Line.of(parts)


def mouth(down: Number, outlet: Number) -> tuple[Number, Number]:
    """Return the head that the end of a line works against (m), and its slope to the receiving level."""
    head, slope, _ = smooth_max(down, outlet, DROWNING)
    return head, slope


def lifted_to(element: Any, q: Number, down: Number) -> Number:
    """Return the head that a return asks for beside its losses, m: the tank's level, its mouth's height or its hole's."""
    level, lost = mouth(down, element.outlet)[0], element.line.loss(q)[0]
    return level if element.hole is None else over_hole(q, level, lost, element.hole)[0] - lost


def held_up(split: Number, line: Line) -> Number:
    """Return a tee's coefficient (s2/m5), a gain cut to what leaves 5 % of the line's own losses in q |q|: r_q stays below 0."""
    return greater(split, -BORNE * line.quadratic)


def air_at_mouth(q: Number, down: Number, outlet: Number, cover: float = COVER) -> tuple[Number, Number, Number]:
    """Return the head that keeps reversed flow out of a mouth in the air (m), and its slopes to q and to the level there.

    `cover` is half the band of levels over which the mouth gets wet, m.
    """
    backward = where(q < 0.0, q, 0.0 * q)
    wet, wetting = smooth_step((down - outlet + cover) / (2.0 * cover))
    bar = SHUT * (1.0 - wet)
    return bar * backward, where(q < 0.0, bar, 0.0 * q), -SHUT * wetting / (2.0 * cover) * backward


def line_faults(line: Line) -> dict[str, dict[str, Any]]:
    """Return the faults of a line's valves: 'label: words' -> changed parameters; a label that comes twice is numbered."""
    answers: dict[str, dict[str, Any]] = {}
    labels = [part.label for part in line.parts]
    for k, part in enumerate(line.parts):
        twin = f" {labels[:k].count(part.label) + 1}" if labels.count(part.label) > 1 else ""
        for words, other in _part_faults(part).items():
            changed = Line.of([*line.parts[:k], other, *line.parts[k + 1:]])
            # What is entered beside the parts (the dynamic head at a drilled hole) stays.
            beside = line.quadratic - Line.of(line.parts).quadratic
            answers[f"{part.label}{twin}: {words}"] = {"line": replace(changed, quadratic=changed.quadratic + beside)}
    return answers


def _part_faults(part: Part) -> dict[str, Part]:
    """Return what may become of a valve: words -> the part in its place."""
    if isinstance(part, CheckValve):
        return {"stuck open": replace(part, back=0.0), "leaking": replace(part, back=LEAKING),
                "stuck shut": Closed.of(part.k, part.bore, label=part.label)}
    if isinstance(part, Valve):
        opened = {} if part.opened is None else {"fully open": LocalLoss.of(part.opened, part.bore, part.label)}
        return {**opened, "shut": Closed.of(part.k, part.bore, label=part.label)}
    return {}


def break_faults(end: Mouth | None) -> dict[str, dict[str, Any]]:
    """Return the fault of a siphon break at a mouth; none without one."""
    if end is None or end.break_at is None:
        return {}
    return {"siphon break: plugged": {"end": replace(end, break_at=None), "hole": None}}


@dataclass(frozen=True, slots=True)
class Mouth:
    """Where a line ends in a tank, as it matters once the pump has stopped.

    `name` is the return's, `lowest` the mouth's lowest point: down to there the tank can siphon back. `break_at` is the level
    at which a siphon-break hole lets air in (None without one), `ratio` the hole's bore to the pipe's (None where the bore is
    not given).
    `highest` is the line's highest point, None where that is its end.
    """

    name: str
    lowest: Number
    break_at: Number | None = None
    ratio: Number | None = None
    highest: Number | None = None

    def stop(self, breaks: bool) -> Number:
        """Return the tank's level at which siphoning back ends, with the hole working or plugged."""
        if not breaks or self.break_at is None:
            return self.lowest
        return greater(self.break_at, self.lowest)


@dataclass(frozen=True, slots=True)
class LineLink:
    """A line between two waters, full of water, with an outlet that is free or drowned as the levels have it.

    `shut` is 0 (open) to 1 (closed): a valve, or a fault. `end` is its mouth, where it ends in one. `split` is what the line
    loses in the tee it begins or ends in, on q |q|, s2/m5: renewed between solves, negative where the tee gives head back.
    `hole` is a siphon-break hole that counts: above the water the line must lift to it, and nothing siphons back past it.
    """

    name: str
    line: Line
    outlet: Number = NO_OUTLET
    shut: Number = 0.0
    end: Mouth | None = None
    split: Number = 0.0
    hole: HoleAbove | None = None

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = up - max(down, outlet) - loss(q), m, and its slopes."""
        lost, rise = self.line.loss(q)
        parted, steeper = squared(held_up(self.split, self.line), q)
        level, drowned = mouth(down, self.outlet)
        held, bar, by_down = air_at_mouth(q, down, open_end(self.outlet, self.hole))
        if self.hole is None:
            r = up - level - lost - parted - held - self.shut * SHUT * q
            return r, -rise - steeper - bar - self.shut * SHUT, 1.0 + 0.0 * q, -drowned - by_down
        head, by_level, by_loss, own = over_hole(q, level, lost + parted, self.hole)
        r = up - head - held - self.shut * SHUT * q
        return r, -by_loss * (rise + steeper) - own - bar - self.shut * SHUT, 1.0 + 0.0 * q, -by_level * drowned - by_down

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what its siphon-break hole does above the water."""
        return hole_notes(self.name, self.hole, q, up, max(down, float(self.outlet)))

    def faults(self) -> dict[str, dict[str, Any]]:
        """Return the single faults: words -> changed parameters."""
        return {"shut": {"shut": 1.0}, **break_faults(self.end), **line_faults(self.line)}

    def budget(self, q: Number, up: Number, down: Number) -> list[tuple[str, Number]]:
        """Return where the head goes, part by part: (label, m); the tee's share last, where there is one."""
        parts = [(part.label, part.loss(q)[0]) for part in self.line.parts]
        if same(self.split, 0.0):
            return parts
        return [*parts, (f"{self.name}: in the tee", squared(held_up(self.split, self.line), q)[0])]

