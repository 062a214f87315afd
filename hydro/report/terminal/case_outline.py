"""The sections of a case file with their keys, as they are written: the frame in which the registry's words stand.

    >>> [section.name for section in SECTIONS][:2]
    ['the file', 'tank']
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Outline:
    """A section of a case file: its name, and each key with how it is written; `need` are the keys that must be there."""

    name: str
    keys: dict[str, str]
    need: tuple[str, ...] = ()


DRILLED = {"wall": "glass 12 mm, acrylic 15 mm or plywood 18 mm; what its sides are made of",
           "panels": "{back: {glass: 12 mm, toughened: no}}; sides that are made of something else"}
HOLE = "the hole in a wall it goes through, for the drilling sheet: {in: back, diameter: 60 mm, from left: 25 cm}; "

VESSEL = {"bottom": "62 cm above ground", "lowest opening": "1 cm below tank rim; where water would leave first, else the rim"}

SECTIONS = (
    Outline("the file", {
        "title": "any text", "units": "metric, US or imperial: what the report is shown in",
        "my tape": "4 mm; how far off each tape measure may be", "temperature": "24 °C", "salinity": "35 ppt",
        "tank": "a shape, and the keys of 'tank'", "sump": "a shape, and the keys of 'sump'", "drains": "a list",
        "pump": "one", "returns": "a list", "water": "where no chamber has a 'line'", "wishes": "limits of your own",
        "goals": "{turnover: 3 .. 5 per hour, quiet: yes, survives one blocked drain: yes, holds the power cut: yes}; for 'size'",
        "catalogue": "my-sizes.csv; pipe and hose of your own, beside those of the library",
        "defaults": "{NAME OF A DEFAULT: VALUE}", "notes": "any text; so are lid, heater, circulation pumps, lights, livestock "
        "and weight: kept, not reckoned with"}, ("tank", "sump", "drains", "pump", "returns")),
    Outline("tank", VESSEL | DRILLED, ("bottom",)),
    Outline("sump", VESSEL | {"lowest opening": "1 cm below sump rim", "chambers": "a list, in the order in which the water "
                              "passes; without it the sump is one chamber, with 'line' and 'gear' of its own"}, ("bottom",)),
    Outline("chambers", {
        "name": "any", "length": "40 cm", "at": "85 cm, where it ends, from the wall of the inflow; instead of 'length'",
        "share": "40 %, instead of 'length'", "ends in": "{plate: 30 cm above sump bottom}; the last chamber has none",
        "gear": "2 L, or {volume: 2 L, up to: 12 cm above sump bottom}",
        "line": "16 cm above sump bottom; the water in the pump's chamber, pump running", "same as": "NAME of another one"}),
    Outline("drains", {
        "name": "any", "inlet": "{standpipe: 57 mm, lip: 5 cm below tank rim}; its bore and its rim's height",
        "line": "[pipe 63 PN10 96 cm, elbow 90]; the parts in the order in which the water passes",
        "into": "{chamber: NAME, end: 28 cm above sump bottom}",
        "hole": HOLE + "rise: 45 mm (of an upright elbow's lip over it), from front: 12 cm (in the bottom)",
        "same as": "NAME of another one; other keys written beside it replace the other one's"}, ("inlet", "line", "into")),
    Outline("pump", {
        "name": "any", "chamber": "NAME, else the last", "intake": "6 cm above sump bottom",
        "curve": "[0 L/h = 4.2 m, 3000 L/h = 3.2 m, 6200 L/h = 0 m], or the name of a file of points",
        "box": "{most flow: 5000 L/h, most height: 3.2 m}", "bucket": "[10 L in 14 s at 1.1 m]; filled so high above the water "
        "at the pump", "speed": "80 %", "power": "55 W", "line": "the parts before the returns part"}),
    Outline("returns", {
        "name": "any", "line": "[hose 32 mm 2.1 m]", "end": "11 cm below tank rim; the middle of the mouth",
        "points": "sideways, down or up", "highest point": "5 cm above tank rim", "siphon break": "{hole: 10 mm, at: 10 cm "
        "below tank rim}", "hole": HOLE + "at: 6 cm below tank rim", "same as": "NAME of another one"}, ("line", "end")),
    Outline("water", {"still": "25 cm above sump bottom, all at rest", "total": "900 L"}),
    Outline("wishes", {
        "turnover": "2 .. 6 per hour", "least turnover": "2 per hour", "most turnover": "6 per hour",
        "room at the sump rim": "25 mm", "top-up reservoir": "10 L", "other water": "50 L",
        "count on": "siphon breaks, check valves; what is sure to work in a power cut"}))
"""The pump needs one of 'curve', 'box' and 'bucket'; 'gear' and 'into' have keys of their own, shown in their form."""

SEVERAL = (
    Outline("the file, with several of something", {
        "tanks": "a list; '12 x NAME' for many alike; each may hold its own box, drains and returns",
        "overflow boxes": "a list", "sumps": "a list", "pumps": "a list; '2 x NAME' for several alike side by side",
        "pipes between": "a list, between headers or waters"}),
    Outline("tanks", {
        "box": "an overflow box in it, see 'overflow boxes'", "drains": "a list", "returns": "a list",
        "header": "of '12 x NAME', with a place at each: {name: row, from: PUMP OR HEADER, line: [pipe 50 PN10 3 m], between: "
        "[pipe 50 PN10 65 cm], ring: yes, or the parts that close it}",
        "except": "of '12 x NAME': {7: {bottom: 150 cm above ground}, 9 .. 11: {drains: {overflow: {inlet: {lip: HEIGHT}}}}}"}),
    Outline("overflow boxes", {
        "name": "any", "in": "TANK, where there are several", "bottom": "3 cm above tank bottom; its shape stands beside it",
        "lowest opening": "1 cm below box rim", "over": "{edge: 58 cm, at: 45 mm below tank rim}; what the tank spills over",
        "inside tank": "yes or no; there it takes room of its tank", "same as": "NAME of another one"}, ("bottom", "over")),
    Outline("drains, with several tanks or boxes", {
        "in": "TANK OR BOX, where there are several", "into": "{tank: NAME, end: HEIGHT} or {header: NAME, end: HEIGHT} too"}),
    Outline("pumps", {
        "behind": "HEADER, instead of 'chamber': it draws from another pump's header",
        "into": "HEADER, or {header: NAME, line: [...]} with a line that several share; else one of its own", "off": "yes"}),
    Outline("returns, with several tanks or pumps", {"tank": "NAME", "from": "PUMP OR HEADER"}),
    Outline("pipes between", {
        "name": "any", "from": "HEADER OR PUMP, or {tank: NAME, at: HEIGHT}, {chamber: NAME, at: HEIGHT}", "to": "the same",
        "line": "[pipe 63 PN10 2 m]", "highest point": "5 cm above show rim", "same as": "NAME of another one"},
        ("from", "to", "line")),
    Outline("water, with several pumps", {"chamber": "NAME, one that a pump draws from"}))
"""What files with several tanks, boxes, sumps or pumps may say beside the keys above. 'tank', 'sump' and 'pump' with their `need`
are for single files: there the plural takes their place."""

FORMS = {"inside": "inside: 197 x 99 x 78 cm",
         "taper": "taper: {rim: 60 x 40 cm, bottom: 50 x 32 cm, height: 35 cm, corners: 3 cm}",
         "bucket fill": "bucket fill: [10 L = 47 mm, 20 L = 92 mm], beside it plan: 60 x 40 cm (at the rim) and height: 35 cm"}
"""How the shapes of a vessel are written: their sides stand in products, not one by one."""

HEIGHTS = ("A height says from where: 5 cm below tank rim, 3 cm above lip of NAME. Places: ground, tank bottom, tank rim, tank "
           "water, sump bottom, sump rim, lip of NAME (a drain). With several vessels: NAME bottom, NAME rim, NAME water; in a "
           "box's drains box bottom, box rim, box water. A number may be rough: about 12 cm, 150..170 cm. '2 x elbow 90' stands "
           "for two.")
