"""An owner's own sizes in a case file: read from a CSV beside it, found by their words, mistakes told in one line each."""

from __future__ import annotations

from pathlib import Path

import pytest

from hydro.case import load
from hydro.errors import InputError

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
SIZES = "name,outside mm,wall mm,standard\ngrey 40,40,1.9..2.2,DIN 8062\nold green,33.5,2.0,unknown\n"


def written(folder: Path, table: str = SIZES, name: str = "my-sizes.csv", pipe: str = "pipe old green 90 cm") -> Path:
    """Return a case file that names a catalogue and has one pipe of it in its pump's line."""
    (folder / "my-sizes.csv").write_text(table, encoding="utf-8")
    case = folder / "case.yaml"
    text = f"catalogue: {name}\n" + SOUND
    start = text.index("pump:")
    line = text.index("line: [", start) + len("line: [")
    case.write_text(f"{text[:line]}{pipe}, {text[line:]}", encoding="utf-8")
    return case


@pytest.mark.parametrize(("pipe", "bore", "half"), [("pipe old green 90 cm", 0.0295, None), ("pipe grey 40 90 cm", 0.0359, 3e-4)])
def test_a_size_of_ones_own(tmp_path, pipe, bore, half):
    """A pipe by its own name has its outside less two walls inside; a wall with a band gives the bore one."""
    build = load(written(tmp_path, pipe=pipe))
    size = build.pump.line[0].values["size"]
    assert bore - 1.1e-3 <= size.low <= size.middle <= size.high <= bore + 1e-3
    assert build.pump.line[0].values["length"].middle == pytest.approx(0.9)
    assert half is None or size.high - size.low >= half


def test_the_librarys_sizes_stay(tmp_path):
    """Beside one's own the sizes of the library are read as ever."""
    assert load(written(tmp_path, pipe="pipe 40 PN10 1 m")).pump.line[0].values["size"].high == pytest.approx(0.0362)


def test_the_next_file_does_without(tmp_path):
    """A catalogue holds for the file that names it: another one does not know its sizes."""
    case = written(tmp_path)
    load(case)
    case.write_text(case.read_text(encoding="utf-8").replace("catalogue: my-sizes.csv\n", ""), encoding="utf-8")
    with pytest.raises(InputError):
        load(case)


@pytest.mark.parametrize(("table", "name", "words"), [
    (SIZES, "none.csv", "no such file"), (SIZES, "", "nothing is written"),
    ("name,outside mm,wall mm\ngrey,40,-2\n", "my-sizes.csv", "-2"),
    ("name,outside L,wall mm\ngrey,40,2\n", "my-sizes.csv", "outside"),
    ("name,outside mm,wall mm\ngrey,40,2\ngrey,50,2\n", "my-sizes.csv", "grey")])
def test_mistakes_are_told(tmp_path, table, name, words):
    """A file that is not there, no name, a negative wall, a wrong unit, a size that stands twice: a line each that says it."""
    with pytest.raises(InputError) as caught:
        load(written(tmp_path, table, name, pipe="pipe 40 PN10 1 m"))
    lines = [str(complaint) for complaint in caught.value.complaints]
    assert len(lines) == 1
    assert words in lines[0]
