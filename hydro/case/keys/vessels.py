"""Keys of tanks, boxes, sumps and chambers, and of what is drilled into their walls."""

from __future__ import annotations

from hydro.case.keys.model import NAME, SAME_AS, YES_NO, Key, SectionKeys

SMALLEST, LARGEST = 0.02, 30.0
"""Shortest and longest side of a vessel that is believed, m."""
_CUT = 0.005
"""Shortest chamber that is believed, m."""
SIDES = ("back", "left", "right", "front", "bottom")
MATERIALS = ("glass", "acrylic", "plywood")
EDGE = "{edge: 60 cm, at: 6 cm below tank rim}"
WALL = "glass 12 mm, acrylic 15 mm or plywood 18 mm"

SHAPES = {
    "inside": Key("inside: 197 x 99 x 78 cm", "product"),
    "taper": Key("taper: {rim: 60 x 40 cm, bottom: 50 x 32 cm, height: 35 cm, corners: 3 cm}",
                 example="{rim: 60 x 40 cm, bottom: 50 x 32 cm, height: 35 cm, corners: 3 cm}", section="taper"),
    "bucket fill": Key("bucket fill: [10 L = 47 mm, 20 L = 92 mm], beside it plan: 60 x 40 cm (at the rim) and height: 35 cm",
                       "fill", listed=True)}
"""Shapes of a vessel whose sides stand in products, not one by one as the registry has them."""

_BOTTOM = Key("62 cm above ground", "height", "LENGTH above ground", required=True)
_OPENING = "1 cm below tank rim; where water would leave first, else the rim"
_OF_A_FILL = {"plan": Key(kind="product", example="60 x 40 cm", may_name=True),
              "height": Key(kind="length", low=SMALLEST, high=LARGEST, example="35 cm", may_name=True)}
"""Keys beside 'bucket fill'."""
_WALLS = {
    "wall": Key(f"{WALL}; what its sides are made of", "wall", WALL, section="wall", may_name=True),
    "panels": Key("{back: {glass: 12 mm, toughened: no}}; sides that are made of something else",
                  example="{back: {glass: 12 mm, toughened: no}}", section="panels", may_name=True)}

TANK = SectionKeys({
    "bottom": _BOTTOM, "lowest opening": Key(_OPENING, "height"), **_WALLS, **_OF_A_FILL,
    "name": Key(kind="name", several="any; '12 x NAME' for twelve alike"),
    "box": Key(section="box", example=f"{{inside: 60 x 20 x 50 cm, bottom: HEIGHT, over: {EDGE}}}",
               several="an overflow box in it, see 'overflow boxes'"),
    "drains": Key(section="drain", listed=True, several="a list"),
    "returns": Key(section="return", listed=True, several="a list"),
    "header": Key(section="header", example="{name: row, from: PUMP, between: [pipe 50 PN10 60 cm]}",
                  several="of '12 x NAME', with a place at each: {name: row, from: PUMP OR HEADER, line: [pipe 50 PN10 3 m], "
                  "between: [pipe 50 PN10 65 cm], ring: yes, or the parts that close it}"),
    "except": Key(kind="except", several="of '12 x NAME': {7: {bottom: 150 cm above ground}, 9 .. 11: {drains: {overflow: "
                  "{inlet: {lip: HEIGHT}}}}}"),
    "same as": Key(kind="name", several="NAME of another one")}, "tank", "tanks", families=("vessel",))

SUMP = SectionKeys({
    "bottom": _BOTTOM, "lowest opening": Key("1 cm below sump rim", "height"),
    "chambers": Key("a list, in the order in which the water passes; without it the sump is one chamber, with 'line' and 'gear' "
                    "of its own", section="chamber", listed=True),
    **_OF_A_FILL, "gear": Key(kind="volume", high=1e3, section="gear", may_name=True), "line": Key(kind="height", may_name=True),
    "name": Key(kind="name"), "same as": Key(kind="name")}, "sump", families=("vessel",))

CHAMBER = SectionKeys({
    "name": NAME, "length": Key("40 cm", "length", low=_CUT, high=LARGEST),
    "at": Key("85 cm, where it ends, from the wall of the inflow; instead of 'length'", "length", low=_CUT, high=LARGEST),
    "share": Key("40 %, instead of 'length'", "share", low=0.001, high=1.0),
    "ends in": Key("{plate: 30 cm above sump bottom}; the last chamber has none", example="{plate: HEIGHT}",
                   families=("barrier",), section="ends-in"),
    "gear": Key("2 L, or {volume: 2 L, up to: 12 cm above sump bottom}", "volume", high=1e3, section="gear"),
    "line": Key("16 cm above sump bottom; the water in the pump's chamber, pump running", "height"),
    "same as": SAME_AS}, "chambers", most_one=("length", "at", "share"))

BOX = SectionKeys({
    "name": Key(kind="name", several="any"), "in": Key(kind="name", several="TANK, where there are several"),
    "bottom": Key(kind="height", example="LENGTH above ground", required=True,
                  several="3 cm above tank bottom; its shape stands beside it"),
    "lowest opening": Key(kind="height", several="1 cm below box rim"),
    "over": Key(families=("edge",), example=EDGE, required=True,
                several="{edge: 58 cm, at: 45 mm below tank rim}; what the tank spills over"),
    "inside tank": Key(kind="word", choices=YES_NO, several="yes or no; there it takes room of its tank", may_name=True),
    "wall": Key(kind="wall", example=WALL, section="wall", several="as of a tank", may_name=True),
    "panels": Key(section="panels", example=_WALLS["panels"].example, several="as of a tank", may_name=True),
    "same as": Key(kind="name", several="NAME of another one"), **_OF_A_FILL}, several="overflow boxes", families=("vessel",))

INNER = {
    "taper": SectionKeys({
        "rim": Key("length and width at the rim", "product", "60 x 40 cm", required=True),
        "bottom": Key("length and width at the bottom", "product", "60 x 40 cm", required=True),
        "height": Key("from bottom to rim", "length", "35 cm", required=True, low=SMALLEST, high=LARGEST),
        "corners": Key("radius of the corners", "length", high=2.0)}),
    "gear": SectionKeys({"volume": Key("what media and gear take up", "volume", "3 L", required=True, high=1e3),
                         "up to": Key("how high they reach", "height")}),
    "ends-in": SectionKeys({"at": Key("where it stands, from the wall of the inflow", "length", low=_CUT, high=LARGEST)}),
    "panels": SectionKeys({side: Key(WALL, "wall", section="wall") for side in SIDES}),
    "wall": SectionKeys({**{material: Key("its thickness", "length", low=0.002, high=0.1) for material in MATERIALS},
                         "toughened": Key("of glass: toughened panes cannot be drilled", "word", choices=YES_NO)},
                        least_one=MATERIALS, most_one=MATERIALS),
    "hole": SectionKeys({
        "in": Key("the wall", "word", "back", required=True, choices=SIDES),
        "from left": Key("from the inner corner on the left, seen from outside", "length", high=30.0),
        "from front": Key("in the bottom: from the front", "length", high=30.0),
        "diameter": Key("of the cutter", "length", low=0.005, high=0.4), "at": Key("height of its centre", "height"),
        "rise": Key("of an upright elbow's lip over the centre of the hole", "length", high=1.0)})}
"""Sections inside those of vessels and chambers, and the hole of a drain or return."""
