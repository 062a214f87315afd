"""The pumps have stopped: what comes down, where it goes, by volumes.

Every path of full pipe from a water to a lower one is a siphon until air gets in. A tank falls to the lowest of: the crests
of its drains and of the edges of its boxes, and for each return that is not held back the level at which air gets in (its
hole, or with the hole plugged its mouth's lowest point). A box falls to its lowest standpipe. What comes down:

    water over those heights  +  water held in the drains  +  contents of the lines that are not held

A siphon-break hole below the mouth, or with the check valve behind it, lets water in instead of air and counts as a mouth.
A holding check valve takes out only the path through it: two tanks on one header still siphon into each other.

It fills each sump from the levels its chambers had while running; walls hold back what stands below their crests, and go
under when the water tops them. A sump takes all that comes, also over its opening: the room left is then below nothing. What
goes over a tank's rim is counted on the floor. Where water may go to one sump or to another, each is judged as if all of it
came there.
Not modelled: the film on walls, the swing of levels while it settles (some millimetres), the time that it takes.

    passages.py       the ways out of every water          settling.py         water moves until nothing moves
    outlets.py        the outlets of a header, by height   line_contents.py    what runs out of lines
    rest.py           all of that together                 sumps.py            what sumps hold
    power_cut.py      the answer; a loop at rest           drawdown_limits.py  what ends the fall of one tank
    refilling.py      the power back: drowned drain ends
"""

from hydro.shutdown.drawdown_limits import holds_back, open_holes, runs_back, siphon_paths, tank_stop
from hydro.shutdown.line_contents import drains_run_out
from hydro.shutdown.passages import drain_stop, passages_of
from hydro.shutdown.power_cut import Shutdown, shut_down, still_volume, tank_begins, worst_shutdown
from hydro.shutdown.refilling import Refilling, Start, most_sealed, sealed_in
from hydro.shutdown.rest import RESTS
from hydro.shutdown.sumps import chamber_levels, crests_held, level_for, lowest_opening, open_water, room_at_rest, sump_volume

__all__ = [
           "RESTS",
           "Refilling",
           "Shutdown",
           "Start",
           "chamber_levels",
           "crests_held",
           "drain_stop",
           "drains_run_out",
           "holds_back",
           "level_for",
           "lowest_opening",
           "most_sealed",
           "open_holes",
           "open_water",
           "passages_of",
           "room_at_rest",
           "runs_back",
           "sealed_in",
           "shut_down",
           "siphon_paths",
           "still_volume",
           "sump_volume",
           "tank_begins",
           "tank_stop",
           "worst_shutdown",
]
