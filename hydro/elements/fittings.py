"""Fittings and valves: head lost as a multiple K of the velocity head in the bore where they sit.

    h = K V |V| / (2 g),  V = q / (pi D^2 / 4)

| item | K | source |
|---|---|---|
| elbow 90, elbow 45 | 30 fT, 16 fT | Crane TP-410 (2009) A-29; fT by fluids.ft_Crane |
| bend 90, r = 1.5 D | 14 fT | the same |
| tee run, tee branch | 20 fT, 60 fT | Crane TP-410, editions before 2009, from memory |
| gate valve, ball valve | 8 fT, 3 fT open; table below when throttled | the same; throttled: from memory |
| check valve (swing) | 100 fT, or the K given | the same |
| widening on the smaller bore | (1 - b^2)^2 | Borda and Carnot |
| narrowing on the smaller bore | 0.5 (1 - b^2) | Crane TP-410 A-26 |
| entrance, sharp and flush | 0.5 | Crane TP-410 A-29 |
| exit into standing water | 1.0 | momentum; any edge |

b is the ratio of the smaller to the larger bore. Published K of one and the same elbow differ up to fivefold (0.3 flanged in
Cengel and Cimbala, 1.5 threaded in Munson, Young and Okiishi): the default 'fitting losses' multiplies all K of this file by
0.7 .. 1.5 around 1. Valid for Re above some 1e4; below it K grows and the band is the excuse.

Throttled valves, K by open share (handbook tables, from memory): log K between the points. Published curves differ by about
a factor of 2 to either side, so the default 'throttled valve loss' multiplies it by 0.5 .. 2; never less than K fully open. A
valve that is 'tuned' has no K of its own: it is set on the running build until a trickle is left for the next inlet
(`hydro.scenarios.tuned_valves`), and counts as fully open until then.
A squared flow has no slope at rest: |q| is rounded over 1e-6 m3/s (3.6 L/h), which keeps the law smooth and strictly rising.

    >>> from hydro.elements.fittings import LocalLoss
    >>> LocalLoss.of(k=1.0, bore=0.0284).loss(5000 / 3.6e6)[0] > 0.24
    True
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

from hydro.elements.registry import Default, Field, Kind, Reader, register
from hydro.quantities.arrays import GRAVITY, Number, any_of, each, first, greater, log, where
from hydro.quantities.bisection import halved

REST = 1e-6
"""Flow over which |q| is rounded, m3/s."""
SHUT = 1e10
"""Resistance of a way that is closed, s/m2: 1 m of head passes 0.36 mL/h."""

FITTINGS = Default("fitting losses", 0.7, 1.0, 1.5, "number",
                   "K of one elbow spreads from half to double between published sources (Crane, Hooper, Rennels, Munson)",
                   divides=True)
THROTTLED = Default("throttled valve loss", 0.5, 1.0, 2.0, "number",
                    "K of a throttled valve: published curves spread by about a factor of 2; common practice")
TRICKLE = Default("trickle share", 0.02, 0.05, 0.10, "share",
                  "of its water's flow, left for the next higher inlet by a valve that is tuned; common practice, no source")
CRACKING = Default("check valve cracking head", 0.0, 0.02, 0.10, "length", "common practice, no source")

LEAST_OPEN = 0.02
"""Least share by which a valve that is not shut is taken as open."""
TUNED = "tuned"
"""Stands in place of the opening of a valve that is set by hand on the running build."""
Curve = tuple[tuple[float, float], ...]
"""Open share -> K."""

_GATE = ((0.25, 24.0), (0.5, 4.5), (0.75, 0.9))
_BALL = ((0.333, 206.0), (0.5, 25.0), (0.667, 5.5), (0.778, 1.6), (0.889, 0.3))


@dataclass(frozen=True, slots=True)
class LocalLoss:
    """One local loss. `k` counts on the velocity head of `bore`."""

    label: str
    k: Number
    bore: Number
    quadratic: Number

    @staticmethod
    def of(k: Number, bore: Number, label: str = "fitting") -> LocalLoss:
        """Prepare a loss of K = `k` on a bore in m."""
        area = math.pi / 4.0 * bore * bore
        return LocalLoss(label, k, bore, k / (2.0 * GRAVITY * area * area))

    def loss(self, q: Number) -> tuple[Number, Number]:
        """Return head lost (m) and slope (s/m2)."""
        return squared(self.quadratic, q)


@dataclass(frozen=True, slots=True)
class Valve(LocalLoss):
    """A valve in a line. `opened` is its K when fully open, None where it stands fully open or only its K is known.

    `curve` is the table of its K by open share. One that is tuned leaves the share `trickle` of its water's flow to the next
    higher inlet (None: it is not tuned); `misses` says why no setting does, '' where `k` is the one that does.
    """

    opened: Number | None = None
    curve: Curve = ()
    trickle: Number | None = None
    misses: str = ""

    def with_k(self, k: Number, misses: str = "") -> Valve:
        """Return the valve at another K."""
        return replace(self, k=k, quadratic=LocalLoss.of(k, self.bore).quadratic, misses=misses)

    def open_share(self) -> float:
        """Return how far it is open by its table, a share; at most 1, at least what the table is carried on to."""
        k, open_k = first(self.k), first(self.k if self.opened is None else self.opened)
        low, high = halved(LEAST_OPEN, 1.0, lambda share: first(throttled(self.curve, share, open_k)) >= k, 40)
        return 0.5 * float(low + high)


def squared(coefficient: Number, q: Number) -> tuple[Number, Number]:
    """Return coefficient q |q|, rounded at rest, and its slope."""
    size = (q * q + REST * REST) ** 0.5
    return coefficient * q * size, coefficient * (size + q * q / size)


@dataclass(frozen=True, slots=True)
class CheckValve:
    """A check valve: K and a cracking head forward; backward closed, leaking or stuck open.

    `back` is the resistance to reversed flow in s/m2: SHUT where it holds, 0 where it is stuck open (then K counts both
    ways). Swing types need some 0.5 m/s to open fully (from memory); below that K is larger than stated.
    """

    label: str
    k: Number
    bore: Number
    quadratic: Number
    crack: Number
    back: Number

    @staticmethod
    def of(k: Number, bore: Number, crack: Number = 0.0, back: Number = SHUT, label: str = "check valve") -> CheckValve:
        """Prepare a valve: bore and cracking head in m."""
        return CheckValve(label, k, bore, LocalLoss.of(k, bore).quadratic, crack, back)

    def loss(self, q: Number) -> tuple[Number, Number]:
        """Return head lost (m) and slope (s/m2). The cracking head builds up over the first 0.36 L/h."""
        head, slope = squared(self.quadratic, q)
        forward = where(q > 0.0, q, 0.0 * q)
        backward = q - forward
        rise = forward + 1e-7
        head = head + self.crack * forward / rise + self.back * backward
        return head, slope + where(q >= 0.0, self.crack * 1e-7 / (rise * rise), self.back + 0.0 * q)


@dataclass(frozen=True, slots=True)
class Closed(CheckValve):
    """A valve that lets nothing through, either way: shut, or a check valve stuck shut."""

    @staticmethod
    def of(k: Number, bore: Number, crack: Number = 0.0, back: Number = SHUT, label: str = "closed valve") -> Closed:
        """Return the closed valve on a bore in m; `k` and `crack` are kept and play no part."""
        return Closed(label, k, bore, LocalLoss.of(k, bore).quadratic, crack, back)

    def loss(self, q: Number) -> tuple[Number, Number]:
        """Return head lost (m) and slope (s/m2): SHUT q."""
        return SHUT * q, SHUT + 0.0 * q


def crane_ft(bore: Number) -> Number:
    """Return Crane's fully turbulent friction factor of clean steel pipe of a bore in m (fluids.ft_Crane)."""
    return each(_crane_ft, bore)


