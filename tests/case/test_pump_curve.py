"""The pump in a case file: curve points, a table beside the file, the box's label, timed buckets."""

from __future__ import annotations

from pathlib import Path

import pytest

from hydro.case import load, loads
from hydro.description.build import Pump
from hydro.errors import InputError

SOUND = (Path(__file__).parents[1] / "bad_input" / "sound.yaml").read_text(encoding="utf-8")
CURVE = "curve: [0 L/h = 4.0 m, 3000 L/h = 3.0 m, 5000 L/h = 0 m]"


def pump_with(text: str) -> Pump:
    """Return the pump of the sound text with something in place of its curve."""
    return loads(SOUND.replace(CURVE, text), "my.yaml").pump


def test_pump() -> None:
    """Curve, box and bucket stand alone or together; an intake that is not given is a default with its source."""
    pump = pump_with("box: {most flow: 7000 L/h, most height: 3.8 m}\n  bucket: [10 L in 7.5 s at 48 in]\n"
                     "  speed: 80 %\n  power: 70 W")
    assert (pump.most_flow.middle, pump.most_height.middle) == (pytest.approx(7 / 3600), 3.8)
    test, = pump.tests
    assert (test.volume.middle, test.time.middle, test.height.middle) == (0.01, 7.5, pytest.approx(48 * 0.0254))
    assert (pump.speed.middle, pump.power.middle, pump.curve) == (0.8, 70.0, ())
    assert pump_with(CURVE).curve == ((0.0, 4.0), (pytest.approx(3 / 3600), 3.0), (pytest.approx(5 / 3600), 0.0))
    assert "common practice, no source" in pump.intake.offset.source
    assert pump.most_flow.name == "pump: box most flow"


@pytest.mark.parametrize("table", ["flow L/h, height m\n0, 4.0\n3000, 3.0\n5000, 0\n",
                                   "# invented\nflow [L/h];head [m]\r\n0;4,0\r\n3000;3,0\r\n\r\n5000;0\r\n",
                                   "L/h\tcm\n0\t400\n3000\t300\n5000\t0\n"])
def test_curve_from_a_file(table: str, tmp_path: Path) -> None:
    """A curve may stand in a table beside the case file, with its units in the header."""
    (tmp_path / "pump.csv").write_text(table, encoding="utf-8", newline="")
    path = tmp_path / "my.yaml"
    path.write_text(SOUND.replace(CURVE, "curve: pump.csv"), encoding="utf-8")
    points = load(path).pump.curve
    assert [flow for flow, _ in points] == pytest.approx([0.0, 3 / 3600, 5 / 3600])
    assert [head for _, head in points] == pytest.approx([4.0, 3.0, 0.0])


@pytest.mark.parametrize(("table", "fragments"), [
    ("0, 4.0\n3000, 3.0\n", ("line 1", "a header with both units")),
    ("flow L/h, height m\n0, 4.0\n3000, x\n", ("line 3", "no number in 'x m'")),
    ("flow L/h, height m\n0, 4.0\n0, 3\n", ("the same flow stands twice", "line 3")),
    ("flow L/h, height m\n0, 4.0\n9, 3, 2\n", ("line 3", "3 values")),
    ("", ("the file is empty",)),
    ("flow L/h, height m\n0, 4.0\n", ("a curve of 1 point",)),
])
def test_bad_curve_file(table: str, fragments: tuple[str, ...], tmp_path: Path) -> None:
    """A mistake in the table of a curve is told at the line of the case file that names it, with the table's own line."""
    (tmp_path / "pump.csv").write_text(table, encoding="utf-8")
    path = tmp_path / "my.yaml"
    path.write_text(SOUND.replace(CURVE, "curve: pump.csv"), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load(path)
    line, = caught.value.complaints
    assert (line.line, line.key) == (17, "pump: curve")
    assert not [fragment for fragment in fragments if fragment not in str(line)], str(line)
