"""The drilling sheet: which holes, where, how near to an edge they may come, how much freedom their height has, a 1:1 template.

`elbow` (how far a turned elbow's lip reaches), `panels` (walls and the holes in them), `rules` (clearances), `band` (heights of
a hole from which some setting holds every check), `sheet` (all of it for a build), `work` (words on how it is done),
`panel_drawing` (to scale), `tiles`, `paper` and `template` (1:1, as PDF or SVG), `measures` (lengths in both systems).

Whatever is not known is asked for, never made up; what breaks a rule or cannot reach its lip is not given at all.
"""