@cache
def _crane_ft(bore: float) -> float:
    from fluids.fittings import ft_Crane

    return float(ft_Crane(bore))


def change_of_bore(before: Number, after: Number, label: str = "change of bore") -> LocalLoss:
    """Return the loss of a sudden change of bore in the direction of flow, on the smaller bore."""
    narrowing = before > after
    small, large = where(narrowing, after, before), where(narrowing, before, after)
    square = (small / large) ** 2.0
    return LocalLoss.of(where(narrowing, 0.5 * (1.0 - square), (1.0 - square) ** 2.0), small, label)


def throttled(table: Curve, opening: Number, open_k: Number) -> Number:
    """Return K of a valve opened by a share 0.02 .. 1, on straight lines of log K; the table's ends are carried on."""
    points = [*table, (1.0, open_k)]
    opening = where(opening > LEAST_OPEN, opening, LEAST_OPEN + 0.0 * opening)
    (x0, k0), (x1, k1) = points[0], points[1]
    value = log(k0 + 0.0 * opening) + (opening - x0) * (math.log(k1 / k0) / (x1 - x0))
    for (x0, k0), (x1, k1) in pairwise(points[1:]):
        line = log(k0 + 0.0 * opening) + (opening - x0) * ((log(k1 + 0.0 * opening) - math.log(k0)) / (x1 - x0))
        value = where(opening > x0, line, value)
    return each(math.exp, value)


