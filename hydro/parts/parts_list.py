"""What to buy and what to cut for a build: pipe by size with every cut, fittings by number, joints, holes, and what is added.

    to buy = (sum of the cuts, each at the long end of its band) x (1 + waste) + kerf x number of cuts

Every length and every fitting comes from the lines as described, so that cuts add up to what the losses count. Added, and in
no loss: unions beside pumps and check valves, clips on hoses, caps on spray bars, a tee where pipes meet that nobody marked.
The marks 'tee run' and 'tee branch' at a header are one tee, so tees are counted by the pipes that meet there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from hydro.catalog import PriceList
from hydro.description.build import Build, Item
from hydro.elements.fittings import TUNED
from hydro.elements.registry import KINDS, Default
from hydro.network.tees import Leg, legs_of
from hydro.parts.joints import ADAPTOR, BARS, BULKHEAD, HOSES, IN_HAND, REDUCER, BoughtPart, Joint, joints, meeting, sized
from hydro.parts.records import (
    DRAIN,
    HEADER,
    PUMP,
    RETURN,
    RUNS,
    CutLength,
    HolesToDrill,
    JointRow,
    PartsList,
    Piece,
    PipeRow,
    Priced,
    Where,
)
from hydro.quantities.uncertain import Uncertain

WASTE = Default("pipe waste", 0.05, 0.10, 0.15, "share", "off-cuts as a share of what is used; common practice, no source")
KERF = Default("saw kerf", 0.001, 0.002, 0.003, "length", "what a saw cut takes; common practice, no source")
UNION, CLIP, CAP, TEE = "union", "hose clip", "end cap", "tee"
LENGTHS = ("pipe", "hose", "ribbed hose", BARS)
"""Kinds that are cut to a length."""
TURNED = {"elbow up": "elbow 90", "elbow down": "elbow 90"}
"""Inlets that are a fitting of their own inside the tank."""


@dataclass(frozen=True, slots=True)
class _Line:
    where: Where
    items: tuple[Item, ...]
    parts: tuple[BoughtPart, ...]

    def end(self, place: int) -> BoughtPart | None:
        """Return the first (0) or last (-1) part of the line that says what it is bought for, None without one."""
        solid = [part for part in self.parts if part.kind not in (BULKHEAD, "K")]
        return solid[place] if solid else None


def parts_list(build: Build, waste: float = WASTE.middle, kerf: float = KERF.middle) -> PartsList:
    """Return what a build is made of; `waste` is a share of what is used, `kerf` what a cut takes in m. ValueError below 0."""
    if waste < 0.0 or kerf < 0.0:
        raise ValueError("waste and kerf are 0 or more")
    meets = _headers(build)
    lines = _lines(build, meets)
    bought = [(line, part) for line in lines for part in _bought(line, meets)]
    pieces = [(line.where, Piece(part.kind, part.words, _bore(part), (), _note(line, part))) for line, part in bought
              if part.kind not in (*LENGTHS, "K")]
    pieces += [*_inlets(build), *_tees(lines, meets), *_unions(build, lines, meets), *_ends(bought)]
    needs = [(line.where, joint) for line in lines for joint in joints(line.parts)] + _at_headers(lines, meets)
    return PartsList(_pipes(bought, waste, kerf), _folded(pieces), _joined(needs), _holes(build, lines),
                     tuple(dict.fromkeys(line.where for line, part in bought if part.kind == "K")))


def priced(parts: PartsList, prices: PriceList) -> list[Priced]:
    """Return the price of every row: pipe by the metre to be bought, pieces by number."""
    rows = []
    for pipe in parts.pipes:
        found = prices.find(pipe.words) if pipe.words else None
        metre = None if found is None else found.per_metre
        rows.append(Priced(pipe.called, None if metre is None else metre * pipe.to_buy))
    for piece in parts.pieces:
        found = prices.find(piece.called)
        rows.append(Priced(piece.called, None if found is None or found.per is not None else found.amount * piece.count))
    return rows


def _headers(build: Build) -> dict[str, list[Leg]]:
    """Return the pipes that meet in each header; what ends in a vessel meets nothing there."""
    waters = {*(chamber.name for chamber in build.chambers), *(vessel.name for vessel in build.vessels)}
    return {name: legs for name, legs in legs_of(build).items() if name not in waters}


def _lines(build: Build, meets: Mapping[str, Sequence[Leg]]) -> list[_Line]:
    """Return every line with the size of each part; one that names no size goes on in that of a pipe it meets."""
    described = [*((Where(DRAIN, one.name), one.line) for one in build.drains),
                 *((Where(PUMP, one.name), one.line) for one in build.pumps),
                 *((Where(RETURN, one.name), one.line) for one in build.returns),
                 *((Where(RUNS, one.name), one.line) for one in build.runs)]
    lines = {where: _Line(where, items, sized(items)) for where, items in described}
    for legs in meets.values():
        known = [part for leg in legs if (part := lines[_place(leg)].end(leg.end)) is not None and part.bore is not None]
        for where in map(_place, legs):
            line = lines[where]
            if known and where.what == RETURN and all(part.bore is None for part in line.parts):
                lines[where] = replace(line, parts=sized(line.items, known[0]))
    return list(lines.values())


def _place(leg: Leg) -> Where:
    return Where({"return": RETURN, "run": RUNS, "drain": DRAIN}.get(leg.what, PUMP), leg.name)


def _bought(line: _Line, meets: Mapping[str, Sequence[Leg]]) -> list[BoughtPart]:
    """Return the parts of a line without the marks that belong to the tee of a header."""
    marks = {leg.end % len(line.items) for legs in meets.values() if len(legs) > 2 for leg in legs
             if leg.mark and _place(leg) == line.where}
    places = [place for place, item in enumerate(line.items) if KINDS[item.kind].family == "part"]
    return [part for place, part in zip(places, line.parts, strict=True) if place not in marks]


def _bore(part: BoughtPart) -> float | None:
    return None if part.bore is None else part.bore.middle


def _note(line: _Line, part: BoughtPart) -> str:
    if part.kind == BULKHEAD:
        carried = next((one.words for one in line.parts if one.kind != BULKHEAD and one.words), "")
        return f"for {carried}; measure the fitting in hand" if carried else "measure the fitting in hand"
    notes = ["with a tail for the hose on each side"] if part.size is not None and part.size.words.endswith("hose") else []
    opened = part.item.values.get("open")
    if isinstance(opened, Uncertain):
        notes.append(f"set {opened.middle:.0%} open")
    elif opened == TUNED:
        notes.append("set by hand on the running build")
    return "; ".join(notes)


def _inlets(build: Build) -> list[tuple[Where, Piece]]:
    """Return the inlets that are fittings, and strainers."""
    found = []
    for drain in build.drains:
        where, word = Where(DRAIN, drain.name), KINDS[drain.inlet.kind].word
        bore = drain.inlet.values.get("rim", drain.inlet.values.get("bore"))
        if word in TURNED:
            middle = bore.middle if isinstance(bore, Uncertain) else None
            found.append((where, Piece(TURNED[word], "", middle, (), "in the tank, turned " + word.removeprefix("elbow "))))
        if drain.inlet.values.get("strainer", "yes") != "no" and "strainer" in drain.inlet.values:
            found.append((where, Piece("strainer", "", bore.middle if isinstance(bore, Uncertain) else None, ())))
    return found


def _legs(lines: Sequence[_Line], legs: Sequence[Leg]) -> list[tuple[Where, BoughtPart]]:
    """Return the part with which each pipe meets a header, rigid and wide ones first."""
    by_place = {line.where: line for line in lines}
    ends = [(_place(leg), by_place[_place(leg)].end(leg.end)) for leg in legs if leg.what != "drawing"]
    known = [(where, part) for where, part in ends if part is not None and part.bore is not None]
    return sorted(known, key=lambda pair: (pair[1].words.endswith("hose"), not pair[1].words, -(_bore(pair[1]) or 0.0)))


def _tees(lines: Sequence[_Line], meets: Mapping[str, Sequence[Leg]]) -> list[tuple[Where, Piece]]:
    """Return the tees where three pipes and more meet: one fewer than the pipes that go on from the first."""
    found = []
    for name, legs in meets.items():
        known, marked = _legs(lines, legs), any(leg.mark for leg in legs)
        for _ in range(len(legs) - 2):
            piece = Piece(TEE, known[0][1].words if known else "", _bore(known[0][1]) if known else None, (),
                          "" if marked else "not in the losses: nothing marks it in the lines", not marked)
            found.append((Where(HEADER, name), piece))
    return found


def _at_headers(lines: Sequence[_Line], meets: Mapping[str, Sequence[Leg]]) -> list[tuple[Where, Joint]]:
    found = []
    for legs in meets.values():
        known = _legs(lines, legs)
        needs = [(where, meeting(known[0][1], part)) for where, part in known[1:]]
        found += [(where, joint) for where, joint in needs if joint is not None]
    return found


def _unions(build: Build, lines: Sequence[_Line], meets: Mapping[str, Sequence[Leg]]) -> list[tuple[Where, Piece]]:
    """Return the unions that are added: one either side of pumps and of parts that come out, none twice."""
    found = []
    for line in lines:
        parts = [part for part in line.parts if part.kind != "K"]
        wanted = {place + side: part.kind for place, part in enumerate(parts) if KINDS[part.item.kind].comes_out
                  for side in (0, 1)}
        if line.where.what == PUMP:
            wanted |= {-1: "pump, suction side: not needed on one that stands in the water", 0: "pump, delivery side"}
        near = [(place, [parts[k] for k in (place - 1, place) if 0 <= k < len(parts)]) for place in sorted(wanted)]
        fed = [part for legs in meets.values() if line.where in map(_place, legs) for _, part in _legs(lines, legs)]
        for place, beside in near:
            if place < 0:
                beside = parts[:1]
            elif any(part.kind == UNION for part in beside):
                continue
            like = next((part for part in [*reversed(beside), *fed] if part.bore is not None), None)
            found.append((line.where, Piece(UNION, "" if like is None else like.words, None if like is None else _bore(like),
                                            (), f"beside the {wanted[place]}", True)))
    return found


def _ends(bought: Sequence[tuple[_Line, BoughtPart]]) -> list[tuple[Where, Piece]]:
    """Return what goes on the ends of hoses and spray bars."""
    found = []
    for line, part in bought:
        what, count = (CLIP, 2) if part.kind in HOSES else (CAP, 1) if part.kind == BARS else ("", 0)
        found += [(line.where, Piece(what, part.words, _bore(part), (), "", True))] * count
    return found


def _pipes(bought: Sequence[tuple[_Line, BoughtPart]], waste: float, kerf: float) -> tuple[PipeRow, ...]:
    rows: dict[tuple[str, str], PipeRow] = {}
    for line, part in bought:
        length = part.item.values.get("length")
        if part.kind in LENGTHS and isinstance(length, Uncertain):
            row = rows.setdefault((part.kind, part.key), PipeRow(part.kind, part.words, _bore(part) or 0.0, (), waste, kerf))
            rows[part.kind, part.key] = replace(row, cuts=(*row.cuts, CutLength(length, line.where)))
    return tuple(sorted(rows.values(), key=lambda row: (LENGTHS.index(row.what), row.bore, row.words)))


def _folded(pieces: Iterable[tuple[Where, Piece]]) -> tuple[Piece, ...]:
    """Return pieces that are alike as one row each, in the order of their kinds."""
    rows: dict[tuple[object, ...], Piece] = {}
    for where, piece in pieces:
        bore = None if piece.words or piece.bore is None else round(piece.bore, 5)
        key = (piece.added, piece.what, piece.words, bore, piece.note)
        row = rows.setdefault(key, replace(piece, bore=bore))
        rows[key] = replace(row, wheres=(*row.wheres, where))
    return tuple(sorted(rows.values(), key=lambda row: (row.added, row.what, row.words, row.bore or 0.0, row.note)))


def _joined(needs: Iterable[tuple[Where, Joint]]) -> tuple[JointRow, ...]:
    """Return joints that need the same as one row each, adaptors first; which side the water comes from is one."""
    rows: dict[tuple[str, ...], JointRow] = {}
    for where, joint in needs:
        row = rows.setdefault((joint.kind, *sorted(joint.between)), JointRow(joint, ()))
        rows[joint.kind, *sorted(joint.between)] = replace(row, wheres=(*row.wheres, where))
    order = (ADAPTOR, REDUCER, IN_HAND)
    return tuple(sorted(rows.values(), key=lambda row: (order.index(row.joint.kind), row.joint.between)))


def _holes(build: Build, lines: Sequence[_Line]) -> tuple[HolesToDrill, ...]:
    """Return the holes to drill in pipes: siphon breaks, and the jets of spray bars."""
    found: dict[tuple[str, float | None, int], list[Where]] = {}
    for described in build.returns:
        if described.hole is not None:
            bore = described.hole.values.get("hole")
            key = "siphon break", bore.middle if isinstance(bore, Uncertain) else None, 1
            found.setdefault(key, []).append(Where(RETURN, described.name))
    for line in lines:
        for part in line.parts:
            hole, count = part.item.values.get("hole"), part.item.values.get("holes")
            if part.kind == BARS and isinstance(hole, Uncertain) and isinstance(count, Uncertain):
                found.setdefault((BARS, hole.middle, round(count.middle)), []).append(line.where)
    return tuple(HolesToDrill(*key, tuple(wheres)) for key, wheres in found.items())
