"""How wide a text may get, without asking the machine it is read on: widths of the widest common sans serif, rounded up."""

from __future__ import annotations

import unicodedata

NARROW, WIDE = frozenset("ijl.,:;|!'`()[]{}I/ "), frozenset("mwMW@%")
MORE = "…"


def width(text: str, size: float) -> float:
    """Return the width of a text in the unit of its font size, at the most.

    >>> width("", 2.5), width("1408 mm", 2.5) < 14.0
    (0.0, True)
    """
    return size * sum(_advance(sign) for sign in text)


def _advance(sign: str) -> float:
    if unicodedata.combining(sign) or unicodedata.category(sign) == "Cf":
        return 0.0
    if unicodedata.east_asian_width(sign) in "WF":
        return 1.1
    if sign in NARROW:
        return 0.42
    if sign in WIDE:
        return 1.03
    if sign.isdigit():
        return 0.65
    return 0.80 if sign.isupper() or not sign.isascii() else 0.66


def shortened(text: str, size: float, room: float) -> str:
    """Return a text cut so that it fits into some room, with a sign that there is more.

    >>> shortened("a name without an end", 2.5, 20.0)
    'a name wit…'
    """
    if width(text, size) <= room:
        return text
    kept = text
    while kept and width(kept + MORE, size) > room:
        kept = kept[:-1]
    return kept.rstrip() + MORE


def ending(text: str, size: float, room: float) -> str:
    """Return a text cut at its beginning so that it fits: what tells 'rack tank 7' from its neighbours stands at the end.

    >>> ending("rack tank 7", 2.5, 12.0)
    '…tank 7'
    """
    kept = text
    while kept and width((MORE if kept != text else "") + kept, size) > room:
        kept = kept[1:]
    return kept if kept == text else MORE + kept.lstrip()


def wrapped(text: str, size: float, room: float, most: int = 2) -> list[str]:
    """Return a text on a few lines, the last one cut where it is still too long.

    >>> wrapped("siphon breaks of left, right", 2.5, 30.0)
    ['siphon breaks of', 'left, right']
    """
    lines, rest = list[str](), text.split(" ")
    while rest and len(lines) < most - 1:
        count = 1
        while count < len(rest) and width(" ".join(rest[:count + 1]), size) <= room:
            count += 1
        lines.append(shortened(" ".join(rest[:count]), size, room))
        rest = rest[count:]
    return [*lines, shortened(" ".join(rest), size, room)] if rest else lines
