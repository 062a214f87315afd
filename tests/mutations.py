"""Does a test go red when a law is changed by 20 %, or when the comparison of a verdict is turned round?

    python tests/mutations.py [--only PART OF A NAME] [--list] [--jobs 2]

The tree is copied to a temporary folder; there one edit at a time is made, the tests that ought to notice are run (-x), and the
edit is undone. Survivors are listed; exit 1 if there is any, 2 if an edit's text is not found just once or the tests fail
without any edit. Laws are edited by text, comparisons (<, <=, >, >=) are found in the syntax tree, every one of them.
"""

from __future__ import annotations

import argparse
import ast
import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("hydro", "cli", "tests", "cases", "pyproject.toml", "README.md", "DEVELOPERS.md")
TURNED = {ast.Lt: ("<", ">="), ast.LtE: ("<=", ">"), ast.Gt: (">", "<="), ast.GtE: (">=", "<")}

LONGEST = 150.0
"""Time after which tests that hang have noticed, s."""

ELEMENTS = ("tests/whole_builds/test_worked_loop.py", "tests/steady/test_modes.py", "tests/reference",
            "tests/whole_builds/test_hand_calculations.py", "tests/whole_builds/test_random_builds.py")
"""Tests that ought to notice any change of a law, besides the element's own."""
VERDICTS = ("tests/checks/test_comfort.py", "tests/checks/test_flood.py", "tests/checks/test_overflow.py",
            "tests/checks/test_pump.py", "tests/checks/test_sensitivity.py", "tests/checks/test_several_tanks.py",
            "tests/checks/test_shared.py")
STOPPED = ("tests/shutdown/test_several_tanks.py", "tests/shutdown/test_random_shutdowns.py",
           "tests/shutdown/test_drawdown_limits.py", "tests/shutdown/test_sumps.py")
RUNNING = ("tests/shutdown/test_power_cut.py", "tests/scenarios/test_running_line.py", "tests/steady/test_modes.py",
           "tests/scenarios/test_placed_build.py", "tests/whole_builds/test_worked_loop.py",
           "tests/whole_builds/test_random_builds.py")

COMPARISONS = {
    "hydro/checks/check.py": VERDICTS, "hydro/checks/comfort.py": VERDICTS, "hydro/checks/flood.py": VERDICTS,
    "hydro/checks/sensitivity.py": VERDICTS,
    "hydro/checks/overflow.py": VERDICTS, "hydro/checks/pump.py": VERDICTS,
    "hydro/checks/shared.py": VERDICTS,
    "hydro/scenarios/all_drains_blocked.py": (*VERDICTS, "tests/scenarios/test_all_drains_blocked.py"),
    **{f"hydro/shutdown/{name}.py": (*STOPPED, *RUNNING) for name in
       ("line_contents", "power_cut", "drawdown_limits", "outlets", "passages", "rest", "settling", "sumps")},
    "hydro/scenarios/running_line.py": RUNNING, "hydro/steady/modes.py": RUNNING[2:], "hydro/steady/pump_lift.py": RUNNING[2:],
}
"""File -> the tests that ought to notice a comparison of it turned round."""

EXEMPT = {
    ("hydro/steady/pump_lift.py", "at_inner > at_outer"): "which of two halves is kept: both searches end at the summit",
}
"""Comparisons that change the way to an answer but not the answer: (file, text) -> why."""

