"""`sumpwright mend`: what it prints, its exit codes, progress, Ctrl-C, and its JSON."""

import json
import re
import sys

import pytest
from report_cases import ROOT

from hydro import assess, loads
from hydro.search.remedies import Edit, WholeLine, applied, pasted
from hydro.search.remedies import mending as search
from hydro_cli.main import main


def case(name):
    """Return the path of a case."""
    return str(ROOT / "cases" / f"{name}.yaml")


def test_a_flood_is_told_with_its_remedies(capsys):
    """The flooding case ends with 1 and says to raise the mouth, with the whole line to paste; all else fits 80 columns."""
    assert main(["mend", case("floods")]) == 1
    captured = capsys.readouterr()
    assert captured.err == ""
    assert "FAILS: power cut" in captured.out
    assert re.search(r"Move the mouth of return 1 up by \d+ mm, to \d+ mm below the tank rim\.", captured.out)
    line = re.search(r"In place of line 23:\n(.*)\n", captured.out)[1]
    assert re.fullmatch(r"  - \{line: \[pipe 32 PN10 60 cm, elbow 90\], end: \d+ mm below tank rim, points: down\}", line)
    with open(case("floods"), encoding="utf-8") as file:
        text = file.read()
    rows = assess(loads(pasted(text, [WholeLine(23, line)]))).checks
    assert {row.key: row.verdict for row in rows}["power cut"] == "holds"
    own = [row for row in captured.out.splitlines() if not row.lstrip().startswith(("- {", "inlet"))]
    assert max(map(len, own)) <= 80


def test_remedies_are_printed_as_they_are_found(monkeypatch):
    """The verdict and a first remedy are printed, and sent on, before the first check is searched through."""
    printed, sent = [], []
    monkeypatch.setattr(sys.stdout, "write", printed.append)
    monkeypatch.setattr(sys.stdout, "flush", lambda: sent.append(len(printed)))
    seen = []

    def stopped(work, row, few):
        seen.append("".join(printed[:sent[-1]]))
        raise KeyboardInterrupt
    monkeypatch.setattr(search, "_remedies", stopped)
    assert main(["mend", case("floods")]) == 130
    assert "1 check on floor and pump fails" in seen[0]
    assert re.search(r"First found\s+Move the mouth of return 1 up by \d+ mm", seen[0])


def test_json_can_be_applied(capsys):
    """The edits in the JSON, written into the file, make every check hold that they promise."""
    assert main(["mend", case("floods"), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["complete"] is True
    (row,) = [row for row in data["rows"] if row["verdict"] == "fails"]
    assert row["key"] == "power cut"
    first = row["remedies"][0]
    with open(case("floods"), encoding="utf-8") as file:
        text = file.read()
    rows = {row.key: row.verdict for row in assess(loads(applied(text, [Edit(**edit) for edit in first["edits"]]))).checks}
    assert {key for key in first["mends"] if rows[key] != "holds"} == set()
    assert "fails" not in rows.values()


def test_no_failure_is_exit_0(capsys):
    """Where all holds but comfort the command ends with 0, counts comfort by itself, and names no check of it in doubt."""
    assert main(["mend", case("demo")]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Every check on floor and pump holds. 3 on comfort could be better." in told
    assert "in doubt." not in told
    assert "BRISK: speed in the returns" in told
    assert "line: [hose 32 mm about 150 cm, ball valve 65 % open, tee branch]" in told


@pytest.mark.parametrize(("text", "code"), [("tank: 3", 2), (None, 2)])
def test_bad_input_is_exit_2(tmp_path, capsys, text, code):
    """A file that is not there, or describes no build, ends with 2 and one line for each mistake."""
    path = tmp_path / "bad.yaml"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    assert main(["mend", str(path)]) == code
    captured = capsys.readouterr()
    assert captured.out == ""
    assert str(path) in captured.err


def test_the_case_itself_is_spared(capsys):
    """The report cannot be written over the case file."""
    assert main(["mend", case("floods"), "--to", case("floods")]) == 2
    assert "this file is read here" in capsys.readouterr().err


def test_ctrl_c_prints_what_was_found(monkeypatch, capsys):
    """Ctrl-C ends with 130, after the rows that were done by then."""
    real, done = search._remedies, []

    def stopped(work, row, few):
        if done:
            raise KeyboardInterrupt
        done.append(row.key)
        return real(work, row, few)
    monkeypatch.setattr(search, "_remedies", stopped)
    assert main(["mend", case("floods")]) == 130
    captured = capsys.readouterr()
    assert "FAILS: power cut" in captured.out
    assert "after 1 of" in captured.out
    assert "stopped" in captured.err


def test_progress_is_for_a_terminal(monkeypatch, capsys):
    """On a terminal each check that is begun is named on the error stream, with how many there are."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(search, "_remedies", lambda work, row, few: ())
    assert main(["mend", case("floods")]) == 1
    lines = capsys.readouterr().err.splitlines()
    assert lines[0].endswith(": power cut")
    assert all(re.match(rf"sumpwright: {number} of {len(lines)}: ", line) for number, line in enumerate(lines, 1))


def test_units_may_be_chosen(capsys, tmp_path):
    """Other units are shown in the words; the file keeps its own, and the report may go to a file."""
    report = tmp_path / "report.txt"
    assert main(["mend", case("floods"), "--units", "US", "--to", str(report)]) == 1
    assert capsys.readouterr().out == ""
    told = " ".join(report.read_text(encoding="utf-8").split())
    assert re.search(r"Move the mouth of return 1 up by [\d/-]+ in, to [\d/-]+ in below the tank rim", told)
    assert re.search(r"end: \d+ mm below tank rim, points: down", told)
