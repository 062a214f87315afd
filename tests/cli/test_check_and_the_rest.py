"""What `check` calls sound, every other command works out; what it refuses, they refuse in the same words."""

import re

import pytest

from hydro.elements.registry import all_defaults, load_all
from hydro.report.content.named import EXAMPLE
from hydro_cli import main as command

load_all()

CURVE = re.search(r"curve: \[.*?\]", EXAMPLE).group(0)
LINE = re.search(r"returns: \[\{line: (\[.*?\])", EXAMPLE).group(1)
UNITS = {"length": "mm", "flow": "L/h", "speed": "m/s", "temperature": "°C", "share": "%", "time": "s"}
PUMPS = {
    "one bucket": "bucket: [10 L in 9 s at 140 cm]",
    "two buckets": "bucket: [10 L in 9 s at 140 cm, 10 L in 7 s at 80 cm]",
    "more flow at the greater height": "bucket: [10 L in 9 s at 140 cm, 10 L in 7 s at 180 cm]",
    "a bucket beside the label": "box: {most flow: 6000 L/h, most height: 3 m}, bucket: [10 L in 9 s at 140 cm]",
    "up from 0 m and down again": "curve: [0 L/h = 0 m, 1000 L/h = 2 m, 3000 L/h = 0 m]",
    "up and down again": "curve: [0 L/h = 2 m, 1000 L/h = 2.2 m, 3000 L/h = 1 m, 6000 L/h = 0 m]",
    "a point at 1 L/h": "curve: [0 L/h = 3 m, 1 L/h = 2.9 m, 6000 L/h = 0 m]",
    "a point a hair before the last": "curve: [0 L/h = 3 m, 5999 L/h = 0.5 m, 6000 L/h = 0 m]",
}
LINES = {"no bore": "[elbow 90, 2 x elbow 45]", "no line": "[]", "a hair of hose": "[hose 5 mm 150 cm]"}


def at_nothing(name):
    """Return the text with a default at 0."""
    unit = UNITS.get(all_defaults()[name].dimension, "")
    return f"{EXAMPLE}\ndefaults: {{\"{name}\": 0 {unit}}}\n"


CASES = {**{name: EXAMPLE.replace(CURVE, text) for name, text in PUMPS.items()},
         **{name: EXAMPLE.replace(LINE, text) for name, text in LINES.items()},
         **{f"{name} at 0": at_nothing(name) for name in all_defaults()}}


@pytest.mark.parametrize("case", CASES)
def test_check_and_the_rest_agree(case, tmp_path, monkeypatch, capsys):
    """A case that `check` takes is run, an odd pump or line cut and mended too, with 0 or 1; else all refuse it alike."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.yaml").write_text(CASES[case], encoding="utf-8")
    checked = command.main(["check", "case.yaml"])
    complained = capsys.readouterr().err
    others = [["run"]] + ([] if case.endswith(" at 0") else [["happens", "power-cut"], ["mend"]])
    for word, *rest in others:
        code = command.main([word, "case.yaml", *rest])
        said = capsys.readouterr()
        if checked == 2:
            assert (code, said.out, said.err) == (2, "", complained)
        else:
            assert checked == 0
            assert code in (0, 1)
            assert said.out
    assert checked == 0 or all(line.startswith("case.yaml:") for line in complained.splitlines())
