"""The command where its streams are closed, full or read by nobody, and where Ctrl-C comes while it is being imported."""

import os
import subprocess
import sys

import pytest
from report_cases import ROOT

HERE = {**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT), str(ROOT / "cli")))}
"""The environment in which a program started runs the command beside these tests, whatever is installed."""

full = pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")


def shell(words):
    """Return what a shell line comes to, `sumpwright` standing for the command."""
    line = words.replace("sumpwright", f"{sys.executable} -m hydro_cli")
    return subprocess.run(["sh", "-c", line], cwd=ROOT, env=HERE, capture_output=True, text=True)


@pytest.mark.parametrize("line", [
    "sumpwright words >&-", "sumpwright --help >&-", "sumpwright --version >&-", "sumpwright check cases/demo.yaml >&-",
    *(pytest.param(line, marks=full) for line in (
        "sumpwright words >/dev/full", "sumpwright --help >/dev/full", "sumpwright check --help >/dev/full",
        "sumpwright check cases/demo.yaml >/dev/full"))])
def test_output_that_cannot_be_printed_is_one_line(line):
    """Where printing fails, on a closed or a full stream, the command ends with 2 and one line."""
    done = shell(line)
    assert done.returncode == 2
    assert done.stderr.startswith("sumpwright: cannot print (")
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("to", ["2>&-", pytest.param("2>/dev/full", marks=full)])
@pytest.mark.parametrize(("line", "code"), [("words nozzle", 0), ("check nowhere.yaml", 2), ("words elbwo", 2), ("wrong", 2)])
def test_an_error_stream_that_takes_nothing_changes_no_exit_code(line, code, to):
    """Where the error stream is closed or full, results are printed and exit codes are what they are; nothing else is said."""
    there, done = shell(f"sumpwright {line}"), shell(f"sumpwright {line} {to}")
    assert (done.returncode, done.stdout) == (code, there.stdout)
    assert done.stderr == ""


@pytest.mark.parametrize("to", [">&- 2>&-", "<&- >&- 2>&-", pytest.param(">/dev/full 2>/dev/full", marks=full)])
def test_no_stream_at_all(to):
    """With both streams closed or full the command ends with 2."""
    assert shell(f"sumpwright words {to}").returncode == 2


def test_a_file_needs_no_output(tmp_path):
    """With --to a closed output changes nothing: the file holds what it holds otherwise, and no more."""
    target = tmp_path / "words.txt"
    assert shell(f"sumpwright words --to {target} >&- 2>&-").returncode == 0
    assert target.read_text(encoding="utf-8") == shell("sumpwright words").stdout


@pytest.mark.parametrize("words", [["words"], ["--help"], ["run", "--help"]])
def test_a_closed_pipe_ends_quietly(words):
    """Where nobody reads on, the command ends with 141 and without a word on the error stream."""
    process = subprocess.Popen([sys.executable, "-m", "hydro_cli", *words], cwd=ROOT, env=HERE, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait() == 141
    assert err == ""


@pytest.mark.parametrize("module", ["argparse", "hydro", "hydro.errors", "yaml", "hydro.report.terminal.case_summary"])
def test_ctrl_c_during_the_imports_is_one_line(module):
    """Ctrl-C while the command's modules are being imported, early or late, ends with 130 and one line."""
    code = f"""
import sys
class Stop:
    def find_spec(self, name, *_):
        if name == {module!r}:
            raise KeyboardInterrupt
sys.meta_path.insert(0, Stop())
from hydro_cli.main import main
sys.exit(main(["check", "cases/demo.yaml"]))"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, env=HERE, capture_output=True, text=True)
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "sumpwright: stopped\n")
