"""`sumpwright pumps`: what it prints, its exit codes, mistakes, files whole or not at all, the drawing, JSON, Ctrl-C."""

import json
import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from pathlib import Path

import pytest

from hydro.report.content.named import EXAMPLE
from hydro.report.terminal.pump_plot import COLOURS, LINE, plot, spread_labels, ticks
from hydro.search.pumps.curves import Curves, Drawn
from hydro_cli import pumps as command
from hydro_cli.main import main

CASES = Path(__file__).parents[2] / "cases"
FIVE, BOXES = str(CASES / "curves" / "five-pumps.csv"), str(CASES / "curves" / "box-labels.csv")
WORKED = str(CASES / "worked-loop.yaml")
SVG = "{http://www.w3.org/2000/svg}"
TWO_PUMPS = EXAMPLE.replace("pump: {curve", "pumps:\n  - {name: left, curve").replace(
    "6000 L/h = 0 m]}", "6000 L/h = 0 m]}\n  - {name: right, curve: [0 L/h = 3 m, 3000 L/h = 2.2 m, 6000 L/h = 0 m]}").replace(
    "returns: [{line: [hose 32 mm 1.5 m], end: 10 cm below tank rim}]",
    "returns:\n  - {from: left, line: [hose 32 mm 1.5 m], end: 10 cm below tank rim}\n"
    "  - {from: right, line: [hose 32 mm 1.5 m], end: 10 cm below tank rim}")


@pytest.fixture
def trough(tmp_path):
    """Return the path of a small case that floods with its only drain blocked."""
    path = tmp_path / "trough.yaml"
    path.write_text(EXAMPLE, encoding="utf-8")
    return str(path)


def test_the_answer_comes_first(capsys):
    """The best pump, the wanted flow, both settings, the checks, the chart and the rule stand in 80 columns; exit 0."""
    assert main(["pumps", WORKED, FIVE, BOXES, "--flow", "2500 L/h", "--price", "0.32 EUR", "--middle"]) == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert lines[3].startswith("Answer         ")
    assert max(map(len, lines)) <= 80
    for words in ("Wanted 2500 L/h through 'pump' (asked for).", "As they come, all on", "Brought to the wanted flow",
                  "83 EUR", "worst drain to block", "Pumps over the system curve", "Order: pumps with",
                  "only the label on its box is known", "exponent 1 to 3", "licensed electrician"):
        assert words in " ".join(out.split())
    assert "pump (in the file)" in out


def test_the_same_twice(capsys):
    """Two runs print the same, sign for sign."""
    said = []
    for _ in range(2):
        main(["pumps", WORKED, FIVE, "--flow", "2500 L/h", "--middle"])
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]


def test_without_a_price_only_energy(capsys):
    """Without a price no money is told, and without watts no energy."""
    main(["pumps", WORKED, "--points", "Eel: 0 L/h = 5 m, 7000 L/h = 0 m", "--flow", "2500 L/h", "--middle"])
    out = capsys.readouterr().out
    assert "EUR" not in out
    assert "kWh a" in out
    assert re.search(r"Eel +\d+ % +[\d.]+ +- +- *", out)


def test_none_that_suits_is_exit_1(trough, capsys):
    """Where no pump passes every check the command says so and ends with 1."""
    assert main(["pumps", trough, FIVE, "--middle"]) == 1
    out = capsys.readouterr().out
    assert "None of these pumps both reaches the wanted flow and passes every check." in " ".join(out.split())
    assert "nothing carries its water" in " ".join(out.split())


