"""The return pump: head over flow through the points given, at any speed; and what it is when it stands still.

    running   H = s^2 h(q/s)              affinity; h a monotone cubic through the points
    stopped   H = -K V |V| / (2 g)        on the bore of its line, both ways
              H = -(K + 1) V |V| / (2 g)  back out of the pump into standing water: the exit loss (momentum) on the same bore

s speed as a share of full speed. Beyond the last point the last slope goes on (said in the results); at q < 0 the head rises
steeply. A curve that droops (rises from shut-off to a peak) is solved on its falling envelope, which keeps one answer; whether
the other, unstable point exists is asked afterwards with the true curve (`hydro.steady.modes`).

What a pump is known by:

| known | curve | band |
|---|---|---|
| points | through them | 'pump strength' |
| most flow Q0, most height H0 (the box) | H0 (1 - (q/Q0)^n), n = 2 | n = 1 .. 3; common practice, no source |
| bucket tests beside either | n, then the speed, fitted to the tests | - |
| two bucket tests alone | H0 - c q^2 through them (least squares) | - |

A maker's points carry a tolerance: 'pump strength' multiplies the head, 1 +- 7 % (ISO 9906:2012 grade 3B, from memory). Water
density cancels in metres of head. Not modelled: swirl at the intake, the 20 % fewer revolutions of 50 Hz points at 60 Hz (ask).

A line that begins with a pump:

    r = min(up - max(down, outlet) - lost(q) + H(q),  up - intake) - 1e-3 q        min rounded over 0.1 mm

the second argument is the pump drawing air: the water cannot fall below the intake.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hydro.elements.break_above import HoleAbove, hole_notes, open_end, over_hole
from hydro.elements.fittings import SHUT, squared
from hydro.elements.line import NO_OUTLET, Line, Mouth, air_at_mouth, break_faults, held_up, line_faults, mouth
from hydro.elements.loose_hose import off_at_pump
from hydro.elements.registry import Default, register_defaults
from hydro.quantities import interpolation as curve
from hydro.quantities.arrays import Number, any_of, first, greater, lesser, log, piece, smooth_max, where
from hydro.quantities.bisection import halved
from hydro.quantities.interpolation import Row

STARVES = 1e-4
"""Width over which the pump passes from its curve to drawing air, m."""
TRICKLE = 1e-9
"""Flow below which nothing is drawn in, m3/s."""
AIRED = 1e6
"""Resistance to water that a still pump with its intake in the air would draw, s/m2: 0.1 m of head pass 0.4 L/h."""


STRENGTH = Default("pump strength", 0.93, 1.0, 1.07, "number",
                   "head as a multiple of the points given: +-7 %, ISO 9906:2012 grade 3B, from memory", divides=True)
BOX_EXPONENT = Default("box curve exponent", 1.0, 2.0, 3.0, "number",
                       "H0 (1 - (q/Q0)^n) from a box label; common practice, no source", divides=True)
STOPPED = Default("stopped pump K", 5.0, 10.0, 30.0, "number", "resistance of a still impeller; from memory, no source")
INTAKE_SPEED = Default("intake speed", 0.25, 0.5, 1.0, "speed",
                       "of the water through the opening or strainer face of an intake that nobody measured; common practice, no "
                       "source", divides=True)
register_defaults(STRENGTH, BOX_EXPONENT, STOPPED, INTAKE_SPEED)

Points = Sequence[tuple[Number, Number]]


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """A pump curve: the points, its pieces between `knots`, and the pieces of its falling envelope."""

    flows: tuple[Number, ...]
    heads: tuple[Number, ...]
    knots: tuple[Number, ...]
    rows: tuple[Row, ...]
    envelope: tuple[Row, ...]

    @staticmethod
    def of(points: Points) -> PumpCurve:
        """Return the curve through (flow m3/s, head m) points, at least two, flows rising from 0 or more."""
        flows = tuple(q for q, _ in points)
        heads = tuple(h for _, h in points)
        falling = [heads[-1]]
        tiny = 1e-4 * greater(heads[0], heads[-1]) / len(heads)
        for head in reversed(heads[:-1]):
            falling.append(greater(head, falling[-1] + tiny))
        knots = (0.0 * flows[0], *flows) if first(flows[0]) > 0.0 else flows
        return PumpCurve(flows, heads, knots, _pieces(flows, heads), _pieces(flows, falling[::-1]))

    @property
    def shutoff(self) -> Number:
        """Head at no flow, m."""
        return curve.evaluate(piece(self.knots, self.rows, 0.0 * self.flows[0]), 0.0)[0]

    @property
    def best(self) -> Number:
        """Highest head anywhere on the curve, m."""
        top = self.heads[0]
        for head in self.heads[1:]:
            top = greater(top, head)
        return greater(top, self.shutoff)

    @property
    def droops(self) -> bool:
        """Whether the head rises anywhere with the flow."""
        return any(first(b) > first(a) + 1e-9 for a, b in zip(self.heads, self.heads[1:], strict=False))

    def scaled(self, head: Number) -> PumpCurve:
        """Return the curve with every head multiplied."""
        return PumpCurve.of([(q, h * head) for q, h in zip(self.flows, self.heads, strict=True)])

    def at_speed(self, speed: Number) -> PumpCurve:
        """Return the curve at another speed, by affinity."""
        return PumpCurve.of([(q * speed, h * speed * speed) for q, h in zip(self.flows, self.heads, strict=True)])

    def head(self, q: Number, speed: Number = 1.0, true: bool = True) -> tuple[Number, Number]:
        """Return head (m) and slope (s/m2) at a flow (m3/s) and speed; on the envelope if not `true`."""
        x = q / speed
        value, slope = curve.evaluate(piece(self.knots, self.rows if true else self.envelope, x), x)
        return speed * speed * value, speed * slope


def _pieces(flows: Sequence[Number], heads: Sequence[Number]) -> tuple[Row, ...]:
    inner = curve.pieces(flows, heads)
    zero = 0.0 * heads[0]
    steep = -20.0 * (abs(heads[0]) + 0.1) / flows[-1]
    slope = curve.evaluate(inner[-1], flows[-1])[1]
    drop = (heads[-1] - heads[-2]) / (flows[-1] - flows[-2])
    last = where(slope < 0.3 * drop, slope, drop)
    after: Row = (flows[-1], heads[-1], last, zero, zero)
    if first(flows[0]) <= 0.0:
        return ((flows[0], heads[0], steep, zero, zero), *inner, after)
    # Points that begin at a flow above 0 are carried back on their first slope as far as 0; before 0 the head is steep.
    carried = where(inner[0][2] < 0.0, inner[0][2], zero)
    shut: Row = (0.0 * flows[0], heads[0] - carried * flows[0], steep, zero, zero)
    return (shut, (flows[0], heads[0], carried, zero, zero), *inner, after)


def from_box(most_flow: Number, most_height: Number, exponent: Number, points: int = 13) -> PumpCurve:
    """Return H0 (1 - (q/Q0)^n) as points, closer together towards full flow where it bends most."""
    shares = [math.sin(0.5 * math.pi * k / (points - 1)) for k in range(points)]
    return PumpCurve.of([(most_flow * share, most_height * (1.0 - (share ** exponent if k else 0.0)))
                     for k, share in enumerate(shares)])


def from_tests(tests: Points) -> PumpCurve:
    """Return H0 - c q^2 by least squares through at least two tests.

    ValueError where they say nothing about a curve: too few, at one flow only, or with the head rising with the flow.
    """
    squares = [q * q for q, _ in tests]
    mean_square = sum(squares) / len(tests)
    mean_head = sum(h for _, h in tests) / len(tests)
    spread = sum((s - mean_square) ** 2 for s in squares)
    rising = sum((s - mean_square) * (h - mean_head) for s, (_, h) in zip(squares, tests, strict=True)) >= 0.0
    if any_of(rising):
        raise ValueError("a curve from bucket tests alone takes two of them, at different heights, the higher with less flow")
    fall = sum((s - mean_square) * (h - mean_head) for s, (_, h) in zip(squares, tests, strict=True)) / spread
    top = mean_head - fall * mean_square
    most = (top / -fall) ** 0.5
    return from_box(most, top, 2.0)


def fitted_speed(shape: PumpCurve, tests: Points) -> Number:
    """Return the speed at which the curve passes through the tests (the mean of the speeds that each asks for)."""
    def asked(q: Number, head: Number) -> Number:
        return halved(0.05, 5.0, lambda speed: shape.head(q, speed)[0] < head, 50)[0]

    return sum(asked(q, head) for q, head in tests) / len(tests)


def fitted_exponent(most_flow: Number, most_height: Number, tests: Points) -> Number:
    """Return the box exponent, kept within 1 .. 3, that passes through the tests (their mean; 2 where none lies in the box)."""
    total: Number = 0.0
    count: Number = 0.0
    for q, head in tests:
        inside = (q > 0.0) & (q < most_flow) & (head > 0.0) & (head < most_height)
        share, fallen = where(inside, q / most_flow, 0.5), where(inside, 1.0 - head / most_height, 0.25)
        total = total + where(inside, log(fallen) / log(share), 0.0)
        count = count + where(inside, 1.0, 0.0)
    mean = where(count > 0.0, total / where(count > 0.0, count, 1.0), 2.0)
    return lesser(greater(mean, 1.0), 3.0)


@dataclass(frozen=True, slots=True)
class PumpLine:
    """A pump with the line it pushes through, to a junction or straight to a mouth.

    `running` is 1 or 0; `driven` is 1 where `target` (m3/s) is forced through, to ask what head that would need.
    `lowered` (m) is taken off the falling envelope of a drooping curve, where the operating point lies below it. `split` is
    what its line loses in the tee it ends in, as in `LineLink`. `stopped` is what the still impeller loses on q |q|, `leaving`
    what is lost besides where water runs back out of it into its chamber, s2/m5. `intake_bore` (m) is 0 where nobody measured
    it. `aired` is 1 for one that stands in the air: its law alone would have water come back through it to hold its chamber at
    the intake, where others draw that down (`hydro.steady.state`).
    """

    name: str
    curve: PumpCurve
    line: Line
    intake: Number
    outlet: Number = NO_OUTLET
    speed: Number = 1.0
    running: Number = 1.0
    stopped: Number = 0.0
    driven: Number = 0.0
    target: Number = 0.0
    lowered: Number = 0.0
    end: Mouth | None = None
    split: Number = 0.0
    aired: Number = 0.0
    leaving: Number = 0.0
    hole: HoleAbove | None = None
    intake_bore: Number = 0.0
    intake_speed: Number = INTAKE_SPEED.middle

    def drawn_in(self, q: Number) -> tuple[Number, Number]:
        """Return the speed (m/s) at which a flow q (m3/s) goes in at the intake, and the bore (m) of what it goes in through.

        Where nobody measured the intake, it is taken as wide as the speed asks for that is usual there.
        """
        q = greater(q, TRICKLE)
        bore = where(self.intake_bore > 0.0, self.intake_bore, (4.0 * q / (math.pi * self.intake_speed)) ** 0.5)
        return 4.0 * q / (math.pi * bore * bore), bore

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r, m, and its slopes."""
        lift, lift_rise = self.curve.head(q, self.speed, true=False)
        still, still_rise = squared(self.stopped, q)
        leaves, leaves_rise = squared(self.leaving, q)
        runs_back = where(q < 0.0, 1.0 + 0.0 * q, 0.0 * q)
        still, still_rise = still + runs_back * leaves, still_rise + runs_back * leaves_rise
        on = self.running > 0.5
        lift, lift_rise = where(on, lift - self.lowered, -still), where(on, lift_rise, -still_rise)
        lost, rise = self.line.loss(q)
        parted, steeper = squared(held_up(self.split, self.line), q)
        lost, rise = lost + parted, rise + steeper
        level, drowned = mouth(down, self.outlet)
        held, opened, by_down = air_at_mouth(q, down, open_end(self.outlet, self.hole))
        if self.hole is not None:  # the hole of a pump's own line is taken at its end: the losses stay as they are
            level, by_level, _, _ = over_hole(q, level, 0.0 * q, self.hole)
            drowned = drowned * by_level
        wanted = up - level - lost - held + lift
        # With its intake in the air nothing goes in, also where it stands and water would siphon through; back it may run.
        back = where(on, 0.0, AIRED) * where(q < 0.0, 1.0 + 0.0 * q, 0.0 * q)
        most, by_wanted, _ = smooth_max(-wanted, self.intake - up + back * q, STARVES)
        forced = self.driven > 0.5
        bar = 1e-3 + self.aired * SHUT
        r = where(forced, 1e3 * (self.target - q), -most - bar * q)
        r_q = where(forced, -1e3 + 0.0 * q, by_wanted * (lift_rise - rise - opened) - bar - (1.0 - by_wanted) * back)
        r_up = where(forced, 0.0 * q, 1.0 + 0.0 * q)
        return r, r_q, r_up, where(forced, 0.0 * q, -by_wanted * (drowned + by_down))

    def spare_head(self, q: Number, up: Number, down: Number) -> Number:
        """Return the head the pump has over what the line takes at a flow, on its true curve, m."""
        lost = self.line.loss(q)[0] + squared(held_up(self.split, self.line), q)[0]
        return up - over_hole(q, mouth(down, self.outlet)[0], 0.0 * q, self.hole)[0] - lost + self.curve.head(q, self.speed)[0]

    def faults(self) -> dict[str, dict[str, Any]]:
        """Return the single faults: words -> changed parameters."""
        return {"without power": {"running": 0.0}, "weak": {"curve": self.curve.scaled(0.8)},
                "new and at its best": {"curve": self.curve.scaled(STRENGTH.high)}, **break_faults(self.end),
                **line_faults(self.line), **(off_at_pump(self.line) if float(self.leaving) > 0.0 else {})}

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which the curve is known."""
        notes = hole_notes(self.name, self.hole, q, up, max(down, float(self.outlet)))
        if q > float(self.curve.flows[-1]) * float(self.speed):
            notes.append(f"{self.name}: beyond the last point of its curve, which is carried on in a straight line")
        return notes

    def budget(self, q: Number, up: Number, down: Number) -> list[tuple[str, Number]]:
        """Return where the pump's head goes along its own line, part by part."""
        return [(part.label, part.loss(q)[0]) for part in self.line.parts]
