"""The build as its owner describes it: frozen records in SI units, heights still tied to their place.

Nothing here computes. `hydro.case` makes a `Build` from a file, `hydro.network.assembly` turns it into waters and links. What an
inlet, a part of a line or the end of a chamber is, only its element knows: here it is an `Item`, a word with what stands behind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from hydro.quantities.uncertain import Uncertain


@dataclass(frozen=True, slots=True)
class Height:
    """A height as a tape gives it: so much above (positive) or below (negative) a named place.

    Places: 'ground', 'lip of NAME' (a drain), and 'NAME bottom', 'NAME rim' of every vessel, 'NAME water' of a tank or box:
    its level with the pumps running. Where there is one of each, they are called 'tank' and 'sump'.
    """

    offset: Uncertain
    place: str


Value = Uncertain | Height | str | tuple["Value", ...]


@dataclass(frozen=True, slots=True)
class Item:
    """One element as described: `kind` is its word in the element registry, `values` what was written behind it.

    `text` is what stands in the file, to be shown to its author; `label` the name results carry ('drain left: elbow 90').
    """

    kind: str
    values: Mapping[str, Value] = field(default_factory=dict)
    text: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Wall:
    """What a side (back, left, right, front, bottom; '' for all not named) is of; `toughened` is 'yes', 'no', '' if not said."""
    side: str
    material: str
    thickness: Uncertain | None = None
    toughened: str = ""


@dataclass(frozen=True, slots=True)
class WallHole:
    """A hole to drill: cutter, centre from left and front, `at` a height, upright lip's `rise` over it; None: not measured."""
    side: str
    diameter: Uncertain | None = None
    left: Uncertain | None = None
    front: Uncertain | None = None
    at: Height | None = None
    rise: Uncertain | None = None


@dataclass(frozen=True, slots=True)
class Vessel:
    """A tank, box or sump. `shape` is an item of kind 'inside', 'taper' or 'bucket fill' (see `hydro.elements.waters`).

    `lowest_opening` is where it spills first (a notch, else the rim); `approximate` marks a box 'about'; `walls`: of what.
    """

    name: str
    shape: Item
    bottom: Height
    lowest_opening: Height | None = None
    approximate: bool = False
    walls: tuple[Wall, ...] = ()


@dataclass(frozen=True, slots=True)
class Chamber:
    """A part of the sump, in the order in which the water passes.

    `length` runs along the sump, or `at` says where the chamber ends, from the wall where the water comes in; the last
    chamber may leave both None and takes what is left. `share` (0 to 1 of the sump) stands instead where a sump's length is
    not known. `end` is the plate, slot or mat the chamber ends in, None for the last. `gear` is the volume of media and
    equipment in it; `gear_top` how high that reaches (None: the sump's rim).
    """

    name: str
    length: Uncertain | None = None
    at: Uncertain | None = None
    share: Uncertain | None = None
    end: Item | None = None
    gear: Uncertain | None = None
    gear_top: Height | None = None


@dataclass(frozen=True, slots=True)
class Sump:
    """A vessel below, cut into chambers."""

    vessel: Vessel
    chambers: tuple[Chamber, ...]

    @property
    def name(self) -> str:
        """The vessel's name."""
        return self.vessel.name


@dataclass(frozen=True, slots=True)
class Box:
    """An overflow box: a water that a tank spills into over `edge` (an item of the family 'edge'); `inside`: in its tank."""

    vessel: Vessel
    tank: str
    edge: Item
    inside: bool | None = None

    @property
    def name(self) -> str:
        """The vessel's name."""
        return self.vessel.name


@dataclass(frozen=True, slots=True)
class Drain:
    """An overflow: inlet in a tank or box, line, and its lower end in a chamber, in another tank, or in a header it shares.

    A tank stands here for everything that is filled from above and spills, a filter over the sump too; `drilled`: its hole.
    """

    name: str
    inlet: Item
    line: tuple[Item, ...]
    into: str
    end: Height
    tank: str = "tank"
    drilled: WallHole | None = None


