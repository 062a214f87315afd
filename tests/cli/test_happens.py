"""`sumpwright happens`: what it prints, its files and its exit codes."""

import csv
import io
import json

import pytest
from builds import CURVE, drain, found, loop, pump
from report_cases import ROOT, assessed

from hydro.case import load
from hydro.errors import InputError
from hydro.report.json.series import series_data, to_csv
from hydro.report.terminal.chart import COLUMNS, at, level_plot
from hydro.report.terminal.layout import columns
from hydro.scenarios.histories import QUESTIONS, ask, outcome_of
from hydro_cli import main as command
from hydro_cli.happens import HAPPENINGS

WORKED, FLOODS, INCHES = (str(ROOT / "cases" / f"{name}.yaml") for name in ("worked-loop", "floods", "us-inch"))


def told(capsys, *words):
    """Return exit code, output and complaints of a call."""
    code = command.main(["happens", *words])
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_the_words_are_the_library_s():
    """The command takes the library's words for what may happen, and explains them alike."""
    assert HAPPENINGS == QUESTIONS


@pytest.mark.parametrize("what", [["power-cut"], ["power-back"], ["drain-blocked", "drain", "2"], ["drains-blocked"], ["as-is"]],
                         ids=lambda what: what[0])
def test_every_question_is_answered_in_80_columns(what, capsys):
    """Each word leads to an answer, a time line and charts, none of it wider than 80 columns."""
    code, out, err = told(capsys, WORKED, *what)
    assert (code, err) == (0, "")
    assert "Nothing goes over." in out
    assert "Time line" in out
    assert out.count("above its bottom") == 2
    assert max(map(columns, out.splitlines())) <= 80


def test_the_time_line_says_when(capsys):
    """The cut of the worked loop tells in order that the second return draws air after 8.3 s, and the first after 11 s."""
    lines = told(capsys, WORKED, "power-cut")[1].splitlines()
    second = next(k for k, line in enumerate(lines) if line.strip().startswith("8.3 s") and "branch 2 draws air" in line)
    first = next(k for k, line in enumerate(lines) if line.strip().startswith("11 s") and "branch 1 draws air" in line)
    assert second < first


def test_a_flood_is_told_and_fails(capsys):
    """Water over an opening is told with its litres and the time from which it goes, and the command ends with 1."""
    code, out, _ = told(capsys, FLOODS, "power-cut")
    outcome = outcome_of(ask(load(FLOODS), "power-cut").history)
    assert code == 1
    assert f"{1e3 * outcome.on_the_floor:.0f} L go over the sump's lowest opening, from {outcome.over[0].since:.0f} s on." in out


def test_a_cut_that_only_a_valve_keeps_dry_says_what_run_judges(capsys):
    """With its check valve holding nothing goes over; what comes down when it is not counted on, as `run` has it, is told too."""
    path = str(ROOT / "cases" / "check-valve-saves.yaml")
    over = assessed(ROOT / "cases" / "check-valve-saves.yaml").results.stopped[False, False].over
    code, out, _ = told(capsys, path, "power-cut")
    assert code == 0
    assert "Nothing goes over." in out
    assert f"Counting on nothing, as 'run' judges it, {1e3 * over:.1f} L go over." in out
    assert "as 'run' judges it" not in told(capsys, path, "power-cut", "--valves", "stuck")[1]
    assert "as 'run' judges it" not in told(capsys, WORKED, "power-cut")[1]


def test_plugged_breaks_are_asked_for(capsys):
    """With --breaks plugged the worked loop's tank ends at its lower mouth, 528 mm above its bottom (1.448 - 0.92 m)."""
    end = told(capsys, WORKED, "power-cut", "--breaks", "plugged", "--to-the-end")[1]
    last = [line for line in end.split("Levels count")[0].splitlines() if "min" in line][-1]
    assert last.split()[-6] == "528"


def test_units(capsys):
    """A file in inches is told in inches, or in millimetres where that is asked for."""
    assert ", in above its bottom" in told(capsys, INCHES, "drains-blocked")[1]
    assert ", mm above its bottom" in told(capsys, INCHES, "drains-blocked", "--units", "metric")[1]


def test_json_holds_the_series(capsys):
    """With --json the output is one object with events in order of time and a series of equal lengths."""
    data = json.loads(told(capsys, WORKED, "power-cut", "--json")[1])
    steps = len(data["series"]["time"])
    assert data["series"]["time"] == sorted(data["series"]["time"])
    for part in ("levels", "volumes", "flows"):
        assert {len(values) for values in data["series"][part].values()} == {steps}
    moments = [event["time"] for event in data["events"]]
    assert moments == sorted(moments)
    assert data["over"] == []
    assert data["happening"]["power"] is False


