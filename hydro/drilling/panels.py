"""Walls of a build with the holes that go through them: where each is, or what is missing, or why it is not given.

Heights follow from the fitting; m above the ground, c the hole's centre:

    elbow turned up     c = lip - rise, upright; the highest of 'turns' - rise where the elbow's reach is stated
    side outlet         c = lip + bore/2: the lip is the hole's lowest point inside; an elbow turned down likewise
    a return, a standpipe through a side: only as stated ('at')

A panel is as long and high as the vessel is inside. Places are counted from the inner corners, because whether a pane runs past
its neighbours nobody has said: one that does is wider, and its edges further from the hole, never nearer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from hydro.catalog import Bulkhead, bulkheads
from hydro.description.build import Build, Drain, Height, Item, Return, Vessel, Wall, WallHole
from hydro.drilling.elbow import MOST, Elbow, turned_elbow
from hydro.drilling.measures import length
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import PlacedBuild

BOTTOM, ELBOW = "bottom", "elbow up"
AGREE = 1e-3
"""How far a stated centre may lie from the one that follows from the fitting, beyond the tape, m."""
OVER = {"side outlet": 0.5, "elbow down": 0.5}
"""Inlets whose lip is the hole's lowest point inside: the centre lies so many bores over it."""


@dataclass(frozen=True, slots=True)
class Panel:
    """A side of a vessel from outside (a bottom from above, its front edge below), m; `rim` the vessel's, above the ground."""

    vessel: str
    side: str
    width: float
    height: float
    rim: float
    wall: Wall | None = None

    @property
    def thickness(self) -> float | None:
        """Thickness of the wall, m; None where it is not stated."""
        return None if self.wall is None or self.wall.thickness is None else self.wall.thickness.middle

    @property
    def material(self) -> str:
        """What it is made of, '' where it is not stated."""
        return "" if self.wall is None else self.wall.material

    @property
    def level(self) -> bool:
        """Whether it lies level: a bottom."""
        return self.side == BOTTOM


@dataclass(frozen=True, slots=True)
class DrilledHole:
    """A hole for a drain or return. `x` from the left, `up` from the lower (at a bottom: front) edge to its centre, m.

    None is what is not known; `missing` says what to measure, `refused` why the hole is not given at all. `guesses` are
    fittings of the catalogue that its bulkhead may be. `elbow` and `lip` (m above the ground) belong to an elbow turned up,
    `over` to an inlet that cannot be turned: how far its centre lies over the lip, m.
    """

    name: str
    what: str
    panel: Panel
    x: float | None
    up: float | None
    diameter: float | None
    missing: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    guesses: tuple[Bulkhead, ...] = ()
    elbow: Elbow | None = None
    lip: float | None = None
    over: float | None = None

    @property
    def widest(self) -> float | None:
        """The diameter, or the greatest usual one of the fittings it may be, m."""
        if self.diameter is not None:
            return self.diameter
        return max((guess.hole.high for guess in self.guesses), default=None)

    @property
    def placed(self) -> bool:
        """Whether its centre is known from both edges."""
        return self.x is not None and self.up is not None

    @property
    def below_rim(self) -> float | None:
        """How far its centre lies below the vessel's rim, m; None in a bottom, or where it is not known."""
        return None if self.up is None or self.panel.level else self.panel.height - self.up

    def spot(self) -> tuple[float, float, float]:
        """Return x, up and the widest diameter (m); ValueError where one of them is not known."""
        if self.x is None or self.up is None or self.widest is None:
            raise ValueError(f"the place or the size of the hole for {self.name} is not known")
        return self.x, self.up, self.widest

    def downgraded(self, reason: str) -> DrilledHole:
        """Return the hole, refused for one more reason."""
        return replace(self, refused=(*self.refused, reason))


def holes_of(loop: PlacedBuild, system: str) -> list[DrilledHole]:
    """Return every hole that the build describes, in the order of the file."""
    build, made = loop.build, []
    upper = {vessel.name: vessel for vessel in (*build.tanks, *(box.vessel for box in build.boxes))}
    for way, drilled in ways_of(build):
        vessel = upper[way.tank]
        panel = panel_of(loop, vessel, drilled.side)
        if panel is None:
            side = Panel(vessel.name, drilled.side, 0.0, 0.0, 0.0)
            hole = DrilledHole(way.name, "", side, None, None, None).downgraded(
                f"the {vessel.name} is described as '{vessel.shape.kind}': its sides are no flat panels of a known size")
        else:
            hole = _Reading(loop, system).hole(way, drilled, panel)
        made.append(replace(hole, what="drain" if isinstance(way, Drain) else "return"))
    return made


def ways_of(build: Build) -> Iterator[tuple[Drain | Return, WallHole]]:
    """Yield every drain and return with a hole."""
    ways: list[Drain | Return] = [*build.drains, *build.returns]
    yield from ((way, way.drilled) for way in ways if way.drilled is not None)


def panel_of(loop: PlacedBuild, vessel: Vessel, side: str) -> Panel | None:
    """Return a side of a vessel, None where its shape is no plain box."""
    sizes = [vessel.shape.values.get(name) for name in ("length", "width", "height")]
    if vessel.shape.kind != "inside" or not all(isinstance(size, Uncertain) for size in sizes):
        return None
    long, wide, high = (size.middle for size in sizes if isinstance(size, Uncertain))
    across = wide if side in ("left", "right") else long
    wall = next((wall for name in (side, "") for wall in vessel.walls if wall.side == name), None)
    return Panel(vessel.name, side, across, wide if side == BOTTOM else high, loop.height(f"{vessel.name} rim"), wall)


