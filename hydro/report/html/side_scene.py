"""What a side view shows, out of the heights of a build: vessels, marks with their labels, pipes."""

from __future__ import annotations

from collections.abc import Iterable

from hydro.report.drawing.scene import BOX, DRAIN, RETURN, SUMP, TANK, DrawnMark, DrawnPipe, DrawnVessel, End, Scene
from hydro.report.html.figures import both
from hydro.report.html.heights import Heights, Named

LEAST_SHARE = 0.14
"""No chamber is drawn narrower than this share of its sump."""
NOWHERE = End("", 0, 0.0, 0.0)
FLUSH = 5e-4
"""A height this near to a rim is at the rim, m."""


def scene_of(heights: Heights, found: list[Named], system: str, title: str) -> Scene:
    """Return what is drawn."""
    marks = tuple(DrawnMark(one.kind, one.called(3), one.height, one.spot.key, scene_lines(one, system), one.side,
                            one.spot.chamber, one.at, one.floor) for one in found)
    described = "; ".join(f"{one.called(3)} {both(one.height, 'length', system, one.towards)}" for one in found if one.side)
    name = heights.build.title or "A build"
    return Scene(f"{name}: side view, {title[:1].lower()}{title[1:]}", f"Heights above the ground. {described}.",
                 tuple(_vessels(heights)), marks, tuple(_pipes(heights)))


def scene_lines(one: Named, system: str) -> tuple[str, ...]:
    """Return what stands under the name of a height: how far up it is, how far from its vessel's rim, what else is said."""
    beside = () if one.kind == "rim" else (from_rim(one, system),)
    return (f"{both(one.height, 'length', system, one.towards)} up", *beside, *one.more)


def from_rim(one: Named, system: str) -> str:
    """Return how far a height is from its vessel's rim; rounded so that it agrees with its height above the ground."""
    under = one.spot.rim - one.height
    if abs(under) < FLUSH:
        return "at the rim"
    towards = -one.towards if under > 0.0 else one.towards
    return f"{both(abs(under), 'length', system, towards)} {'below' if under > 0.0 else 'above'} rim"


def _vessels(heights: Heights) -> Iterable[DrawnVessel]:
    seen, network = heights.seen, heights.network
    for k in (*seen.tanks, *seen.boxes):
        grouped, spot = seen.stands_for.get(k), heights.spots[k]
        name = heights.vessel_name(k).removeprefix("the ") + (f" (one of {grouped.called})" if grouped is not None else "")
        inside = "" if k in seen.tanks else _tank_of(heights, k)
        yield DrawnVessel(spot.key, name, BOX if inside else TANK, spot.bottom, spot.rim, inside=inside)
    for sump in seen.sumps:
        spot, volumes = heights.spots[sump[0]], []
        for k in sump:
            body = network.waters[k].body
            volumes.append(1.0 if body is None else max(float(body.stored(spot.rim)[0]), 1e-6))
        shares = [max(volume / sum(volumes), LEAST_SHARE) for volume in volumes]
        yield DrawnVessel(spot.key, heights.vessel_name(sump[0]).removeprefix("the "), SUMP, spot.bottom, spot.rim,
                          tuple(share / sum(shares) for share in shares), chambers=tuple(network.waters[k].name for k in sump))


def _tank_of(heights: Heights, box: int) -> str:
    name = heights.network.waters[box].name
    tank = next(one.tank for one in heights.build.boxes if one.name == name)
    return heights.spots[heights.network.water(tank)].key


def _pipes(heights: Heights) -> Iterable[DrawnPipe]:
    network = heights.network
    for k in network.drains:
        link = network.links[k]
        if link.up in heights.spots:
            start, finish = heights.spots[link.up], heights.spots.get(link.down)
            upper = End(start.key, start.chamber, heights.across(k, True), float(link.element.inlet.crest))
            lower = NOWHERE
            if finish is not None:
                lower = End(finish.key, finish.chamber, heights.across(k, False), float(link.element.end))
            yield DrawnPipe(DRAIN, f"drain {link.name}", upper, lower, k in heights.state.blocked)
    for described in heights.build.returns:
        tank = network.water(described.tank)
        if tank not in heights.spots:
            continue
        pumps = heights.build.pumps
        pump = next((one for one in pumps if described.source in (one.name, one.header)), pumps[0])
        spot = heights.drawn_from(pump)
        intake = NOWHERE if spot is None else End(spot.key, spot.chamber, 0.75, heights.level(pump.intake))
        yield DrawnPipe(RETURN, f"return {described.name}", intake,
                        End(heights.spots[tank].key, 0, heights.mouth_at(described), heights.level(described.end)))
