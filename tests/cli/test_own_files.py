"""What is replaced without a question: files that the command wrote; anything else is asked for with --force."""

import os

import pytest
from report_cases import ROOT

from hydro_cli.main import main
from hydro_cli.output import deliver
from hydro_cli.own_files import keep_what_is_not_ours

CASE = "case.yaml"
REFUSED = "a file stands there that this program did not write; expected another name, or --force to replace it"
PUMP = ["pumps", CASE, "--points", "Eel: 0 L/h = 5 m, 7200 L/h = 0 m", "--middle"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return a folder that one is in, with a case that has holes in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / CASE).write_text((ROOT / "cases" / "us-inch.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    return tmp_path


WRITING = {"run": ["run", CASE, "--to"], "JSON": ["run", CASE, "--json", "--to"], "list": ["run", CASE, CASE, "--json", "--to"],
           "happens": ["happens", CASE, "power-cut", "--to"], "series": ["happens", CASE, "power-cut", "--csv"],
           "words": ["words", "--to"], "schema": ["schema", "--to"], "page": ["report", CASE, "--to"],
           "sheets": ["report", CASE, "--to", "page.html", "--template"],
           "drawing": ["report", CASE, "--to", "page.html", "--template"],
           "pumps": [*PUMP, "--to"], "plot": [*PUMP, "--plot"]}
NAMES = {"page": "x.html", "sheets": "x.pdf", "drawing": "x.svg", "plot": "x.svg"}


@pytest.mark.parametrize("kind", WRITING)
def test_own_files_are_replaced_and_others_are_not(kind, folder, capsys):
    """What a command wrote it replaces; a note of somebody's in its place is kept, in one line."""
    target, words = folder / NAMES.get(kind, "x.txt"), [*WRITING[kind], NAMES.get(kind, "x.txt")]
    assert main(words) in (0, 1)
    keep_what_is_not_ours(words[-2], target.name)
    target.write_text("- Pick up the parts on Monday\n\nAsk for the price of the hose\n", encoding="utf-8")
    capsys.readouterr()
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert (out, err) == ("", f"{target.name}: {words[-2]}: {REFUSED}\n")
    assert target.read_text(encoding="utf-8").startswith("- Pick up")


def test_force_replaces_a_file(folder):
    """With --force a file is replaced, whoever wrote it."""
    (folder / "x.txt").write_text("- Pick up the parts on Monday\n")
    assert main(["words", "--to", "x.txt", "--force"]) == 0
    assert "Monday" not in (folder / "x.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("text", [
    "title: my tank\n", "<!doctype html>\n<html><head><title>Holidays</title></head></html>",
    '{"program": "another", "version": 1}',
    "time, s,distance of the car, m\n", "%PDF-1.4\nan invoice", "<svg xmlns='x'><title>A cat</title></svg>", "\0\1", "x" * 9000])
def test_what_only_looks_alike_is_kept(text, folder, capsys):
    """A page, JSON, a table, a PDF, a drawing, a case of somebody else's is not replaced."""
    (folder / "x").write_text(text, encoding="utf-8")
    assert main(["run", CASE, "--to", "x"]) == 2
    assert capsys.readouterr().err == f"x: --to: {REFUSED}\n"
    assert (folder / "x").read_text(encoding="utf-8") == text


def test_an_empty_file_is_filled(folder):
    """A file that holds nothing is written to: nothing is lost."""
    (folder / "x").touch()
    assert main(["words", "--to", "x"]) == 0
    assert (folder / "x").stat().st_size > 1000


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root can give a file to somebody else")
def test_a_file_of_another_owner_is_kept(folder, capsys):
    """What belongs to another user is not replaced, even where it was written by this program."""
    assert main(["words", "--to", "x"]) == 0
    os.chown(folder / "x", 65534, 65534)
    assert main(["words", "--to", "x"]) == 2
    assert "x: --to: a file of another owner stands there" in capsys.readouterr().err


@pytest.mark.parametrize(("words", "said"), [
    (["report", CASE, "--to", "x.html", "--template", "./x.html"],
     "./x.html: --template: two things cannot be written to one file (--to names it too); expected another name"),
    (["report", CASE, "--to", "x.html", "--template", "nowhere/x.pdf"], "nowhere/x.pdf: cannot be written (there is no folder '"),
    (["report", CASE, "--to", "x.html", "--template", ""], "--template: no name of a file"),
    (["happens", CASE, "power-cut", "--to", "x.html", "--csv", "nowhere/x.csv"],
     "nowhere/x.csv: cannot be written (there is no folder"),
    ([*PUMP, "--plot", "x.html", "--to", "nowhere/x.txt"], "nowhere/x.txt: cannot be written (there is no folder '")])
def test_all_files_or_none(words, said, folder, capsys):
    """Where one of two files cannot be written, neither is, and one line says which and why."""
    before = sorted(folder.iterdir())
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1
    assert err.startswith(said)
    assert sorted(folder.iterdir()) == before


def test_a_failing_write_keeps_all_old_files(folder, monkeypatch):
    """Where the second of two files breaks off on a full disk, the first stays what it was, and nothing is left lying about."""
    (folder / "x.html").write_text("old")
    real, calls = os.fdopen, []

    def full(*args, **settings):
        calls.append(args)
        if len(calls) > 1:
            os.close(args[0])
            raise OSError(28, "No space left on device")
        return real(*args, **settings)
    before = sorted(folder.iterdir())
    monkeypatch.setattr("os.fdopen", full)
    with pytest.raises(Exception, match=r"x.pdf: cannot be written \(No space left on device\)"):
        deliver([("x.html", "new"), ("x.pdf", b"new")])
    assert (folder / "x.html").read_text() == "old"
    assert sorted(folder.iterdir()) == before


def test_a_deleted_working_folder_is_named(tmp_path, monkeypatch, capsys):
    """Called from a folder that has been deleted meanwhile, the command says that, and not that it cannot print."""
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    assert main(["words", "--to", "x.txt"]) == 2
    assert capsys.readouterr().err == (
        "x.txt: the folder this was called from is no longer there; expected a folder that is there ('cd' to one)\n")
