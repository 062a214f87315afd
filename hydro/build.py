"""The build as its owner describes it: frozen records in SI units, heights still tied to their place.

Nothing here computes. `hydro.case` makes a `Build` from a file, a test can make one by hand, `hydro.plumbing` turns it
into a network of waters and links. What an inlet, a part of a line or the end of a chamber is, only its element knows
(`hydro.elements`): here it is an `Item`, the element's word with the values written behind it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from hydro.rough import Rough


@dataclass(frozen=True, slots=True)
class Height:
    """A height as a tape gives it: so much above (positive) or below (negative) a named place.

    Places: 'ground', 'tank bottom', 'tank rim', 'tank water', 'sump bottom', 'sump rim', 'lip of NAME' (a drain).
    'tank water' is the tank's level with the pump running.
    """

    offset: Rough
    place: str


Value = Rough | Height | str | tuple["Value", ...]


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
class Vessel:
    """A tank or sump. `shape` is an item of kind 'inside', 'taper' or 'bucket fill' (see `hydro.elements.waters`).

    `lowest_opening` is where it spills first (a cable notch, a hole, else the rim); `approximate` marks a box 'about'.
    """

    name: str
    shape: Item
    bottom: Height
    lowest_opening: Height | None = None
    approximate: bool = False


@dataclass(frozen=True, slots=True)
class Chamber:
    """A part of the sump, in the order in which the water passes.

    `length` runs along the sump, or `at` says where the chamber ends, from the wall where the water comes in; the last
    chamber may leave both None and takes what is left. `share` (0 to 1 of the sump) stands instead where a sump's length is
    not known. `end` is the plate, slot or mat the chamber ends in, None for the last. `gear` is the volume of media and
    equipment in it; `gear_top` how high that reaches (None: the sump's rim).
    """

    name: str
    length: Rough | None = None
    at: Rough | None = None
    share: Rough | None = None
    end: Item | None = None
    gear: Rough | None = None
    gear_top: Height | None = None


@dataclass(frozen=True, slots=True)
class Drain:
    """An overflow: inlet in the tank, line, and its lower end in a chamber of the sump."""

    name: str
    inlet: Item
    line: tuple[Item, ...]
    chamber: str
    end: Height


@dataclass(frozen=True, slots=True)
class Return:
    """A line that ends in the tank. `end` is the centre of its mouth, `points` 'sideways', 'down' or 'up'.

    `hole` is the siphon break: an item of kind 'siphon break', None where there is none. Where the hole is drilled along
    the line, an item of kind 'siphon break' without values stands in `line`; without one it is taken to sit at the mouth.
    `highest` is the line's highest point where that is not its end: the pump must reach it to start.
    """

    name: str
    line: tuple[Item, ...]
    end: Height
    points: str = "sideways"
    hole: Item | None = None
    highest: Height | None = None


@dataclass(frozen=True, slots=True)
class BucketTest:
    """A timed bucket: `volume` (m3) filled in `time` (s) with the hose held `height` (m) above the water at the pump."""

    volume: Rough
    time: Rough
    height: Rough


@dataclass(frozen=True, slots=True)
class Pump:
    """The return pump: any of curve points (flow m3/s, head m), box label, bucket tests, and the line all returns share.

    `power` in watts; `speed` as a share of full speed; `intake` the level at which it draws air.
    """

    name: str
    chamber: str
    intake: Height
    curve: tuple[tuple[float, float], ...] = ()
    most_flow: Rough | None = None
    most_height: Rough | None = None
    tests: tuple[BucketTest, ...] = ()
    speed: Rough | None = None
    power: Rough | None = None
    line: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class GivenWater:
    """How much water there is: kind 'line' (pump chamber, running), 'still' (pump chamber, all at rest) or 'total' (m3)."""

    kind: str
    level: Height | None = None
    total: Rough | None = None


@dataclass(frozen=True, slots=True)
class Build:
    """One tank on one sump, as described. `overrides` replaces defaults by name; `wishes` are limits the owner sets.

    Names in `wishes`: 'least turnover' and 'most turnover' (1/s), 'room at the sump rim' (m), 'top-up reservoir' (m3),
    'other water' (m3, counted in 'all the water' only). `counts_on` lists what the owner wants counted as working in a power
    cut: 'siphon breaks', 'check valves'; nothing by default. `units` is 'metric', 'US' or 'imperial' and rules display only;
    `salinity` is in g/kg, `temperature` in kelvin.
    """

    title: str
    tank: Vessel
    sump: Vessel
    chambers: tuple[Chamber, ...]
    drains: tuple[Drain, ...]
    returns: tuple[Return, ...]
    pump: Pump
    water: GivenWater
    overrides: Mapping[str, Rough] = field(default_factory=dict)
    wishes: Mapping[str, Rough] = field(default_factory=dict)
    temperature: Rough | None = None
    salinity: Rough | None = None
    tape: float = 0.0
    counts_on: tuple[str, ...] = ()
    units: str = "metric"
    notes: tuple[str, ...] = ()
    file: str = ""
