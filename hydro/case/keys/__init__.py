"""The one table of the keys of a case file, section by section.

The readers take each key's kind, bounds, choices and example from it, and refuse to ask for a key that is not in it; `sumpwright
words` prints it; `hydro.case.schema` makes the JSON Schema for editors of it. Words of elements are not in it: they and their
fields come from `hydro.elements.registry`.

    >>> SECTIONS["chamber"]["length"].kind
    'length'
"""

from __future__ import annotations

from hydro.case.keys import plumbing, vessels, whole_file
from hydro.case.keys.model import ALIKE, ANY_KEYS, ENTRY, Key, SectionKeys

__all__ = ["ALIKE", "ANY_KEYS", "ENTRY", "SECTIONS", "Key", "SectionKeys"]

SECTIONS: dict[str, SectionKeys] = {
    "file": whole_file.FILE, "tank": vessels.TANK, "sump": vessels.SUMP, "chamber": vessels.CHAMBER, "box": vessels.BOX,
    "drain": plumbing.DRAIN, "pump": plumbing.PUMP, "return": plumbing.RETURN, "pipe": plumbing.PIPE, "water": whole_file.WATER,
    "wishes": whole_file.WISHES, "goals": whole_file.GOALS, **vessels.INNER, **plumbing.INNER}
"""Every section by the word that `Key.section` calls it by, in the order in which `words` prints them."""