def test_json(capsys):
    """The JSON is plain SI data in the order of the text, with each setting, each check, and the system curve."""
    assert main(["pumps", WORKED, FIVE, BOXES, "--flow", "2500 L/h", "--price", "$0.3", "--json", "--middle"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["complete"], data["done"], data["asked"], data["currency"], data["price_per_kwh"]) == (True, 9, 9, "$", 0.3)
    assert data["wanted"]["flow"] == pytest.approx(2500e-3 / 3600)
    assert data["best"] == data["pumps"][0]["name"]
    best = data["pumps"][0]
    used = next(one for one in best["settings"] if one["judged"])
    assert used["duty"]["flow"] == pytest.approx(2500e-3 / 3600, rel=2e-4)
    assert used["duty"]["cost_a_year"] == pytest.approx(used["duty"]["energy_a_year"] / 3.6e6 * 0.3)
    assert used["duty"]["energy_a_year"] == pytest.approx(used["duty"]["power"] * 365 * 86400)
    heads = [one["head"] for one in data["system_curve"]]
    assert heads == sorted(heads)
    assert {one["known"] for one in data["pumps"]} == {"points", "label"}
    assert all(one["checks"] for one in data["pumps"])


def test_units(capsys):
    """US units are shown where asked for, whatever the file says."""
    main(["pumps", WORKED, FIVE, "--flow", "700 US gph", "--units", "us", "--middle"])
    out = capsys.readouterr().out
    assert "700 US gph through 'pump'" in out
    assert "L/h" not in out


def test_speed_where_it_is_asked_for(capsys):
    """With --control speed pumps whose table is silent are judged at a lower speed."""
    main(["pumps", WORKED, BOXES, "--flow", "2500 L/h", "--control", "speed", "--json", "--middle"])
    data = json.loads(capsys.readouterr().out)
    assert {one["by"] for pump in data["pumps"] for one in pump["settings"] if one["judged"]} == {"speed"}


@pytest.mark.parametrize(("arguments", "said"), [
    (["nowhere.csv"], "nowhere.csv: there is no such file"), ([], "CURVES: no pump to choose from"),
    ([FIVE, "--flow", "4000"], "--flow: no unit on '4000'"), ([FIVE, "--price", "cheap"], "--price: 'cheap'"),
    ([FIVE, "--hours", "25"], "--hours: '25' is out of physical range"),
    ([FIVE, "--points", "Eel: 5 m"], "--points: '5 m' is no point"),
    ([FIVE, "--box", "Eel: 5 m"], "--box: 'Eel: 5 m' has 1 values"),
    ([FIVE, "--instead-of", "pomp"], "--instead-of: 'pomp'; expected one of pump; did you mean 'pump'?"),
    ([FIVE, "--plot", FIVE], "this file is read here"), ([FIVE, "--to", FIVE], "this file is read here"),
    ([FIVE, "--to", "same.svg", "--plot", "same.svg"], "two things cannot be written to one file")])
def test_mistakes_are_exit_2(trough, arguments, said, capsys, tmp_path, monkeypatch):
    """Each mistake is one line on the error stream that says what is expected; nothing is printed and nothing written."""
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    assert main(["pumps", trough, *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1
    assert said in err
    assert "; expected " in err
    assert sorted(tmp_path.iterdir()) == before


def test_all_mistakes_at_once(tmp_path, capsys):
    """Mistakes in the case, in two tables and in what was typed come together, one line each."""
    case, table = tmp_path / "broken.yaml", tmp_path / "broken.csv"
    case.write_text(EXAMPLE.replace("standpipe", "standpip"), encoding="utf-8")
    table.write_text("flow L/h, height m\n0, high\n9, 8\n", encoding="utf-8")
    assert main(["pumps", str(case), str(table), "none.csv", "--flow", "9", "--price", "dear", "--box", "x"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    for words in ("broken.yaml:", "broken.csv:2: column 'height'", "none.csv: there is no such", "--flow", "--price", "--box"):
        assert sum(words in line for line in err.splitlines()) == 1


def test_several_pumps_want_a_name(tmp_path, capsys):
    """With several pumps the place has to be named; then only that one is changed."""
    case = tmp_path / "two.yaml"
    case.write_text(TWO_PUMPS, encoding="utf-8")
    assert main(["pumps", str(case), BOXES]) == 2
    assert "2 pumps; expected --instead-of and one of left, right" in capsys.readouterr().err
    assert main(["pumps", str(case), BOXES, "--instead-of", "right", "--flow", "1500 L/h", "--json", "--middle"]) in (0, 1)
    data = json.loads(capsys.readouterr().out)
    assert data["instead_of"] == "right"
    assert data["pumps"][-1]["all_on"] is not None
    assert "right (in the file)" in {one["name"] for one in data["pumps"]}


def test_files_are_written_whole(tmp_path, capsys):
    """With --to and --plot both files stand there and nothing is printed; a folder that is not there is exit 2."""
    text, drawing = tmp_path / "choice.txt", tmp_path / "choice.svg"
    asked = ["pumps", WORKED, FIVE, "--flow", "2500 L/h", "--middle"]
    assert main([*asked, "--to", str(text), "--plot", str(drawing)]) == 0
    assert capsys.readouterr().out == ""
    assert text.read_text(encoding="utf-8").startswith("Worked loop")
    root = ET.parse(drawing).getroot()
    names = [one.text for one in root.iter(f"{SVG}text")]
    assert {"Heron", "Otter", "what the loop asks for", "wanted flow", "head, m", "flow, L/h"} <= set(names)
    assert main([*asked, "--plot", str(tmp_path / "none" / "x.svg")]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert sorted(one.name for one in tmp_path.iterdir()) == ["choice.svg", "choice.txt"]


def test_ctrl_c_prints_what_was_found(monkeypatch, capsys):
    """Stopped on the way the command prints the pumps it has, says so, and ends with 130."""
    def stop(done, asked):
        if done == 2:
            raise KeyboardInterrupt
    monkeypatch.setattr(command, "progress", lambda: stop)
    assert main(["pumps", WORKED, FIVE, "--flow", "2500 L/h", "--middle"]) == 130
    out, err = capsys.readouterr()
    assert "after 2 of 6 pumps" in out
    assert "Otter" in out
    assert "Heron" not in out
    assert "stopped" in err


def drawn(count, **others):
    """Return so many straight curves with ends close together, over a system curve."""
    pumps = tuple(Drawn(f"pump <{n}> & co", ((0.0, 3.0 + 0.01 * n), (1e-3, 0.0)), None, (5e-4, 1.5)) for n in range(count))
    return Curves(pumps, ((0.0, 1.0), (1e-3, 2.0)), **{"wanted": 5e-4, **others})


@pytest.mark.parametrize("count", [1, 5, 40])
def test_labels_of_the_drawing_do_not_overlap(count):
    """Each curve has its own label, whole lines apart and inside the drawing, however close the curves begin."""
    root = ET.fromstring(plot(drawn(count), "metric", "A & B <c>"))
    high = float(root.get("height"))
    places = [float(one.get("y")) for one in root.iter(f"{SVG}text")
              if one.text.startswith("pump <") or one.text == "what the loop asks for"]
    assert len(places) == count + 1
    assert all(later - sooner >= LINE - 0.11 for sooner, later in pairwise(places))
    assert places[0] > 0.0
    assert places[-1] < high


def test_colours_are_not_alone():
    """No two of the first curves share both colour and dash, so that they read in grey as well."""
    root = ET.fromstring(plot(drawn(2 * len(COLOURS)), "US"))
    curves = [(one.get("stroke"), one.get("stroke-dasharray")) for one in root.iter(f"{SVG}path")
              if one.get("stroke-width") == "2" and " L" in one.get("d")]
    assert len(curves) == len(set(curves)) == 2 * len(COLOURS)
    assert len({dash for _, dash in curves}) > 3


def test_labels_keep_their_order_and_their_room():
    """Heights are pushed apart downward, and back up where the foot is reached; what is free stays where it is."""
    assert spread_labels([10.0, 50.0, 90.0], 17.0, 0.0, 100.0) == [10.0, 50.0, 90.0]
    assert spread_labels([50.0, 50.0, 51.0], 10.0, 0.0, 100.0) == [50.0, 60.0, 70.0]
    assert spread_labels([95.0, 98.0, 99.0], 10.0, 0.0, 100.0) == [80.0, 90.0, 100.0]


@pytest.mark.parametrize("most", [0.3, 1.0, 5.7, 6.1, 9180.0, 41000.0])
def test_ticks_are_round(most):
    """Ticks begin at 0, end at or over the most, at no more than a step over it, and are steps of 1, 2 or 5."""
    found = ticks(most)
    step = found[1] - found[0]
    assert found[0] == 0.0
    assert most <= found[-1] * (1 + 1e-9) < most + step * (1 + 1e-9)
    assert f"{step:e}"[0] in "125"
    assert 4 <= len(found) <= 9
