"""`sumpwright size`: what it prints, its exit codes, mistakes, files whole or not at all, JSON, progress and Ctrl-C."""

import json
import sys
from pathlib import Path

import pytest
from open_cases import trough

from hydro.search.sizing import search as searching
from hydro.search.sizing import sized as proving
from hydro_cli import progress
from hydro_cli.main import main

CASES = Path(__file__).parents[2] / "cases"
GOALS = "goals: {holds the power cut: yes, flow: 900 L/h}\nwishes: {top-up reservoir: 5 L}\n"
SMALL = trough(lip="? 8 .. 10 cm below tank rim by 1 cm", bore="?bore", more="open: {bore: 50 PN10 or 63 PN10}\n" + GOALS)


@pytest.fixture
def case(tmp_path):
    """Return the path of a small case with six designs."""
    path = tmp_path / "trough.yaml"
    path.write_text(SMALL, encoding="utf-8")
    return str(path)


def test_the_answer_comes_first(case, capsys):
    """Designs, margins, each design's open values in the file's words and its operating point stand in 80 columns; exit 0."""
    assert main(["size", case]) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[3].startswith("Answer         ")
    assert max(len(line) for line in out.splitlines() if line != case) <= 80
    said = " ".join(out.split())
    for words in ("2 open values make 6 designs; all of them were worked out", "Designs side by side", "Margins of what is asked",
                  "bore 50 PN10", "cm below tank rim", "Runs at ", "line 150 mm over the sump's bottom", "W is hydraulic power",
                  "licensed trades", "holds the power cut, flow 900 L/h; no other check fails."):
        assert words in said


def test_the_same_twice(case, capsys):
    """Two runs print the same, sign for sign."""
    said = []
    for _ in range(2):
        main(["size", case])
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]


def test_us_units(case, capsys):
    """With --units US flows are US gph and heights inches."""
    assert main(["size", case, "--units", "US"]) == 0
    out = capsys.readouterr().out
    assert "US gph" in out
    assert " mm" not in out.split("Designs side by side")[1].split("Basis")[0]


def test_json_for_programs(case, capsys):
    """JSON holds what was open, each design with its figures and checks in SI, and what rules designs out."""
    assert main(["size", case, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["designs_there_are"], data["looked_at"], data["complete"], data["all_looked_at"]) == (6, 6, True, True)
    assert data["open"][1]["candidates"] == ["50 PN10", "63 PN10"]
    first = data["designs"][0]
    assert first["letter"] == "A"
    assert set(first["figures"]) == set(data["weighed_by"])
    assert 900e-3 / 3600.0 < first["flow"] < 2e-3
    assert all(check["verdict"] in ("holds", "tight", "unsure") for check in first["checks"])
    assert {check["key"] for check in first["checks"] if check["asked"]} >= {"power cut", "goal flow"}


def test_nothing_that_holds(tmp_path, capsys):
    """Where no design holds the exit code is 1, and the check that rules most out is told with its count."""
    path = tmp_path / "trough.yaml"
    path.write_text(SMALL.replace("flow: 900 L/h", "flow: 3900 L/h"), encoding="utf-8")
    assert main(["size", str(path)]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "No design: none of 6 designs holds what is asked." in said
    assert "What rules out most: goal: flow of the pumps, at least (6 of them)." in said


def test_mistakes(tmp_path, capsys):
    """Files that cannot be used end in exit code 2 with one line each on the error stream and nothing printed."""
    path = tmp_path / "trough.yaml"
    for text, words in ((trough(), "nothing is left open"),
                        (trough(bore="? PN10", riser="?hose"), "nothing says what 'hose' may be"),
                        (SMALL + "lid: [", "cannot be read"), (SMALL.replace("flow:", "flaw:"), "did you mean 'flow'?")):
        path.write_text(text, encoding="utf-8")
        assert main(["size", str(path)]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert words in err
        assert all(line.startswith(str(path)) and "; expected " in line for line in err.splitlines())
    assert main(["size", str(tmp_path / "none.yaml")]) == 2
    assert "there is no such file" in capsys.readouterr().err


def test_run_says_who_answers(case, capsys):
    """Any other command refuses a file with open values and names the command that works them out."""
    for other in (["run", case], ["check", case], ["faults", case]):
        assert main(other) == 2
        assert "'sumpwright size' works out what is left open" in capsys.readouterr().err


def test_a_design_is_written_and_runs(case, tmp_path, capsys):
    """--write makes a file that 'run' takes without a failing check; the case itself is never written over."""
    made = tmp_path / "made.yaml"
    assert main(["size", case, "--write", "A", str(made)]) == 0
    capsys.readouterr()
    assert main(["run", str(made)]) == 0
    assert "?" not in made.read_text(encoding="utf-8").split("\n", 1)[1]
    before = Path(case).read_text(encoding="utf-8")
    assert main(["size", case, "--write", "A", case]) == 2
    assert main(["size", case, "--write", "Q", str(tmp_path / "q.yaml")]) == 2
    assert "no design 'Q'; expected one of A, B" in capsys.readouterr().err
    assert not (tmp_path / "q.yaml").exists()
    assert main(["size", case, "--to", str(made), "--write", "A", str(made)]) == 2
    assert Path(case).read_text(encoding="utf-8") == before


def test_to_a_file(case, tmp_path, capsys):
    """--to writes the report and prints nothing."""
    report = tmp_path / "report.txt"
    assert main(["size", case, "--to", str(report)]) == 0
    assert capsys.readouterr().out == ""
    assert "Designs side by side" in report.read_text(encoding="utf-8")


def test_ctrl_c_prints_what_was_found(case, tmp_path, capsys, monkeypatch):
    """Interrupted in the search, what was found by then is printed, no proof is begun, nothing written, and the code is 130."""
    def proof(*_):
        pytest.fail("a proof after Ctrl-C")
    plain = searching.judge_design

    def until(results, goals, scale, topology, number, choice):
        if choice[0] == 2:
            raise KeyboardInterrupt
        return plain(results, goals, scale, topology, number, choice)
    monkeypatch.setattr(searching, "judge_design", until)
    monkeypatch.setattr(proving, "prove_design", proof)
    made = tmp_path / "made.yaml"
    assert main(["size", case, "--write", "A", str(made)]) == 130
    assert not made.exists()
    out, err = capsys.readouterr()
    said = " ".join(out.split())
    assert "4 of them were worked out" in said
    assert "No design: stopped before any was proved." in said
    assert "stopped; this is what was found by then" in err


def test_progress_is_told_on_a_terminal_only(case, capsys, monkeypatch):
    """On a terminal progress goes to the error stream; in a pipe nothing does."""
    main(["size", case])
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(progress, "PATIENCE", 0.0)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert main(["size", case]) == 0
    err = capsys.readouterr().err
    assert "6 of 6 designs" in err
    assert "designs proved" in err


def test_the_open_cases_have_answers(capsys):
    """The open case of the folder with several layouts yields designs of more than one number of standpipes."""
    assert main(["size", str(CASES / "open" / "greenhouse.yaml"), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["layouts"] == 3
    assert len({one["values"]["x standpipe"] for one in data["designs"]}) > 1