LAWS = (
    ("pipe", "factor * 32.0 * viscosity", "factor * 38.4 * viscosity"),
    ("pipe", "turbulent=factor * length", "turbulent=1.2 * factor * length"),
    ("pipe", "return math.pi / 4.0 * self.bore * self.bore * self.length", "return 0.3 * math.pi * self.bore ** 2 * self.length"),
    ("pipe", "smooth = 2.51 / reynolds", "smooth = 3.01 / reynolds"),
    ("fittings", "bore, k / (2.0 * GRAVITY * area * area))", "bore, 1.2 * k / (2.0 * GRAVITY * area * area))"),
    ("fittings", "where(narrowing, 0.5 * (1.0 - square)", "where(narrowing, 0.6 * (1.0 - square)"),
    ("fittings", "(1.0 - square) ** 2.0), small", "1.2 * (1.0 - square) ** 2.0), small"),
    ("fittings", "head + self.crack * forward / rise", "head + 1.2 * self.crack * forward / rise"),
    ("rim", "open_share * weir * (2.0 / 3.0)", "open_share * weir * 0.8"),
    ("rim", "open_share * orifice * math.pi / 4.0", "open_share * orifice * math.pi / 4.8"),
    ("rim", "weir = (head / self.weir_resistance) ** 1.5", "weir = 1.2 * (head / self.weir_resistance) ** 1.5"),
    ("rim", "orifice = (head / self.orifice_resistance) ** 0.5", "orifice = 1.2 * (head / self.orifice_resistance) ** 0.5"),
    ("edge", "over = coefficient * width * (2.0 / 3.0)", "over = coefficient * width * 0.8"),
    ("edge", "slot_coefficient * width * gap *", "1.2 * slot_coefficient * width * gap *"),
    ("edge", "factor = bracket ** 0.385", "factor = bracket ** 0.462"),
    ("media", "flow * (1.0 - clogged) / (top - floor)", "1.2 * flow * (1.0 - clogged) / (top - floor)"),
    ("media", "4.0 * (1.0 - self.linear) * abs(d)", "4.8 * (1.0 - self.linear) * abs(d)"),
    ("pump", "return speed * speed * value, speed * slope", "return 1.2 * speed * speed * value, 1.2 * speed * slope"),
    ("pump", "most_height * (1.0 - (share ** exponent", "1.2 * most_height * (1.0 - (share ** exponent"),
    ("return_line", "hole, 1.0 / (2.0 * GRAVITY *", "hole, 1.2 / (2.0 * GRAVITY *"),
    ("stack", "STACK = 2.5e-4 *", "STACK = 3.0e-4 *"),
    ("drain", "return q / (math.pi / 4.0 * bore * bore", "return 1.2 * q / (math.pi / 4.0 * bore * bore"),
    ("drain", "return self.sweeps_at * math.pi / 4.0", "return 1.2 * self.sweeps_at * math.pi / 4.0"),
    ("drain", 'PRIMES_AT = Default("prime head", 0.8, 1.0,', 'PRIMES_AT = Default("prime head", 0.8, 1.2,'),
    ("drain", 'BREAKS_AT = Default("break head", 0.3, 0.4,', 'BREAKS_AT = Default("break head", 0.3, 0.48,'),
    ("drain", "filling = (square / (full * full)) ** 0.3", "filling = (square / (full * full)) ** 0.36"),
    ("line", 'LocalLoss.of(1.0, bore, f"{where_from}: exit")', 'LocalLoss.of(1.2, bore, f"{where_from}: exit")'),
    ("waters", "volume = area * z", "volume = 1.2 * area * z"),
    ("waters", "corners = ends * (2.0 - math.pi / 2.0)", "corners = 1.2 * ends * (2.0 - math.pi / 2.0)"),
    ("waters", "(l0 * w1 + l1 * low_width) / 2.0", "(l0 * w1 + l1 * low_width) / 1.6"),
    ("waters", "l1 * w1 / 3.0))", "l1 * w1 / 2.5))"), ("comb", "strength = (2.0 / 3.0)", "strength = 0.8"),
    ("comb", "return foot - top,", "return foot - 0.8 * top,"),
    ("high_point", "head, slope = head - share * lost", "head, slope = head - 1.2 * share * lost"),
    ("siphon_tube", "edge_resistance(self.weir, self.line.bore)", "edge_resistance(1.2 * self.weir, self.line.bore)"),
    ("tee", "slanted, 1.55 * share", "slanted, 1.86 * share"),
    ("tee", "rest = (1.0 - share) * (1.0 - share)", "rest = 1.2 * (1.0 - share) * (1.0 - share)"),
    ("spray_bar", "per_square = regain", "per_square = 1.2 * regain"),
    ("down_turned", "return head + self.quadratic * q * q", "return head + 1.2 * self.quadratic * q * q"),
    ("flat_run", "friction = math.sqrt(2.0", "friction = math.sqrt(2.88"))
"""Element file, text, text changed by 20 %."""


@dataclass(frozen=True)
class Mutation:
    """One edit: `start` to `end` of a file's text give way to `new`; `tests` ought to notice."""

    file: str
    start: int
    end: int
    new: str
    name: str
    tests: tuple[str, ...]


