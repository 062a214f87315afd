"""A drain: an inlet over whose edge the tank spills, and the line that takes the water down into the sump.

    r = up - crest - H          H head over the crest that the flow needs, m

    with air (vented)      H = max(H_inlet(q), H_narrow(q), H_pipe)     H_pipe = line's loss(q) + max(down, end) - crest
    as a siphon (primed)   H = max(H_edge(q), H_pipe)           the throat no longer rules: it is part of the full pipe
    flushing (surging)     H held at a bound; q follows from the rest of the loop

H_pipe is the head of the line full of water with its whole fall; it is negative while the pipe would carry more than comes.
H_narrow is what a pipe narrower than the inlet, or a flat run, asks for while it takes in air (`hydro.elements.narrowing`,
`hydro.elements.flat_run`). H_edge is the head at which the inlet feeds a full line (below the crest for a mouth turned down).

q < 0 is shut (SHUT), but where the water at its lower end can stand over its lip (`two_way`): `hydro.elements.backflow`.

Which way a drain runs (J = V/sqrt(g D) on the full bore of its longest run):

| from | to | when | source |
|---|---|---|---|
| with air | siphon | H >= 1.0 D and J >= 1 | from memory; the limit of J is disputed, 1 to 2 |
| siphon | with air | H_pipe < max(0.4 D, k H_edge(q)), k = 1 | from memory, k 0.8 .. 1.5 |

J <= 0.3 vents itself quietly, 0.3 to 1 carries air along (Simpson 1968; Hills 1983; limits as quoted by later users).
Neither consistent means it flushes: fills, siphons the tank down to the breaking head, gulps air, begins again.
These conditions are a rim's. Where other inlets let air in, and where they draw it, each says itself (`hydro.elements.inlet`):
a hole in the wall breaks at its crown; one turned down needs only J >= 1 to begin, unless its vent serves, and breaks at its
mouth.
What a vented stack carries and holds: `hydro.elements.stack`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from hydro.elements.backflow import coming_back
from hydro.elements.fittings import SHUT
from hydro.elements.inlet import Guard as Guard
from hydro.elements.inlet import Inlet, Place
from hydro.elements.line import Line, line_faults, mouth
from hydro.elements.registry import Default, register_defaults
from hydro.elements.stack import STACK, STACK_FILLING, stack_flow
from hydro.quantities.arrays import GRAVITY, Number, any_of, first, greater, lesser, smooth_max, where
from hydro.quantities.bisection import halved

CORNER = 2e-4
THIN = 5e-3
"""Head over an edge below which no published law holds, m."""
TRICKLE = 1e-6
"""Flow (m3/s) from which on a drain is said to run, or to run backwards."""

PRIMES_AT = Default("prime head", 0.8, 1.0, 1.5, "number", "in rim diameters; from memory, no source")
SWEEPS_AT = Default("sweep number", 1.0, 1.0, 2.0, "number", "J above which air is swept out; published limits 1 to 2")
BREAKS_AT = Default("break head", 0.3, 0.4, 0.5, "number", "in rim diameters; from memory, no source")
BREAKS_BY = Default("break ratio", 0.8, 1.0, 1.5, "number", "of the edge's own head; from memory, no source")
QUIET_AT = Default("quiet number", 0.3, 0.3, 0.31, "number", "J up to which a drain vents itself: Simpson 1968, Hills 1983")
register_defaults(PRIMES_AT, SWEEPS_AT, BREAKS_AT, BREAKS_BY, QUIET_AT)

BY_EDGE, BY_PIPE = "edge", "pipe"
WITH_AIR, SIPHON, FLUSHING_HIGH, FLUSHING_LOW = "with air", "as a siphon", "flushing, high", "flushing, low"


@dataclass(frozen=True, slots=True)
class DrainLine:
    """One overflow with its line. `primed`, `surging`, `blocked` (shut) and `two_way` (may run backwards) are data, 0 or 1."""

    name: str
    inlet: Inlet
    line: Line
    end: Number
    primed: Number = 0.0
    surging: Number = 0.0
    surge_head: Number = 0.0
    blocked: Number = 0.0
    primes_at: Number = 1.0
    sweeps_at: Number = 1.0
    breaks_at: Number = 0.4
    breaks_by: Number = 1.0
    quiet_at: Number = QUIET_AT.middle
    narrows: tuple[Place, ...] = ()
    two_way: Number = 0.0

    def needed(self, q: Number) -> tuple[Number, Number]:
        """Return the head over the crest (m) that q >= 0 needs with air, at the inlet or a narrow place, and its slope."""
        head, slope = self.inlet.needed(q)
        for narrow in self.narrows:
            other, rise = narrow.needed(q)
            more = other > head
            head, slope = where(more, other, head), where(more, rise, slope)
        return head, slope

    def residual(self, q: Number, up: Number, down: Number) -> tuple[Number, Number, Number, Number]:
        """Return r = up - crest - H, m, and its slopes."""
        forward = where(q > 0.0, q, 0.0 * q)
        backward = q - forward
        siphon = self.primed > 0.5
        stage, rise = self.needed(forward)
        edge, edge_rise = self.inlet.fed(forward)
        stage, rise = where(siphon, edge, stage), where(siphon, edge_rise, rise)
        lost, lost_rise = self.line.loss(forward)
        level, drowned = mouth(down, self.end)
        head, by_stage, by_pipe = smooth_max(stage, lost + level - self.inlet.crest, CORNER)
        slope = by_stage * rise + by_pipe * lost_rise
        flushing = self.surging > 0.5
        head = where(flushing, self.surge_head + 1e-3 * forward, head)
        slope = where(flushing, 1e-3 + 0.0 * slope, slope)
        by_pipe = where(flushing, 0.0 * by_pipe, by_pipe)
        bar = self.blocked * SHUT
        r = up - self.inlet.crest - head - SHUT * backward - bar * forward
        answer = r, where(q > 0.0, -slope - bar, -SHUT + 0.0 * slope), 1.0 + 0.0 * q, -by_pipe * drowned
        if not any_of(self.two_way > 0.5):
            return answer
        r_back, *slopes = coming_back(self.inlet, self.line, self.end, backward, up, down)
        back = r_back - bar * backward, slopes[0] - bar, *slopes[1:]
        # The lower of two falling laws falls: the closed way as long as no head stands over the lip, the open one from there on.
        returns = (self.two_way > 0.5) & (self.surging < 0.5) & (q < 0.0) & (back[0] < r)
        r, r_q, r_up, r_down = (where(returns, new, old) for new, old in zip(back, answer, strict=True))
        return r, r_q, r_up, r_down

    def keeps_out(self) -> bool:
        """Whether nothing can come back through it: its end lies in lower water, a check valve holds, or it is blocked."""
        holds = any(first(valve.back) >= SHUT for valve in self.line.check_valves)
        return first(self.two_way) < 0.5 or holds or first(self.blocked) > 0.5

    @property
    def full_bore(self) -> Number:
        """Bore of the longest run, on which J is counted, m."""
        longest = max(self.line.pipes, key=lambda pipe: first(pipe.length), default=None)
        return self.line.bore if longest is None else longest.bore

    def air_number(self, q: Number) -> Number:
        """Return J = V/sqrt(g D) on the full bore."""
        bore = self.full_bore
        return q / (math.pi / 4.0 * bore * bore * (GRAVITY * bore) ** 0.5)

    @property
    def sweeping_flow(self) -> Number:
        """Flow from which on air is swept out of the full bore, m3/s."""
        bore = self.full_bore
        return self.sweeps_at * math.pi / 4.0 * bore * bore * (GRAVITY * bore) ** 0.5

    def pipe_head(self, q: Number, down: Number) -> Number:
        """Return the head over the crest that the line full of water needs, negative where it would carry more, m."""
        return self.line.loss(q)[0] + mouth(down, self.end)[0] - self.inlet.crest

    def held(self, q: Number) -> tuple[Number, Number]:
        """Return the water in the line (m3), slope: all as a siphon, else the more of a vented filling and what backs up."""
        forward = where(q > 0.0, q, 0.0 * q)
        volume, slope = 0.0 * q, 0.0 * q
        for pipe in self.line.pipes:
            square = forward * forward + 1e-18
            full = STACK * pipe.bore ** (8.0 / 3.0)
            filling = (square / (full * full)) ** 0.3
            part = filling < 1.0
            share = where(self.primed > 0.5, 1.0 + 0.0 * filling, where(part, filling, 1.0 + 0.0 * filling))
            rise = where(self.primed > 0.5, 0.0 * filling, where(part, 0.6 * filling * forward / square, 0.0 * filling))
            volume, slope = volume + share * pipe.volume, slope + rise * pipe.volume
        backed, backing = self.backed_up(forward)
        more = (self.end < self.inlet.crest) & (backed > volume)
        return where(more, backed, volume), where(more, where(q > 0.0, backing, 0.0 * backing), slope)

    def backed_up(self, q: Number, receiving: Number | None = None) -> tuple[Number, Number]:
        """Return the water (m3) that the losses of q >= 0 hold up over a receiving height (m; its end by default), slope."""
        fall = self.inlet.crest - (self.end if receiving is None else receiving)
        free = fall > 0.0
        lost, rise = self.line.loss(q)
        share = lost / where(free, fall, 1.0 + 0.0 * fall)
        part = free & (share < 1.0)
        volume = self.line.volume
        backing = rise / where(free, fall, 1.0 + 0.0 * fall) * volume
        return where(part, share, 1.0 + 0.0 * share) * volume, where(part, backing, 0.0 * backing)

    def runs_out(self, q: Number, down: Number) -> Number:
        """Return the water that its line lets go when the flow stops, m3: what it holds, and all that flushes may be caught with.

        It is the same water, counted once; where the end is drowned, what the losses hold up over the receiving level.
        """
        forward = greater(q, 0.0 * q)
        backed = self.backed_up(forward, greater(down, self.end))[0]
        return where(self.surging > 0.5, self.line.volume + 0.0 * backed, greater(self.held(q)[0], backed))

    @property
    def _priming_head(self) -> Number:
        """Head over the crest at which it begins to siphon at the latest, m."""
        return greater(self.primes_at * self.inlet.rim, self.needed(self.sweeping_flow)[0])

    def breaking_head(self, q: Number) -> Number:
        """Return the head over the crest at which its siphon breaks, m; below 0 where that is a mouth under the crest."""
        return self.inlet.air_head(q, self.breaks_at, self.breaks_by)

    def air_holds(self, head: Number, q: Number) -> Number:
        """Return how surely it keeps its air at a head (m) and a flow: positive while it does, in rim diameters or J."""
        return greater(self.inlet.air_margin(head, q, self.primes_at), self.sweeps_at - self.air_number(q))

    def sealed(self, q: Number) -> bool:
        """Whether air in its line can leave below alone when it starts for a flow q >= 0.

        Its inlet lets none out, or it runs as a siphon and faster than at the quiet number, up to which air rises past water.
        """
        siphons = float(self.primed) > 0.5 and float(self.air_number(q)) > float(self.quiet_at)
        return siphons or float(self.inlet.air_out(q)) < 0.5

    def keeps(self, q: Number, up: Number, down: Number) -> Number:
        """Return how surely it keeps its mode at a state, as a share of the limit: positive while it does."""
        full = (self.pipe_head(q, down) - self.breaking_head(q)) / self.inlet.rim
        # One that runs backwards is full of water, but no siphon of its tank.
        full = where(q > -TRICKLE, full, -1.0 + 0.0 * full)
        with_air = self.air_holds(up - self.inlet.crest, greater(q, 0.0 * q))
        return where(self.primed > 0.5, lesser(full, -self.inlet.vent_margin(q)), with_air)

    def stops_at(self, vented_counts: bool) -> Number:
        """Return the level (m) down to which it may draw the tank; a vent is counted on, or taken as plugged.

        A vent has to serve the flow from which on air is swept out: with less no siphon forms.
        """
        return self.inlet.stops_at(vented_counts, self.sweeping_flow)

    def in_mode(self, mode: str) -> DrainLine:
        """Return the drain in a mode; the flushing ones hold the tank at the priming and at the breaking head."""
        high = self._priming_head
        low = self.breaking_head(0.0)
        return replace(self, primed=1.0 if mode == SIPHON else 0.0,
                       surging=1.0 if mode in (FLUSHING_HIGH, FLUSHING_LOW) else 0.0,
                       surge_head=high if mode == FLUSHING_HIGH else low)

    @property
    def mode(self) -> str:
        """The mode the drain is in."""
        if float(self.surging) > 0.5:
            between = 0.5 * (first(self._priming_head) + first(self.breaking_head(0.0)))
            return FLUSHING_HIGH if first(self.surge_head) > between else FLUSHING_LOW
        return SIPHON if float(self.primed) > 0.5 else WITH_AIR

    def modes(self) -> tuple[str, ...]:
        """Return the modes it may settle in."""
        return (WITH_AIR, SIPHON)

    def guards(self, q: float, up: float, down: float) -> list[Guard]:
        """Return what keeps the drain in its mode at a state, with margins as shares of the limit."""
        margin = float(self.keeps(q, up, down))
        if float(self.primed) > 0.5:
            return [Guard(margin, WITH_AIR, "its inlet draws air and the siphon breaks")]
        return [Guard(margin, SIPHON, "its inlet drowns and the flow sweeps the air out: it begins to siphon")]

    def vented_rating(self) -> float:
        """Return what it carries with air and without priming, m3/s: inlet at its priming head, stack a third full."""
        stack = min((stack_flow(pipe.bore, STACK_FILLING) for pipe in self.line.pipes), default=math.inf)
        head = self.primes_at * self.inlet.rim
        takes = [self.inlet.flow_at(head), *(narrow.flow_at(head) for narrow in self.narrows)]
        return min(stack, *map(float, takes))

    def full_flow(self, head: float, down: float) -> float:
        """Return what the line carries full of water at a head over the crest, m3/s, whatever the rim feeds."""
        available = head + self.inlet.crest - float(greater(down, self.end))
        low, high = 0.0, 1e-6
        while self.line.loss(high)[0] < available:
            low, high = high, 2.0 * high
        return float(halved(low, high, lambda q: self.line.loss(q)[0] < available)[0])

    def siphon_rating(self, down: float, head: float | None = None) -> tuple[float, str]:
        """Return what it carries full of water with its inlet at its priming head, m3/s, and what is the limit: edge or pipe.

        The pipe carries no more than its inlet feeds, however deep it falls. `head`: another one over the crest, m.
        """
        head = float(self.primes_at * self.inlet.rim) if head is None else head
        full = self.full_flow(head, down)
        if float(self.inlet.fed(full)[0]) <= head:
            return full, BY_PIPE
        return float(halved(0.0, full, lambda q: float(self.inlet.fed(q)[0]) < head)[0]), BY_EDGE

    def faults(self) -> dict[str, dict[str, Any]]:
        """Return the single faults: words -> changed parameters."""
        valves = {words: {"blocked": 1.0} if words.endswith("shut") else changes
                  for words, changes in line_faults(self.line).items()}
        inlets = {words: {"inlet": inlet} for words, inlet in self.inlet.faults().items()}
        return {"blocked": {"blocked": 1.0}, "half blocked": {"inlet": self.inlet.fouled(0.5)}, **inlets, **valves}

    def limits(self, q: float, up: float, down: float) -> list[str]:
        """Return in words what of a state lies outside the range in which the laws are known."""
        notes = self.line.notes()
        if 0.0 < up - float(self.inlet.crest) < THIN and q > 1e-6:
            notes.append(f"{self.name}: less than 5 mm of water over the lip, where surface tension rules and no law holds")
        bore = float(self.full_bore)
        carries = self.air_number(q) > float(self.quiet_at) and float(self.primed) < 0.5
        if carries and float(self.inlet.air_out(q)) < 0.5:
            notes.append(f"{self.name}: air is carried off and its inlet lets none in; it may siphon in fits, down to its mouth")
        if q > 1e-6 and bore < 0.050:
            notes.append(f"{self.name}: bore below 50 mm, smaller than the stacks that EN 12056-3 rates (extrapolated)")
        if q < -TRICKLE:
            notes.append(f"{self.name}: water comes back up through it and out of its inlet")
        return notes

    def budget(self, q: Number, up: Number, down: Number) -> list[tuple[str, Number]]:
        """Return where the head goes when the line runs full, part by part."""
        return [(part.label, part.loss(q)[0]) for part in self.line.parts]