def _bore(reader: Reader) -> Number:
    return reader.number("size") if reader.has("size") else reader.bore


def _friction_lengths(count: float) -> Callable[[Reader], list[LocalLoss]]:
    def make(reader: Reader) -> list[LocalLoss]:
        bore = _bore(reader)
        return [LocalLoss.of(count * crane_ft(bore) * reader.default(FITTINGS), bore, reader.item.label)]
    return make


def _given(reader: Reader) -> list[LocalLoss]:
    return [LocalLoss.of(reader.number("K"), _bore(reader), reader.item.label)]


def _valve(table: Curve, count: float) -> Callable[[Reader], list[LocalLoss]]:
    def make(reader: Reader) -> list[LocalLoss]:
        bore = _bore(reader)
        k = reader.number("K") if reader.has("K") else count * crane_ft(bore) * reader.default(FITTINGS)
        valve = Valve(reader.item.label, k, bore, LocalLoss.of(k, bore).quadratic)
        if reader.has("K") or not reader.has("open"):
            return [valve]
        valve = replace(valve, opened=k, curve=table)
        if reader.word("open") == TUNED:
            return [replace(valve, trickle=reader.default(TRICKLE))]
        return [valve.with_k(_throttled_k(reader, table, k))]
    return make


def _throttled_k(reader: Reader, table: Curve, open_k: Number) -> Number:
    """Return K at the opening that is written: in its band, which a valve that stands fully open has not."""
    opening = reader.number("open")
    k = throttled(table, opening, open_k)
    part_open = opening < 1.0
    return where(part_open, greater(k * reader.default(THROTTLED), open_k), k) if any_of(part_open) else k


def _check(reader: Reader) -> list[CheckValve]:
    bore = _bore(reader)
    k = reader.number("K") if reader.has("K") else 100.0 * crane_ft(bore) * reader.default(FITTINGS)
    crack = reader.number("crack") if reader.has("crack") else reader.default(CRACKING)
    return [CheckValve.of(k, bore, crack, label=reader.item.label)]


_SIZE = Field("size", "size", low=0.003, high=0.5)
_K = Field("K", "number", low=0.0, high=1e5)
_OPEN = Field("open", "share", choices=(TUNED,), low=LEAST_OPEN, high=1.0)

for _word, _count, _also in (("elbow 90", 30.0, ("elbow",)), ("elbow 45", 16.0, ()), ("bend 90", 14.0, ("bend",)),
                             ("tee run", 20.0, ()), ("tee branch", 60.0, ("tee",)), ("union", 2.0, ("coupling", "adaptor"))):
    register(Kind(_word, "part", _friction_lengths(_count), (_SIZE,), ("size",), (FITTINGS,), also=_also,
                  summary=f"K = {_count:g} fT, about {0.022 * _count:.2g} (fT is Crane's friction factor, 0.022 at 25 mm)",
                  bends=_word.endswith(" 90")))
register(Kind("K", "part", _given, (Field("K", "number", required=True, low=0.0, high=1e5), _SIZE), ("K", "size"),
              summary="a loss by its coefficient"))
register(Kind("gate valve", "part", _valve(_GATE, 8.0), (_SIZE, _K, _OPEN), ("open",), (FITTINGS, THROTTLED, TRICKLE),
              summary="open, by so many per cent, or 'tuned': until the drain's next higher inlet trickles; K = 8 fT when open"))
register(Kind("ball valve", "part", _valve(_BALL, 3.0), (_SIZE, _K, _OPEN), ("open",), (FITTINGS, THROTTLED, TRICKLE),
              summary="open, by so many per cent, or 'tuned' like a gate valve; K = 3 fT when open"))
register(Kind("check valve", "part", _check, (_SIZE, _K, Field("crack", "length", low=0.0, high=5.0)), (),
              (FITTINGS, CRACKING), also=("non-return valve",), summary="lets water up and holds it; K = 100 fT unless given",
              comes_out=True))
