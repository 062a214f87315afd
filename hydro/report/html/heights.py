"""Every height of a build that is drawn, by name: what is built and where water stands, all counted from the ground.

One list feeds the drawing and the table under it, so that both say the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from hydro.checks import CheckKind
from hydro.checks.assessment import Assessment
from hydro.description import heights as places
from hydro.description.build import Height, Pump, Return
from hydro.network.model import BOX, JUNCTION
from hydro.quantities.uncertain import Uncertain
from hydro.report.content.grouping import few
from hydro.report.content.levels import bottom_of, rim_of
from hydro.report.drawing.scene import LEFT, RIGHT
from hydro.report.html.states import RUNNING, Shown, Standing, stopped

SAME = 5e-5
"""Heights of one kind in one vessel that are nearer than this share a label, m."""
CROWD = 20
"""More labels than this in a column are a crowd."""
HIGHEST_LINE = "highest running line in "
"""The noun of the highest line; the only one that a view of all at rest keeps."""
TURN = 1e-3
"""A level that swings less than this stands, m."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where something is: the vessel's key in the drawing, which of its chambers, its bottom and rim (m), its name."""

    key: str
    chamber: int
    bottom: float
    rim: float
    vessel: str
    chambers: int = 1


@dataclass(frozen=True, slots=True)
class Named:
    """A height with its name. `noun` is 'lip of ', `names` what it is the lip of; `at` is where across its chamber (0 to 1).

    `towards` says which way its figure is rounded, `side` where its label stands ('' without one), `more` what else is said.
    """

    kind: str
    noun: str
    names: tuple[str, ...]
    height: float
    spot: Spot
    side: str
    at: float = 0.5
    floor: float | None = None
    towards: int = 0
    more: tuple[str, ...] = ()

    def beside(self, other: Named, crowd: bool) -> bool:
        """Whether it is in the same vessel as another height, or in one that stands alike where there is a crowd."""
        alike = crowd and self.spot.chambers == other.spot.chambers == 1 and abs(self.spot.rim - other.spot.rim) < SAME
        return self.spot.key == other.spot.key or alike

    def called(self, most: int = 99) -> str:
        """Return what it is called, with as many names as asked for at the most."""
        many = len(self.names) > 1
        if many and self.spot.chambers == len(self.names) and self.noun.endswith(" in "):
            return f"{self.noun}{self.spot.vessel}"
        plural = self.noun.replace(" of", "s of", 1) if many else self.noun
        return f"{plural}{few(self.names, most)}"


