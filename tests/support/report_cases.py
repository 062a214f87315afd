"""The builds of `cases/` and variations of the small example, each worked out once for all tests of reports and commands."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from hydro import Study, assess, load, loads
from hydro.report.content.named import EXAMPLE
from hydro.steady.operating_point import NONE, OperatingPoint

ROOT = Path(__file__).parents[2]
CASES = sorted(path for path in (ROOT / "cases").glob("*.yaml"))
SYSTEMS = ("metric", "US", "imperial")
SURGING = (("60 mm", "30 mm"), ("pipe 63 PN10 1 m", "pipe 32 PN10 1 m"))
"""Changes of the example that make its drain surge: a pipe too small to run with air, too large to run full."""

SEVERAL = ("tanks:", "overflow boxes:", "sumps:", "pumps:", "pipes between:")
"""Lines of cases with several of something: their reports have a form of their own."""


def _of_one(path):
    return not set(path.read_text(encoding="utf-8").splitlines()) & set(SEVERAL)


ONE = [path for path in CASES if _of_one(path)]
every_case = pytest.mark.parametrize("path", ONE, ids=lambda path: path.stem)


@cache
def assessed(path):
    """Return the assessment of a case file."""
    return assess(load(path))


@cache
def studied(path):
    """Return the study of a case file; what one test asks of it is there for the next."""
    return Study.of(assessed(path))


@cache
def unsolved():
    """Return the assessment of the example as if no state in which it runs had been found."""
    found = varied()
    answer = OperatingPoint(NONE, None, (), "made so")
    return replace(found, results=replace(found.results, answer=answer, stopped={}, overflows=(), emergencies=(),
                                          blocked_tanks=()), checks=(), lines=(), flow=None, shifts=())


@cache
def varied(*changes):
    """Return the assessment of the example with some of its text replaced."""
    build = EXAMPLE
    for old, new in changes:
        assert old in build
        build = build.replace(old, new)
    return assess(loads(build))
