"""The section to take to the shop and to the saw: pipe with its cuts, pieces by number, joints, holes, reminders."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from hydro.catalog import PriceList
from hydro.description.build import Build
from hydro.parts.joints import ADAPTOR, IN_HAND, REDUCER
from hydro.parts.parts_list import priced
from hydro.parts.records import CutLength, HolesToDrill, PartsList, Piece, PipeRow
from hydro.report.content.sentences import other_system
from hydro.report.html.figures import both
from hydro.report.html.lines_in_words import length_in_words, places_in_words, size_in_words
from hydro.report.html.markup import PageSection, heads, items, join, page_paragraph, page_table, subheading
from hydro.study import Study

BOX = "☐"
"""A box to tick."""
CUTS = {"size": 5.0, "pieces": 3.0, "length of each": 9.0, "for": 8.0, "cut": 2.5}
PIECES = {"piece": 7.0, "number": 3.0, "note": 7.0, "for": 8.0, "got it": 2.5}
JOINTS = {"kind": 4.0, "what": 8.0, "number": 3.0, "in": 6.0, "got it": 2.5}
PIPES = {"size": 5.0, "pieces": 3.0, "all pieces together": 8.0, "buy at least": 6.0, "got it": 2.5}
"""Columns with their least widths."""
REMEMBER = (
    "Cement and cleaner or primer made for the pipe's own material and standard; read the tin for its drying time.",
    "A spare gasket for every bulkhead, and one bulkhead more than you need while the glass is being drilled.",
    "Thread tape for threaded joints in plastic; no cement on threads.",
    "Brackets: no pipe, valve or hose hangs on a bulkhead or on the glass.",
    "A fine file or a deburring tool for every cut.",
    "Dry-fit everything and mark the joints before anything is cemented.")


def shopping_section(study: Study, system: str, prices: PriceList | None = None) -> PageSection | None:
    """Return the lists; with a list of prices what they come to."""
    build, parts = study.build, study.parts
    body: list[Markup] = []
    if parts.pipes:
        body += [subheading("Pipe and hose"), _pipes(parts, system), *_cut_list(build, parts, system)]
    body += _pieces(build, parts, system) + _joints(build, parts, system) + _holes(build, parts, system)
    if parts.unknown:
        body.append(page_paragraph(f"A loss is given by its coefficient alone in: {places_in_words(build, parts.unknown)}. "
                                   f"What that is made of is not known here; count those fittings yourself."))
    body += [subheading("Not to be forgotten"), items(REMEMBER)]
    if prices is not None:
        body += _prices(parts, prices)
    return PageSection("shopping", "Shopping list and cut list", join(body))


def metres(length: float, system: str) -> str:
    """Return a length of pipe to buy in both systems, rounded up to the next 0.1 m or half foot."""
    steps = {"metric": (0.1, "m", 0.1), "US": (0.3048 / 2, "ft", 0.5), "imperial": (0.3048 / 2, "ft", 0.5)}
    told = []
    for which in (system, other_system(system)):
        step, word, shown = steps[which]
        told.append(f"{-(-length // step) * shown:.1f} {word}")
    return f"{told[0]} ({told[1]})"


def _total(row: PipeRow, system: str) -> str:
    """Return all pieces of a size together in metres and feet, with their band."""
    length, told = row.length, []
    for which in (system, other_system(system)):
        word, one = ("m", 1.0) if which == "metric" else ("ft", 0.3048)
        band = "" if length.is_exact else f", {length.low / one:.2f} to {length.high / one:.2f}"
        told.append(f"{length.middle / one:.2f} {word}{band}")
    return f"{told[0]} ({told[1]})" if length.is_exact else "; ".join(told)


def _pipe_name(row: PipeRow, system: str) -> str:
    return row.called if row.words else f"{row.what}, {size_in_words('', row.bore, system)}"


def _pipes(parts: PartsList, system: str) -> Markup:
    rows = [(_pipe_name(row, system), f"{len(row.cuts)}", _total(row, system), metres(row.to_buy, system), BOX)
            for row in parts.pipes]
    first = parts.pipes[0]
    made = page_table("By length", heads(PIPES), rows)
    return made + page_paragraph(f"'Buy at least' is the long end of every length, {first.waste:.0%} more for off-cuts and "
                            f"{both(first.kerf, 'length', system)} a cut (common practice, no source). Lengths are those of the "
                            "description: what goes into a socket comes on top, a fitting's own length off.", class_="note")


def _cut_list(build: Build, parts: PartsList, system: str) -> list[Markup]:
    """Return the cuts of each size, longest first, those of one length together."""
    rows: list[Sequence[object]] = []
    for row in parts.pipes:
        same: dict[tuple[float, ...], list[CutLength]] = {}
        for cut in row.cuts:
            same.setdefault((cut.length.middle, cut.length.low, cut.length.high), []).append(cut)
        for key in sorted(same, reverse=True):
            cuts = same[key]
            rows.append((_pipe_name(row, system), f"{len(cuts)} x", length_in_words(cuts[0].length, system),
                         places_in_words(build, [cut.where for cut in cuts]), BOX))
    made = [subheading("Cut list"), page_table("Every piece", heads(CUTS), rows, (0, 3))]
    if any(not cut.length.is_exact for row in parts.pipes for cut in row.cuts):
        made.append(page_paragraph("'About': that length is known only within its band. Measure on the spot before you cut.",
                                   class_="note"))
    if any(row.what == "pipe" for row in parts.pipes):
        made.append(page_paragraph("A standpipe is part of its drain's pipe: where the line passes a bulkhead it is cut "
                                   "there in two.",
                              class_="note"))
    return made


def _pieces(build: Build, parts: PartsList, system: str) -> list[Markup]:
    made: list[Markup] = []
    for added, title in ((False, "Fittings, valves and bulkheads"), (True, "Added here")):
        rows = [(_piece_name(piece, system), f"{piece.count}", piece.note or "-", places_in_words(build, piece.wheres), BOX)
                for piece in parts.pieces if piece.added == added]
        if rows:
            made += [subheading(title), page_table("By number", heads(PIECES), rows, (0, 2, 3))]
        if rows and added:
            made.append(page_paragraph("Added, because pumps and check valves have to come out again and ends have to be held or "
                                  "closed. They are not in the losses. On hose a clip does what a union does.", class_="note"))
    if parts.count("tee"):
        made.append(page_paragraph("Tees are counted by the pipes that meet: three pipes, one tee; four, two. The marks "
                                   "'tee run' and 'tee branch' of one tee are one piece.", class_="note"))
    return made


def _piece_name(piece: Piece, system: str) -> str:
    size = size_in_words(piece.words, piece.bore, system)
    return f"{piece.what}, {size}" if size else piece.what


def _side(key: str, system: str) -> str:
    """Return one side of a joint: a size, or a bore in both systems."""
    return both(float(key.removeprefix("bore ")) * 1e-3, "length", system) + " bore" if key.startswith("bore ") else key


def _joints(build: Build, parts: PartsList, system: str) -> list[Markup]:
    """Return the joints that need something of their own."""
    words = {ADAPTOR: "adaptor", REDUCER: "reducer", IN_HAND: "match in hand"}
    told = []
    for row in parts.joints:
        count, where = len(row.wheres), places_in_words(build, row.wheres)
        sides = [_side(side, system) for side in row.joint.between]
        needs = {ADAPTOR: row.joint.words, REDUCER: " to ".join(sides)}
        said = needs.get(row.joint.kind, f"{' and '.join(sides)}: {row.joint.words}")
        told.append((words[row.joint.kind], said, f"{count}", where, BOX))
    if not told:
        return []
    return [subheading("Joints between sizes"), page_table("Where they meet", heads(JOINTS), told,
                                                           (0, 1, 3)),
            page_paragraph("A reducer may be a reducing tee or elbow where one is sold. Sizes of two standards that seem "
                           "to fit do not hold: use the adaptor.", class_="note")]


def _holes(build: Build, parts: PartsList, system: str) -> list[Markup]:
    def told(hole: HolesToDrill) -> str:
        size = "a size that is not said" if hole.bore is None else both(hole.bore, "length", system)
        each = "a hole of" if hole.each == 1 else f"{hole.each} holes in each, of"
        return f"{hole.what}: {each} {size}, in {places_in_words(build, hole.wheres)}"
    if not parts.holes:
        return []
    return [subheading("Drilled, not bought"), items(told(hole) for hole in parts.holes)]


def _prices(parts: PartsList, prices: PriceList) -> list[Markup]:
    rows = priced(parts, prices)
    known = [row for row in rows if row.amount is not None]
    total = sum(row.amount or 0.0 for row in known)
    missing = ", ".join(row.words for row in rows if row.amount is None)
    made = [subheading("Prices"), page_table(f"From your list of prices, {prices.currency}", ("item", "price"),
                                             [*((row.words, f"{row.amount:.2f}") for row in known), ("in all", f"{total:.2f}")])]
    return [*made, page_paragraph(f"Without a price in your list: {missing}.")] if missing else made
