"""Words that go with every drilling sheet: the warning about toughened glass, the order of work, what the sheet does not know.

All of it is common practice without a source, and says so where it is printed. None of it is a promise.
"""

from __future__ import annotations

PRACTICE = "Common practice, no source; it does not replace a glazier."
TOUGHENED = (
    "Toughened (tempered) glass cannot be drilled: the first touch of the cutter turns the whole pane into crumbs. Have a "
    "glazier say in writing whether this very pane is toughened. The bottoms of ready-made tanks often are, and one side may be "
    "where the others are not. A maker's stamp in a corner says yes; no stamp says nothing.")
SCALE = "Print at 100 %, no fitting to the page. Measure the bars first: each is exactly 100 mm (3 15/16 in)."
GASKET = ("Gasket: one, on the wet side, under the flange; the nut with its washer on the dry side, by hand and a little "
          "more. No sealant on a gasket. The maker's leaflet goes before this.")
ORDER = {
    "glass": (
        "Hold the fitting in your hand against this sheet: cutter, flange, nut, and the length of its thread against the pane.",
        "Drill scrap of the same thickness first, with the same cutter, until three holes in a row come out without chips.",
        "Lay the pane flat on foam, a waste pane taped under the place of the hole; in a standing tank, drill from outside.",
        "Mark the centre from two edges and hold the 1:1 template against both marks: where the two disagree, stop.",
        "Diamond cutter, slow, hardly any pressure, water over it all the time, eyes and hands covered; start it tilted or in a "
        "jig.",
        "In the last millimetre let the weight of the drill do the work; break the edge with a fine wet stone.",
        "Fit, fill with fresh water, and leave it for a day with nothing living in it before anything else is built on."),
    "other": (
        "Hold the fitting in your hand against this sheet: cutter, flange, nut, and the length of its thread against the wall.",
        "Drill a piece of scrap of the same thickness first, and try the fitting in it.",
        "Mark the centre from two edges and hold the 1:1 template against both marks: where the two disagree, stop.",
        "A board clamped behind the hole keeps its back from breaking out. Acrylic: slow, clearing often, so that it does not "
        "melt; no sharp nick may stay in the rim. Plywood: seal the cut edge as well as the face, before the fitting goes in.",
        "Fit, fill with fresh water, and leave it for a day with nothing living in it before anything else is built on."),
}
"""The order of work, for glass and for what is no glass."""
LIMITS = (
    "This sheet knows heights, diameters and clearances. It does not know whether the pane carries the water with a hole in it, "
    "nor how it was cut, stored or glued: a glazier or the maker of the tank does.")
CORNERS = (
    "Places are counted from the inner corners, between the walls beside it. A pane that runs past its neighbours is wider than "
    "drawn: if so, add what stands over at the left to every measure from the left.")


def order_for(material: str) -> tuple[str, ...]:
    """Return the order of work for a material."""
    return ORDER["glass" if material in ("glass", "") else "other"]
