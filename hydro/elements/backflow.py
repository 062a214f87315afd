"""Water that comes back up through a drain: the line full of water, out of the inlet over its own edge.

    q < 0    r = max(up, crest + H_weir(-q)) - max(down, end) - loss(q)          max rounded over 0.2 and 1 mm

A drain is a pipe: where its lower end can stand under more head than its lip is high (it ends in a header that other drains or
pumps feed, or in a water whose rim lies over the lip), it also runs backwards. H_weir is the inlet's edge law, used outward: no
source; the jet of large flows is left out, which is low by some centimetres at 1 m/s. Losses count as they do downward, a check
valve holds.

As long as `down` is under the lip and under the line's end nothing comes back (SHUT): a dry drain does not leak, and a line that
ends free in the air has no water to take. The way opens over the first millimetre of head over the lip.
Range of validity: the line full of water; H_weir above some 5 mm. The water that fills the line is not counted as held.

    >>> from hydro.elements.fittings import LocalLoss
    >>> from hydro.elements.line import Line
    >>> from hydro.elements.rim import Rim
    >>> rim, line = Rim.of(1.0, 0.057, 0.050, 0.53, 0.606), Line.of([LocalLoss.of(3.0, 0.050)])
    >>> abs(coming_back(rim, line, 0.8, -4000 / 3.6e6, 0.7, 1.0741)[0]) < 2e-4       # 4000 L/h come up under 74 mm over the lip
    True
"""

from __future__ import annotations

from hydro.elements.inlet import Inlet
from hydro.elements.line import Line, air_at_mouth, mouth
from hydro.quantities.arrays import Number, greater, smooth_max

CORNER = 2e-4
"""Width over which the water over an inlet and its edge take turns, m."""
RISEN = 5e-4
"""Half the head over the lip (m) on whose way a closed line opens to water that comes back."""


def coming_back(inlet: Inlet, line: Line, end: Number, q: Number, up: Number, down: Number,
                ) -> tuple[Number, Number, Number, Number]:
    """Return r in m and its slopes for q <= 0 (m3/s); `end` is the height of the line's lower end, levels above the datum, m."""
    over, over_rise = inlet.weir_head(-q)
    upper, by_up, by_edge = smooth_max(up, inlet.crest + over, CORNER)
    lost, rise = line.loss(q)
    level, drowned = mouth(down, end)
    held, bar, by_down = air_at_mouth(q, down, greater(inlet.crest + RISEN, end), RISEN)
    return upper - level - lost - held, -by_edge * over_rise - rise - bar, by_up, -drowned - by_down
