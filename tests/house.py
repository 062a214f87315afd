"""The library in figures: rooms, floors, arrows between rooms, files, lines, and names that mean two things.

    python tests/house.py [FOLDER]      FOLDER holds `hydro/` and `cli/`, by default this checkout

A room is a package or a loose module directly under `hydro/`; a room's floor is one above the highest room it imports from; an
arrow is a pair of rooms, one of which imports from the other. A name is counted as defined twice where two modules define a
public class or function of that name.
"""

from __future__ import annotations

import ast
import sys
from collections import Counter, defaultdict
from pathlib import Path
from statistics import median

HERE = Path(__file__).resolve().parents[1]


def room_of(path, root):
    """Return the room of a file."""
    return path.relative_to(root / "hydro").parts[0].removesuffix(".py")


def asked(tree, root):
    """Yield the rooms that a module imports from."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "hydro":
            parts = node.module.split(".")
            yield from (parts[1:2] if len(parts) > 1 else [alias.name for alias in node.names])
        elif isinstance(node, ast.Import):
            yield from (alias.name.split(".")[1] for alias in node.names if alias.name.startswith("hydro."))


def bodies(tree):
    """Yield how many lines each function takes."""
    yield from (node.end_lineno - node.lineno + 1 for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def floors(below):
    """Return the floor of each room, the ground floor 1."""
    found = {}

    def floor(room):
        if room not in found:
            found[room] = 1 + max((floor(other) for other in below[room]), default=0)
        return found[room]
    for room in list(below):
        floor(room)
    return found


def figures(root):
    """Return the figures of a checkout by their names, and the lines by room."""
    files = sorted((root / "hydro").rglob("*.py"))
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in files}
    lines = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    rooms = {room_of(path, root) for path in files} - {"__init__"}
    below, by_room, names = defaultdict(set), Counter(), defaultdict(set)
    for path, tree in trees.items():
        room = room_of(path, root)
        by_room[room] += lines[path]
        if room in rooms:
            below[room] |= ({name for name in asked(tree, root) if name in rooms} - {room})
        for node in tree.body:
            if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_"):
                names[node.name].add(path)
    command = sum(len(path.read_text(encoding="utf-8").splitlines()) for path in (root / "cli").rglob("*.py"))
    twice = {name for name, places in names.items() if len(places) > 1}
    return {"rooms": len(rooms), "floors": max(floors(below).values()), "arrows": sum(map(len, below.values())),
            "loose modules": sum(1 for path in (root / "hydro").glob("*.py")),
            "files": len(files), "lines of hydro": sum(lines.values()), "lines of cli": command,
            "median module": int(median(lines.values())),
            "median body": int(median(n for tree in trees.values() for n in bodies(tree))),
            "names defined twice": len(twice)}, by_room


def main(root):
    """Print the figures."""
    found, by_room = figures(root)
    for name, figure in found.items():
        print(f"{name:<22}{figure:>7}")
    for room, count in by_room.most_common():
        print(f"  {room:<20}{count:>7}")


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else HERE)
