"""The command: exit codes, complaints, files that appear whole or not at all."""

import json
import os

import pytest
from report_cases import ROOT, assessed, every_case

import hydro.study.study
from hydro import SolveError
from hydro.elements.registry import load_all
from hydro.report.content.named import EXAMPLE
from hydro_cli import main as command

DEMO = str(ROOT / "cases" / "demo.yaml")
CODES = {"holds": 0, "tight": 0, "unsure": 0, "fails": 1}


@pytest.fixture
def sound(tmp_path):
    """Return the path of a small sound case."""
    path = tmp_path / "sound.yaml"
    path.write_text(EXAMPLE, encoding="utf-8")
    return str(path)


@pytest.fixture
def broken(tmp_path):
    """Return the path of a case with three mistakes."""
    path = tmp_path / "broken.yaml"
    path.write_text(EXAMPLE.replace("120 x 50 x 50 cm", "120 x 50 x 50").replace("standpipe", "standpip")
                    .replace("hose 32 mm 1.5 m", "hose 32 mm"), encoding="utf-8")
    return str(path)


@every_case
def test_exit_code_is_the_verdict(path, capsys):
    """A run ends with 1 where a check fails and with 0 where none does, and prints its report."""
    assert command.main(["run", str(path)]) == CODES[assessed(path).verdict]
    captured = capsys.readouterr()
    assert captured.err == ""
    assert "Felt-pen line" in captured.out


def test_a_flood_fails(capsys):
    """The case that is made to flood ends with 1."""
    assert command.main(["run", str(ROOT / "cases" / "floods.yaml")]) == 1