def test_csv_is_the_same_series(tmp_path, capsys):
    """--csv writes a head and one row a step, with the numbers of the JSON, and the report is printed all the same."""
    path = tmp_path / "cut.csv"
    code, out, _ = told(capsys, WORKED, "power-cut", "--csv", str(path))
    head, *rows = csv.reader(io.StringIO(path.read_text(encoding="utf-8")))
    asked = ask(load(WORKED), "power-cut")
    data = series_data(asked)["series"]
    assert code == 0
    assert "Time line" in out
    assert [float(row[0]) for row in rows] == pytest.approx(data["time"], rel=1e-8)
    place = head.index("level of media, m")
    assert [float(row[place]) for row in rows] == pytest.approx(data["levels"]["media"], rel=1e-8)
    assert {len(row) for row in rows} == {len(head)}
    assert path.read_text(encoding="utf-8") == to_csv(asked)


def test_a_file_that_cannot_be_written(tmp_path, capsys):
    """A CSV that has nowhere to go ends with 2 and one line, nothing is printed, and the case file is never overwritten."""
    for where in (str(tmp_path / "none" / "cut.csv"), WORKED):
        code, out, err = told(capsys, WORKED, "power-cut", "--csv", where)
        assert (code, out) == (2, "")
        assert len(err.splitlines()) == 1
    assert "Worked loop" in (ROOT / "cases" / "worked-loop.yaml").read_text(encoding="utf-8")


@pytest.mark.parametrize(("words", "said"), [(["drain-blocked", "drain", "3"], "did you mean 'drain "),
                                             (["drain-blocked"], "the name of the drain is missing"),
                                             (["top-up-stuck"], "no top-up reservoir is described")])
def test_mistakes(words, said, capsys):
    """A drain that is not there, none named, or a reservoir that is not described: 2, and one line that says what to do."""
    code, out, err = told(capsys, WORKED, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) == 1


def test_a_name_belongs_to_one_word_only(capsys):
    """A name behind a word that takes none is refused rather than passed over."""
    code, out, err = told(capsys, WORKED, "power-cut", "drain", "1")
    assert (code, out) == (2, "")
    assert "drain 1" in err


def test_the_top_up_s_flow_can_be_given():
    """The reservoir and its flow are the file's: 10 L at 1200 L/h are in after 30 s, and what is slower takes longer."""
    text = load(WORKED)
    from dataclasses import replace

    from hydro.quantities.uncertain import Uncertain

    wishes = {**text.wishes, "top-up reservoir": Uncertain.exact(0.010, "top-up reservoir")}
    quick = replace(
        text, wishes=wishes, overrides={**text.overrides, "top-up flow": Uncertain.exact(1200.0 / 3.6e6, "top-up flow")}
    )
    ends = [next(event.moment.time for event in ask(build, "top-up-stuck").history.events if "empty" in event.words)
            for build in (quick, replace(text, wishes=wishes))]
    assert 27.0 < ends[0] < 45.0
    assert ends[1] == pytest.approx(4.0 * ends[0], rel=0.01)


def test_a_build_by_hand_is_asked_too():
    """The library's question needs no file: a build made by hand gives the same kind of answer, and complains alike."""
    build = loop()
    assert found(build).state is not None
    assert outcome_of(ask(build, "power-cut").history).over == ()
    with pytest.raises(InputError):
        ask(build, "drain-blocked", "nobody")


def test_a_chart_shows_the_ends():
    """A chart's first and last sign stand at the first and last value, its labels beside the highest and lowest."""
    lines = level_plot("title", [0.0, 10.0], [5.0, 1.0], 10.0, lambda value: f"{value:.0f}", lambda time: f"{time:.0f} s")
    assert lines[1] == f"{'5':>10} |{'*' * (len(lines[1]) - 12)}"
    assert lines[7].endswith("*")
    assert len(lines[7]) == 12 + COLUMNS
    assert lines[7].split("|")[0].strip() == "1"
    assert at([0.0, 10.0], [5.0, 1.0], 2.5) == pytest.approx(4.0)


def test_a_surging_loop_is_caught_at_its_fullest():
    """A power cut of a loop that surges begins with the tank at the upper bound, when the most comes down."""
    build = loop(drains=[drain(bore=0.0362)], driven_by=pump(curve=[(0.6 * flow, head) for flow, head in CURVE]))
    asked = ask(build, "power-cut", breaks=False, valves="stuck")
    low, high = asked.answer.states
    assert low.tank_level < high.tank_level == asked.history.start.tank_level
    assert ask(build, "as-is").history.start.tank_level == low.tank_level
