"""The list of mutations still fits the files it edits, and a mutation that has to be noticed is."""

from pathlib import Path

import mutations
import pytest


def test_every_edit_still_fits():
    """Each law's text stands in its file just once, each edit changes it, and every file of comparisons has some."""
    edits = [*mutations.law_mutations(), *mutations.comparison_mutations()]
    for edit in edits:
        text = (mutations.ROOT / edit.file).read_text(encoding="utf-8")
        assert text[edit.start:edit.end] != edit.new, edit.name
        compile(text[:edit.start] + edit.new + text[edit.end:], edit.file, "exec")
    assert {edit.file for edit in edits} >= set(mutations.COMPARISONS)


def test_every_test_that_ought_to_notice_is_there():
    """No edit counts on a test file that has moved away."""
    edits = [*mutations.law_mutations(), *mutations.comparison_mutations()]
    assert {test for edit in edits for test in edit.tests if not (mutations.ROOT / test).exists()} == set()


def test_a_text_that_is_gone_is_an_error(monkeypatch):
    """An edit whose text is no longer in its file is an error, not a mutation that nobody notices."""
    monkeypatch.setattr(mutations, "LAWS", (("pipe", "no such law", "none"),))
    with pytest.raises(mutations.AnchorError):
        mutations.law_mutations()


def test_an_edit_is_noticed_and_undone(tmp_path):
    """Friction 20 % higher turns the worked loop red; the copy is as before afterwards."""
    folder = mutations.copied(tmp_path)
    edit = next(one for one in mutations.law_mutations() if "turbulent" in one.name)
    before = (folder / edit.file).read_text(encoding="utf-8")
    edit = mutations.Mutation(edit.file, edit.start, edit.end, edit.new, edit.name, ("tests/whole_builds/test_worked_loop.py",))
    assert mutations.noticed(edit, folder)
    assert (folder / edit.file).read_text(encoding="utf-8") == before
    assert not mutations.red(folder, edit.tests)
    assert Path(folder) != mutations.ROOT
