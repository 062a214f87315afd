"""A small case with values left open, as text."""

TROUGH = """\
title: A trough, where to?
tank: {inside: 120 x 50 x 50 cm, bottom: 90 cm above ground}
sump:
  inside: 80 x 40 x 40 cm
  bottom: at ground
  chambers: [{name: pump, line: 15 cm above sump bottom}]
drains:
  - {name: left, inlet: {standpipe: 50 mm, lip: LIP}, line: [pipe BORE 80 cm], into: {end: 3 cm above sump rim}}
  - {name: right, same as: left}
pump: {curve: [0 L/h = 3 m, 2000 L/h = 2.2 m, 4000 L/h = 0 m]}
returns: [{line: [hose RISER 1.5 m], end: 3 cm above tank rim}]
"""


def trough(lip="8 cm below tank rim", bore="50 PN10", riser="25 mm", more=""):
    """Return the text of a small case with some of its values as given."""
    return TROUGH.replace("LIP", lip).replace("BORE", bore).replace("RISER", riser) + more
