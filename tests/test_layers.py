"""The order of the house, read from its imports; and the house's numbers."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LAYERS = (
    {"errors"},
    {"quantities"},
    {"catalog", "description", "solve"},
    {"elements"},
    {"case"},
    {"network"},
    {"parts", "steady"},
    {"shutdown"},
    {"transient"},
    {"scenarios"},
    {"faults"},
    {"checks"},
    {"search"},
    {"drilling"},
    {"study"},
    {"report"},
    {"__init__"},
)
"""From the ground up; a module imports from lower layers and from its own package, never from its own layer or above."""

RANK = {name: level for level, names in enumerate(LAYERS) for name in names}
TABLES = {"unit_table"}
"""Modules that are mainly a table may be longer."""
EMPTY_NAMES = {"utils", "util", "helpers", "helper", "common", "core", "misc"}
FILES = sorted((ROOT / "hydro").rglob("*.py"))
EVERYTHING = [*FILES, *sorted((ROOT / "cli").rglob("*.py")), *sorted((ROOT / "tests").rglob("*.py"))]


def short(path: Path) -> str:
    """Return a file's name as tests show it."""
    return path.relative_to(ROOT).as_posix()


def unit_of(path: Path) -> str:
    """Return the module or package of `hydro` that a file belongs to."""
    inside = path.relative_to(ROOT / "hydro").parts
    return inside[0].removesuffix(".py")


def imports(path: Path, at_import: bool = False) -> Iterator[str]:
    """Yield every module that a file imports by its full name; `at_import` leaves out what functions and type checkers import."""
    def walk(node: ast.AST) -> Iterator[ast.AST]:
        for child in ast.iter_child_nodes(node):
            deferred = isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef, ast.Lambda))
            if at_import and (deferred or (isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test))):
                continue
            yield child
            yield from walk(child)
    for node in walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{short(path)} imports by dots"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if is_module(inner) else str(node.module)


def is_module(name: str) -> bool:
    """Whether a name is a module or package of this project."""
    place = ROOT.joinpath(*name.split("."))
    return place.with_suffix(".py").exists() or (place / "__init__.py").exists()


def within(path: Path) -> set[str]:
    """Return the modules and packages of `hydro` that a file imports; the surface itself counts as '__init__'."""
    names = [name.split(".") for name in imports(path) if name.split(".")[0] == "hydro"]
    return {name[1] if len(name) > 1 else "__init__" for name in names}


def test_every_module_has_its_layer():
    """Each module and package of the library stands in exactly one layer, and no layer names what is not there."""
    assert {unit_of(path) for path in FILES} == set(RANK)
    assert sum(map(len, LAYERS)) == len(RANK)


@pytest.mark.parametrize("path", FILES, ids=short)
def test_imports_run_one_way(path):
    """A module imports only what stands in a lower layer, or beside it in its own package."""
    mine = unit_of(path)
    # The version stands in the surface; a report may show it.
    asked = within(path) - ({"__init__"} if mine == "report" else set())
    above = sorted(name for name in asked if name != mine and RANK[name] >= RANK[mine])
    assert above == []


def test_the_case_reader_does_without_the_solver():
    """Reading and checking a file needs neither network nor solver, by whatever way of imports."""
    reached: set[str] = set()
    waiting = {"case"}
    while waiting:
        unit = waiting.pop()
        reached.add(unit)
        waiting |= {name for path in FILES if unit_of(path) == unit for name in within(path)} - reached - {"__init__"}
    assert reached.isdisjoint({"solve", "network", "steady", "shutdown", "scenarios", "checks"})
    assert reached >= {"elements", "quantities"}


@pytest.mark.parametrize("path", FILES, ids=short)
def test_the_library_does_not_know_its_command(path):
    """No module of the library imports the command."""
    assert not [name for name in imports(path) if name.split(".")[0] == "hydro_cli"]


@pytest.mark.parametrize(("package", "module"), [("numpy", "quantities/arrays.py"), ("pint", "quantities/parsing.py"),
                                                 ("yaml", "case/syntax/yaml_nodes.py"), ("networkx", "network/model.py"),
                                                 ("fluids", "elements/fittings.py")])
def test_one_importer_each(package, module):
    """Each package from outside is imported by one module alone, type hints aside."""
    batch = "search/batch/"
    arrays = ("solve/grouped", "solve/pattern", "solve/sparse", f"{batch}solve", f"{batch}evaluate", f"{batch}newton")
    typed = {"pint": {"hydro/report/content/named.py"}, "numpy": {f"hydro/{name}.py" for name in arrays}}.get(package, set())
    users = {short(path) for path in FILES if package in {name.split(".")[0] for name in imports(path)}}
    assert users - typed == {f"hydro/{module}"}
    assert all(package not in {name.split(".")[0] for name in imports(ROOT / path, at_import=True)} for path in typed)


@pytest.mark.parametrize("path", FILES, ids=short)
def test_heavy_packages_are_asked_for_late(path):
    """Nothing heavy is imported when a module is: numpy, pint, fluids, scipy and networkx wait until they are needed."""
    early = {name.split(".")[0] for name in imports(path, at_import=True)}
    assert early.isdisjoint({"numpy", "pint", "fluids", "scipy", "networkx"})


@pytest.mark.parametrize("path", FILES, ids=short)
def test_modules_stay_short(path):
    """No module is longer than 300 lines but tables."""
    if path.stem not in TABLES:
        assert len(path.read_text(encoding="utf-8").splitlines()) <= 300


def functions(path: Path) -> Iterator[ast.FunctionDef]:
    """Yield every function and method of a file."""
    yield from (node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.FunctionDef))


