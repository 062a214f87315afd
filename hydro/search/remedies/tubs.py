"""A larger sump: longer or wider, so that what comes down stands lower in it, or with higher walls."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from hydro.description.build import Build, Sump
from hydro.quantities.uncertain import Uncertain
from hydro.search.remedies.change import INCH, TUB, Change, Changed, Write, path_of, tape_text, with_numbers
from hydro.search.remedies.texts import with_side

MOST_LENGTH, MOST_HEIGHT = 1.0, 0.3
"""How much longer or wider (as a share of that side) and how much higher (m) a sump is made at most."""


def tub_changes(build: Build) -> Iterator[Change]:
    """Yield a longer, a wider and a higher sump, for each that is a box by its inside."""
    for sump in build.sumps:
        values, one = sump.vessel.shape.values, 0.010 if build.units == "metric" else INCH / 2.0
        if sump.vessel.shape.kind != "inside":
            continue
        for number, (what, key) in enumerate((("longer", "length"), ("wider", "width"), ("higher", "height"))):
            side = values.get(key)
            if isinstance(side, Uncertain) and side.name:
                reach = MOST_HEIGHT if what == "higher" else MOST_LENGTH * side.middle
                marks = tuple(side.middle + one * (k + 1) for k in range(int(reach / one + 1e-6)))
                yield Change(TUB, f"{sump.name}: {what}", marks, _making(build, sump, what, side, number))


def _making(build: Build, sump: Sump, what: str, side: Uncertain, number: int) -> Callable[[float], Changed]:
    """Return what makes one side of a sump larger; a last chamber of a stated length takes what a longer one has more."""
    last = sump.chambers[-1].length
    owner = path_of(side.name)[0]

    def make(value: float) -> Changed:
        more = value - side.middle
        numbers = {side.name: Uncertain.exact(value, side.name)}
        writes = [Write(owner, ("inside",), with_side(number, value, build.units))]
        if number == 0 and last is not None and last.name:
            grown = last.middle + more
            numbers[last.name] = Uncertain.exact(grown, last.name)
            writes.append(Write(path_of(last.name)[0], ("length",), lambda old: tape_text(grown, build.units)))
        word = ("long", "wide", "high")[number]
        return Changed(with_numbers(build, numbers), lambda system: f"take a {what} sump in place of {sump.name}: "
                       f"{tape_text(value, system)} {word} inside", tuple(writes))
    return make
