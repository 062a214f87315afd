"""What a side view shows: vessels, water, marks at their heights, pipes. Heights in m above the ground, no paper yet."""

from __future__ import annotations

from dataclasses import dataclass

TANK, BOX, SUMP = "tank", "box", "sump"
LEFT, RIGHT = "left", "right"
DRAIN, RETURN = "drain", "return"


@dataclass(frozen=True, slots=True)
class DrawnVessel:
    """A tank, box or sump. `shares` are the widths of its chambers as shares of its own, `chambers` their names;
    `inside` is the tank a box stands in."""

    key: str
    name: str
    kind: str
    bottom: float
    rim: float
    shares: tuple[float, ...] = (1.0,)
    inside: str = ""
    chambers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """Something at a height: `kind` says how it is drawn, `words` what it is called, `lines` what else stands in its label.

    `vessel` and `chamber` say where, `at` where in the chamber's width (0 to 1). `side` is the column of its label; '' draws it
    without one.
    """

    kind: str
    words: str
    height: float
    vessel: str
    lines: tuple[str, ...] = ()
    side: str = LEFT
    chamber: int = 0
    at: float = 0.5
    floor: float | None = None


@dataclass(frozen=True, slots=True)
class End:
    """Where a pipe ends: in a vessel's chamber at a share of its width, at a height; a vessel of '' is not drawn."""

    vessel: str
    chamber: int
    at: float
    height: float


@dataclass(frozen=True, slots=True)
class DrawnPipe:
    """A pipe: a drain from its lip to its end, or a return from the pump's intake to its mouth."""

    kind: str
    name: str
    start: End
    finish: End
    blocked: bool = False


@dataclass(frozen=True, slots=True)
class Scene:
    """A side view. Marks of the kind 'water' are filled down to the floor of their chamber."""

    title: str
    description: str
    vessels: tuple[DrawnVessel, ...]
    marks: tuple[DrawnMark, ...]
    pipes: tuple[DrawnPipe, ...] = ()

    @property
    def top(self) -> float:
        """The greatest height that is drawn, m."""
        return max([*(vessel.rim for vessel in self.vessels), *(mark.height for mark in self.marks)], default=1.0)

    @property
    def foot(self) -> float:
        """The least height that is drawn, m; the ground at the most."""
        return min([0.0, *(vessel.bottom for vessel in self.vessels), *(mark.height for mark in self.marks)])

    def vessel(self, key: str) -> DrawnVessel:
        """Return a vessel by its key; KeyError if there is none."""
        for one in self.vessels:
            if one.key == key:
                return one
        raise KeyError(key)
