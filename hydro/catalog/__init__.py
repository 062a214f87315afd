"""Tables as data files, each with its source inside; so far the pipe sizes (`pipes.csv`).

    >>> round(find_pipe('1.5 in sch40').bore * 1000, 1)
    40.9
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from hydro.rough import Rough
from hydro.units import UnitProblem, nearest

THICKER_WALL = 0.5e-3
"""A real wall may be this much thicker than the minimum of its standard, in metres (1 in sch 40: 3.38 to 3.89)."""
_FRACTIONS = {"5": "1/2", "25": "1/4", "75": "3/4"}


@dataclass(frozen=True, slots=True)
class PipeSize:
    """A pipe of the catalogue: outside diameter and minimum wall in metres; `standing` is 'read' or 'from memory'."""

    words: str
    outside: float
    wall: float
    standard: str
    standing: str

    @property
    def bore(self) -> float:
        """Bore with the minimum wall, in metres: the widest that the standard allows."""
        return self.outside - 2 * self.wall

    def bore_rough(self) -> Rough:
        """Return the bore as a band, in metres: thickest usual wall to minimum wall; the middle is half way."""
        low = self.bore - 2 * THICKER_WALL
        return Rough(low, (low + self.bore) / 2, self.bore, f"{self.words}: bore", f"{self.standard} ({self.standing})")


@cache
def pipe_sizes() -> dict[str, PipeSize]:
    """Return the catalogue by its words ('40 PN10', '1-1/2 in sch 40'). Read once; treat it as read-only."""
    text = files("hydro.catalog").joinpath("pipes.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if line.strip() and not line.startswith("#"))
    sizes = [PipeSize(row["words"], float(row["outside diameter mm"]) / 1000, float(row["wall mm"]) / 1000,
                      row["standard"], row["standing"]) for row in rows]
    return {size.words: size for size in sizes}


def _key(words: str) -> str:
    """Return one spelling for the ways in which a size is written: '1.5 in sch40', '1 1/2" schedule 40'."""
    key = " ".join(words.casefold()[:60].split())
    for sign, fraction in (("½", " 1/2"), ("¼", " 1/4"), ("¾", " 3/4")):
        key = key.replace(sign, fraction)
    key = re.sub(r'\s*(?:inch(?:es)?\b|in\b|["″”]|\'\')', " in ", key)
    key = re.sub(r"\b(?:schedule|sched\.?|sch\.?)\s*(?=[48])", "sch ", key)
    key = re.sub(r"(?<![0-9.])0?([0-9]?)\.(25|75|5)0?(?![0-9])", lambda m: f"{m[1]} {_FRACTIONS[m[2]]}", key)
    key = re.sub(r"\s*mm\b", " ", key)
    key = re.sub(r"^o?d\s*(?=[0-9])", "", key)
    key = re.sub(r"(?<=[0-9])[ -]+(?=[0-9]+/)", "-", key)
    key = re.sub(r"pn\s*(?=[0-9])", "pn", key).replace("pn", " pn")
    return " ".join(key.split())


def find_pipe(words: str) -> PipeSize:
    """Return the size that the words mean, whatever their case, spaces and way of writing fractions.

    Raises `UnitProblem`, with the nearest size, for one that is not in the catalogue.
    """
    sizes = {_key(name): size for name, size in pipe_sizes().items()}
    found = sizes.get(_key(words))
    if found is None:
        shown = words if len(words) <= 43 else words[:40] + "..."
        closest = nearest(_key(words), sizes)
        raise UnitProblem(f"no pipe size '{shown}'",
                          "a size of the catalogue, such as 40 PN10 or 1-1/2 in sch 40",
                          sizes[closest].words if closest else "")
    return found
