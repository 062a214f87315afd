"""The examples in the data sheets run as they are printed."""

import doctest
import pkgutil
from importlib import import_module

import pytest

import hydro

MODULES = sorted(module.name for module in pkgutil.walk_packages(hydro.__path__, "hydro."))


@pytest.mark.parametrize("name", MODULES)
def test_examples(name):
    """Every example in a module's docstrings gives what stands below it."""
    assert doctest.testmod(import_module(name)).failed == 0


def test_there_are_examples():
    """Element files show how they are called: most of them carry an example that was run above."""
    elements = [name for name in MODULES if name.startswith("hydro.elements.")]
    finder = doctest.DocTestFinder(exclude_empty=True)
    shown = [name for name in elements if any(test.examples for test in finder.find(import_module(name)))]
    assert len(shown) >= 7
