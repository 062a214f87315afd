"""Numbers with marks that two countries read in two ways are refused with both readings, or put together and named."""

from __future__ import annotations

from pathlib import Path

import pytest

from hydro.case import loads
from hydro.errors import InputError
from hydro.quantities.parsing import UnitProblem, read

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
HOSE, CURVE = "[hose 32 mm 150 cm]", "curve: [0 L/h = 4.0 m, 3000 L/h = 3.0 m, 5000 L/h = 0 m]"


@pytest.mark.parametrize(("text", "dimension", "said"), [
    ("8.000 L/h", "flow", "'8.000 L/h' may be 8000 or 8; expected"), ("3.600 L/h", "flow", "may be 3600 or 3.6; expected"),
    ("about 1.250 gph", "flow", "may be 1250 or 1.25"), ("12.500 L/h", "flow", "may be 12500 or 12.5"),
    ("1.500 .. 2000 L/h", "flow", "may be 1500 or 1.5"), ("3,600 L/h", "flow", "a comma in the number '3,600'"),
    ("1.200,5 L/h", "flow", "a comma in the number"), ("145-155 cm", "length", "did you mean '145..155 cm'"),
    ("145 - 155 cm", "length", "did you mean '145..155 cm'"), ("3000-3600 L/h", "flow", "did you mean '3000..3600 L/h'")])
def test_marks_with_two_readings_are_refused(text: str, dimension: str, said: str) -> None:
    """A point or comma that may part thousands, and a dash for a range, are refused with what may be meant."""
    with pytest.raises(UnitProblem) as caught:
        read(text.replace("gph", "US gph"), dimension)
    assert said in str(caught.value).replace("US gph", "gph")


@pytest.mark.parametrize(("text", "dimension", "value"), [
    ("3600.0 L/h", "flow", 1e-3), ("3.6 m3/h", "flow", 1e-3), ("3.600 m3/h", "flow", 1e-3), ("0.001 m3/s", "flow", 1e-3),
    ("0.500 L/min", "flow", 0.5e-3 / 60.0), ("3600 L/h", "flow", 1e-3), ("1.125 L/s", "flow", 1.125e-3),
    ("1.200 m", "length", 1.2), ("1-1/2 in", "length", 0.0381), ("1000.125 L/h", "flow", 1000.125 / 3.6e6)])
def test_marks_with_one_reading_are_read(text: str, dimension: str, value: float) -> None:
    """Where thousands would be out of all reason, or a nought leads, or the figure is no flow, the point is a decimal one."""
    assert read(text, dimension).middle == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("old", "new", "said"), [
    (HOSE, "[hose 32 mm 1,5 m]", "my.yaml:18: pump: hose: a comma in the number '1,5'"),
    (HOSE, "[elbow 90, hose 32 mm 1,5 m, elbow 90]", "my.yaml:18: pump: hose: a comma in the number '1,5'"),
    (CURVE, "curve: [0 L/h = 4 m, 3,600 L/h = 0 m]", "my.yaml:17: pump: curve: a comma in the number '3,600'"),
    (CURVE, "curve: [0 L/h = 4,5 m, 3600 L/h = 0 m]", "my.yaml:17: pump: curve: a comma in the number '4,5'"),
    (CURVE, "box: {most flow: 3.600 L/h, most height: 3 m}", "my.yaml:17: pump: most flow: '3.600 L/h' may be 3600 or 3.6")])
def test_a_comma_in_a_list_is_named(old: str, new: str, said: str) -> None:
    """Where a list falls apart at the comma of a number, the complaint names that comma, and nothing else."""
    assert old in SOUND
    with pytest.raises(InputError) as caught:
        loads(SOUND.replace(old, new, 1), "my.yaml")
    line, = caught.value.complaints
    assert str(line).startswith(said)


@pytest.mark.parametrize("line", ["[elbow 90,2 x elbow 45,hose 32 mm 150 cm]", "[elbow 90, 2 x elbow 45, hose 32 mm 150 cm]"])
def test_a_list_without_spaces_is_still_a_list(line: str) -> None:
    """Entries parted by a comma alone stay entries where the next one is a number of parts."""
    assert len(loads(SOUND.replace(HOSE, line), "my.yaml").pump.line) == 4
