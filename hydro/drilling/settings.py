"""What is printed for a hole's freedom: at its lowest, as described, at its highest, each with the setting to turn the elbow to.

Heights are rounded inward, to marks of the owner's tape: a hole at a printed end, with the lip set between its two printed
figures, holds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydro.drilling.band import Band
from hydro.drilling.measures import rounded
from hydro.drilling.panels import DrilledHole


@dataclass(frozen=True, slots=True)
class ElbowSetting:
    """A centre and the lip that goes with it, all as lengths below the vessel's rim, m.

    `words` says which it is; `angle` how far the elbow is turned from upright (radians; None where nothing turns); `lowest` and
    `middle` are the lip's lowest point and its middle; `bound` what is worse beyond it. `towards` says to which side centre,
    lowest and middle are to be rounded when they are shown: down (-1), to the nearest (0), up (1).
    """

    words: str
    centre: float
    angle: float | None
    lowest: float
    middle: float
    bound: str = ""
    towards: tuple[int, int, int] = (0, 0, 0)

    @property
    def degrees(self) -> float | None:
        """The angle in degrees."""
        return None if self.angle is None else math.degrees(self.angle)


def settings_of(hole: DrilledHole, band: Band, system: str) -> tuple[ElbowSetting, ...]:
    """Return the settings of a hole: lowest, as described, highest; fewer where its freedom is less than a mark of the tape."""
    rim, made = hole.panel.rim, []
    if band.least is not None and band.most is not None:
        least = rounded(rim - band.least.height, system, -1)
        most = rounded(rim - band.most.height, system, 1)
        if most <= least + 1e-9:
            made = [_at(hole, band, ("lowest hole", -1), least, band.least.row, system),
                    _at(hole, band, ("highest hole", 1), most, band.most.row, system)]
    described = _described(hole)
    return tuple(made) if described is None else (*made[:1], described, *made[1:])


def _described(hole: DrilledHole) -> ElbowSetting | None:
    below, rim = hole.below_rim, hole.panel.rim
    if below is None or hole.lip is None:
        return None
    angle = None
    if hole.elbow is not None:
        over = min(hole.lip - (rim - below), hole.elbow.rise)
        angle = hole.elbow.turned_to(max(over, hole.elbow.lowest(hole.elbow.most)))
    middle = rim - hole.lip if angle is None or hole.elbow is None else below - hole.elbow.middle(angle)
    return ElbowSetting("as described", below, angle, rim - hole.lip, middle)


def _at(hole: DrilledHole, band: Band, end: tuple[str, int], below: float, bound: str, system: str) -> ElbowSetting:
    words, side = end
    rim, angle = hole.panel.rim, None
    if hole.elbow is None:
        assert hole.over is not None
        lowest = middle = below + hole.over
    else:
        angle = hole.elbow.setting(rim - below, band.low.height, band.high.height)
        lowest, middle = below - hole.elbow.lowest(angle), below - hole.elbow.middle(angle)
    # A level lip has one height; it is rounded to the side on which the hole is.
    lips = (side, side) if middle > lowest - 1e-6 else (-1, 1)
    return ElbowSetting(
        words, below, angle, rounded(lowest, system, lips[0]), rounded(middle, system, lips[1]), bound, (side, *lips)
    )
