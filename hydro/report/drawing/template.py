"""The 1:1 template: holes with their centres and the edges they are measured from, on sheets of paper or as one drawing.

    write(study, "template.pdf")           A4, or `paper="Letter"`; a name that ends in .svg gives one drawing, not cut

Only holes that the sheet gives are on it. On every sheet: two bars of 100 mm, one each way, which panel and from which side it is
seen, its number, a cross whose place on the panel is written beside it, and at the seams marks that lie on one another.
"""

from __future__ import annotations

from collections.abc import Iterator

from hydro.checks.assessment import Assessment
from hydro.drilling import work
from hydro.drilling.measures import exact, length
from hydro.drilling.sheet import DrillingSheet, PanelSheet
from hydro.drilling.tiles import OVERLAP, Tile, Window, centre, tiles, windows
from hydro.errors import Complaint, InputError
from hydro.report.drawing.paper import SIZES, Circle, Page, PaperLine, Shape, Words, to_pdf, to_svg
from hydro.report.drawing.svg import bidi_apart
from hydro.report.terminal.layout import clean
from hydro.study import Study

BAR = 100.0
EDGE, COLUMN, STRIP = 10.0, 9.0, 36.0
"""Blank edge of the paper, room for the upright bar at the left, and for the words at the foot, mm."""
SMALL, NORMAL, LARGE = 2.6, 3.0, 4.0


def template(found: Study | Assessment, paper: str = "A4", system: str = "") -> bytes:
    """Return the template as a PDF. InputError where no hole is given, KeyError for a paper that is not in `SIZES`."""
    size = SIZES[paper]
    sheet = _sheet(found, system)
    wide, high = size[0] - 2 * EDGE - COLUMN, size[1] - 2 * EDGE - STRIP
    parts = [(panel, tile) for panel in sheet.panels for window in windows(panel.panel, panel.given, sheet.system)
             for tile in tiles(window, wide, high)]
    pages = [_page(sheet, panel, tile, size, (k, len(parts))) for k, (panel, tile) in enumerate(parts, 1)]
    return to_pdf(pages, size, f"{found.build.title}: drilling template 1:1")


def drawing(found: Study | Assessment, system: str = "") -> str:
    """Return the template as one SVG, its windows one below the other; InputError where no hole is given."""
    sheet = _sheet(found, system)
    shapes: list[Shape] = []
    top, wide = EDGE, BAR + 60.0
    for panel in sheet.panels:
        for window in windows(panel.panel, panel.given, sheet.system):
            box = window.box
            at = (EDGE + COLUMN - box.left, top - box.top)
            shapes += [*_window(window, at, sheet.system), *_upright(EDGE, top)]
            foot = top + max(box.bottom - box.top, BAR + 2.0)
            shapes += _foot(sheet, panel, EDGE, foot, "")
            top, wide = foot + STRIP, max(wide, box.right - box.left + 2 * EDGE + COLUMN, 190.0)
    return to_svg(shapes, (wide, top + EDGE), f"{found.build.title}: drilling template 1:1", work.SCALE)


def _sheet(found: Study | Assessment, system: str) -> DrillingSheet:
    build = found.build
    sheet = Study.of(found).drilling_sheet(system, bands=False)
    if sheet is None:
        raise InputError([Complaint(build.file, 0, "", "no hole is described, so there is no template",
                                    "'hole: {in: back, diameter: 60 mm, from left: 25 cm}' at a drain or return")])
    if not sheet.given:
        raise InputError([Complaint(build.file, 0, "", sentence, "a hole that can be given") for sentence in sheet.refusals])
    return sheet


def _page(sheet: DrillingSheet, panel: PanelSheet, tile: Tile, size: tuple[float, float], number: tuple[int, int]) -> Page:
    box = tile.box
    left, top = EDGE + COLUMN, EDGE
    area = (left, top, size[0] - EDGE, size[1] - EDGE - STRIP)
    at = (left - box.left, top - box.top)
    inside = [*_window(tile.window, at, sheet.system), *_seams(tile, at)]
    outside = [*_upright(EDGE, top), *_foot(sheet, panel, EDGE, area[3], f"sheet {number[0]} of {number[1]}")]
    outside += _cross_of(tile, at)
    return Page(tuple(inside), area, tuple(outside))


