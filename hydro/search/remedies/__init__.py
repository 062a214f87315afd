"""What to do about it: the smallest change of each kind that makes a check hold while breaking nothing that held.

`change` (a thing done by so much), `heights`, `holes`, `lines`, `drains`, `pumps`, `tubs`, `joint` (the changes there are),
`texts`, `entries` and `writing` (a change in the words of the file), `search` and `proof` (the least mark that does it), `pairs`
(two changes at once), `measures` (what to know better instead), `remedy` (what is found), `mending` (a whole build).
"""

from __future__ import annotations

from hydro.search.remedies.change import KINDS, Change, Changed
from hydro.search.remedies.measures import Measure
from hydro.search.remedies.mending import changes_of, failing, find_remedies
from hydro.search.remedies.remedy import Remedy, RemedyReport, RemedySet, Step
from hydro.search.remedies.writing import Edit, WholeLine, applied, pasted

__all__ = ["KINDS", "Change", "Changed", "Edit", "Measure", "Remedy", "RemedyReport", "RemedySet", "Step", "WholeLine", "applied",
           "changes_of", "failing", "find_remedies", "pasted"]
