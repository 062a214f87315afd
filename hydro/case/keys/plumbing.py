"""Keys of drains, returns, pumps, and of the pipes and headers between them."""

from __future__ import annotations

from hydro.case.keys.model import EXCEPT, NAME, SAME_AS, YES_NO, Key, SectionKeys

_HOLE = "the hole in a wall it goes through, for the drilling sheet: {in: back, diameter: 60 mm, from left: 25 cm}; "
_FORM = "{in: back, diameter: 60 mm, from left: 25 cm}"
_END = "the name of a header or pump, or {tank: NAME, at: HEIGHT}, {chamber: NAME, at: HEIGHT}"

DRAIN = SectionKeys({
    "name": NAME, "inlet": Key("{standpipe: 57 mm, lip: 5 cm below tank rim}; its bore and its rim's height", families=("inlet",),
                               example="{elbow up: 43 mm, lip: HEIGHT}", required=True),
    "line": Key("[pipe 63 PN10 96 cm, elbow 90]; the parts in the order in which the water passes", families=("part",),
                listed=True, example="[pipe 40 PN10 120 cm, elbow 90]", required=True),
    "in": Key(kind="name", several="TANK OR BOX, where there are several"),
    "into": Key("{chamber: NAME, end: 28 cm above sump bottom}", section="into", example="{chamber: NAME, end: HEIGHT}",
                required=True, several="{tank: NAME, end: HEIGHT} or {header: NAME, end: HEIGHT} too"),
    "hole": Key(_HOLE + "rise: 45 mm (of an upright elbow's lip over it), from front: 12 cm (in the bottom)", section="hole",
                example=_FORM, may_name=True),
    "same as": Key("NAME of another one; other keys written beside it replace the other one's", "name"),
    "except": EXCEPT}, "drains", "drains, with several tanks or boxes")

PUMP = SectionKeys({
    "name": NAME, "chamber": Key("NAME, else the last", "name"), "intake": Key("6 cm above sump bottom", "height"),
    "intake bore": Key("50 mm; of its opening, or of its strainer's face", "length", low=0.005, high=1.0, may_name=True),
    "curve": Key("[0 L/h = 4.2 m, 3000 L/h = 3.2 m, 6200 L/h = 0 m], or the name of a file of points", "point", listed=True),
    "box": Key("{most flow: 5000 L/h, most height: 3.2 m}", section="label", example="{most flow: 7000 L/h, most height: 3.8 m}"),
    "bucket": Key("[10 L in 14 s at 1.1 m]; filled so high above the water at the pump", "bucket test", listed=True),
    "speed": Key("80 %", "share", low=0.05, high=1.5, may_name=True), "power": Key("55 W", "power", high=1e5, may_name=True),
    "line": Key("the parts before the returns part", families=("part",), listed=True),
    "behind": Key(kind="name", several="HEADER, instead of 'chamber': it draws from another pump's header"),
    "into": Key(kind="name", section="pump-into", example="{header: NAME, line: [...]}, or the header's name alone",
                several="HEADER, or {header: NAME, line: [...]} with a line that several share; else one of its own"),
    "off": Key(kind="word", choices=YES_NO, several="yes", may_name=True),
    "same as": Key(kind="name", several="NAME of another one"), "except": EXCEPT},
    "pump", "pumps", least_one=("curve", "box", "bucket"), most_one=("chamber", "behind"))

RETURN = SectionKeys({
    "name": NAME, "line": Key("[hose 32 mm 2.1 m]", families=("part", "break"), listed=True, example="[hose 32 mm 2.1 m]",
                              required=True),
    "end": Key("11 cm below tank rim; the middle of the mouth", "height", "LENGTH below tank water", required=True),
    "points": Key("sideways, down or up", "word", choices=("sideways", "down", "up")),
    "highest point": Key("5 cm above tank rim", "height"),
    "siphon break": Key("{hole: 10 mm, at: 10 cm below tank rim}", "none", families=("break",)),
    "hole": Key(_HOLE + "at: 6 cm below tank rim", section="hole", example=_FORM, may_name=True), "same as": SAME_AS,
    "tank": Key(kind="name", several="NAME"), "from": Key(kind="name", several="PUMP OR HEADER"), "except": EXCEPT},
    "returns", "returns, with several tanks or pumps", families=("break",))

PIPE = SectionKeys({
    "name": Key(kind="name", several="any"),
    "from": Key(kind="name", section="pipe-end", example=_END, required=True,
                several="HEADER OR PUMP, or {tank: NAME, at: HEIGHT}, {chamber: NAME, at: HEIGHT}"),
    "to": Key(kind="name", section="pipe-end", example=_END, required=True, several="the same"),
    "line": Key(families=("part",), listed=True, example="[pipe 63 PN10 2 m]", required=True, several="[pipe 63 PN10 2 m]"),
    "highest point": Key(kind="height", several="5 cm above show rim"),
    "same as": Key(kind="name", several="NAME of another one")}, several="pipes between")

INNER = {
    "into": SectionKeys({
        "chamber": Key("NAME of the chamber it ends in", "name"), "tank": Key(kind="name", several="NAME of the tank it ends in"),
        "header": Key(kind="name", several="NAME of the header it ends in"),
        "end": Key("28 cm above sump bottom", "height", "LENGTH above sump bottom", required=True)},
        most_one=("chamber", "tank", "header")),
    "label": SectionKeys({
        "most flow": Key("at no height", "flow", "7000 L/h", required=True, low=1e-7, high=1.0),
        "most height": Key("at no flow", "length", "3.8 m", required=True, low=0.05, high=200.0)}),
    "pump-into": SectionKeys({"header": Key("NAME of the header", "name"),
                              "line": Key("the parts before it, that several share", families=("part",), listed=True)},
                             least_one=("header",)),
    "pipe-end": SectionKeys({
        "tank": Key("NAME of the tank", "name"), "chamber": Key("NAME of the chamber", "name"),
        "at": Key("how high the mouth stands", "height", "LENGTH above tank bottom", required=True)},
        least_one=("tank", "chamber"), most_one=("tank", "chamber")),
    "header": SectionKeys({
        "name": Key("the places along it are 'NAME 1', 'NAME 2' ...", "name"), "from": Key("PUMP OR HEADER", "name"),
        "between": Key("the pipe from each to the next", families=("part",), listed=True, example="[pipe 50 PN10 60 cm]",
                       required=True),
        "line": Key("the pipe to the first", families=("part",), listed=True),
        "ring": Key("yes, or the parts of the pipe that closes the ring", "word", choices=YES_NO, families=("part",),
                    listed=True)})}
"""Sections inside those of drains, pumps, pipes and tanks."""
