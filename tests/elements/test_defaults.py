"""Defaults that a case file may override: each moves what is computed with it, and no law keeps to the default itself."""

from __future__ import annotations

import ast
from dataclasses import fields, is_dataclass, replace
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
import samples
from builds import height, loop, pump, way
from many_builds import tube

from hydro.case import loads
from hydro.checks import checks_of
from hydro.description.build import Build, Item
from hydro.elements.registry import Default, Kind, PartContext, Reader, all_defaults, load_all
from hydro.elements.rim import WEIR, Rim
from hydro.elements.siphon_tube import SiphonTube
from hydro.quantities.uncertain import Uncertain
from hydro.scenarios.placed_build import place
from hydro.scenarios.results import results_of

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "hydro").rglob("*.py"))
CONSTANTS = {name: value for path in (ROOT / "hydro" / "elements").glob("*.py")
             for name, value in vars(import_module(f"hydro.elements.{path.stem}")).items() if isinstance(value, Default)}
"""Defaults by the names that modules give them."""


def readings(tree: ast.AST) -> list[ast.Attribute]:
    """Return where a tree reads the middle of a default itself."""
    return [node for node in ast.walk(tree) if isinstance(node, ast.Attribute) and node.attr == "middle"
            and getattr(node.value, "attr", getattr(node.value, "id", "")) in CONSTANTS]


