"""Progress on the error stream."""

import sys

import pytest

from hydro_cli.progress import progress


@pytest.mark.parametrize(("terminal", "patience", "said"), [
    (True, 0.0, "sumpwright: 1 of 2 designs\n"), (True, 3600.0, ""), (False, 0.0, "")])
def test_progress_after_a_while_on_a_terminal(terminal, patience, said, capsys, monkeypatch):
    """Progress comes on a terminal once the patience is over, not before, and not where the error stream is no terminal."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: terminal)
    progress(patience)(1, 2, " designs")
    assert capsys.readouterr() == ("", said)