@pytest.mark.parametrize("path", [path for path in EVERYTHING if "tests" not in path.parts], ids=short)
def test_functions_stay_short(path):
    """No function is longer than 60 lines."""
    assert [node.name for node in functions(path) if (node.end_lineno or 0) - node.lineno >= 60] == []


@pytest.mark.parametrize("path", EVERYTHING, ids=short)
def test_names_of_files_say_something(path):
    """No file is named for holding whatever else there was."""
    assert path.stem not in EMPTY_NAMES
    assert path.parent.name not in EMPTY_NAMES


def public(tree: ast.AST, inside: str = "") -> Iterator[tuple[str, ast.AST]]:
    """Yield the public classes and functions of a module, and the public methods of public classes."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, (ast.ClassDef, ast.FunctionDef)) and not node.name.startswith("_"):
            yield inside + node.name, node
            if isinstance(node, ast.ClassDef):
                yield from public(node, f"{node.name}.")


@pytest.mark.parametrize("path", FILES, ids=short)
def test_whatever_is_public_says_what_it_is(path):
    """Every module, and every public class, function and method in it, has a docstring."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree)
    assert [name for name, node in public(tree) if not ast.get_docstring(node)] == []


def test_every_test_makes_its_claim():
    """Every test has a docstring: the claim that it makes."""
    silent = [f"{short(path)}: {node.name}" for path in EVERYTHING if path.name.startswith("test_") for node in functions(path)
              if node.name.startswith("test_") and not ast.get_docstring(node)]
    assert silent == []


READERS = {"hydro.scenarios.results": {"opening_of", "room_of", "least_room"}, "hydro.scenarios.histories": {"outcome_of"},
           "hydro.scenarios.all_drains_blocked": {"drains_of"}, "hydro.transient.level_marks": {"vessels_by_name"},
           "hydro.transient.manifold_filling": {"header_in_words"}, "hydro.faults.table": {"fault_in_words"},
           "hydro.faults.survivable_heights": {"below"}, "hydro.study.system_curve": {"most_flow"},
           "hydro.scenarios.tuned_valves": {"valve_settings", "next_higher"}, "hydro.shutdown.sumps": {"outward"}}
"""Functions of the rooms that solve which only read what is known already."""
SOLVING = {"solve", "steady", "shutdown", "transient", "scenarios", "faults", "search"}
"""Rooms that solve: a report takes records and constants from them, and the readers above."""
SOLVED_IN_THE_STUDY = {"sheet_of", "freedoms_of", "band_of", "lip_of", "parts_list", "assess", "checks_of", "shifts"}
"""What other rooms work out, and a report leaves to the study."""


@pytest.mark.parametrize("path", [path for path in FILES if unit_of(path) == "report"], ids=short)
def test_a_report_imports_nothing_that_solves(path):
    """From rooms that solve a report imports records, constants and readers alone."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    taken = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    asked = [(str(node.module), alias.name) for node in taken for alias in node.names]
    wrong = [f"{module}.{name}" for module, name in asked
             if module.split(".")[0] == "hydro" and module.split(".")[1:2] and name[0].islower()
             and name not in READERS.get(module, ())
             and (module.split(".")[1] in {*SOLVING, "study"} or name in SOLVED_IN_THE_STUDY)]
    assert wrong == []


CACHED = {"catalog/compatibility.py": {"_pairs"}, "catalog/user_sizes.py": {"_family_words"},
          "elements/fittings.py": {"_crane_ft"}, "elements/registry.py": {"_import_all"},
          "catalog/lookup.py": {"_by_key", "_by_bore"}, "case/names/renaming.py": {"_names"}, "solve/grouped.py": {"_joining"},
          "catalog/shelf.py": {"read_shelf", "pipe_sizes", "waste_pipes", "hoses", "bulkheads", "families", "all_sizes"},
          "report/html/frame.py": {"style"}}
"""Functions whose answers are kept: tables and elements that come with the library, and what a type or a bore alone decides."""
FILLED = {"elements/registry.py": {"KINDS", "GENERAL"}, "solve/choosing.py": {"_latest"}}
"""What modules fill: the registries, while elements are imported; the solver's patterns of the last large system."""
CHANGING = {"append", "extend", "insert", "add", "update", "setdefault", "pop", "popitem", "clear", "remove", "discard"}


def changed(tree: ast.Module) -> set[str]:
    """Return the names of a module's lists, dicts and sets that its functions change."""
    targets = [target for node in tree.body if isinstance(node, (ast.Assign, ast.AnnAssign))
               for target in (node.targets if isinstance(node, ast.Assign) else [node.target])]
    names = {target.id for target in targets if isinstance(target, ast.Name)}
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CHANGING:
            found.add(ast.unparse(node.func.value))
        elif isinstance(node, ast.Subscript) and isinstance(node.ctx, (ast.Store, ast.Del)):
            found.add(ast.unparse(node.value))
        elif isinstance(node, ast.Global):
            found.update(node.names)
    return names & found


@pytest.mark.parametrize("path", FILES, ids=short)
def test_modules_remember_nothing(path):
    """No module keeps what it has worked out: none changes a list, dict or set of its own, none caches but what is listed."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    place = path.relative_to(ROOT / "hydro").as_posix()
    assert changed(tree) == FILLED.get(place, set())
    cached = {node.name for node in functions(path) if {"cache", "lru_cache"} & {
        ast.unparse(mark).split("(")[0].removeprefix("functools.") for mark in node.decorator_list}}
    assert cached == CACHED.get(place, set())
