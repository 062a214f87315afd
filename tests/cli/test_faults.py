"""`sumpwright faults`: what it prints, its exit codes, progress, Ctrl-C, and its JSON."""

import json
from pathlib import Path

import pytest

from hydro_cli import faults as command
from hydro_cli.main import main

CASES = Path(__file__).parents[2] / "cases"


def case(name):
    """Return the path of a case."""
    return str(CASES / f"{name}.yaml")


def test_the_demo_is_told(capsys):
    """The demo's table says that no single fault floods, gives three heights and how each row was found, in 80 columns."""
    assert main(["faults", case("demo")]) == 0
    out = capsys.readouterr().out
    for words in ("No single fault puts water on the floor.", "Highest line", "Lowest line", "Siphon breaks",
                  "any of 3 drains: half", "at rest"):
        assert words in out
    assert max(map(len, out.splitlines())) <= 80


def test_water_on_the_floor_is_exit_1(capsys):
    """Where a single fault floods the command ends with 1 and names it first."""
    assert main(["faults", case("worked-loop"), "--units", "US"]) == 1
    out = capsys.readouterr().out
    assert "drain 2: blocked." in out
    assert " in over the sump's bottom" in out


def test_a_flood_that_priming_prevents_says_so(capsys):
    """With drain 2 blocked the worked loop floods by 5.3 mm with air, and not where drain 1 begins to siphon first.

    Drain 1, 45.2 mm: J = 1 at pi/4 0.0452^2 sqrt(9.807 0.0452) = 1.068e-3 m3/s = 3,846 L/h, less than the 4,770 that come; its
    rim is drowned from 45 mm over its lip at 550 mm on, 55 mm under the tank's rim.
    """
    main(["faults", case("worked-loop"), "--json"])
    rows = {row["names"]: row for row in json.loads(capsys.readouterr().out)["rows"]}
    assert rows["drain 2: blocked"]["unless_a_drain_siphons"] is True
    assert rows["drain 2: blocked"]["over_opening"] == pytest.approx(0.0053, abs=2e-4)
    assert rows["drain 1 and drain 2: blocked"]["unless_a_drain_siphons"] is False
    assert "runs over unless a drain siphons first" in rows["drain 2: blocked"]["outcome"]
    main(["run", case("worked-loop")])
    told = " ".join(capsys.readouterr().out.split())
    assert "2 put water on the floor: drain 2: blocked, unless a drain siphons first; drain 1 and drain 2: blocked." in told


def test_no_line_that_serves_both_is_said_with_its_reason(capsys):
    """Where a fault asks for a higher line than another allows, one sentence says so, which ones, and what would serve both."""
    main(["faults", case("worked-loop")])
    told = " ".join(capsys.readouterr().out.split())
    sentence = told.split("No line serves both: ")[1].split(" Siphon breaks")[0]
    assert sentence.startswith("with drain 2: blocked the pump draws air or does not get through a restart below 345 mm, and ")
    assert "branch 2: siphon break plugged allows no more than 301 mm;" in sentence
    assert sentence.endswith("; a larger sump, less that comes down or a lower intake would.")
    main(["faults", case("one-hole-180")])
    assert "serves both" not in capsys.readouterr().out


def test_json_has_every_row(capsys):
    """The JSON is plain, names every single fault and counts every choice of faults in its rows."""
    assert main(["faults", case("worked-loop"), "--pairs", "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["complete"] is True
    assert sum(row["count"] for row in data["rows"]) == data["asked"] == data["done"]
    floor = [round(row["on_the_floor"], 6) for row in data["rows"]]
    assert floor == sorted(floor, reverse=True)
    highest = data["surviving"]["highest_line"]
    assert highest["over_bottom"] == pytest.approx(0.302, abs=0.001)
    assert highest["set_by"]["words"] == "siphon break: plugged"


def test_a_file_is_written_whole(tmp_path, capsys):
    """With --to the table stands in the file and nothing is printed."""
    target = tmp_path / "table.txt"
    assert main(["faults", case("floods"), "--to", str(target)]) == 1
    assert capsys.readouterr().out == ""
    assert target.read_text(encoding="utf-8").startswith("Turtle pool")


def test_bad_input_is_exit_2(capsys):
    """A file that is not there ends with 2 and one line."""
    assert main(["faults", case("nowhere")]) == 2
    assert "nowhere" in capsys.readouterr().err


def test_ctrl_c_prints_what_was_found(monkeypatch, capsys):
    """Stopped on the way the command prints the rows it has, says that it was stopped, and ends with 130."""
    def stop(done, asked):
        if done == 4:
            raise KeyboardInterrupt
    monkeypatch.setattr(command, "progress", lambda: stop)
    assert main(["faults", case("demo"), "--pairs"]) == 130
    out, err = capsys.readouterr()
    assert "after 4 of" in out
    assert "Highest line" not in out
    assert "stopped" in err