def stand_ins(tree: ast.AST) -> list[ast.AST]:
    """Return what stands in a tree for values that are not given: defaults of fields and of arguments."""
    classes = [node for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
    given = [one.value for node in classes for one in node.body if isinstance(one, ast.AnnAssign) and one.value is not None]
    made = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    return [*given, *(one for node in made for one in (*node.args.defaults, *node.args.kw_defaults) if one is not None)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_no_law_keeps_to_a_default(path):
    """Outside what stands in for a value not given nothing reads a default's own figure: an override would be ignored."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    allowed = {id(node) for one in stand_ins(tree) for node in readings(one)}
    assert [ast.unparse(node) for node in readings(tree) if id(node) not in allowed] == []


def followers() -> dict[tuple[str, str], str]:
    """Return the fields of elements that stand for a default where nothing is given: (class, field) -> name of the default."""
    found = {}
    for path in (ROOT / "hydro" / "elements").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            for one in node.body if isinstance(node, ast.ClassDef) else ():
                if isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name) and one.value is not None:
                    for read in readings(one.value):
                        found[node.name, one.target.id] = CONSTANTS[ast.unparse(read.value).rpartition(".")[2]].name
    return found


CASES = ROOT / "cases"
LABEL = {"curve": (), "most_flow": 2e-3, "most_height": 4.0}
BUILDS = (tube(), loop(tank_opening=1.511), loop(returns=(replace(way(end=1.40), highest=height(1.62, "return: highest")),)),
          loop(driven_by=pump(tests=((0.01, 8.0, 1.0),), **LABEL)), loop(driven_by=pump(**LABEL)),
          loop(returns=(way(end=1.40, hole_at=1.465, hole=0.2 * 0.0284),), counts_on=("siphon breaks",)),
          loads((CASES / "paludarium.yaml").read_text(encoding="utf-8")),
          loads((CASES / "tub-and-mats.yaml").read_text(encoding="utf-8")),
          loads((CASES / "one-hole-180.yaml").read_text(encoding="utf-8").replace("lip: 4 cm below", "lip: 15 mm below")),
          loads((CASES / "stand-by-flows-back.yaml").read_text(encoding="utf-8")),
          loads((CASES / "demo.yaml").read_text(encoding="utf-8").replace("temperature: 14..19 °C\n", "")))
OF_HISTORIES = {"top-up flow"}
"""Taken by what happens in time alone."""


def parts(thing: object) -> list[object]:
    """Return an element and all that it is made of."""
    if isinstance(thing, (list, tuple)):
        return [part for one in thing for part in parts(one)]
    if not is_dataclass(thing):
        return []
    return [thing, *(part for one in fields(thing) for part in parts(getattr(thing, one.name)))]


def elements(build: Build) -> list[object]:
    """Return the elements of a build's links and all that they are made of."""
    return parts([link.element for link in place(build).network({}).links])


def overridden(build: Build, *names: str, share: float = 1.0) -> Build:
    """Return a build in which some defaults are a tenth larger, or a share of that."""
    return replace(build, overrides={**build.overrides, **{name: Uncertain.exact(share * larger(name), name) for name in names}})


def larger(name: str) -> float:
    """Return a tenth more than a default is, and more than nothing; of a temperature 3 K more."""
    if all_defaults()[name].dimension == "temperature":
        return all_defaults()[name].middle + 3.0
    return 1.1 * all_defaults()[name].middle or 1e-3


def test_fields_that_stand_for_a_default_follow_its_override():
    """What an element takes for a default where it is made by hand is the overridden figure where a build is prepared."""
    seen = set()
    for build in BUILDS:
        for part in elements(overridden(build, *followers().values())):
            for (kind, field), name in followers().items():
                if type(part).__name__ == kind:
                    seen.add((kind, field))
                    assert getattr(part, field) == pytest.approx(larger(name), rel=1e-12), (kind, field)
    assert seen == set(followers())


def test_a_tube_feeds_by_the_rims_law():
    """The head over a tube's mouth is that of a rim of its bore with the coefficient that the case gives: C^(-2/3) of it."""
    plain, other = (next(part for part in elements(build) if isinstance(part, SiphonTube))
                    for build in (tube(), overridden(tube(), WEIR.name)))
    rim = Rim.of(0.0, other.line.bore, other.line.bore, larger(WEIR.name), 0.6)
    for q in (-1e-3, 0.0, 1e-5, 1e-3):
        assert other.feeding_head(q) == pytest.approx(rim.weir_head(q), rel=1e-12)
    assert other.feeding_head(1e-3)[0] / plain.feeding_head(1e-3)[0] == pytest.approx(1.1 ** (-2.0 / 3.0), rel=1e-9)


@cache
def told(number: int, name: str = "", share: float = 1.0) -> str:
    """Return what the checks of a build say and its prepared elements, with a default overridden."""
    build = overridden(BUILDS[number], name, share=share) if name else BUILDS[number]
    results = results_of(place(build))
    said = [(one.value, one.limit, one.verdict, one.reasons) for one in checks_of(results)]
    return repr((said, [link.element for link in results.network.links]))


def of_a_build(name: str) -> bool:
    """Whether a default moves what the checks of some build say: a tenth more, a hundredth or twenty times of it."""
    return any(told(number) != told(number, name, share) for share in (1.0, 0.01, 20.0) for number in range(len(BUILDS)))


def of_a_kind(kind: Kind, name: str) -> bool:
    """Whether a default moves an element of a kind, in any of the ways it may be written."""
    item = {words: Item(kind.word, samples.values(kind, 1, chosen) | given, label=kind.word)
            for words, chosen, given in samples.forms(kind)}

    def made(one: Item, overrides: dict[str, Uncertain]) -> str:
        context = PartContext({}, overrides, lambda height: height.offset.at({}), samples.VISCOSITY)
        element = kind.make(Reader(one, context, bore=0.0402))
        return repr(element(samples.ACROSS, samples.FLOOR, samples.RIM) if kind.family in ("barrier", "edge") else element)

    return any(made(one, {}) != made(one, {name: Uncertain.exact(larger(name), name)}) for one in item.values())


@pytest.mark.parametrize("name", sorted(all_defaults()))
def test_every_override_moves_something(name):
    """A default that a case overrides changes each kind of element that lists it, or else some build."""
    kinds = {kind.word: kind for kind in load_all().values() if name in {default.name for default in kind.defaults}}
    unmoved = [word for word, kind in kinds.items() if not of_a_kind(kind, name)]
    assert (kinds and not unmoved) or of_a_build(name) or name in OF_HISTORIES
