"""What is imported when: help and reading a file stay light, a run needs neither pint nor scipy; the public surface."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import hydro

ROOT = Path(__file__).parent.parent
HEAVY = ("scipy", "numpy", "pint", "fluids", "networkx")


def loaded(*arguments):
    """Return the heavy packages that a run of the command in a fresh interpreter has imported at its end."""
    code = (f"import sys\nsys.argv[1:] = {list(arguments)!r}\nfrom hydro_cli.main import main\ntry:\n    main()\n"
            f"except SystemExit:\n    pass\nprint(*[name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    return set(done.stderr.splitlines()[-1].split())


@pytest.mark.parametrize("arguments", [("--help",), ("--version",), ("check", "cases/demo.yaml"), ("words",)])
def test_light_commands_import_nothing_heavy(arguments):
    """Help, version, reading a file and the list of words import neither scipy, numpy, pint, fluids nor networkx."""
    assert loaded(*arguments) == set()


def test_a_run_does_without_pint_and_scipy():
    """A run on one loop, told as text, imports neither pint nor scipy nor networkx."""
    assert loaded("run", "cases/demo.yaml") <= {"numpy", "fluids"}


def test_importing_the_library_imports_nothing_of_it():
    """`import hydro` alone loads none of its own modules: each comes when its name is asked for."""
    code = "import hydro, sys; print([name for name in sys.modules if name.startswith('hydro.')])"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_public_name_is_there():
    """Each name of the surface can be had from `hydro`, and no other can."""
    for name in hydro.__all__:
        assert getattr(hydro, name) is not None
    assert set(hydro.__all__) <= set(dir(hydro))
    with pytest.raises(AttributeError, match="no attribute 'asses'"):
        hydro.asses  # noqa: B018


def test_version_is_the_packages():
    """The version of the library is the one in pyproject.toml."""
    assert hydro.__version__ == tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"]


@pytest.mark.parametrize("name", ["hydro", "hydro.report.content.named"])
def test_examples_in_the_documentation_run(name):
    """The examples in the docstrings of the public surface give what they say."""
    import doctest
    import importlib

    assert doctest.testmod(importlib.import_module(name)).failed == 0
