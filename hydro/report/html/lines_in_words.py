"""Lines in words: every part with its size and length in both systems of units, as one takes it in hand."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from hydro.description.build import Build, Drain, Item
from hydro.elements.registry import KINDS
from hydro.parts.joints import BULKHEAD, BoughtPart, sized
from hydro.parts.records import DRAIN, HEADER, PUMP, RETURN, RUNS, Where
from hydro.quantities.uncertain import Uncertain
from hydro.report.content.grouping import Grouping, few
from hydro.report.html.figures import both

KINDS_SAID = {DRAIN: "drain", PUMP: "pump", RETURN: "return", RUNS: "", HEADER: ""}
PLURALS = {DRAIN: "drains", PUMP: "pumps", RETURN: "returns", RUNS: "pipes between headers", HEADER: "headers"}
INLETS = {"standpipe": "standpipe", "elbow up": "elbow turned up", "side outlet": "plain hole in the wall",
          "elbow down": "elbow turned down"}


def length_in_words(length: Uncertain, system: str) -> str:
    """Return a length in both systems; one that is known roughly says so, with its band."""
    if length.is_exact:
        return both(length.middle, "length", system)
    low, high = both(length.low, "length", system, -1), both(length.high, "length", system, 1)
    return f"about {both(length.middle, 'length', system)}, {low} to {high}"


def size_in_words(words: str, bore: float | None, system: str) -> str:
    """Return a size: its words, else its bore in both systems, '' where nothing is known."""
    return words or ("" if bore is None else f"{both(bore, 'length', system)} bore")


def part_in_words(part: BoughtPart, system: str) -> str:
    """Return a part in words: 'pipe 50 PN10, 1040 mm (40 15/16 in)'."""
    size = size_in_words(part.words, None if part.bore is None or part.kind == "K" else part.bore.middle, system)
    kind = "" if size.endswith(part.kind) else part.kind
    values = part.item.values
    named = part.kind == BULKHEAD or "length" in values or "size" in values
    told = [f"{kind} {size}".strip() if named else part.kind]
    length, opened, k = values.get("length"), values.get("open"), values.get("K")
    if isinstance(length, Uncertain):
        told.append(length_in_words(length, system))
    if isinstance(opened, Uncertain):
        told.append(f"{opened.middle:.0%} open")
    if isinstance(k, Uncertain):
        told[0] = f"a loss of K = {k.middle:g}" if part.kind == "K" else f"{told[0]}, K = {k.middle:g}"
    hole, holes = values.get("hole"), values.get("holes")
    if isinstance(hole, Uncertain) and isinstance(holes, Uncertain):
        told.append(f"{holes.middle:.0f} holes of {both(hole.middle, 'length', system)}")
    return " ".join(told[:1]) + "".join(f", {more}" for more in told[1:])


def line_in_words(items: Sequence[Item], system: str) -> str:
    """Return the parts of a line in the order of the water, like ones beside each other together."""
    texts = [part_in_words(part, system) for part in sized(items)]
    runs = [(text, len(list(group))) for text, group in groupby(texts)]
    return "; ".join(text if count == 1 else f"{count} x {text}" for text, count in runs) or "nothing of its own"


def inlet_in_words(drain: Drain, system: str) -> str:
    """Return a drain's inlet in words."""
    word = KINDS[drain.inlet.kind].word
    bore = drain.inlet.values.get("rim", drain.inlet.values.get("bore"))
    size = f", {both(bore.middle, 'length', system)} across" if isinstance(bore, Uncertain) else ""
    return f"{INLETS.get(word, word)}{size}"


def called(where: Where) -> str:
    """Return a line's name with what it is: 'drain left'; a name that says so itself stays."""
    noun = KINDS_SAID[where.what]
    if where.what == HEADER:
        return "where the returns part" if where.name == "tee" else f"header {where.name}"
    return where.name if not noun or noun in where.name.split() else f"{noun} {where.name}"


def places_in_words(build: Build, wheres: Sequence[Where], most: int = 4) -> str:
    """Return the lines in which something is, those described once together: '12 x rack tank return'."""
    grouping, names = Grouping.by(build), []
    for what in dict.fromkeys(where.what for where in wheres):
        mine = list(dict.fromkeys(where for where in wheres if where.what == what))
        for grouped in grouping.of(PLURALS[what], [(where.name, where) for where in mine]):
            many = sum(where in grouped.all for where in wheres)
            name = called(grouped.all[0]) if grouped.alone else grouped.called
            names.append(f"{name} ({many})" if grouped.alone and many > 1 else name)
    return few(names, most)