@pytest.mark.parametrize("word", ["run", "check"])
def test_mistakes_are_one_line_each(word, broken, capsys):
    """Bad input ends with 2, prints nothing, and says each mistake in one line with its file and line number."""
    assert command.main([word, broken]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    lines = captured.err.splitlines()
    assert len(lines) == 3
    assert all(line.startswith(f"{broken}:") and "expected" in line for line in lines)


@pytest.mark.parametrize("name", ["nowhere.yaml", ".", "binary.yaml", "empty.yaml"])
def test_files_that_cannot_be_read(name, tmp_path, capsys):
    """A missing file, a folder, a binary file and an empty one end with 2 and one line."""
    (tmp_path / "binary.yaml").write_bytes(b"\0\1\2\xff")
    (tmp_path / "empty.yaml").write_text("")
    assert command.main(["run", str(tmp_path / name)]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert len(captured.err.splitlines()) == 1
    assert "Traceback" not in captured.err


def test_no_solution_is_one_line_and_3(sound, capsys, monkeypatch):
    """Where the equations are not solved the command ends with 3 and one line that names the file."""
    def unsolved(build):
        raise SolveError("running", 40, 0.1, "drain", "look at the heights")
    monkeypatch.setattr(hydro.study.study, "assess", unsolved)
    assert command.main(["run", sound]) == 3
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 1
    assert err.startswith(f"{sound}: no solution for 'running'")


def test_several_cases_follow_each_other(sound, broken, capsys):
    """Several files are told one after the other, a broken one between them stops nothing, and the highest code counts."""
    assert command.main(["run", sound, broken, sound]) == 2
    captured = capsys.readouterr()
    assert captured.out.count("Felt-pen line") == 2
    assert len(captured.err.splitlines()) == 3


def test_json_is_one_object_or_a_list(sound, capsys):
    """One file gives one JSON object, two give a list of two."""
    command.main(["run", "--json", sound])
    one = json.loads(capsys.readouterr().out)
    command.main(["run", "--json", sound, sound])
    two = json.loads(capsys.readouterr().out)
    assert two == [one, one]
    assert one["units"] == "SI"


@pytest.mark.parametrize(("word", "shown"), [("us", " in above"), ("US", " in above"), ("imperial", " in above"),
                                             ("metric", " mm above")])
def test_units_are_chosen_on_the_line(word, shown, sound, capsys):
    """--units takes the three systems in capitals or not."""
    assert command.main(["run", "--units", word, sound]) in (0, 1)
    assert shown in capsys.readouterr().out.split("Power cut")[0]


def test_unknown_units_are_bad_input(sound, capsys):
    """A system of units that does not exist ends with 2."""
    with pytest.raises(SystemExit) as ended:
        command.main(["run", "--units", "cubits", sound])
    assert ended.value.code == 2


def test_check_reads_and_says_what_it_understood(sound, capsys):
    """Checking a sound file ends with 0 and names tank, drains, pump, returns and water in a few lines of 80 columns."""
    assert command.main(["check", sound, DEMO]) == 0
    out = capsys.readouterr().out
    assert "is sound: A trough over a crate" in " ".join(out.split())
    assert "1200 x 500 x 500 mm inside" in out
    assert "200 mm above sump bottom, pump running" in out
    assert max(map(len, out.splitlines())) <= 80
    assert len(out.splitlines()) < 80


def test_words_lists_the_whole_registry(capsys):
    """Every word of the registry and every default by name stands in the list; a search shows only what it is about."""
    from hydro.case.sections.settings import known_defaults

    assert command.main(["words"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert all(word in out for word in load_all())
    assert all(name in out for name in known_defaults())
    assert command.main(["words", "ribbed", "hose"]) == 0
    out = capsys.readouterr().out
    assert "ribbed hose friction" in out
    assert "standpipe" not in out
    assert command.main(["words", "elbwo"]) == 2
    assert "did you mean 'elbow" in capsys.readouterr().err


def test_a_file_holds_what_would_be_printed(sound, tmp_path, capsys):
    """--to writes the same text that is printed without it, and prints nothing."""
    command.main(["run", sound])
    printed = capsys.readouterr().out
    target = tmp_path / "report.txt"
    command.main(["run", sound, "--to", str(target)])
    assert capsys.readouterr().out == ""
    assert target.read_text(encoding="utf-8") == printed


def test_a_file_is_left_alone_where_something_is_wrong(sound, broken, tmp_path, capsys):
    """Where one of the cases is broken, the file to write to keeps what it held."""
    target = tmp_path / "report.txt"
    target.write_text("old")
    assert command.main(["run", sound, broken, "--force", "--to", str(target)]) == 2
    assert target.read_text() == "old"


def test_a_write_that_fails_leaves_no_trace(sound, tmp_path, capsys, monkeypatch):
    """Where writing breaks off, the old file stays whole, nothing is left beside it, and the command ends with 2."""
    folder = tmp_path / "out"
    folder.mkdir()
    target = folder / "report.json"
    target.write_text("old")

    def full(*_):
        raise OSError(28, "No space left on device")
    monkeypatch.setattr("os.replace", full)
    assert command.main(["run", "--json", sound, "--force", "--to", str(target)]) == 2
    assert [path.name for path in folder.iterdir()] == ["report.json"]
    assert target.read_text() == "old"
    assert len(capsys.readouterr().err.splitlines()) == 1


@pytest.mark.parametrize("target", ["nowhere/report.txt", "."])
def test_a_place_that_cannot_be_written(target, sound, tmp_path, capsys):
    """A folder that does not exist, or a folder as the file, ends with 2 and one line."""
    assert command.main(["run", sound, "--to", str(tmp_path / target)]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1


def test_ctrl_c_ends_without_a_traceback(sound, capsys, monkeypatch):
    """Stopped by the user, the command says so in one line and ends with 130."""
    def stopped(_):
        raise KeyboardInterrupt
    monkeypatch.setattr(hydro.study.study, "assess", stopped)
    assert command.main(["run", sound]) == 130
    assert capsys.readouterr().err == "sumpwright: stopped\n"


@pytest.mark.parametrize("word", ["run", "report"])
def test_ctrl_c_among_the_faults_writes_nothing(word, sound, tmp_path, capsys, monkeypatch):
    """Stopped while the single faults are looked at, a report says nothing of them: it is not written, and the code is 130."""
    from hydro.faults import table

    asked = []
    real = table.effect_of

    def stopped(base, faults):
        if asked:
            raise KeyboardInterrupt
        asked.append(faults)
        return real(base, faults)
    monkeypatch.setattr(table, "effect_of", stopped)
    target = tmp_path / "report"
    for to in (["--to", str(target)], [] if word == "run" else ["--to", str(target)]):
        asked.clear()
        assert command.main([word, sound, *to]) == 130
        assert asked
        assert capsys.readouterr() == ("", "sumpwright: stopped\n")
    assert not target.exists()


def test_a_file_is_written_for_a_case_that_does_not_run(tmp_path, sound, capsys, monkeypatch):
    """Where a report says that there is no solution, --to gets what would be printed, and the code is 3."""
    monkeypatch.setattr("hydro_cli.run.code_of", lambda *_: 3)
    assert command.main(["run", sound]) == 3
    printed = capsys.readouterr().out
    assert command.main(["run", sound, "--to", str(tmp_path / "report.txt")]) == 3
    assert (tmp_path / "report.txt").read_text(encoding="utf-8") == printed


@pytest.mark.parametrize("word", ["run", "happens", "faults", "pumps", "mend", "size", "report", "check", "words"])
def test_every_command_has_its_help(word, capsys):
    """Each command tells what it is for and its options in lines of 80 columns."""
    with pytest.raises(SystemExit) as ended:
        command.main([word, "--help"])
    out = capsys.readouterr().out
    assert ended.value.code == 0
    assert ("exit codes:" in out) == (word not in ("check", "words"))
    assert out.startswith(f"usage: sumpwright {word}")
    assert max(map(len, out.splitlines())) <= 80


def test_lists_of_prices_are_never_overwritten(sound, tmp_path, capsys):
    """A file of prices that is read is refused as a target, and stays as it is."""
    prices = tmp_path / "prices.csv"
    prices.write_text("item,price EUR,per\n", encoding="utf-8")
    assert command.main(["report", sound, "--prices", str(prices), "--to", str(prices)]) == 2
    assert prices.read_text(encoding="utf-8") == "item,price EUR,per\n"


def test_help_names_the_commands_and_exit_codes(capsys):
    """Help lists run, check and words and what each exit code means."""
    with pytest.raises(SystemExit) as ended:
        command.main(["--help"])
    out = capsys.readouterr().out
    assert ended.value.code == 0
    assert all(word in out for word in ("run", "check", "words", "no solution was found", "no check on floor or pump fails"))


@pytest.mark.parametrize("name", ["sound.yaml", "./sound.yaml", "link.yaml", ""])
def test_a_case_is_never_overwritten(name, sound, tmp_path, capsys, monkeypatch):
    """A report is refused the name of its own case, however written, and an empty name; nothing is worked out or changed."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "link.yaml").symlink_to(sound)
    assert command.main(["run", sound, "--to", name]) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert (tmp_path / "sound.yaml").read_text(encoding="utf-8") == EXAMPLE


def test_a_pipe_is_not_replaced_and_a_link_is_followed(sound, tmp_path, capsys):
    """What is no plain file (a pipe, a device) is refused as a target and stays; of a link the file behind it is written."""
    os.mkfifo(tmp_path / "pipe")
    assert command.main(["run", sound, "--to", str(tmp_path / "pipe")]) == 2
    assert (tmp_path / "pipe").is_fifo()
    (tmp_path / "link.txt").symlink_to(tmp_path / "real.txt")
    command.main(["words", "nozzle", "--to", str(tmp_path / "link.txt")])
    assert (tmp_path / "link.txt").is_symlink()
    assert "nozzle" in (tmp_path / "real.txt").read_text(encoding="utf-8")