@dataclass(frozen=True, slots=True)
class Return:
    """A line that ends in the tank. `end` is the centre of its mouth, `points` 'sideways', 'down' or 'up'.

    `hole` is the siphon break: an item of kind 'siphon break', None where there is none. Where the hole is drilled along
    the line, an item of kind 'siphon break' without values stands in `line`; without one it is taken to sit at the mouth.
    `highest` is the line's highest point where that is not its end: the pump must reach it to start.
    `source` is the pump or header that feeds it ('': the only pump), `drilled` the hole in a wall that it goes through.
    """

    name: str
    line: tuple[Item, ...]
    end: Height
    points: str = "sideways"
    hole: Item | None = None
    highest: Height | None = None
    tank: str = "tank"
    source: str = ""
    drilled: WallHole | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A pipe between two places: headers, or waters in which its mouths stand at `start_at` and `finish_at`.

    Between headers it makes a manifold or a ring; between two waters an equaliser, or over a rim (`highest`) a siphon tube.
    """

    name: str
    start: str
    finish: str
    line: tuple[Item, ...]
    start_at: Height | None = None
    finish_at: Height | None = None
    highest: Height | None = None


@dataclass(frozen=True, slots=True)
class BucketTest:
    """A timed bucket: `volume` (m3) filled in `time` (s) with the hose held `height` (m) above the water at the pump."""

    volume: Uncertain
    time: Uncertain
    height: Uncertain


@dataclass(frozen=True, slots=True)
class Pump:
    """A pump: any of curve points (flow m3/s, head m), box label, bucket tests, and the line all it feeds share.

    `chamber` is where it draws from: a chamber, or a header for a pump behind another one. `header` is what it pushes into
    where several pumps share one ('': its own). `power` in watts; `speed` as a share of full speed; `intake` the level at
    which it draws air, `intake_bore` that of its opening or strainer face, None where not measured. `off`: it stands still."""

    name: str
    chamber: str
    intake: Height
    curve: tuple[tuple[float, float], ...] = ()
    most_flow: Uncertain | None = None
    most_height: Uncertain | None = None
    tests: tuple[BucketTest, ...] = ()
    speed: Uncertain | None = None
    power: Uncertain | None = None
    line: tuple[Item, ...] = ()
    header: str = ""
    off: bool = False
    intake_bore: Uncertain | None = None


@dataclass(frozen=True, slots=True)
class GivenWater:
    """How much water there is: kind 'line' (pump chamber, running), 'still' (pump chamber, all at rest) or 'total' (m3).

    `chamber` is the chamber whose level is meant; '' for the first pump's.
    """

    kind: str
    level: Height | None = None
    total: Uncertain | None = None
    chamber: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Things described once and built several times over, in order: what is said of one is folded over all of them."""

    name: str
    members: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Build:
    """Tanks on sumps, as described. `overrides` replaces defaults by name; `wishes` are limits the owner sets.

    `groups` holds the tanks, drains and returns that were described once for several ('12 x tank').

    Names in `wishes`: 'least turnover' and 'most turnover' (1/s), 'room at the sump rim' (m), 'top-up reservoir' (m3),
    'other water' (m3, counted in 'all the water' only). `counts_on` lists what the owner wants counted as working in a power
    cut: 'siphon breaks', 'check valves'; nothing by default. `units` is 'metric', 'US' or 'imperial' and rules display only;
    `salinity` is in g/kg, `temperature` in kelvin.
    """

    title: str
    tanks: tuple[Vessel, ...]
    sumps: tuple[Sump, ...]
    drains: tuple[Drain, ...]
    returns: tuple[Return, ...]
    pumps: tuple[Pump, ...]
    water: GivenWater
    overrides: Mapping[str, Uncertain] = field(default_factory=dict)
    wishes: Mapping[str, Uncertain] = field(default_factory=dict)
    temperature: Uncertain | None = None
    salinity: Uncertain | None = None
    tape: float = 0.0
    counts_on: tuple[str, ...] = ()
    units: str = "metric"
    notes: tuple[str, ...] = ()
    file: str = ""
    boxes: tuple[Box, ...] = ()
    runs: tuple[Run, ...] = ()
    groups: tuple[Group, ...] = ()

    @property
    def vessels(self) -> tuple[Vessel, ...]:
        """Every vessel: tanks, boxes, sumps."""
        return (*self.tanks, *(box.vessel for box in self.boxes), *(sump.vessel for sump in self.sumps))

    @property
    def chambers(self) -> tuple[Chamber, ...]:
        """The chambers of all sumps."""
        return tuple(chamber for sump in self.sumps for chamber in sump.chambers)

    @property
    def lines(self) -> tuple[tuple[Item, ...], ...]:
        """Every line described: drains, pumps, returns, runs."""
        return (*(drain.line for drain in self.drains), *(pump.line for pump in self.pumps),
                *(described.line for described in self.returns), *(run.line for run in self.runs))

    @property
    def one(self) -> bool:
        """Whether this is one tank on one sump with one pump: what is said then needs no names."""
        return len(self.tanks) == len(self.sumps) == len(self.pumps) == 1 and not self.boxes and not self.runs

    @property
    def tank(self) -> Vessel:
        """The only tank; ValueError where there are several."""
        tank, = self.tanks
        return tank

    @property
    def sump(self) -> Vessel:
        """The only sump; ValueError where there are several."""
        sump, = self.sumps
        return sump.vessel

    @property
    def pump(self) -> Pump:
        """The only pump; ValueError where there are several."""
        (pump,) = self.pumps
        return pump
