"""A case file that leaves values open -> a short list of designs that hold.

    openings.py      what is open in a text, and the text of each choice        candidates.py    what may stand at an open place
    shapes.py        which numbers each open value drives; topologies           goals.py         what has to hold
    search.py        all designs, or a sample and what lies near the best       figures.py       what they are weighed by
    weighing.py      which none beats, and a short list of them                 sized.py         all together, proved one by one
"""

from __future__ import annotations

from hydro.search.sizing.sized import Design, Sized, find_designs, write_text

__all__ = ["Design", "Sized", "find_designs", "write_text"]