@dataclass(frozen=True, slots=True)
class _Reading:
    loop: PlacedBuild
    system: str

    def hole(self, way: Drain | Return, drilled: WallHole, panel: Panel) -> DrilledHole:
        missing = []
        if drilled.left is None:
            missing.append("how far its centre is from the left: 'from left: 25 cm'")
        if drilled.diameter is None:
            missing.append("what the diameter of the cutter is: measure the fitting in hand, 'diameter: 60 mm'")
        hole = DrilledHole(
            way.name, "", panel, _middle(drilled.left), None, _middle(drilled.diameter), guesses=guesses_for(way.line)
        )
        if panel.level:
            if drilled.front is None:
                missing.append("how far its centre is from the front: 'from front: 12 cm'")
            return replace(hole, up=_middle(drilled.front), missing=tuple(missing))
        stated = None if drilled.at is None else self.level(drilled.at)
        if isinstance(way, Drain) and way.inlet.kind == ELBOW:
            hole = self.on_elbow(hole, way.inlet, drilled, stated, missing)
        elif isinstance(way, Drain) and way.inlet.kind in OVER:
            hole = self.over_lip(hole, way.inlet, stated)
        elif stated is None:
            missing.append("how high its centre is: 'at: 6 cm below tank rim'")
        else:
            hole = replace(hole, up=self.up(panel, stated))
        return replace(hole, missing=(*missing, *hole.missing))

    def level(self, height: Height) -> float:
        return self.loop.height(height.place) + height.offset.middle

    def up(self, panel: Panel, centre: float) -> float:
        return centre - panel.rim + panel.height

    def over_lip(self, hole: DrilledHole, inlet: Item, stated: float | None) -> DrilledHole:
        """A hole whose lowest point inside is the lip."""
        lip, bore = inlet.values.get("lip"), inlet.values.get("bore")
        if not isinstance(lip, Height) or not isinstance(bore, Uncertain):
            return hole
        over = OVER[inlet.kind] * bore.middle
        crest = self.level(lip)
        hole = replace(hole, up=self.up(hole.panel, crest + over), lip=crest, over=over)
        if stated is None or abs(stated - crest - over) <= self.loop.build.tape + AGREE:
            return hole
        return hole.downgraded(f"with its centre {self.below(hole, stated)} the lowest point of its bore, "
                        f"{length(over, self.system)} lower, is not the lip that is described, {self.below(hole, crest)}")

    def on_elbow(
        self, hole: DrilledHole, inlet: Item, drilled: WallHole, stated: float | None, missing: list[str]
    ) -> DrilledHole:
        """A hole under an elbow that is turned up."""
        lip, rim, turns = (inlet.values.get(name) for name in ("lip", "rim", "turns"))
        if not isinstance(lip, Height) or not isinstance(rim, Uncertain):
            return hole
        crest = self.level(lip)
        if drilled.rise is None:
            missing.append("what the rise of its elbow is: measure from the bulkhead's centre to the upright elbow's lip, "
                           "'rise: 45 mm'")
            return replace(hole, lip=crest, up=None if stated is None else self.up(hole.panel, stated))
        rise, ends = drilled.rise.middle, []
        if isinstance(turns, tuple):
            ends = sorted(self.level(end) for end in turns if isinstance(end, Height))
        elbow = turned_elbow(rise, rim.middle, ends[-1] - ends[0] if ends else None)
        centre = stated if stated is not None else (ends[-1] if ends else crest) - rise
        hole = replace(hole, elbow=elbow, lip=crest, up=self.up(hole.panel, centre))
        slack = self.loop.build.tape + AGREE if stated is not None else AGREE
        lowest = elbow.lowest(elbow.most)
        if lowest - slack <= crest - centre <= rise + slack:
            return hole
        far = "turned as far as it goes" if elbow.most < MOST else "turned by 30 degrees, beyond which its edge is no level lip,"
        reach = (f"upright its lip stands {self.below(hole, centre + rise)}" if crest - centre > rise else
                 f"{far} its lip stands {self.below(hole, centre + lowest)}")
        return hole.downgraded(
            f"its elbow cannot reach its lip: from a centre {self.below(hole, centre)}, {reach}, and its lip is to "
            f"stand {self.below(hole, crest)}"
        )

    def below(self, hole: DrilledHole, level: float) -> str:
        under = hole.panel.rim - level
        return f"{length(abs(under), self.system)} {'below' if under >= 0.0 else 'above'} the rim"


def _middle(value: Uncertain | None) -> float | None:
    return None if value is None else value.middle


def guesses_for(line: tuple[Item, ...]) -> tuple[Bulkhead, ...]:
    """Return the bulkheads of the catalogue that have the bore of the first one in a line, within a millimetre."""
    size = next((item.values.get("size") for item in line if item.kind == "bulkhead"), None)
    if not isinstance(size, Uncertain):
        return ()
    return tuple(one for one in bulkheads().values() if one.least - 1e-3 <= size.middle <= one.bore + 1e-3)