def _window(window: Window, at: tuple[float, float], system: str) -> Iterator[Shape]:
    """Yield the holes and reference lines of a window; `at` is where the panel's upper left corner lies on the paper."""
    box, (x0, y0) = window.box, at
    panel = window.panel
    high = 1e3 * panel.height
    on_edge = window.along in (0.0, high)
    yield PaperLine(x0 + max(box.left, 0.0), y0 + window.along, x0 + min(box.right, 1e3 * panel.width), y0 + window.along,
                    "edge" if on_edge else "line")
    far = abs(window.along - (high if panel.level else 0.0)) * 1e-3
    named = "the front edge" if panel.level else "the rim"
    words = f"{named}, inside corner" if on_edge else f"{exact(far, system)} from {named}"
    yield Words(x0 + window.across + 3.0, y0 + window.along + 4.0, words, SMALL)
    yield PaperLine(x0 + window.across, y0 + max(box.top, 0.0), x0 + window.across, y0 + min(box.bottom, high),
                    "edge" if window.across == 0.0 else "line")
    words = "the left edge, inside corner"
    if window.across > 0.0:
        words = f"{exact(window.across * 1e-3, system)} from the left edge"
    yield Words(x0 + window.across + 3.0, y0 + window.along + 7.5, f"upright line: {words}", SMALL)
    for hole in window.holes:
        u, v, wide = centre(hole)
        x, y, arm = x0 + u, y0 + v, 0.5 * wide + 6.0
        yield Circle(x, y, 0.5 * wide, "hole")
        yield PaperLine(x - arm, y, x + arm, y, "cross")
        yield PaperLine(x, y - arm, x, y + arm, "cross")
        yield Words(x, y + 0.5 * wide + 10.0, f"{bidi_apart(clean(hole.name))}: {exact(1e-3 * wide, system)}", NORMAL, "middle",
                    True)
        side = "from the front edge" if panel.level else "below the rim"
        down = 1e-3 * (high - v) if panel.level else 1e-3 * v
        yield Words(x, y + 0.5 * wide + 14.0, f"centre {length(1e-3 * u, system)} from left, {length(down, system)} {side}",
                    SMALL, "middle")


def _seams(tile: Tile, at: tuple[float, float]) -> Iterator[Shape]:
    """Yield the lines where neighbouring sheets begin, and marks in the shared strips that lie on one another."""
    box, (x0, y0) = tile.box, at
    for there, u in ((tile.column > 0, box.left), (tile.column < tile.columns - 1, box.right)):
        if there:
            edge = u + OVERLAP if u == box.left else u - OVERLAP
            yield PaperLine(x0 + edge, y0 + box.top, x0 + edge, y0 + box.bottom, "cut")
            middle = 0.5 * (u + edge)
            for share in (0.25, 0.75):
                yield from _mark(x0 + middle, y0 + box.top + share * (box.bottom - box.top))
    for there, v in ((tile.row > 0, box.top), (tile.row < tile.rows - 1, box.bottom)):
        if there:
            edge = v + OVERLAP if v == box.top else v - OVERLAP
            yield PaperLine(x0 + box.left, y0 + edge, x0 + box.right, y0 + edge, "cut")
            middle = 0.5 * (v + edge)
            for share in (0.25, 0.75):
                yield from _mark(x0 + box.left + share * (box.right - box.left), y0 + middle)


def _mark(x: float, y: float) -> Iterator[Shape]:
    yield PaperLine(x - 3.0, y, x + 3.0, y, "mark")
    yield PaperLine(x, y - 3.0, x, y + 3.0, "mark")
    yield Circle(x, y, 1.5, "mark")


def _upright(x: float, top: float) -> Iterator[Shape]:
    """Yield the upright bar of 100 mm with its ends."""
    yield PaperLine(x + 2.0, top, x + 2.0, top + BAR, "bar")
    for y in (top, top + BAR):
        yield PaperLine(x, y, x + 4.0, y, "mark")


def _cross_of(tile: Tile, at: tuple[float, float]) -> Iterator[Shape]:
    """Yield a cross at whole millimetres of the panel near the foot of the area, and its place in words."""
    box, panel = tile.box, tile.window.panel
    # Clear of the strips that sheets share.
    u = float(round(box.left + (OVERLAP + 8.0 if tile.column > 0 else 10.0)))
    v = float(round(box.bottom - (OVERLAP + 8.0 if tile.row < tile.rows - 1 else 10.0)))
    x, y = at[0] + u, at[1] + v
    yield PaperLine(x - 4.0, y, x + 4.0, y, "mark")
    yield PaperLine(x, y - 4.0, x, y + 4.0, "mark")
    down = 1e3 * panel.height - v if panel.level else v
    edge = "from the front edge" if panel.level else "below the rim"
    yield Words(x + 5.0, y + 3.5, f"this cross: {u:.0f} mm from the left edge, {down:.1f} mm {edge}", SMALL)


def _foot(sheet: DrillingSheet, panel: PanelSheet, left: float, top: float, number: str) -> Iterator[Shape]:
    """Yield the level bar and the words at the foot of a sheet."""
    y = top + 6.0
    yield PaperLine(left, y, left + BAR, y, "bar")
    for x in (left, left + BAR):
        yield PaperLine(x, y - 2.0, x, y + 2.0, "mark")
    yield Words(left + BAR + 4.0, y + 1.0, "100 mm (3 15/16 in), as is the upright bar", SMALL)
    seen = "from above, its front edge towards you" if panel.panel.level else "from OUTSIDE"
    also = f" (and {len(panel.also)} alike)" if panel.also else ""
    yield Words(left, y + 6.5, f"{bidi_apart(clean(panel.name))}{also}: seen {seen}. {number}", LARGE, bold=True)
    yield Words(left, y + 11.5, work.SCALE, NORMAL, bold=True)
    words = ["Sheets overlap: lay the ringed crosses on one another and the dashed lines over the next sheet's edge.",
             "Never drill toughened glass. Measure the fitting in hand and the place from two edges;",
             "where paper and tape disagree, stop. This sheet does not replace a glazier."]
    if sheet.failing:
        words.insert(0, f"DO NOT DRILL YET: the build as described fails '{sheet.failing[0]}'.")
    for k, text in enumerate(words):
        yield Words(left, y + 16.0 + 4.0 * k, text, SMALL)

