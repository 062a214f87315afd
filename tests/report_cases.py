"""The builds of `cases/` and variations of the small example, each worked out once for all tests of reports and commands."""

from functools import cache
from pathlib import Path

import pytest

from hydro import assess, load, loads
from hydro.report.named import EXAMPLE

ROOT = Path(__file__).parent.parent
CASES = sorted((ROOT / "cases").glob("*.yaml"))
SYSTEMS = ("metric", "US", "imperial")
SURGING = (("60 mm", "30 mm"), ("pipe 63 PN10 1 m", "pipe 32 PN10 1 m"))
"""Changes of the example that make its drain surge: a pipe too small to run with air, too large to run full."""

every_case = pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)


@cache
def assessed(path):
    """Return the assessment of a case file."""
    return assess(load(path))


@cache
def varied(*changes):
    """Return the assessment of the example with some of its text replaced."""
    build = EXAMPLE
    for old, new in changes:
        assert old in build
        build = build.replace(old, new)
    return assess(loads(build))
