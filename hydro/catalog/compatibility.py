"""What goes together without an adaptor, and what only looks as if it did.

Sizes of two standards come close enough to be forced and never close enough to hold: 50 mm and 1-1/2 in (48.3 mm outside),
63 mm and 2 in (60.3 mm), hose of 25 mm and of 1 in (25.4 mm). A joint that was forced, or filled with cement, lets go later with
the water behind it.
"""

from __future__ import annotations

from functools import cache

from hydro.catalog.records import Family, Joined
from hydro.catalog.shelf import families, read_shelf

PLAIN = "an adaptor"
"""The fitting between two families, where neither asks for a certain one."""
UNKNOWN = Family("unknown standard", "", "outside", False, PLAIN, "not known")
"""What a size belongs to whose standard is in no table."""


@cache
def _pairs() -> dict[frozenset[str], tuple[str, str]]:
    return {frozenset((row["first"], row["second"])): (row["joint"], row["words"]) for row in read_shelf("fits.csv")}


def family_of(size: Joined) -> Family:
    """Return the family that a size or a bulkhead belongs to; `UNKNOWN` for an owner's size of a standard that is in no table."""
    return families().get(size.family, UNKNOWN)


def adaptor(first: Joined, second: Joined) -> str | None:
    """Return in words what a joint between two sizes needs; None where they go together in ordinary fittings of one standard.

    A step in size within a family is an ordinary reducer and needs no adaptor. Where a standard is not known, the words say so.

        >>> from hydro.catalog import find_pipe
        >>> adaptor(find_pipe('63 PN10'), find_pipe('2 in sch 40'))
        'an adaptor is needed: 63 mm outside (metric pressure) does not fit 60.3 mm outside (US inch pressure)'
        >>> adaptor(find_pipe('63 PN10'), find_pipe('50 PN16')) is None
        True
    """
    one, other = family_of(first), family_of(second)
    if first.family and first.family == second.family:
        return None
    both = f"{first.across} ({one.name})", f"{second.across} ({other.name})"
    if UNKNOWN in (one, other):
        return f"an adaptor may be needed: {both[0]} meets {both[1]}, try the fittings dry"
    joint, words = _pairs().get(frozenset((one.name, other.name)), ("adaptor", _between(one, other)))
    if joint == "direct":
        return None
    if joint == "dry fit":
        return f"an adaptor may be needed: {both[0]} meets {both[1]}, {words}"
    return f"{words} is needed: {both[0]} does not fit {both[1]}"


def _between(one: Family, other: Family) -> str:
    """Return the fitting between two families: the one that either asks for."""
    return next((family.adaptor for family in (one, other) if family.adaptor != PLAIN), PLAIN)
