"""Mistakes in files with several tanks, sumps, pumps and headers: one line each, and no wrong type ever crashes the reading.

The texts are the invented `bad_input/several.yaml` with something in it replaced.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from hydro.case import loads
from hydro.errors import InputError

SEVERAL = (Path(__file__).parents[1] / "bad_input" / "several.yaml").read_text(encoding="utf-8")
SPLASH, UPPER_DRAIN = "into: {chamber: splash, end: 25", "      - {name: left, in: box,"
SUMP = """  - name: annex
    inside: 80 x 40 x 40 cm
    bottom: at ground
    chambers: [{name: spare}]
"""
APART = """  - {name: loner, inside: 50 x 40 x 40 cm, bottom: 90 cm above ground,
     drains: [{inlet: {standpipe: 36 mm, lip: 5 cm below tank rim}, line: [pipe 40 PN10 60 cm],
               into: {chamber: spare, end: 20 cm above sump bottom}}],
     returns: [{from: third, line: [hose 20 mm 1 m], end: 3 cm below tank rim}]}
"""


def changed(*pairs: tuple[str, str]) -> str:
    """Return the sound text with one or more of its pieces replaced, each of which must be there."""
    text = SEVERAL
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def complaints(text: str) -> list[str]:
    """Return the complaints about a text, as its author sees them."""
    with pytest.raises(InputError) as caught:
        loads(text, "my.yaml")
    return str(caught.value).splitlines()


def fate(text: str) -> list[str]:
    """Return the names of the tanks of a text that is sound, else the complaints about it."""
    try:
        return [tank.name for tank in loads(text, "my.yaml").tanks]
    except InputError as problem:
        return [str(complaint) for complaint in problem.complaints]


REFERENCES = {
    "in nothing": (8, "in: box", "in: bxo",
                   ("drain upper left: in", "no tank or box here 'bxo'", "tank, box", "did you mean 'box'")),
    "into no chamber": (9, SPLASH, SPLASH.replace("splash", "splsh"),
                        ("upper left: chamber", "'splsh'", "did you mean 'splash'")),
    "into no tank": (9, f"{SPLASH} cm above sump bottom", "into: {tank: rack 4, end: 25 cm above tank bottom",
                     ("upper left: tank", "no tank 'rack 4'", "rack 1, rack 2, rack 3")),
    "into two places": (9, SPLASH, "into: {chamber: splash, tank: rack 2, end: 25",
                        ("a second place beside 'chamber'", "one of")),
    "into a dead end": (9, SPLASH, "into: {header: gutter, end: 25", ("header gutter", "nothing leads away", "return or pipe")),
    "from nothing": (11, "from: far", "from: fra",
                     ("header fra", "no pump pushes into it", "main, second", "did you mean 'far'")),
    "from unsaid": (11, "from: far, ", "", ("upper return", "does not say which pump or header", "main, far")),
    "row from nothing": (29, "from: main", "from: mian", ("pump main", "feeds nothing", "'from: main'")),
    "pipe to nothing": (32, "row 3, to: far", "row 3, to: fra",
                        ("header fra", "only one pipe meets there: pipe link", "did you mean 'far'")),
    "pipe in a circle": (32, "row 3, to: far", "row 3, to: row 3", ("pipe link: to", "both ends are at 'row 3'")),
    "pipe to a tank": (32, "row 3, to: far", "row 3, to: upper",
                       ("pipe link: to", "'upper' is a tank", "{tank: upper, at: HEIGHT}")),
    "pipe to no tank": (32, "row 3, to: far", "row 3, to: {tank: uper, at: 3 cm above tank bottom}",
                        ("link: to: tank", "did you mean 'upper'")),
    "pump nowhere": (30, "into: far", "into: far, chamber: pmps",
                     ("second: chamber", "no chamber 'pmps'", "did you mean 'pumps'")),
    "pump twice placed": (30, "into: far", "into: far, behind: main, chamber: pumps", ("second: behind", "beside 'chamber'")),
    "off perhaps": (30, "into: far", "into: far, off: perhaps", ("second: off", "'perhaps'", "yes, no")),
    "idle pump": (31, "into: far", "into: far}\n  - {name: third, same as: main", ("pump third", "feeds nothing", "from: third")),
    "a line without a pump": (26, "{name: splash,", "{name: splash, line: 20 cm above sump bottom,",
                              ("splash: line", "without the pump")),
}

PLACES = {
    "a place of nobody": (5, "120 cm above ground", "5 cm above upepr rim",
                          ("upper: bottom", "'upepr rim'", "did you mean 'upper rim'")),
    "misspelt": (8, "below box rim", "below box rmi", ("upper left: lip", "'box rmi'", "did you mean 'box rim'")),
    "which tank": (24, "bottom: at ground", "bottom: 90 cm below tank bottom",
                   ("cellar: bottom", "that of 4 tanks", "upper bottom, rack 1")),
    "which of three": (5, "120 cm above ground", "5 cm above rack rim", ("upper: bottom", "any of 3", "rack 1 rim, rack 2 rim")),
    "no box": (16, "below tank rim}, line: [pipe 40", "below box rim}, line: [pipe 40", ("rack overflow: lip", "'box rim'")),
    "the sump's water": (9, "above sump bottom", "above cellar water", ("upper left: end", "differently in each chamber")),
    "lip of another's": (16, "lip: 5 cm below tank rim", "lip: 1 cm above lip of left",
                         ("rack overflow: lip", "no drain 'left'")),
    "edge above the rim": (6, "at: 5 cm below tank rim", "at: 5 cm above tank rim",
                           ("upper box: edge: at", "above the upper rim")),
    "lip above the box": (8, "12 cm below box rim", "12 cm above box rim", ("upper left: lip", "above the upper box rim")),
    "lifted over its drain": (17, "end: 32 cm", "end: 130 cm", ("rack overflow: end", "ends above its inlet")),
    "in a circle": (5, "120 cm above ground", "5 cm above lip of left", ("upper: bottom", "circle")),
}

TWINS = {
    "none": (12, "3 x rack", "0 x rack", ("rack", "'0 x'", "from 1 to 2000")),
    "too many": (12, "3 x rack", "3000 x rack", ("rack", "'3000 x'", "from 1 to 2000")),
    "twins of a sump": (22, "name: cellar", "name: 2 x cellar", ("cellar", "'2 x'", "each sump by itself")),
    "exception beyond": (20, "except: {2:", "except: {4:", ("rack: except: 4", "no number from 1 to 3")),
    "exception by name": (20, "except: {2:", "except: {left:", ("rack: except: left", "no number from 1 to 3")),
    "exception twice": (20, "except: {2:", "except: {1 .. 3: {bottom: 1 m above ground}, 2:", ("except: 2", "2 stands twice")),
    "exception no mapping": (20, "{bottom: 100 cm above ground}", "higher", ("rack: except: 2", "'higher' stands here")),
    "exception misspelt": (20, "{2: {bottom", "{2: {botom", ("rack 2: botom", "unknown key", "bottom, lowest opening")),
    "exception of the header": (20, "{2: {", "{2: {header: {from: far}, ", ("except: 2: header", "belongs to all of them")),
    "except of one": (6, "bottom: 120 cm above ground", "bottom: 120 cm above ground\n    except: {1: {}}",
                      ("upper: except", "12 x")),
    "header of one": (6, "bottom: 120 cm above ground", "bottom: 120 cm above ground\n    header: {from: far}",
                      ("upper: header", "along a single tank", "pipes between")),
    "header without pipe": (19, ", between: [pipe 50 PN10 65 cm]", "", ("header: between", "missing", "pipe 50")),
    "header without bore": (19, "[pipe 50 PN10 65 cm]", "[elbow 90]", ("header: between", "names its bore")),
    "misspelt header": (19, "between:", "betwen:", ("rack: header: betwen", "unknown key", "did you mean 'between'")),
}

NAMES = {
    "tank and chamber": (3, "name: upper", "name: splash", ("tank splash", "that of a chamber too")),
    "two tanks": (12, "3 x rack:", "3 x upper:", ("upper", "used twice (first in line 3)")),
    "twin and tank": (3, "name: upper", "name: rack 2", ("tank rack 2", "that of a tank too")),
    "header and tank": (30, "into: far", "into: upper", ("header upper", "the name 'upper' is that of a tank too")),
    "chambers of two sumps": (31, "pumps:\n  - {", SUMP.replace("spare", "splash") + "pumps:\n  - {",
                              ("chamber splash", "in sump cellar too")),
    "a sump by itself": (28, "pumps:\n  - {", SUMP + "pumps:\n  - {chamber: pumps, ",
                         ("sump annex", "shares no water with the rest", "a file of its own")),
    "tank and sump": (3, "name: upper", "name: cellar", ("tank cellar", "that of a sump too")),
    "drain inside and outside": (8, "sumps:", "drains:\n  - {name: upper left, in: rack 1, inlet: {standpipe: 36 mm, lip: 9 cm "
                                 "below tank rim}, line: [pipe 40 PN10 8 cm],\n    into: {end: 32 cm above sump bottom}}\nsumps:",
                                 ("drain upper left", "used twice", "each drain")),
    "no drain": (6, UPPER_DRAIN, UPPER_DRAIN.replace("in: box,", "in: tank,"),
                 ("box upper box", "has no drain", "in: upper box")),
    "no return": (3, "    returns:\n      - {from: far, line: [pipe 32 PN10 60 cm], end: 6 cm below tank rim}\n", "",
                  ("tank upper", "has no return", "tank: upper")),
}

EVERY = {f"{table}: {name}": row for table, rows in (
    ("reference", REFERENCES), ("place", PLACES), ("twin", TWINS), ("name", NAMES)) for name, row in rows.items()}


@pytest.mark.parametrize(("line", "old", "new", "fragments"), EVERY.values(), ids=EVERY.keys())
def test_one_mistake_one_line(line: int, old: str, new: str, fragments: tuple[str, ...]) -> None:
    """One mistake among several tanks gives one line that names its place, what stands there and what is expected."""
    lines = complaints(changed((old, new)))
    assert len(lines) == 1, lines
    assert lines[0].startswith(f"my.yaml:{line}: "), lines[0]
    assert not [fragment for fragment in fragments if fragment not in lines[0]], lines[0]


def test_sound_text_is_sound() -> None:
    """The text from which every mistake is made has none itself."""
    assert loads(SEVERAL, "my.yaml").title == "Test room"


def test_water_is_stated_once_in_all() -> None:
    """Lines in the chambers of two pumps are one statement too many; none at all, or a line and a total, are mistakes too."""
    line, = complaints(changed(("{name: splash,", "{name: splash, line: 25 cm above sump bottom,"),
                               ("into: far", "into: far, chamber: splash")))
    assert "my.yaml:27: water: the amount of water is stated 2 times (lines 26 and 27)" in line
    line, = complaints(changed((", line: 22 cm above sump bottom", "")))
    assert "nothing says how much water" in line
    line, = complaints(changed(("title: Test room", "title: x\nwater: {total: 900 L}")))
    assert "stated 2 times (lines 28 and 2)" in line


def test_a_ring_needs_three() -> None:
    """A header of two tanks cannot be closed to a ring."""
    line, = complaints(changed(("3 x rack", "2 x rack"), ("65 cm]", "65 cm], ring: yes"), ("row 3", "row 2")))
    assert "my.yaml:19: rack: header: ring: a ring of 2; expected three tanks or more" in line


def test_two_loops_are_two_files() -> None:
    """A second loop in the file is told once, at its tank and its sump, as one that shares no water with the rest."""
    apart = changed(("  - 3 x rack:", APART + "  - 3 x rack:"), ("pumps:\n  - {", SUMP + "pumps:\n  - {chamber: pumps, "),
                    ("into: far}", "into: far}\n  - {name: third, chamber: spare, curve: [0 L/h = 2 m, 900 L/h = 0 m]}"))
    line, = complaints(apart)
    assert line == "my.yaml:12: tank loner: it shares no water with the rest; expected a file of its own for each loop"


def test_all_mistakes_at_once() -> None:
    """Independent mistakes in different sections are all told at once, in the order of their lines."""
    lines = complaints(changed(("120 cm above ground", "120 gal above ground"), ("{edge: 20 cm", "{egde: 20 cm"),
                               ("in: box", "in: bxo"), ("chamber: splash, end: 32", "chamber: splsh, end: 32"),
                               ("{2: {bottom", "{2: {botom"), ("into: far", "into: [far]"), ("row 3, to: far", "row 3")))
    assert [int(line.split(":")[1]) for line in lines] == [5, 6, 8, 17, 20, 30, 32]


def test_a_mistake_in_twins_is_told_once() -> None:
    """A mistake that every twin repeats is one line, whatever their number."""
    line, = complaints(changed(("3 x rack", "2000 x rack"), ("row 3", "row 2000"),
                               ("36 mm, lip: 5 cm below tank rim", "36 mm, lip: 5 cm below tnak rim")))
    assert "rack overflow: lip: 'tnak rim' is no place" in line
    line, = complaints(changed(("3 x rack", "2000 x rack"), ("lip: 5 cm below", "lip: 5 cm above"), ("row 3", "row 2000")))
    assert "above the rack rim" in line


def test_a_file_is_not_to_fill_the_memory() -> None:
    """Thousands of twins with thousands of parts each are refused, and so are many lists of twins."""
    long = ", ".join(["pipe 40 PN10 8 cm"] * 400)
    line, = complaints(changed(("3 x rack", "2000 x rack"), ("[pipe 40 PN10 80 cm]", f"[{long}]")))
    assert "at most 300000" in line
    many = "\n".join(f"  - 2000 x set {k}: {{same as: rack}}" for k in range(20))
    assert any("in the whole file at most 6000" in line for line in complaints(changed(("sumps:", f"{many}\nsumps:"))))


ODD: list[Any] = ["", "5", "yes", "12 x", "0 x a", "2 x main", "9999999 x b", "rack", "row", "3 cm above tank rim", "x: y", [],
                  {}, [""], [[]], {"a": ""}, {"a": {}}, {"7": {}}, {"name": "upper"}, {"header": "row"}, [{"2 x p": {}}],
                  {"3 x q": {"inside": "5 x 5 x 5 cm"}}]
WORDS = ("tanks", "tank", "in", "into", "from", "to", "behind", "box", "except", "header", "name", "drains", "returns",
         "3 x left", "same as", "off", "pumps", "sump", "sumps", "overflow boxes", "pipes between", "over", "end", "ring", "line")


def ways(node: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Yield the way to every node of a tree of lists and mappings but its root."""
    for key in node if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else ():
        yield (*way, key)
        yield from ways(node[key], (*way, key))


