"""From the words of a case file to a size of the catalogue, and back from a bore that was read to the size it came from."""

from __future__ import annotations

import re
from functools import cache

from hydro.catalog.records import PipeSize
from hydro.catalog.shelf import pipe_sizes, waste_pipes
from hydro.quantities.parsing import UnitProblem, nearest
from hydro.quantities.uncertain import Uncertain

_FRACTIONS = {"5": "1/2", "25": "1/4", "75": "3/4"}
_STANDARDS = (
    (r"\b(?:bs )?(?:en )?iso 1452(?: ?- ?2)?\b|\b(?:bs )?en 1452(?: ?- ?2)?\b", " en "),
    (r"\b(?:bs )?en 1329(?: ?- ?1)?\b", " en 1329 "),
    (r"\bdin(?: 8062)?\b|\bastm(?: d ?1785)?\b|\bbs 3505\b", " "),
    (r"\b(?:waste )?solvent(?:[ -]weld)?(?: waste)?\b", " solvent waste "),
    (r"\b(?:waste )?push[ -]?fit(?: waste)?\b", " push-fit waste "),
)
"""How standards are written, and how the catalogue writes them."""
_WASTE_INCHES = (("1-1/4 in", "32"), ("1-1/2 in", "40"), ("2 in", "50"))
"""British waste pipe by its inch name."""


def key(words: str) -> str:
    """Return one spelling for the ways in which a size is written: '1.5 in sch40', '1 1/2" schedule 40', '40 PN10 DIN 8062'."""
    spelt = " ".join(words.casefold()[:60].split())
    for pattern, plain in _STANDARDS:
        spelt = re.sub(pattern, plain, spelt)
    for sign, fraction in (("½", " 1/2"), ("¼", " 1/4"), ("¾", " 3/4")):
        spelt = spelt.replace(sign, fraction)
    spelt = re.sub(r'\s*(?:inch(?:es)?\b|in\b|["″”]|\'\')', " in ", spelt)
    spelt = re.sub(r"\b(?:schedule|sched\.?|sch\.?)\s*(?=[48])", "sch ", spelt)
    spelt = re.sub(r"(?<![0-9.])0?([0-9]?)\.(25|75|5)0?(?![0-9])", lambda m: f"{m[1]} {_FRACTIONS[m[2]]}", spelt)
    spelt = re.sub(r"\s*mm\b", " ", spelt)
    spelt = re.sub(r"^o?d\s*(?=[0-9])", "", spelt)
    spelt = re.sub(r"(?<=[0-9])[ -]+(?=[0-9]+/)", "-", spelt)
    spelt = re.sub(r"pn\s*(?=[0-9])", "pn", spelt).replace("pn", " pn")
    spelt = " ".join(spelt.split())
    if spelt.endswith("waste"):
        for inches, nominal in _WASTE_INCHES:
            if spelt.startswith(f"{inches} "):
                spelt = nominal + spelt.removeprefix(inches)
    return spelt


@cache
def _by_key() -> dict[str, PipeSize]:
    return {key(words): size for words, size in (pipe_sizes() | waste_pipes()).items()}


@cache
def _by_bore() -> dict[tuple[float, float, float, str], PipeSize]:
    bands = [(size.bore_rough(), size) for size in (pipe_sizes() | waste_pipes()).values()]
    return {(band.low, band.middle, band.high, band.source): size for band, size in bands}


def find_pipe(words: str) -> PipeSize:
    """Return the size that the words mean, whatever their case, spaces and way of writing fractions and standards.

    Raises `UnitProblem`, with the nearest size, for one that is not in the catalogue, and for 'waste' that does not say which.
    """
    sought, sizes = key(words), _by_key()
    found = sizes.get(sought)
    if found is None:
        shown = words if len(words) <= 43 else words[:40] + "..."
        kinds = _wastes(sought)
        if kinds:
            which = ", ".join(f"{size.words} ({size.across})" for size in kinds)
            raise UnitProblem(f"'{shown}' does not say which waste pipe", f"one of {which}", kinds[0].words)
        closest = nearest(sought, sizes)
        raise UnitProblem(f"no pipe size '{shown}'",
                          "a size of the catalogue, such as 40 PN10 or 1-1/2 in sch 40",
                          sizes[closest].words if closest else "")
    return found


def _wastes(sought: str) -> list[PipeSize]:
    """Return the waste pipes that a bare '40 waste' may mean; none for other words."""
    match = re.fullmatch(r"(?P<nominal>.+?) waste(?: pipe)?", sought)
    nominal = dict(_WASTE_INCHES).get(match["nominal"], match["nominal"]) if match else None
    return [size for size in waste_pipes().values() if size.words.split()[0] == nominal]


def size_of(bore: Uncertain) -> PipeSize | None:
    """Return the size of the catalogue that a bore was read from, None where it was not: a number of its own is no size.

    Told by the whole band and the source, which `PipeSize.bore_rough` gives and a new name leaves as they are.
    """
    return _by_bore().get((bore.low, bore.middle, bore.high, bore.source))
