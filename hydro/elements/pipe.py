"""Straight pipe and hose: friction by Darcy and Weisbach, from laminar to turbulent without a jump.

    h = f (L/D) V |V| / (2 g)         V = q / (pi D^2 / 4),  Re = |V| D / nu

    laminar, Re < 2000      f = 64/Re                                             exact (Hagen, Poiseuille)
    turbulent, Re > 4000    1/sqrt(f) = -2 log10(k/(3.7 D) + 2.51/(Re sqrt(f)))   Colebrook 1939
    between                 the two heads blended by 3t^2 - 2t^3, t = (Re - 2000)/2000; no accepted law exists there

h head in m, L length in m, D bore in m, k roughness in m, nu kinematic viscosity in m2/s, q flow in m3/s.
Colebrook is solved for x = 1/sqrt(f): Swamee and Jain's 1976 formula starts, one step of third order (Halley) follows; the
error of f is then below 1e-6 of its value for Re from 4000 to 1e8 and k/D up to 0.05 (tests/elements/test_pipe.py).
Range of validity: full bore, Newtonian water, k/D <= 0.05. Swamee and Jain is only the first guess.
A run may be given its slope (`slope: 2 %`, fall over length; `level: yes` is 0): a drain with air then asks there for what the
part-full run needs (`hydro.elements.flat_run`). The law of the full bore does not change by it.

    >>> from hydro.elements.pipe import Pipe
    >>> pipe = Pipe.of(bore=0.0284, length=1.7, roughness=1.5e-6, viscosity=0.95e-6)
    >>> head, slope = pipe.loss(5000 / 3.6e6)
    >>> f"{head:.3f} m"
    '0.292 m'
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, log, same, smooth_step, where

LAMINAR, TURBULENT = 2000.0, 4000.0
PER_LOG10 = 2.0 / math.log(10.0)

ROUGHNESS = Default("pipe roughness", 1.0e-6, 1.5e-6, 7e-6, "length",
                    "smooth plastic 1.5e-6 m (Crane TP-410 gives 1.52e-6 m for smooth tubing); 7e-6 m with age, from memory")
RIBBED = Default("ribbed hose friction", 2.0, 2.5, 3.0, "number",
                 "friction of ribbed hose as a multiple of smooth hose, from memory, no source", divides=True)


@dataclass(frozen=True, slots=True)
class Pipe:
    """A straight run with its parameters prepared. Make it with `Pipe.of`."""

    label: str
    bore: Number
    length: Number
    roughness: Number
    factor: Number
    reynolds: Number
    relative: Number
    laminar: Number
    turbulent: Number
    slope: Number | None = None
    hose: bool = False

    @staticmethod
    def of(bore: Number, length: Number, roughness: Number, viscosity: Number, factor: Number = 1.0,
           label: str = "pipe", slope: Number | None = None, hose: bool = False) -> Pipe:
        """Prepare a pipe: lengths in m, viscosity (kinematic) in m2/s, `factor` multiplies the friction.

        `slope` is fall over length, None where nothing is known of it. A `hose` is held by clamps, and may come off.
        """
        area = math.pi / 4.0 * bore * bore
        return Pipe(label, bore, length, roughness, factor,
                    reynolds=bore / (area * viscosity),
                    relative=roughness / (3.7 * bore),
                    laminar=factor * 32.0 * viscosity * length / (GRAVITY * bore * bore * area),
                    turbulent=factor * length / (bore * 2.0 * GRAVITY * area * area),
                    slope=slope, hose=hose)

    def joined(self, other: Pipe) -> Pipe:
        """Return one run for two of the same bore and wall: their lengths add up."""
        return Pipe(self.label, self.bore, self.length + other.length, self.roughness, self.factor, self.reynolds,
                    self.relative, self.laminar + other.laminar, self.turbulent + other.turbulent)

    def same_wall(self, other: Pipe) -> bool:
        """Whether the other run has the same bore and wall, so that both may be joined."""
        mine = (self.bore, self.roughness, self.factor, self.reynolds)
        theirs = (other.bore, other.roughness, other.factor, other.reynolds)
        return all(map(same, mine, theirs))

    @property
    def volume(self) -> Number:
        """Return the water in the run when full, m3."""
        return math.pi / 4.0 * self.bore * self.bore * self.length

    def friction(self, reynolds: Number) -> tuple[Number, Number]:
        """Return Colebrook's x = 1/sqrt(f) and dx/dRe at a Reynolds number above some 1000."""
        smooth = 2.51 / reynolds
        first = -PER_LOG10 * log(self.relative + 5.74 * reynolds ** -0.9)
        inner = self.relative + smooth * first
        value = first + PER_LOG10 * log(inner)
        ratio = PER_LOG10 * smooth / inner
        slope = 1.0 + ratio
        bend = -ratio * smooth / inner
        x = first - 2.0 * value * slope / (2.0 * slope * slope - value * bend)
        inner = self.relative + smooth * x
        ratio = PER_LOG10 * smooth / inner
        return x, ratio * x / (reynolds * (1.0 + ratio))

    def loss(self, q: Number) -> tuple[Number, Number]:
        """Return head lost (m, with the sign of q) and its slope (s/m2) at a flow in m3/s."""
        speed = abs(q)
        reynolds = speed * self.reynolds
        share, share_slope = smooth_step((reynolds - LAMINAR) / (TURBULENT - LAMINAR))
        x, x_slope = self.friction(where(reynolds > 1000.0, reynolds, 1000.0 + 0.0 * reynolds))
        f = self.turbulent / (x * x)
        uncertain, rough_slope = f * speed, f * (2.0 - 2.0 * reynolds * x_slope / x)
        blend = share_slope * self.reynolds / (TURBULENT - LAMINAR)
        lost = self.laminar + share * (uncertain - self.laminar)
        slope = self.laminar + share * (rough_slope * speed - self.laminar) + blend * speed * (uncertain - self.laminar)
        return q * lost, slope


def _run(reader: Reader, factor: Number, hose: bool = True) -> list[Pipe]:
    length = reader.number("length")
    slope = 0.0 * length if reader.word("level") == "yes" else reader.number("slope") if reader.has("slope") else None
    return [Pipe.of(reader.number("size"), length, reader.default(ROUGHNESS), reader.context.viscosity, factor,
                    reader.item.label, slope, hose)]


_FIELDS = (Field("size", "size", required=True, low=0.003, high=0.5),
           Field("length", "length", required=True, low=0.0, high=200.0),
           Field("slope", "share", low=0.0, high=1.0), Field("level", "word", choices=("yes", "no")))

register(Kind("pipe", "part", lambda reader: _run(reader, 1.0, False), _FIELDS, ("size", "length"), (ROUGHNESS,),
              summary="straight pipe: size and length"))
register(Kind("hose", "part", lambda reader: _run(reader, 1.0), _FIELDS, ("size", "length"), (ROUGHNESS,),
              summary="smooth hose: bore and length"))
register(Kind("ribbed hose", "part", lambda reader: _run(reader, reader.default(RIBBED)), _FIELDS, ("size", "length"),
              (ROUGHNESS, RIBBED), also=("corrugated hose",), summary="ribbed hose: bore and length"))