def at(tree: Any, way: tuple[Any, ...]) -> Any:
    """Return a node of a tree."""
    for key in way:
        tree = tree[key]
    return tree


@pytest.mark.parametrize("seed", range(4))
def test_wrong_types_never_crash(seed: int) -> None:
    """A text with nodes lost, renamed, doubled or of a wrong type is read or refused, each complaint in one line."""
    choose = random.Random(seed)
    sound = yaml.load(SEVERAL, Loader=yaml.BaseLoader)
    for _ in range(50):
        tree = copy.deepcopy(sound)
        for _ in range(choose.randint(1, 3)):
            way = choose.choice(list(ways(tree)))
            parent, what = at(tree, way[:-1]), choose.random()
            if what < 0.25:
                del parent[way[-1]]
            elif what < 0.6 or isinstance(parent, list):
                parent[way[-1]] = copy.deepcopy(choose.choice(ODD))
            elif what < 0.75:
                parent[way[-1]] = copy.deepcopy(at(sound, choose.choice(list(ways(sound)))))
            else:
                parent[choose.choice(WORDS)] = parent.pop(way[-1])
        text = yaml.dump(tree, default_flow_style=choose.choice([True, False]), width=1000, sort_keys=False)
        told = fate(text)
        assert told
        assert not any("\n" in line for line in told)


def test_names_that_the_plumbing_gives_are_taken() -> None:
    """A tank that is called like the place where the only pump's line parts would be joined to it unseen, and is refused."""
    line, = complaints("""
tanks: [{name: tee, inside: 100 x 50 x 50 cm, bottom: 1 m above ground}]
sump: {inside: 100 x 50 x 50 cm, bottom: at ground, line: 25 cm above sump bottom}
drains: [{inlet: {standpipe: 57 mm, lip: 5 cm below tank rim}, line: [pipe 63 PN10 1 m], into: {end: 30 cm above sump bottom}}]
pump: {curve: [0 L/h = 4 m, 6000 L/h = 0 m]}
returns: [{line: [pipe 40 PN10 1 m], end: 5 cm below tank rim}]
""")
    assert line.startswith("my.yaml:2: tank tee: the name 'tee' is that of a place where a pump's line parts too")
