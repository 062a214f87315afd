"""Elements made at random, but always the same, from what the registry says about each kind.

A new kind is sampled without a line being written here, as long as its fields have dimensions that are known below.
"""

import itertools
import random

from hydro.description.build import Height, Item
from hydro.elements.registry import KINDS, PartContext, Reader, load_all
from hydro.quantities.uncertain import Uncertain

DESIGNS = 4
"""How many samples of one kind are joined into one batch."""
SENSIBLE = {  # SI; what a builder may have, cut to the bounds of each field
    "size": (0.02, 0.06), "length": (0.02, 0.3), "number": (0.3, 3.0), "share": (0.1, 0.9), "flow": (3e-4, 3e-3),
    "height": (0.26, 0.34), "temperature": (288.0, 300.0),
}
WIDER = {"corners": (0.01, 0.03), "bottom_length": (0.3, 0.4), "bottom_width": (0.3, 0.4), "height": (0.3, 0.5)}
"""The same for the lengths of a vessel by name; the others of them are 0.45 to 0.6 m."""
OF_A_KIND = {("spray bar", "holes"): (6.0, 30.0), ("spray bar", "hole"): (0.003, 0.006), ("spray bar", "length"): (0.2, 1.2)}
"""Sensible values of one kind's own fields, where its dimension says too little."""
NOT_A_LAW = ("height range",)
"""Fields that choose among builds and never enter a law."""
FLOOR, RIM, ACROSS = 0.0, 0.45, 0.5
"""Sill and rim (m above the datum) and width of the sump that barriers are made for."""
VISCOSITY = 0.95e-6


def between(seed, field, kind):
    """Return a seeded number for a field of a kind: sensible where its bounds allow that, else within its bounds."""
    vessel = kind.family == "vessel" and field.dimension == "length"
    low, high = WIDER.get(field.name, (0.45, 0.6)) if vessel else SENSIBLE[field.dimension]
    low, high = OF_A_KIND.get((kind.word, field.name), (low, high))
    low, high = max(low, field.low), min(high, field.high)
    if low >= high:
        low, high = field.low, field.high
    return random.Random(f"{seed} {field.name}").uniform(low, high)


def values(kind, seed, fields):
    """Return what stands behind a kind's word: numbers by seed, each rough number with a name of its own."""
    made = {}
    for field in fields:
        name = f"{kind.word}: {field.name}"
        if field.dimension == "word":
            made[field.name] = field.choices[0]
        elif field.dimension == "table":
            made[field.name] = table(seed, name)
        elif field.dimension == "height":
            made[field.name] = Height(Uncertain.exact(between(seed, field, kind), name), "ground")
        elif field.dimension not in NOT_A_LAW:
            made[field.name] = Uncertain.exact(between(seed, field, kind), name)
    return made


def table(seed, name):
    """Return a seeded table of bucket fills: (volume m3, height m), rising."""
    rng = random.Random(f"{seed} table")
    volumes = itertools.accumulate(rng.uniform(0.008, 0.02) for _ in range(5))
    heights = itertools.accumulate(rng.uniform(0.04, 0.08) for _ in range(5))
    return tuple((Uncertain.exact(v, f"{name} volume {k}"), Uncertain.exact(h, f"{name} height {k}"))
                 for k, (v, h) in enumerate(zip(volumes, heights, strict=True)))


def forms(kind):
    """Yield the ways in which a kind may be written: barely, and in full until each choice of its words has been taken.

    A number that a word may stand for is written by itself besides, and so is each of its words.
    """
    required = tuple(field for field in kind.fields if field.required)
    yield "bare", required, {}
    words = [field for field in kind.fields if field.dimension == "word"]
    for turn in range(max((len(field.choices) for field in words), default=1)):
        named = {field.name: field.choices[turn % len(field.choices)] for field in words}
        if len(kind.fields) > len(required):
            yield " ".join(("full", *named.values())), kind.fields, named
    for field in kind.fields:
        if field.choices and field.dimension != "word":
            yield f"only {field.name}", (*required, field), {}
            yield from ((word, required, {field.name: word}) for word in field.choices)


def make(kind, fields, words, seed, sample=None):
    """Make one element of a kind: an inlet, a list of parts, a plan, or a passage between two chambers of one sump."""
    item = Item(kind.word, values(kind, seed, fields) | words, label=kind.word)
    reader = Reader(item, PartContext(sample or {}, {}, lambda height: height.offset.at(sample or {}), VISCOSITY), bore=0.0402)
    made = kind.make(reader)
    return made(ACROSS, FLOOR, RIM) if kind.family in ("barrier", "edge") else made


def numbers(kind, fields, seed):
    """Return every rough number of a sample by name, to be picked as arrays."""
    found = {}
    for value in values(kind, seed, fields).values():
        for entry in value if isinstance(value, tuple) else [(value,)]:
            for uncertain in entry:
                uncertain = uncertain.offset if isinstance(uncertain, Height) else uncertain
                if isinstance(uncertain, Uncertain):
                    found[uncertain.name] = uncertain.middle
    return found


def kinds(*families):
    """Return the kinds of some families, each once."""
    load_all()
    return [kind for word, kind in KINDS.items() if word == kind.word and kind.family in families]