class AnchorError(Exception):
    """A text to be edited stands in its file not at all, or more than once."""


def law_mutations():
    """Return the edits of laws; AnchorError where a text is not found just once."""
    made = []
    for element, old, new in LAWS:
        file = f"hydro/elements/{element}.py"
        text = (ROOT / file).read_text(encoding="utf-8")
        if text.count(old) != 1:
            raise AnchorError(f"{file}: {text.count(old)} times '{old}'")
        own = f"tests/elements/test_{element}.py"
        tests = ((own,) if (ROOT / own).exists() else ()) + ELEMENTS
        start = text.index(old)
        made.append(Mutation(file, start, start + len(old), new, f"{file}: {old} -> {new}", tests))
    return made


def comparison_mutations():
    """Return the edits that turn round each ordering comparison of the files in `COMPARISONS`."""
    return [mutation for file, tests in COMPARISONS.items() for mutation in comparisons_of(file, tests)]


def comparisons_of(file, tests):
    """Yield the edits of one file."""
    text = (ROOT / file).read_text(encoding="utf-8")
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Compare):
            continue
        sides = [node.left, *node.comparators]
        for left, operator, right in zip(sides, node.ops, sides[1:], strict=False):
            if type(operator) not in TURNED:
                continue
            old, new = TURNED[type(operator)]
            begin = text.index(old, starts[left.end_lineno - 1] + left.end_col_offset)
            assert begin < starts[right.lineno - 1] + right.col_offset
            whole = " ".join(ast.get_source_segment(text, node).split())
            if (file, whole) not in EXEMPT:
                yield Mutation(file, begin, begin + len(old), new, f"{file}:{node.lineno}: {whole}: {old} -> {new}", tests)


def copied(folder):
    """Copy what the tests need into a folder."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
        elif source.exists():
            shutil.copy(source, folder / name)
    return folder


def red(folder, tests):
    """Whether some test fails in a copy, or never ends; tests that are not there yet are passed over."""
    present = [test for test in tests if (folder / test).exists()]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join((str(folder), str(folder / "cli"))),
                   "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *present]
    try:
        return subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=False,
                              timeout=LONGEST).returncode != 0
    except subprocess.TimeoutExpired:
        return True


def noticed(mutation, folder):
    """Whether some test goes red with an edit, made in a copy and undone."""
    path = folder / mutation.file
    text = path.read_text(encoding="utf-8")
    path.write_text(text[:mutation.start] + mutation.new + text[mutation.end:], encoding="utf-8")
    try:
        return red(folder, mutation.tests)
    finally:
        path.write_text(text, encoding="utf-8")


def survivors(mutations, folders):
    """Return the edits that no test notices, working in several copies at once."""
    free = Queue()
    for folder in folders:
        free.put(folder)

    def run(mutation):
        folder = free.get()
        try:
            seen = noticed(mutation, folder)
        finally:
            free.put(folder)
        print(f"{'noticed ' if seen else 'SURVIVES'}  {mutation.name}", flush=True)
        return seen
    with ThreadPoolExecutor(len(folders)) as workers:
        return [mutation for mutation, seen in zip(mutations, workers.map(run, mutations), strict=True) if not seen]


def main(arguments=None):
    """Make the edits one by one and list the survivors."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--only", default="", help="only edits whose name contains this")
    parser.add_argument("--list", action="store_true", help="list the edits and stop")
    parser.add_argument("--jobs", type=int, default=2)
    chosen = parser.parse_args(arguments)
    try:
        mutations = [one for one in (*law_mutations(), *comparison_mutations()) if chosen.only in one.name]
    except AnchorError as error:
        print(error, file=sys.stderr)
        return 2
    if chosen.list:
        print("\n".join(one.name for one in mutations))
        return 0
    with tempfile.TemporaryDirectory() as place:
        folders = [copied(Path(place) / str(k)) for k in range(chosen.jobs) if not (Path(place) / str(k)).mkdir()]
        everything = sorted({test for one in mutations for test in one.tests})
        if red(folders[0], everything):
            print("the tests fail without any edit", file=sys.stderr)
            return 2
        left = survivors(mutations, folders)
    print(f"{len(mutations)} edits, {len(left)} survive")
    print("\n".join(f"  {one.name}" for one in left))
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main())
