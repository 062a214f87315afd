"""What somebody names is read only where it is an ordinary file, of bounded size, and in the folder of the case that names it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import BinaryIO

import pytest

from hydro.case import load
from hydro.errors import InputError
from hydro.quantities.file_text import MOST_BYTES

ROOT = Path(__file__).parents[2]
SOUND = (ROOT / "tests" / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
CURVE = "curve: [0 L/h = 4.0 m, 3000 L/h = 3.0 m, 5000 L/h = 0 m]"
SECRET = "root:secret,0\nmore:secret,1\n"


def refusal(path: Path) -> str:
    """Return the one complaint about a case file."""
    with pytest.raises(InputError) as caught:
        load(path)
    line, = caught.value.complaints
    return str(line)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder for a case, with what does not belong to it beside it and a link to that, a pipe and a secret in it."""
    inside = tmp_path / "case"
    (inside / "curves").mkdir(parents=True)
    (tmp_path / "outside.csv").write_text(SECRET)
    (inside / "inside.csv").write_text(SECRET)
    (inside / "quoted.csv").write_text('root:"secret",0\nmore:secret,1\n')
    (inside / "link.csv").symlink_to(tmp_path / "outside.csv")
    (inside / "large.csv").write_bytes(b"flow L/h, height m\n" * (MOST_BYTES // 19 + 1))
    os.mkfifo(inside / "pipe")
    return inside


OUTSIDE = "this lies outside the folder of the case file; expected a file beside the case file or in a folder under it"
NAMED = {"a device": ("/dev/zero", OUTSIDE), "another folder": ("../outside.csv", OUTSIDE),
         "a link out of it": ("link.csv", OUTSIDE),
         "a path from the root": ("/etc/hostname", OUTSIDE), "nothing there, outside": ("../nothere.csv", OUTSIDE),
         "a pipe": ("pipe", "this is a device or a pipe, no file"), "large": ("large.csv", "more than 1 MB"),
         "a folder": ("curves", "this is a folder"),
         "no table": ("inside.csv", "header"), "no table, quoted": ("quoted.csv", "header")}


@pytest.mark.parametrize(("name", "said"), NAMED.values(), ids=NAMED.keys())
def test_a_curve_is_an_ordinary_small_file_of_the_case(folder: Path, name: str, said: str) -> None:
    """A curve's file that is no small ordinary file under the case's folder, or no table, is told without showing it."""
    case = folder / "my.yaml"
    case.write_text(SOUND.replace(CURVE, f"curve: {name}"), encoding="utf-8")
    told = refusal(case)
    assert told.startswith(f"{case}:17: pump: curve: '{name}'")
    assert said in told
    assert "secret" not in told


@pytest.mark.parametrize("name", ["../outside.csv", "link.csv", "pipe", "large.csv", "inside.csv", "quoted.csv", "/dev/zero"])
def test_a_catalogue_is_an_ordinary_small_file_of_the_case(folder: Path, name: str) -> None:
    """The same holds for a catalogue of own sizes."""
    case = folder / "my.yaml"
    case.write_text(f"catalogue: {name}\n{SOUND}", encoding="utf-8")
    told = refusal(case)
    assert "expected" in told
    assert "secret" not in told


def test_a_curve_in_a_folder_below_is_read(folder: Path) -> None:
    """A file in a folder under that of the case is read, also where the case is called by a roundabout way."""
    (folder / "curves" / "pump.csv").write_text("flow L/h, height m\n0, 4\n5000, 0\n")
    (folder / "my.yaml").write_text(SOUND.replace(CURVE, "curve: curves/pump.csv"), encoding="utf-8")
    assert load(folder / "curves" / ".." / "my.yaml").pump.curve[0] == (0.0, 4.0)


@pytest.mark.parametrize("name", ["/dev/zero", "/dev/null", "pipe"])
def test_a_case_is_an_ordinary_file(folder: Path, name: str) -> None:
    """A device or a pipe in place of a case is refused before it is opened."""
    path = folder / name
    assert refusal(path) == f"{path}: this is a device or a pipe, no file; expected the name of a case file (.yaml)"


def checked(source: BinaryIO) -> tuple[int, str]:
    """Return exit code and complaints of `check` with a case that comes through the standard input."""
    done = subprocess.run([sys.executable, "-m", "hydro_cli", "check", "/dev/stdin"], stdin=source, capture_output=True,
                          check=False, cwd=ROOT, env=os.environ | {"PYTHONPATH": f"{ROOT}{os.pathsep}{ROOT / 'cli'}"}, timeout=60)
    return done.returncode, done.stderr.decode()


def test_standard_input_is_bounded() -> None:
    """A case may come through the standard input; of an endless one no more is read than a case may have."""
    with (ROOT / "tests" / "bad_input" / "sound.yaml").open("rb") as sound, Path("/dev/zero").open("rb") as endless:
        assert checked(sound) == (0, "")
        assert checked(endless) == (2, "/dev/stdin: the file has more than 1 MB; expected a case file of at most 1 MB\n")


def test_a_folder_that_may_not_be_looked_into_is_named(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a folder may not be read, that is said, and not that there is no such file."""
    def locked(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")
    monkeypatch.setattr("os.stat", locked)
    told = refusal(folder / "my.yaml")
    assert told == f"{folder / 'my.yaml'}: the file cannot be opened (Permission denied); expected a case file that may be read"


def test_a_file_in_place_of_a_folder_is_no_such_file(folder: Path) -> None:
    """A path that goes through a file leads nowhere."""
    assert "there is no such file" in refusal(folder / "inside.csv" / "my.yaml")
