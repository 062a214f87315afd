"""Ends of hoses_in that hang outside the sump once the hose has come off: which there are, and what lies behind them.

| hose | open end | what runs out of it besides |
|---|---|---|
| pump's line or return, its upper end, only fittings between it and one mouth | at the tank's rim, over the water | nothing |
| any other end on the pressure side | below the water | what siphons back through all that lies behind it |
| drain, either end | below the tank | nothing |

A hose's end at a pump that stands in water is none of them: it pours into that water (`hydro.elements.loose_hose`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from hydro.elements.loose_hose import hoses_in, rigid
from hydro.elements.siphon_tube import SiphonTube
from hydro.network.manifolds import downstream
from hydro.network.model import Network
from hydro.network.paths import is_pipe

COMES_OFF = "comes off"
UPPER_END, LOWER_END = f"{COMES_OFF} at its upper end", f"{COMES_OFF} at its lower end"


@dataclass(frozen=True, slots=True)
class LooseEnd:
    """An end of a hose that hangs loose: place of its link, of the hose among the parts, its label, which end it is.

    `at_rim` says that it hangs over the water, so that nothing siphons out of the tank.
    """

    link: int
    part: int
    label: str
    words: str
    at_rim: bool = False

    @property
    def lower(self) -> bool:
        """Whether it is the hose's lower end, towards the pump."""
        return self.words == LOWER_END


def loose_ends(network: Network) -> Iterator[LooseEnd]:
    """Yield the ends of all hoses_in outside the sump, upper ends first of each; siphon tubes between waters are left out."""
    for k, link in enumerate(network.links):
        if not hasattr(link.element, "line") or isinstance(link.element, SiphonTube):
            continue
        for part, label in hoses_in(link.element.line):
            if k in network.drains:
                yield LooseEnd(k, part, label, COMES_OFF)
                continue
            yield LooseEnd(k, part, label, UPPER_END, _at_rim(network, k, part))
            stands_in_water = float(getattr(link.element, "leaving", 0.0)) > 0.0
            if not stands_in_water or rigid(link.element.line, 0, part):
                yield LooseEnd(k, part, label, LOWER_END)


def _at_rim(network: Network, k: int, part: int) -> bool:
    """Whether nothing but fittings lies between the upper end of a hose and the tank, and one mouth only."""
    beyond = [network.links[n].element for n in downstream(network, k) - {k} if is_pipe(network, n)]
    mouths = [element for element in (network.links[k].element, *beyond) if getattr(element, "end", None) is not None]
    return len(mouths) == 1 and not rigid(network.links[k].element.line, part + 1) and not any(one.line.pipes for one in beyond)