class Heights:
    """The heights of one build in one state."""

    def __init__(self, assessment: Assessment, state: Standing, seen: Shown) -> None:
        self.assessment, self.state, self.seen = assessment, state, seen
        self.network, self.build = assessment.results.network, assessment.build
        self.spots = self._spots()
        self.drains = {self.network.links[k].name: k for k in self.network.drains}

    def _spots(self) -> dict[int, Spot]:
        results = self.assessment.results
        found = {k: Spot(f"w{k}", 0, bottom_of(self.network, k), rim_of(results, k), self.vessel_name(k))
                 for k in (*self.seen.tanks, *self.seen.boxes)}
        for sump in self.seen.sumps:
            found |= {k: Spot(f"s{sump[0]}", n, bottom_of(self.network, k), rim_of(results, k), self.vessel_name(k), len(sump))
                      for n, k in enumerate(sump)}
        return found

    def level(self, height: Height) -> float:
        """Return a described height above the ground, m."""
        return float(places.resolve(height, self.build, {}, self.assessment.loop.tank_water))

    def vessel_name(self, water: int) -> str:
        """Return what a vessel is called: 'the tank' where it was given no name."""
        if water in self.network.uppers:
            name = self.network.waters[water].name
        else:
            name = self.build.sumps[self.network.sumps.index(self.network.sump_of(water))].name
        return f"the {name}" if name in ("tank", "sump", "box") else name

    def chamber_name(self, water: int) -> str:
        """Return what a water is called: its vessel, or the chamber of a sump that has several."""
        if water in self.network.uppers or len(self.network.sump_of(water)) == 1:
            return self.vessel_name(water)
        return f"chamber {self.network.waters[water].name}"

    def all(self) -> list[Named]:
        """Return every height, from all that is built and all water."""
        return [*self.vessels(), *self.overflows(), *self.barriers(), *self.returns(), *self.pumps(), *self.lines(),
                *self.waters(), *self.at_rest()]

    def vessels(self) -> Iterator[Named]:
        """Yield rims, lowest openings, and the edges over which tanks spill into boxes."""
        for first in (*self.seen.tanks, *self.seen.boxes, *(sump[0] for sump in self.seen.sumps)):
            spot, name, water = replace(self.spots[first], chamber=0), self.vessel_name(first), self.network.waters[first]
            last = 0 if first in self.network.uppers else len(self.network.sump_of(first)) - 1
            yield Named("rim", "rim of ", (name,), spot.rim, spot, LEFT)
            yield Named("bottom", "inner bottom of ", (name,), spot.bottom, spot, LEFT)
            if water.opening is not None and float(water.opening) < spot.rim - SAME:
                yield Named("opening", "lowest opening of ", (name,), float(water.opening), replace(spot, chamber=last), LEFT,
                            at=1.0)
        for k in self.network.edges:
            link = self.network.links[k]
            if link.down in self.spots:
                yield Named("edge", "edge of ", (self.network.waters[link.down].name,), float(link.element.crest),
                            self.spots[link.down], LEFT, at=1.0)

    def overflows(self) -> Iterator[Named]:
        """Yield lips and lower ends of drains."""
        for k in self.network.drains:
            link = self.network.links[k]
            drain = link.element
            if link.up in self.spots:
                kind = "blocked" if k in self.state.blocked else "lip"
                noun = "blocked: lip of " if k in self.state.blocked else "lip of "
                yield Named(kind, noun, (link.name,), float(drain.inlet.crest), self.spots[link.up], LEFT, self.across(k, True))
            if link.down in self.spots and (link.up in self.spots or self.network.waters[link.up].kind == JUNCTION):
                yield Named("end", "end of ", (link.name,), float(drain.end), self.spots[link.down], LEFT, self.across(k, False))

    def across(self, k: int, upper: bool) -> float:
        """Return where across its vessel or chamber a drain begins or ends: those beside it share the room."""
        water = self.network.links[k].up if upper else self.network.links[k].down
        beside = [other for other in self.network.drains if self.network.links[other].up in self.spots
                  and (self.network.links[other].up if upper else self.network.links[other].down) == water]
        low, high = (0.1, 0.9) if not upper or self.network.waters[water].kind == BOX else (0.08, 0.62)
        if upper and any(self.network.links[edge].up == water for edge in self.network.edges):
            low = 0.36
        number = beside.index(k) if k in beside else 0
        return low + (high - low) * (number + 0.5) / max(len(beside), 1)

    def barriers(self) -> Iterator[Named]:
        """Yield the tops of plates, mats and slots between the chambers."""
        for sump in self.seen.sumps:
            described = self.build.sumps[self.network.sumps.index(sump)]
            for k, chamber in zip(sump, described.chambers, strict=True):
                if chamber.end is None:
                    continue
                top, gap, spot = chamber.end.values.get("top"), chamber.end.values.get("gap"), self.spots[k]
                kind = "mat" if chamber.end.kind == "mat" else "plate"
                # A slot is the gap under its plate; without a top of its own the plate ends at the rim.
                height, side = (self.level(top), LEFT) if isinstance(top, Height) else (spot.rim, "")
                floor = spot.bottom + (float(gap.at({})) if isinstance(gap, Uncertain) else 0.0)
                yield Named(kind, f"top of {chamber.end.kind} behind ", (f"chamber {chamber.name}",), height, spot, side,
                            at=1.0, floor=floor)

    def returns(self) -> Iterator[Named]:
        """Yield the mouths of returns, their siphon breaks, their highest points, and mouths of pipes between waters."""
        for described in self.build.returns:
            tank = self.network.water(described.tank)
            if tank not in self.spots:
                continue
            at = self.mouth_at(described)
            spot = self.spots[tank]
            yield Named("mouth", "mouth of ", (described.name,), self.level(described.end), spot, RIGHT, at)
            hole = None if described.hole is None else described.hole.values.get("at")
            if isinstance(hole, Height):
                yield Named("hole", "siphon break of ", (described.name,), self.level(hole), spot, RIGHT, at)
            if described.highest is not None:
                yield Named("top", "highest point of ", (described.name,), self.level(described.highest), spot, RIGHT, at)
        for run in self.build.runs:
            for name, height, at in ((run.start, run.start_at, 0.3), (run.finish, run.finish_at, 0.7)):
                water = next((k for k, one in enumerate(self.network.waters) if one.name == name), None)
                if height is not None and water is not None and water in self.spots:
                    yield Named("mouth", "mouth of ", (run.name,), self.level(height), self.spots[water], RIGHT, at)

    def mouth_at(self, described: Return) -> float:
        """Return where across its tank a return ends."""
        beside = [one.name for one in self.build.returns if one.tank == described.tank]
        return 0.68 + 0.28 * (beside.index(described.name) + 0.5) / len(beside)

    def pumps(self) -> Iterator[Named]:
        """Yield the intakes of pumps."""
        for pump in self.build.pumps:
            spot = self.drawn_from(pump)
            if spot is not None:
                name = pump.name if len(self.build.pumps) > 1 else "the pump"
                yield Named("intake", "intake of ", (name,), self.level(pump.intake), spot, RIGHT, 0.75)

    def drawn_from(self, pump: Pump) -> Spot | None:
        """Return where a pump draws from, None where that is not drawn."""
        water = next((k for k in self.network.chambers if self.network.waters[k].name == pump.chamber), None)
        return None if water is None else self.spots.get(water)

    def lines(self) -> Iterator[Named]:
        """Yield the highest running line, and the lowest that the intakes ask for, in the chambers that have them."""
        wanted, chamber = self.assessment.wanted_line, self.network.pump_chamber
        if wanted is not None and chamber in self.spots:
            height = wanted.height if wanted.safe is None else wanted.safe
            if height is not None:
                yield Named("line", HIGHEST_LINE, (self.chamber_name(chamber),),
                            height + self.network.sump_bottom, self.spots[chamber], RIGHT, towards=-1)
        for k in self.network.pumps if self.assessment.answer.state is not None else ():
            link = self.network.links[k]
            subject = "" if len(self.network.pumps) == 1 else link.name
            row = next((check for check in self.assessment.of(CheckKind.INTAKE) if check.subject == subject), None)
            spot = self.spots.get(link.up)
            if row is not None and spot is not None and float(link.element.intake) + row.limit < spot.rim:
                yield Named("line", "lowest running line for ", (link.name if len(self.network.pumps) > 1 else "the pump",),
                            float(link.element.intake) + row.limit, spot, RIGHT, towards=1)

    def waters(self) -> Iterator[Named]:
        """Yield where water stands; of a swing both ends."""
        for k, spot in self.spots.items():
            if k not in self.state.levels:
                continue
            level, low = self.state.levels[k], self.state.lowest.get(k, self.state.levels[k])
            name = self.chamber_name(k)
            more = ("goes over",) if k in self.state.over else ()
            yield Named("water", "water in ", (name,), level, spot, RIGHT, floor=spot.bottom, towards=1, more=more)
            if level - low > TURN:
                yield Named("ghost", "lowest water in ", (name,), max(low, spot.bottom), spot, RIGHT)

    def at_rest(self) -> Iterator[Named]:
        """Yield where water stands after the power cut that has to fit, beside the levels of a loop that runs."""
        if self.state.name != RUNNING or not self.assessment.results.stopped:
            return
        rest = stopped(self.assessment)
        for k, spot in self.spots.items():
            more = ("goes over",) if k in rest.over else ()
            yield Named("still", "power-off level in ", (self.chamber_name(k),), rest.levels[k], spot, RIGHT, towards=1,
                        more=more)


def together(found: list[Named]) -> list[Named]:
    """Return the heights with one label for those of one kind that are the same in one vessel: the others lose theirs.

    Where there are many labels, vessels that stand alike share them as well.
    """
    crowd = max(sum(one.side == side for one in found) for side in (LEFT, RIGHT)) > CROWD
    kept: list[Named] = []
    for one in found:
        twin = next((k for k, other in enumerate(kept) if one.side and other.side and one.kind == other.kind
                     and one.noun == other.noun and one.beside(other, crowd) and abs(one.height - other.height) < SAME
                     and one.more == other.more), None)
        if twin is None:
            kept.append(one)
        else:
            kept[twin] = replace(kept[twin], names=(*kept[twin].names, *one.names))
            kept.append(replace(one, side=""))
    return kept
