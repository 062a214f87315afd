"""What to do about it: the smallest change of each kind that makes a check hold while breaking nothing that held.

`change` (a thing done by so much), `heights`, `holes`, `lines`, `pumps`, `tubs`, `joint` (the changes there are),
`texts` and `writing` (a change in the words of the file), `search` and `proof` (the least mark that does it), `pairs` (two
changes at once), `mending` (a whole build).
"""

from __future__ import annotations

from hydro.search.remedies.change import KINDS, Change, Changed
from hydro.search.remedies.mending import Remedy, RemedyReport, RemedySet, changes_of, failing, find_remedies
from hydro.search.remedies.writing import Edit, applied

__all__ = ["KINDS", "Change", "Changed", "Edit", "Remedy", "RemedyReport", "RemedySet", "applied", "changes_of", "failing",
           "find_remedies"]
