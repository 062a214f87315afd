"""Every law that the contract is held against: what is called, where, and which signs its slopes must have."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace

import samples

from hydro.elements.air_lock import AirLocked
from hydro.elements.comb import Comb
from hydro.elements.down_turned import DownTurned
from hydro.elements.drain import FLUSHING_HIGH, FLUSHING_LOW, SIPHON, WITH_AIR, DrainLine
from hydro.elements.edge import OverflowEdge, Plate
from hydro.elements.feed import Feed
from hydro.elements.fittings import SHUT, CheckValve, Closed, LocalLoss
from hydro.elements.flat_run import FlatRun
from hydro.elements.high_point import HighPoint
from hydro.elements.line import Line, LineLink
from hydro.elements.media import Mat
from hydro.elements.narrowing import Narrow
from hydro.elements.part_full import critical_head
from hydro.elements.pipe import Pipe
from hydro.elements.pump import PumpCurve, PumpLine, from_box
from hydro.elements.return_line import BreakHole
from hydro.elements.rim import Rim
from hydro.elements.side_outlet import SideOutlet
from hydro.elements.siphon_tube import SiphonTube
from hydro.elements.spill import Spill

MOST = 2e-3
"""The largest flow of a usual loop, m3/s; laws are asked up to ten times that."""
FORWARD = (0.0, 1e-12, 1e-6, 1.3e-5, 3.1e-4, MOST, 10.0 * MOST)
FLOWS = (*(-q for q in reversed(FORWARD[1:])), *FORWARD)
LOW, HIGH = 0.25, 1.40
"""Heights of a receiving edge in the sump and of an edge in the tank, m; elements below stand near one of them."""


@dataclass(frozen=True)
class Law:
    """A law: `call(element, *arguments)` returns a value and its slope to each argument, with `signs`.

    `strict` says that the first slope may not vanish, `rest` that it has a kink at q = 0, which is declared.
    """

    name: str
    element: Callable[[int], object]
    call: Callable[..., tuple]
    points: tuple[tuple[float, ...], ...]
    signs: tuple[int, ...]
    strict: bool = True
    rest: bool = False


def levels(edge):
    """Return levels about an edge: far below, at it, a hair over, over, and far over."""
    return (edge - 0.4, edge, edge + 1e-12, edge + 2e-4, edge + 0.013, edge + 1.5)


def residual(name, element, upper, lower, rest=True, pairs=None):
    """Return the law of a link between a water about the height `upper` and one about `lower`."""
    pairs = pairs or [*itertools.product(levels(upper), levels(lower)), *((z, z) for z in levels(upper))]
    points = tuple((q, up, down) for q in FLOWS for up, down in pairs)
    return Law(name, element, lambda link, q, up, down: link.residual(q, up, down), points, (-1, 1, -1), rest=rest)


def loss(name, part, rest=False):
    """Return the law of a part of a line."""
    return Law(name, part, lambda part, q: part.loss(q), tuple((q,) for q in FLOWS), (1,), strict=False, rest=rest)


def passage(name, element):
    """Return the laws of a passage between two chambers: its flow, and the residual made from it."""
    pairs = (*itertools.product(levels(0.29), levels(0.29)), *((z, z + by) for z in levels(0.29)
                                                              for by in (-1e-3, -1e-6, -1e-12, 0.0, 1e-12, 1e-6, 1e-3)))
    yield Law(f"{name}, flow", element, lambda wall, up, down: wall.flow(up, down), pairs, (1, -1), strict=False)
    yield residual(f"{name}, residual", element, 0.29, 0.29, rest=False)


def inlet(name, element):
    """Return the laws of an inlet: the head it needs, the head of its edge alone, and a drain in each mode."""
    forward = tuple((q,) for q in FORWARD)
    yield Law(f"{name}, needed", element, lambda inlet, q: inlet.needed(q), forward, (1,))
    yield Law(f"{name}, weir_head", element, lambda inlet, q: inlet.weir_head(q), forward, (1,))
    for mode in (WITH_AIR, SIPHON, FLUSHING_HIGH, FLUSHING_LOW):
        yield residual(f"{name}, drain {mode}", lambda seed, mode=mode: drain(element(seed), seed).in_mode(mode), 0.30, LOW)
    for mode in (WITH_AIR, SIPHON):
        yield residual(f"{name}, drain {mode} that may run backwards",
                       lambda seed, mode=mode: replace(drain(element(seed), seed), two_way=1.0).in_mode(mode), 0.30, 0.30)
    for blocked in (0.5, 1.0):
        yield residual(f"{name}, drain blocked {blocked:g}",
                       lambda seed, share=blocked: replace(drain(element(seed), seed), blocked=share), 0.30, LOW)
    for mode in (WITH_AIR, SIPHON):
        yield Law(f"{name}, held {mode}", lambda seed, mode=mode: drain(element(seed), seed).in_mode(mode),
                  lambda drain, q: drain.held(q), tuple((q,) for q in FLOWS), (1,), strict=False, rest=True)


def spread(seed, middle):
    """Return a number a little different for every seed."""
    return middle * (1.0 + 0.07 * seed)


def pipe(seed, bore=0.0402, length=1.3):
    """Return a run of pipe."""
    return Pipe.of(spread(seed, bore), spread(seed, length), spread(seed, 1.5e-6), samples.VISCOSITY)


def line(seed, *others):
    """Return a line of two bores with a fitting and other parts."""
    return Line.of([LocalLoss.of(0.5, 0.0402), pipe(seed), pipe(seed + 1, 0.027, 0.4),
                    LocalLoss.of(spread(seed, 2.3), 0.0402), *others, LocalLoss.of(1.0, 0.0402)])


def drain(inlet, seed):
    """Return a drain with an inlet; it ends near `LOW`."""
    return DrainLine("drain", inlet, line(seed), LOW)


def narrow(seed):
    """Return a narrow place a little under the crest."""
    return Narrow.of(spread(seed, 0.027), spread(seed, 0.06), 0.606)


def hole(seed, crest=0.30):
    """Return a level hole in the wall."""
    return SideOutlet.of(crest, spread(seed, 0.0402), spread(seed, 0.60), 0.606)


def turned_down(seed, vent=0.006):
    """Return a down-turned inlet whose mouth is 8 cm under its crest."""
    return DownTurned.below(hole(seed), 0.22, spread(seed, 0.0402), spread(seed, 1.2), spread(seed, vent))


def flat_run(seed, slope=0.02):
    """Return a flat run a little under the crest."""
    return FlatRun.of(spread(seed, 0.0402), spread(seed, 1.2), spread(seed, slope), 0.02, 1e-3, samples.VISCOSITY)


def check(seed, back):
    """Return a check valve that holds, leaks or is stuck, as its resistance backwards says."""
    return CheckValve.of(spread(seed, 2.0), 0.0402, 0.02, back)


def curve(seed):
    """Return a falling pump curve."""
    return PumpCurve.of([(0.0, spread(seed, 5.0)), (5e-4, 4.7), (1e-3, 3.9), (1.4e-3, 2.9), (MOST, 0.0)])


def pump(seed, **changes):
    """Return a pump line whose intake is near `LOW`."""
    return PumpLine("pump", curve(seed), line(seed), LOW, stopped=spread(seed, 3e5), leaving=spread(seed, 3e4), **changes)


def drooping(seed):
    """Return a curve that rises from shut-off to a peak before it falls, its first point at a flow above 0."""
    return PumpCurve.of([(2e-4, spread(seed, 3.0)), (6e-4, 3.6), (1.2e-3, 3.1), (MOST, 1.0)])


def by_hand():
    """Yield the laws of elements that the registry does not make alone, in every state that is data."""
    yield loss("pipe", pipe)
    yield loss("fitting", lambda seed: LocalLoss.of(spread(seed, 2.3), 0.0402))
    yield loss("closed valve", lambda seed: Closed.of(spread(seed, 2.0), 0.0402))
    yield loss("line", line)
    yield loss("line of nothing", lambda seed: Line.of([]))
    for word, back in (("holding", SHUT), ("leaking", 2e4), ("stuck", 0.0)):
        yield loss(f"check valve {word}", lambda seed, back=back: check(seed, back), rest=True)
        yield residual(f"pump with check valve {word}", lambda seed, back=back: replace(
            pump(seed, running=0.0), line=line(seed, check(seed, back))), LOW, HIGH)
    yield residual("line to a junction", lambda seed: LineLink("line", line(seed)), HIGH, HIGH)
    yield residual("line to a mouth", lambda seed: LineLink("line", line(seed), outlet=HIGH), HIGH, HIGH)
    yield residual("line half shut", lambda seed: LineLink("line", line(seed), outlet=HIGH, shut=0.5), HIGH, HIGH)
    yield residual("line shut", lambda seed: LineLink("line", line(seed), outlet=HIGH, shut=1.0), HIGH, HIGH)
    for split in (4e5, -2e4, -1e9):
        yield residual(f"line in a tee, split {split:g}",
                       lambda seed, split=split: LineLink("line", line(seed), HIGH, split=split), HIGH, HIGH)
    yield residual("hole", lambda seed: BreakHole.of("hole", HIGH, spread(seed, 0.006), 0.61), HIGH, HIGH)
    yield residual("hole plugged", lambda seed: replace(BreakHole.of("hole", HIGH, spread(seed, 0.006), 0.61), plugged=1.0),
                   HIGH, HIGH)
    for name, changes in (("running", {}), ("to a mouth", {"outlet": HIGH}), ("slow", {"speed": 0.55}),
                          ("stopped", {"running": 0.0}), ("driven", {"driven": 1.0, "target": 1.1e-3})):
        yield residual(f"pump {name}", lambda seed, changes=changes: pump(seed, **changes), LOW, HIGH)
    yield residual("pump drooping", lambda seed: replace(pump(seed), curve=drooping(seed)), LOW, HIGH)
    for name, shape in (("points", curve), ("drooping", drooping),
                        ("box", lambda seed: from_box(MOST, spread(seed, 4.0), spread(seed, 1.5)))):
        yield Law(f"curve {name}", shape, lambda curve, q: curve.head(q, 0.9, true=False),
                  tuple((q,) for q in FLOWS), (-1,), strict=False, rest=True)
    yield from passage("plate by hand", lambda seed: Plate.of("plate", 0.29, spread(seed, 0.5), 0.62))
    yield from passage("slot by hand", lambda seed: Plate.of("slot", 0.29, spread(seed, 0.5), 0.62, spread(seed, 0.03)))
    yield from passage("mat by hand", lambda seed: Mat.of("mat", 0.0, 0.29, 0.5, spread(seed, 1e-3), 0.01, 0.5, 0.1))
    yield from inlet("rim by hand", lambda seed: Rim.of(0.30, spread(seed, 0.045), 0.040, 0.53, 0.606))
    yield Law("critical head", lambda seed: spread(seed, 0.0402), critical_head, tuple((q,) for q in FORWARD), (1,))
    yield from inlet("hole by hand", hole)
    yield from inlet("hole fouled", lambda seed: hole(seed).fouled(0.25))
    yield from inlet("turned down, vented", turned_down)
    yield from inlet("turned down, plugged", lambda seed: turned_down(seed, 0.0).fouled(0.5))
    for words, slope in (("level", 0.0), ("sloping", 0.02), ("steep", 0.9)):
        yield Law(f"flat run {words}", lambda seed, slope=slope: flat_run(seed, slope), lambda run, q: run.needed(q),
                  tuple((q,) for q in FORWARD), (1,))
        yield residual(f"drain with a {words} run", lambda seed, slope=slope: replace(
            drain(hole(seed), seed), narrows=(flat_run(seed, slope),)), 0.30, LOW)
    yield Law("narrow place", narrow, lambda place, q: place.needed(q), tuple((q,) for q in FORWARD), (1,), strict=False)
    for mode in (WITH_AIR, SIPHON):
        yield residual(f"drain with a narrow place {mode}", lambda seed, mode=mode: replace(
            drain(Rim.of(0.30, 0.045, 0.040, 0.53, 0.606), seed), narrows=(narrow(seed),)).in_mode(mode), 0.30, LOW)
    yield residual("drain air-locked", lambda seed: AirLocked(drain(Rim.of(0.30, 0.045, 0.040, 0.53, 0.606), seed)), 0.30, LOW)
    yield residual("drain air-locked, turned down", lambda seed: AirLocked(drain(turned_down(seed, 0.0), seed)), 0.30, LOW)
    yield residual("spill", lambda seed: Spill("spill", spread(seed, 0.30)), 0.30, LOW, rest=False)
    yield Law("spill, flow", lambda seed: Spill("spill", 0.30), lambda spill, up: spill.flow(up),
              tuple((z,) for z in levels(0.30)), (1,), strict=False)
    yield residual("feed", lambda seed: Feed("feed", 0.29, spread(seed, 1e-4)), 0.30, LOW, rest=False)


def water(name, body):
    """Return the law of a body of water: its volume, whose slope is its surface."""
    heights = (-0.3, -1e-12, 0.0, 1e-12, 1e-3, 0.051, 0.17, 0.26, 0.44, 0.7)
    return Law(name, body, lambda body, level: body.stored(level), tuple((z,) for z in heights), (1,))


def bodies(kind, form, fields, words):
    """Yield the laws of a vessel: the whole, a stretch at its end, and with gear in it."""
    name = f"{kind.word} {form}"

    def plan(seed):
        return samples.make(kind, fields, words, seed)

    yield water(f"{name}, whole", lambda seed: plan(seed).whole("whole", 0.0))
    yield water(f"{name}, gear", lambda seed: plan(seed).whole("gear", 0.0).displaced(1e-3, 0.05))
    yield water(f"{name}, share", lambda seed: plan(seed).whole("whole", 0.0).part("part", 0.3))


def over_a_rim():
    """Yield the laws of what leads from a tank to its overflow box and onwards: edges, combs, siphon tubes, highest points."""
    yield from passage("overflow edge by hand", lambda seed: OverflowEdge.over_length("edge", 0.29, spread(seed, 0.5), 0.60))
    for name, length, share in (("closed", 0.0, 1.0), ("open", 0.6, 1.0), ("half blocked", 0.0, 0.5), ("blocked", 0.6, 0.0)):
        yield from passage(f"comb {name} by hand", lambda seed, length=length, share=share: Comb.of(
            "comb", 0.28, spread(seed, 0.3), spread(seed, 0.02), 0.58, length, 0.60, share))
    for name, primed in (("full", 1.0), ("with air", 0.0)):
        yield residual(f"siphon tube {name}", lambda seed, primed=primed: SiphonTube(
            "tube", line(seed), HIGH - 0.003, HIGH, primed=primed), HIGH, HIGH)
    points = tuple((q, level) for q in FLOWS for level in levels(HIGH))
    for share in (0.0, 0.45, 1.0):
        def top(seed, share=share):
            return HighPoint.along("top", HIGH + 0.2, line(seed), spread(seed, share) if share < 1.0 else 1.0)
        for side in ("from_above", "from_below"):
            yield Law(f"highest point at {share:g}, {side}", top, lambda top, q, level, side=side: getattr(top, side)(q, level),
                      points, (0, 1), strict=False)


def of_kind(kind):
    """Yield the laws of one registered kind in each form in which it may be written."""
    for form, fields, words in samples.forms(kind):
        def element(seed, fields=fields, words=words):
            return samples.make(kind, fields, words, seed)
        name = f"{kind.word} {form}"
        if kind.family == "part":
            one_way = kind.word == "check valve"
            yield loss(name, lambda seed, made=element: made(seed)[0], rest=one_way)
            yield residual(f"{name}, in a line", lambda seed, made=element: LineLink("line", line(seed, *made(seed)), HIGH),
                           HIGH, HIGH, pairs=((HIGH + 0.5, HIGH - 0.2), (HIGH - 0.1, HIGH + 0.3)))
        elif kind.family == "inlet":
            yield from inlet(name, element)
        elif kind.family in ("barrier", "edge"):
            yield from passage(name, element)
        elif kind.family == "vessel":
            yield from bodies(kind, form, fields, words)


SWEPT = ("part", "inlet", "barrier", "vessel", "edge")
"""Families whose kinds are swept; a 'break' makes no law of its own, its hole is tested by hand."""
BY_KIND = {kind.word: tuple(of_kind(kind)) for kind in samples.kinds(*SWEPT)}
LAWS = (*by_hand(), *over_a_rim(), *(law for laws in BY_KIND.values() for law in laws))
